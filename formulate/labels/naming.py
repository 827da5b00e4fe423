"""What a frozen dessert may be called: the rules of :mod:`formulate.labels.published_rules`
against one mix.

A rule that the range of a quantity straddles is called unknown, one that composition cannot judge is
never judged.  Between whole per cents of milk fat the floor of nonfat milk solids is read strictly:
10.9 % fat still needs 10 %.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import floor

from formulate.arrays import Array
from formulate.errors import InputError, nearest
from formulate.labels.name_quantities import Value, quantities, traits
from formulate.labels.published_rules import JURISDICTIONS, Rule, name_rules
from formulate.messages import Message, message
from formulate.mix import Mixture, Part, parts_of

__all__ = ["NameVerdict", "RuleCheck", "judge_names", "judge_parts"]

_CLOSE = 1e-6

_TESTS: Mapping[str, Callable[[float, float], bool]] = {
    "min": lambda value, limit: value >= limit - _CLOSE,
    "max": lambda value, limit: value <= limit + _CLOSE,
    "above": lambda value, limit: value > limit + _CLOSE,
    "below": lambda value, limit: value < limit - _CLOSE,
}


@dataclass(frozen=True, slots=True)
class RuleCheck:
    """One rule and what the mix makes of it.

    Attributes
    ----------
    low, high:
        Range of the value in the unit of the rule; equal where nothing is uncertain, ``None`` where
        composition says nothing.
    limit:
        What it is compared with.
    status:
        ``met``, ``fails``, ``unknown`` (the range straddles the limit) or ``not judged``.
    miss:
        By how much it fails, above zero, in the unit of the rule; else 0.
    notes:
        What to know of it.
    """

    rule: Rule
    low: float | None
    high: float | None
    limit: float | None
    status: str
    miss: float
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class NameVerdict:
    """Whether composition allows a name: ``allows``, ``refuses`` or ``undecided``, and every rule."""

    jurisdiction: str
    name: str
    status: str
    checks: tuple[RuleCheck, ...]

    def with_status(self, status: str) -> tuple[RuleCheck, ...]:
        """Return the checks of one status, in the order of the table."""
        return tuple(check for check in self.checks if check.status == status)


def judge_names(
    mix: Mixture,
    weights: Array,
    overrun_percent: float | None = None,
    jurisdictions: Sequence[str] = JURISDICTIONS,
) -> tuple[NameVerdict, ...]:
    """Return for every name of some jurisdictions whether the composition of a mix allows it.

    Parameters
    ----------
    mix, weights:
        The recipe met with the tables, and grams per ingredient.
    overrun_percent:
        Air [% of the volume of the mix], 0 to 300; ``None``: what the recipe's serving says, else 0.
    jurisdictions:
        Some of :data:`formulate.labels.published_rules.JURISDICTIONS`.

    Raises
    ------
    InputError
        If a jurisdiction is unknown, or weights or overrun cannot be.
    """
    if overrun_percent is None:
        serving = mix.recipe.serving
        overrun_percent = 0.0 if serving is None else serving.overrun_percent
    return judge_parts(parts_of(mix, weights), overrun_percent, jurisdictions)


def judge_parts(
    parts: Sequence[Part],
    overrun_percent: float,
    jurisdictions: Sequence[str] = JURISDICTIONS,
) -> tuple[NameVerdict, ...]:
    """Return the verdicts for ingredients with their shares; see :func:`judge_names`."""
    for key in jurisdictions:
        if key not in JURISDICTIONS:
            hint = nearest(key, JURISDICTIONS) or f"Known: {', '.join(JURISDICTIONS)}."
            raise InputError("jurisdiction", f'"{key}" is not known here', hint)
    values = quantities(parts, overrun_percent)
    of_this = traits(parts, values)
    found: dict[tuple[str, str], list[RuleCheck]] = {}
    for rule in name_rules():
        if rule.jurisdiction in jurisdictions and (not rule.applies or rule.applies in of_this):
            checks = found.setdefault((rule.jurisdiction, rule.name), [])
            checks.append(_check(rule, values))
    ordered = sorted(found, key=lambda key: tuple(jurisdictions).index(key[0]))
    return tuple(
        NameVerdict(place, name, _status(found[place, name]), tuple(found[place, name]))
        for place, name in ordered
    )


def _check(rule: Rule, values: Mapping[str, Value]) -> RuleCheck:
    if rule.comparison == "unjudged":
        return RuleCheck(rule, None, None, None, "not judged", 0.0)
    value = values[rule.quantity]
    limit, notes = rule.limit, value.notes
    if rule.quantity == "weight_per_gallon" and limit is not None:
        most = 100.0 * (values["gallon_without_air"].low / limit - 1.0)
        if most >= 0.0:
            notes += (message("weighs_at_overrun", limit=limit, overrun_percent=most),)
    if limit is None:
        fat = values["milk_fat"].low
        limit = max(6.0, 20.0 - max(10.0, floor(fat + _CLOSE)))
        notes = (message("floor_of_milk_fat", value=fat), *notes)
    meets = _TESTS[rule.comparison]
    low_meets, high_meets = meets(value.low, limit), meets(value.high, limit)
    if value.estimated:
        return RuleCheck(rule, value.low, value.high, limit, "not judged", 0.0, notes)
    if low_meets and high_meets:
        return RuleCheck(rule, value.low, value.high, limit, "met", 0.0, notes)
    if low_meets or high_meets:
        return RuleCheck(rule, value.low, value.high, limit, "unknown", 0.0, notes)
    nearest_value = value.high if rule.comparison in ("min", "above") else value.low
    miss = abs(nearest_value - limit)
    return RuleCheck(rule, value.low, value.high, limit, "fails", miss, notes)


def _status(checks: Sequence[RuleCheck]) -> str:
    states = {check.status for check in checks}
    if "fails" in states:
        return "refuses"
    return "undecided" if "unknown" in states or "met" not in states else "allows"
