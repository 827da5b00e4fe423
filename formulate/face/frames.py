"""A mix as tables of pandas, each with its units in ``attrs["units"]``.

pandas is imported only when one of these is called.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from formulate.ingredients import properties
from formulate.mix import COST_KEY, Assessment

if TYPE_CHECKING:
    import pandas as pd

    from formulate.answers import Span

__all__ = [
    "curve_frame",
    "grams_frame",
    "properties_frame",
    "spans_frame",
    "targets_frame",
    "weights_frame",
]


def weights_frame(mix: Assessment) -> pd.DataFrame:
    """Return the weights of a mix.

    Parameters
    ----------
    mix:
        A mix that was judged.

    Returns
    -------
    DataFrame
        Indexed by key; ``name``, and in g: ``grams`` at the scale, ``before`` (NaN where the recipe
        gives none), ``bought``, and ``reached``: what of it comes into the mix.

    Examples
    --------
    >>> import formulate as fm
    >>> float(weights_frame(fm.check(fm.load("damson_sorbet")).mix).loc["sucrose", "grams"])
    300.0
    """
    names = ("name", "grams", "before", "bought", "reached")
    rows = {weight.key: [getattr(weight, name) for name in names] for weight in mix.weights}
    return _table(rows, names, dict.fromkeys(names[1:], "g"))


def targets_frame(mix: Assessment) -> pd.DataFrame:
    """Return what is asked of a mix and what it gives.

    Parameters
    ----------
    mix:
        A mix that was judged.

    Returns
    -------
    DataFrame
        Indexed by key; ``name``, ``unit``, ``min`` and ``max`` (NaN for no bound), ``value``, ``met``.

    Examples
    --------
    >>> import formulate as fm
    >>> bool(targets_frame(fm.balance(fm.load("damson_sorbet")).mix)["met"].all())
    True
    """
    names = ("name", "unit", "min", "max", "value", "met")
    rows = {target.key: [getattr(target, name) for name in names] for target in mix.targets}
    return _table(rows, names, {target.key: target.unit for target in mix.targets})


def properties_frame(mix: Assessment) -> pd.DataFrame:
    """Return every property of a mix.

    Parameters
    ----------
    mix:
        A mix that was judged.

    Returns
    -------
    DataFrame
        Indexed by key; ``name``, ``value`` and ``unit``.

    Examples
    --------
    >>> import formulate as fm
    >>> properties_frame(fm.check(fm.load("damson_sorbet")).mix).loc["sweetness", "unit"]
    'g sucrose/100 g'
    """
    known = properties()
    rows: dict[str, list[Any]] = {}
    for key, value in mix.properties.items():
        about = known.get(key)
        name, unit = (key, "") if about is None else (about.name, about.unit)
        if key == COST_KEY:
            name, unit = "Cost", "per kg"
        rows[key] = [name, value, unit]
    return _table(rows, ("name", "value", "unit"), {key: row[2] for key, row in rows.items()})


def curve_frame(mix: Assessment, plus_minus: Sequence[float]) -> pd.DataFrame:
    """Return the freezing curve of a mix.

    Parameters
    ----------
    mix:
        A mix that was judged.
    plus_minus:
        One standard deviation at each of its temperatures [% of water].

    Returns
    -------
    DataFrame
        Indexed by ``temperature_c`` [°C], falling from -2 to -24; ``percent``, frozen water, and
        ``plus_minus`` [% of all water].

    Examples
    --------
    >>> import formulate as fm
    >>> found = fm.check(fm.load("damson_sorbet"))
    >>> float(curve_frame(found.mix, found.outlook.frozen_water_deviation).index[0])
    -2.0
    """
    rows = {
        temperature: [percent, spread]
        for (temperature, percent), spread in zip(mix.frozen_water, plus_minus, strict=True)
    }
    units = {"temperature_c": "°C", "percent": "% of water", "plus_minus": "% of water"}
    return _table(rows, ("percent", "plus_minus"), units, "temperature_c")


def spans_frame(ingredients: Sequence[Span], targets: Sequence[Span]) -> pd.DataFrame:
    """Return how far ingredients and targets can move.

    Parameters
    ----------
    ingredients, targets:
        The spans of :func:`formulate.answers.ranges`.

    Returns
    -------
    DataFrame
        Indexed by ``of`` (``ingredient`` or ``target``) and ``key``; ``name``, ``unit``, ``low``,
        ``value`` at the optimum, ``high``.

    Examples
    --------
    >>> list(spans_frame((), ()).index.names)
    ['of', 'key']
    """
    import pandas as pd

    names = ("name", "unit", "low", "value", "high")
    spans = [*(("ingredient", each) for each in ingredients), *(("target", s) for s in targets)]
    index = pd.MultiIndex.from_arrays(
        [[of for of, _ in spans], [span.key for _, span in spans]], names=["of", "key"]
    )
    rows = [[getattr(span, name) for name in names] for _, span in spans]
    found = pd.DataFrame(rows, index=index, columns=list(names))
    found.attrs["units"] = {span.key: span.unit for _, span in spans}
    return found


def grams_frame(
    rows: Mapping[Any, Sequence[float] | None], keys: Sequence[str], index: str
) -> pd.DataFrame:
    """Return the weights of several mixes, a row each.

    Parameters
    ----------
    rows:
        Grams in the order of the keys, by what the mix is called; ``None`` where there is no mix.
    keys:
        Keys of the ingredients.
    index:
        What the mixes are called by.

    Returns
    -------
    DataFrame
        A column for each ingredient [g]; NaN where there is no mix.

    Examples
    --------
    >>> grams_frame({9.0: [100.0, 50.0], 9.5: None}, ["damson", "sucrose"], "brix").shape
    (2, 2)
    """
    nothing = [float("nan")] * len(keys)
    cells = {name: nothing if row is None else list(row) for name, row in rows.items()}
    return _table(cells, keys, dict.fromkeys(keys, "g"), index)


def _table(
    rows: Mapping[Any, Sequence[Any]],
    columns: Sequence[str],
    units: Mapping[str, str],
    index: str = "key",
) -> pd.DataFrame:
    import pandas as pd

    places = pd.Index(list(rows), name=index)
    found = pd.DataFrame(list(rows.values()), index=places, columns=list(columns))
    numbers = [name for name in columns if name in ("grams", "before", "min", "max", "value")]
    found[numbers] = found[numbers].astype(float)
    found.attrs["units"] = dict(units)
    return found
