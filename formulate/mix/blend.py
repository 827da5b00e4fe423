"""What several lots of an ingredient are together, when one batch takes from each.

Lots are blended, not churned apart: the end of one crate and the start of the next go into one pot, so
that all churns of a day are weighed alike and taste alike.  The blend is the mean of the lots by mass.
A reading and a titration change a composition along straight lines (see
:mod:`formulate.ingredients.lots`), so that
the mean reading and the mean acidity are the mean composition, exactly.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients import Lot, StockLot, brix_of, titratable_acidity, with_lot
from formulate.mix.uncertainty import unread_deviation
from formulate.recipes import RecipeIngredient

__all__ = ["blended", "says_something"]


def says_something(lot: StockLot | None) -> bool:
    """Return whether a lot was read or titrated, so that it is not simply what the recipe says.

    Parameters
    ----------
    lot:
        The lot; ``None`` for what is to be bought.

    Returns
    -------
    bool

    Examples
    --------
    >>> from formulate.ingredients import Lot
    >>> says_something(StockLot(Lot("damson", reading=12.0))), says_something(None)
    (True, False)
    """
    return lot is not None and not (lot.lot.reading is None and lot.lot.acidity is None)


def blended(
    entry: RecipeIngredient, row: Array, parts: tuple[tuple[StockLot | None, float], ...]
) -> RecipeIngredient:
    """Return an ingredient of a recipe as these lots together make it.

    What a lot does not say, the recipe says; so it stands for what is still to be bought, ``None``.
    The ± of the readings is their mean too, as they are read with one instrument; for what was not read,
    it is how much lots differ.

    Parameters
    ----------
    entry, row:
        The ingredient, and its composition as the recipe has it [g per 100 g], shape (columns,).
    parts:
        Lots and what is taken of each, in any unit of mass.

    Returns
    -------
    RecipeIngredient

    Raises
    ------
    InputError
        If a reading or titration cannot be, or lots are titrated as acids that have no common measure
        in an ingredient without acid.

    Examples
    --------
    >>> from formulate.ingredients import Lot, ingredient_table
    >>> from formulate.mix import reading_of
    >>> from formulate.recipes import RecipeIngredient
    >>> crates = [(StockLot(Lot("damson", reading=brix)), 1.0) for brix in (11.0, 13.0)]
    >>> row = ingredient_table()["damson"].composition
    >>> round(reading_of(blended(RecipeIngredient("damson"), row, tuple(crates))), 2)
    12.0
    """
    known = [lot for lot, _ in parts if lot is not None and says_something(lot)]
    if not known:
        return entry
    shares = np.array([grams for _, grams in parts])
    shares = shares / shares.sum()
    rows = [
        with_lot(row, lot.lot) if lot is not None and says_something(lot) else row
        for lot, _ in parts
    ]
    own = entry.lot
    acids = [lot.lot for lot in known if lot.lot.acidity is not None]
    acids += [own] if own is not None and own.acidity is not None else []
    blend = Lot(entry.key)
    if acids:
        kinds = {lot.acidity_as for lot in acids}
        if len(kinds) > 1 and titratable_acidity(row) == 0.0:
            problem = (
                f"is given as {' and as '.join(sorted(kinds))}, and the table has no acid in it"
            )
            remedy = "Express all as one acid."
            raise InputError(f"lots of {entry.key}, acidity", problem, remedy)
        kind = acids[0].acidity_as
        mean = float(shares @ [titratable_acidity(each, kind) for each in rows])
        blend = replace(blend, acidity=mean, acidity_as=kind)
    read = entry.brix is not None or (own is not None and own.reading is not None)
    spread = entry.brix_plus_minus
    if read or any(lot.lot.reading is not None for lot in known):
        blend = replace(blend, reading=float(shares @ [brix_of(each) for each in rows]))
        spread = float(shares @ [_plus_minus(lot, entry, row) for lot, _ in parts])
    return replace(entry, lot=blend, brix=None, brix_temperature_c=20.0, brix_plus_minus=spread)


def _plus_minus(lot: StockLot | None, entry: RecipeIngredient, row: Array) -> float:
    if lot is None or lot.lot.reading is None:
        return max(entry.brix_plus_minus, unread_deviation(entry.key, row))
    return entry.brix_plus_minus if lot.plus_minus is None else lot.plus_minus
