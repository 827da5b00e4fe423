"""Compositions with their labels: a table of all ingredients, and one mix, as pandas has them.

pandas is imported only when one of these is called.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients.components import COLUMNS
from formulate.ingredients.table import ingredient_table

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["ingredients", "labelled"]

_UNIT = "g per 100 g"


def ingredients() -> pd.DataFrame:
    """Return every ingredient of the table, a row each.

    Returns
    -------
    DataFrame
        Indexed by key; columns ``name``, ``kind``, ``edible_percent``, ``usual`` (1 in every pastry
        kitchen to 5 rare) and one for each of :data:`COLUMNS` [g per 100 g edible]; units by column
        in ``attrs["units"]``.

    Raises
    ------
    TableError
        If the table is damaged.

    Notes
    -----
    Where each number comes from stands in ``provenance.csv`` of the reference data, and in
    ``formulate ingredients KEY``.

    Examples
    --------
    >>> import formulate as fm
    >>> table = fm.ingredients()
    >>> float(table.loc["sucrose", "sucrose"])
    100.0
    >>> table.attrs["units"]["water"]
    'g per 100 g'
    """
    import pandas as pd

    entries = ingredient_table().values()
    index = pd.Index([entry.key for entry in entries], name="key")
    about = pd.DataFrame(
        {
            name: [getattr(entry, name) for entry in entries]
            for name in ("name", "kind", "edible_percent", "usual")
        },
        index=index,
    )
    parts = pd.DataFrame(
        [entry.composition for entry in entries], index=index, columns=list(COLUMNS)
    )
    found = pd.concat([about, parts], axis=1)
    found.attrs["units"] = {"edible_percent": "%", **dict.fromkeys(COLUMNS, _UNIT)}
    return found


def labelled(composition: Array) -> pd.Series[float]:
    """Return a composition with the names of its numbers.

    Parameters
    ----------
    composition:
        g per 100 g over :data:`COLUMNS`, shape (columns,).

    Returns
    -------
    Series
        Named ``composition``, indexed by component; its unit in ``attrs["unit"]``.

    Raises
    ------
    InputError
        If it has another number of numbers.

    Examples
    --------
    >>> milk = labelled(ingredient_table()["whole_milk"].composition)
    >>> bool(milk["lactose"] > milk["milk_fat"])
    True
    >>> milk.attrs["unit"]
    'g per 100 g'
    """
    import pandas as pd

    if composition.shape != (len(COLUMNS),):
        problem = f"has the shape {composition.shape}, and must have {len(COLUMNS)} numbers"
        raise InputError("composition", problem, "Give one mix or one ingredient.")
    found = pd.Series(composition, index=list(COLUMNS), name="composition")
    found.index.name = "component"
    found.attrs["unit"] = _UNIT
    return found
