"""One base, several flavours: the base and the additions that let every mix meet its own targets.

One programme finds them together (see :mod:`formulate.answers.base_plans`); each mix is then balanced
once more on the base as it was weighed, and judged from composition.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from formulate.answers.base_plans import Block, Part, Plan, plan_of, solved, stock_rows
from formulate.answers.conflicts import Demand, demands, restricted
from formulate.answers.menus import Menu
from formulate.arrays import Array
from formulate.errors import VerificationFault
from formulate.mix import Assessment, Weight, verified
from formulate.recipes import Scale
from formulate.solver import optimum, weighable

__all__ = ["BaseAnswer", "Clash", "shared_base"]

_BASE = "the_base"
_FINER = (1.0, 10.0, 100.0, 0.0)
_LET_GO = ("limit", "target")
_NOTHING_G = 1e-6
_ROUNDING = 1e-7  # of the base: what a solver may be off


@dataclass(frozen=True, slots=True)
class Clash:
    """A demand that takes part in why no base serves all mixes; ``mix`` is "" for one of the base."""

    mix: str
    demand: Demand


@dataclass(frozen=True)
class BaseAnswer:
    """The base for all mixes [g], and each mix judged.

    Attributes
    ----------
    status:
        ``balanced`` or ``impossible``.
    keys, names, base:
        Key, name and grams of each of the base's ingredients, for all mixes together; empty if there is
        no base.
    flavours, mixes:
        The name of each mix, and the mix: base as one line, then its additions.
    change:
        Sum of relative changes of the base and all additions.
    conflict:
        Where no base serves all mixes: demands that cannot hold together, though without any one of them
        the others can.
    """

    status: str
    keys: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    base: tuple[float, ...] = ()
    flavours: tuple[str, ...] = ()
    mixes: tuple[Assessment, ...] = ()
    change: float = 0.0
    conflict: tuple[Clash, ...] = ()


def shared_base(menu: Menu) -> BaseAnswer:
    """Return the base and additions of least change, or why no base serves all mixes.

    The change of the base counts once for every mix.

    Parameters
    ----------
    menu:
        The base and its mixes.

    Returns
    -------
    BaseAnswer
        ``balanced`` or ``impossible``.

    Raises
    ------
    VerificationFault
        If a mix, recomputed, misses a target, or a limit is not kept.

    Examples
    --------
    >>> from formulate.answers import menu_from_mapping
    >>> tables = {
    ...     "base": [{"key": "whole_milk", "grams": 700}, {"key": "sucrose", "grams": 180}],
    ...     "mix": [{"name": "Plain", "batch_g": 1000, "base_g": 1000, "target": {}}],
    ... }
    >>> shared_base(menu_from_mapping(tables, "milk base")).status
    'balanced'
    """
    plan = plan_of(menu)
    crossed = [
        Clash(block.name, demand) for block in plan.blocks for demand in block.crossed_demands()
    ]
    if crossed:
        return BaseAnswer("impossible", conflict=tuple(crossed[:2]))
    found = solved(plan, plan.parts)
    if found is None:
        return BaseAnswer("impossible", conflict=_conflict(plan))
    exact, additions, change = found
    scarce = {e.key for block in plan.blocks for e in block.entries if e.stock_g is not None}
    for finer in _FINER:
        weighed = _on_scale(plan.base, exact, menu.flavours[0].recipe.scale, finer)
        made = weighed / float(plan.base.reach @ weighed)
        finished = [
            _finished(part, made * part.flavour.base_g, added, scarce, exact=finer == 0.0)
            for part, added in zip(plan.parts, additions, strict=True)
        ]
        mixes = [each for each in finished if each is not None]
        if len(mixes) == len(finished) and _keeps_stock(plan, weighed, [m[0] for m in mixes]):
            return BaseAnswer(
                status="balanced",
                keys=plan.base.keys,
                names=plan.base.names,
                base=tuple(float(grams) + 0.0 for grams in weighed),
                flavours=tuple(part.flavour.recipe.name for part in plan.parts),
                mixes=tuple(judged for _, judged in mixes),
                change=change,
            )
    raise VerificationFault("The base that was found does not serve every mix; it is not shown.")


def _keeps_stock(plan: Plan, weighed: Array, additions: list[Array]) -> bool:
    used = np.concatenate([weighed, *additions])
    stock = stock_rows(plan.base, plan.parts, len(used)).values()
    return all(uses @ used <= limit + _ROUNDING * plan.total_g for uses, limit in stock)


def _on_scale(base: Block, grams: Array, scale: Scale, finer: float) -> Array:
    """Rounded to the scale within the limits, or so many times finer; as they are for 0."""
    if finer == 0.0:
        return grams
    steps = np.where(grams < scale.fine_below_g, scale.fine_step_g, scale.step_g) / finer
    rounded = np.round(grams / steps) * steps
    rounded = np.where(rounded > base.upper, np.floor(base.upper / steps) * steps, rounded)
    rounded = np.where(rounded < base.lower, np.ceil(base.lower / steps) * steps, rounded)
    outside = (rounded < base.lower) | (rounded > base.upper) | (base.lower >= base.upper)
    return np.asarray(np.where(outside, grams, np.round(rounded, 9)))


def _finished(
    part: Part, of_base: Array, added: Array, scarce: set[str], *, exact: bool
) -> tuple[Array, Assessment] | None:
    """Additions [g] and the mix on the base as it was weighed, balanced once more and rounded.

    ``None`` if rounding the base has made it impossible.  Of what is ``scarce`` no more is added than was
    found for all mixes together.
    """
    whole, rows, places = part.whole, part.rows, part.of_added
    held = np.zeros(len(whole.keys))
    held[part.of_base] = of_base
    start, lower, upper = (np.zeros(len(held)) for _ in range(3))
    start[places], lower[places], upper[places] = added, part.added.lower, part.added.upper
    for place, entry, grams in zip(places, part.added.entries, added, strict=True):
        if entry.key in scarce:  # shared with other mixes: no more than was found
            upper[place] = max(min(upper[place], grams), lower[place])
    left = replace(
        rows.only(
            tuple(
                replace(
                    row,
                    lower=row.lower - float(row.coefficients @ held),
                    upper=row.upper - float(row.coefficients @ held),
                )
                for row in rows.rows
            )
        ).with_limits(lower, upper),
        total_least=rows.batch_g - float(rows.reach @ held),
        total_most=rows.batch_g - float(rows.reach @ held),
    )
    weights = start
    if places:
        rest = replace(whole, before=tuple(float(grams) for grams in start), start=start)
        found = optimum(rest, left)
        if found is None and not exact:
            return None
        weights = start if found is None else found.weights
        rounded = weighable(
            left, np.where(weights < _NOTHING_G, 0.0, weights), part.flavour.recipe.scale
        )
        weights = weights if rounded is None else rounded.weights
    try:
        judged = verified(whole, held + weights, counted=False)
    except VerificationFault:
        if exact:
            raise
        return None
    return weights[places], _with_base(part, judged, weights[places])


def _with_base(part: Part, judged: Assessment, added: Array) -> Assessment:
    """The mix as it is weighed: base as one line, then the additions."""
    grams = part.flavour.base_g
    lines = [Weight(_BASE, "Base", grams, grams, grams, grams, grams)]
    for at, entry in enumerate(part.added.entries):
        weight, block = float(added[at]) + 0.0, part.added
        start = None if entry.grams is None else float(block.start[at])
        bought, reached = weight * float(block.buys[at]), weight * float(block.reach[at])
        name = block.names[at]
        lines.append(Weight(entry.key, name, weight, entry.grams, bought, reached, start))
    return replace(judged, weights=tuple(lines))


def _conflict(plan: Plan) -> tuple[Clash, ...]:
    """Demands that cannot hold together, without any one of which the others can.

    First the mixes that are needed for it, then of these the demands.
    """
    parts = list(plan.parts)
    for part in plan.parts:
        rest = tuple(other for other in parts if other is not part)
        if rest and solved(plan, rest) is None:
            parts = list(rest)
    kept = [Clash("", demand) for demand in plan.base.limit_demands()]
    for part in parts:
        own = [*demands(part.whole, part.rows), *part.added.limit_demands()]
        kept += [Clash(part.flavour.recipe.name, demand) for demand in own]
    for clash in sorted(kept, key=lambda each: _LET_GO.index(each.demand.kind)):
        rest_of = [other for other in kept if other is not clash]
        if not _is_possible(plan, tuple(parts), rest_of):
            kept = rest_of
    return tuple(kept)


def _is_possible(plan: Plan, parts: tuple[Part, ...], kept: list[Clash]) -> bool:
    """Say whether these demands can hold together; the stock counts where a limit of it is kept."""
    limits = {
        name: [c.demand for c in kept if c.mix == name and c.demand.kind == "limit"]
        for name in ("", *(part.flavour.recipe.name for part in parts))
    }
    narrow = tuple(
        replace(
            part,
            rows=restricted(
                part.rows,
                [
                    c.demand
                    for c in kept
                    if c.mix == part.flavour.recipe.name and c.demand.kind == "target"
                ],
            ),
            added=part.added.only(limits[part.flavour.recipe.name]),
        )
        for part in parts
    )
    stock = any(demand.field == "stock_g" for each in limits.values() for demand in each)
    return solved(plan, narrow, plan.base.only(limits[""]), stock) is not None
