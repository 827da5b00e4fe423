"""What may be asked of a mix: the keys of targets, and between what their bounds may lie."""

from __future__ import annotations

from functools import lru_cache

from formulate.errors import InputError, nearest
from formulate.ingredients import properties
from formulate.recipes.serving import Range

__all__ = ["COST_KEY", "FREEZING_KEY", "FROZEN_WATER_KEY", "check_target", "target_keys"]

FREEZING_KEY = "initial_freezing_point_c"
COST_KEY = "cost_per_kg"
FROZEN_WATER_KEY = "frozen_water"

_LARGEST_BOUND = 1e5  # of what is no share of the mix
_COLDEST_C = -30.0


@lru_cache(maxsize=1)
def target_keys() -> frozenset[str]:
    """Return every key that a target may have.

    Returns
    -------
    frozenset of str

    Examples
    --------
    >>> {"sweetness", "sucrose", "initial_freezing_point_c"} <= target_keys()
    True
    """
    return frozenset((*properties(), FREEZING_KEY, COST_KEY))


def check_target(key: str, bounds: Range, place: str) -> None:
    """Raise InputError unless a mix is judged by this, and its bounds can be."""
    where = f"{place}, {key}"
    if key not in target_keys():
        hint = nearest(str(key), sorted(target_keys()))
        remedy = hint or "The README lists what can be a target."
        problem, allowed = "is not something a mix is judged by", tuple(sorted(target_keys()))
        raise InputError(where, problem, remedy, field=key, value=key, allowed=allowed, key=key)
    if not isinstance(bounds, Range):
        problem = f"is {bounds!r}, not a range"
        raise InputError(where, problem, "Give Range(28, 32).", field=key, value=bounds, key=key)
    low, high = _between(key)
    for bound in (bounds.min, bounds.max):
        if bound is None or (low <= bound <= high and (key != FREEZING_KEY or bound < high)):
            continue
        if key == FREEZING_KEY:
            problem = f"{bound:g} is not from -30 to below 0 °C"
            remedy = "Freezing points are below zero: -2.8."
        else:
            problem = f"{bound:g} is not from 0 to {high:g}"
            remedy = "Give % of the mix, or the unit of the target."
        of = {"field": key, "key": key}
        raise InputError(where, problem, remedy, value=bound, allowed=(low, high), **of)


def _between(key: str) -> tuple[float, float]:
    if key == FREEZING_KEY:
        return _COLDEST_C, 0.0
    about = properties().get(key)
    return 0.0, 100.0 if about is not None and about.unit == "%" else _LARGEST_BOUND
