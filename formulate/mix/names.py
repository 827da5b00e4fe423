"""What targets, ratios and groups are called, and how fine their values are shown."""

from __future__ import annotations

from collections.abc import Mapping

from formulate.ingredients import properties
from formulate.mix.mixtures import COST_KEY, FREEZING_KEY, FROZEN_WATER_KEY, LEFT, SOME_WATER
from formulate.recipes import Recipe

__all__ = ["fine", "target_name"]

_OTHERS: Mapping[str, tuple[str, str]] = {
    SOME_WATER: ("Water, for ice to form", "%"),
    FREEZING_KEY: ("Initial freezing point", "°C"),
    COST_KEY: ("Cost", "per kg"),
}


def target_name(key: str, recipe: Recipe) -> tuple[str, str]:
    """Return the name and unit of a target, ratio or group of a recipe.

    Parameters
    ----------
    key:
        Of the target.
    recipe:
        Whose it is.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> import formulate as fm
    >>> target_name("sweetness", fm.load("damson_sorbet"))
    ('Sweetness', 'g sucrose/100 g')
    """
    if key in _OTHERS:
        return _OTHERS[key]
    if key == FROZEN_WATER_KEY:
        assert recipe.serving is not None
        return f"Water frozen at {recipe.serving.temperature_c:g} °C", "% of water"
    if key.startswith(LEFT):
        return f"{_words(key.removeprefix(LEFT))} left after straining", "g"
    for ratio in recipe.ratios:
        if ratio.key == key:
            return f"{_words(ratio.of)} : {_words(ratio.to).lower()}", "g/g"
    for group in recipe.groups:
        if group.key == key:
            return f"All {group.name}", "%"
    return properties()[key].name, properties()[key].unit


def fine(key: str, bounds: tuple[float | None, ...]) -> bool:
    """Say whether a target needs two decimals: degrees, money, ratios and small amounts.

    Parameters
    ----------
    key:
        Of the target.
    bounds:
        Least and most.

    Returns
    -------
    bool

    Examples
    --------
    >>> fine("stabiliser", (0.2, 0.3)), fine("total_solids", (28.0, 33.0))
    (True, False)
    """
    sizes = [abs(bound) for bound in bounds if bound is not None]
    return key in _OTHERS or key.startswith("ratio ") or max(sizes, default=9.0) < 2.0


def _words(key: str) -> str:
    return key.replace("_", " ").capitalize()
