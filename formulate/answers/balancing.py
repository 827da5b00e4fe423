"""The two questions that a recipe is asked: which weights meet the targets, and what do these give."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from formulate.answers.checking import check, scaling
from formulate.answers.conflicts import explain, reach
from formulate.answers.counting import count_conflict, count_proposals, uncounted
from formulate.answers.proposals import additions, relaxations
from formulate.answers.result import Result
from formulate.arrays import Array
from formulate.errors import InputError
from formulate.messages import Message, message
from formulate.mix import (
    Mixture,
    Programme,
    TargetValue,
    assess,
    mixture,
    preparation,
    programme,
    require_met,
    target_name,
    target_values,
)
from formulate.recipes import Recipe
from formulate.solver import (
    Chance,
    Solution,
    chances,
    is_counted,
    is_possible,
    kept_to_counts,
    optimum,
    safe_optimum,
    weighable,
    within_usual,
)

__all__ = ["balance", "balance_safely", "check"]


_HALVINGS = 8
_SAME_G = 1e-7
_WAYS = 3  # as many as a cook reads


def balance(recipe: Recipe) -> Result:
    """Return the mix that meets every target, or why none can.

    The smallest change from the present recipe where it gives weights; else the cheapest mix where
    every ingredient has a price; else the one of fewest and most usual ingredients.

    Raises
    ------
    InputError
        If the recipe cannot be read against the tables.
    SolverFault, VerificationFault
        If the answer cannot be trusted.
    """
    mix = mixture(recipe)
    rows = programme(mix)
    solution = optimum(mix, rows)
    if solution is None:
        return _impossible(mix, rows)
    return _balanced(mix, rows, solution)


def balance_safely(recipe: Recipe, confidence: float) -> Result:
    """Return the best mix of which every target holds with a confidence, though lots and readings vary.

    Where there is none, the result is impossible and says how high a confidence can be had.

    Parameters
    ----------
    confidence:
        Probability with which each target must hold, from 0.5 to below 1.

    Raises
    ------
    InputError
        If the confidence is out of its range, or the recipe cannot be read against the tables.
    """
    if not 0.5 <= confidence < 1.0:
        problem = f"is {confidence:g}, and must be from 0.5 to below 1"
        raise InputError("confidence", problem, "Try 0.8.")
    mix = mixture(recipe)
    rows = programme(mix)
    plain = optimum(mix, rows)
    if plain is None:
        return _impossible(mix, rows)
    before = chances(mix, rows, plain.weights)
    safe = safe_optimum(mix, rows, confidence)
    if safe is None:
        result = _balanced(mix, rows, plain)
        return replace(
            result,
            status="impossible",
            messages=(*result.messages, _not_so_safe(mix, rows, confidence)),
            chances=before,
        )
    solution, wider = safe
    result = _balanced(mix, wider, solution)
    after = chances(mix, rows, np.array([weight.grams for weight in result.mix.weights]))
    safety = _safety(mix, confidence, plain, solution, before)
    return replace(result, messages=(*result.messages, safety), chances=after)


def _balanced(mix: Mixture, rows: Programme, solution: Solution) -> Result:
    """The result of a solved mix: rounded, recomputed, and refused if it misses a target."""
    recipe = mix.recipe
    kept = kept_to_counts(mix, rows, solution.weights)
    rounded = weighable(kept, solution.weights, recipe.scale)
    weights = solution.weights if rounded is None else rounded.weights
    judged = assess(mix, weights)
    if rounded is not None and not all(target.met for target in judged.targets):
        rounded, weights = None, solution.weights
        judged = assess(mix, weights)
    require_met(judged)
    return Result(
        name=recipe.name,
        batch_g=recipe.batch_g,
        status="balanced",
        mix=judged,
        mixture=mix,
        present=_present(mix),
        preparation=preparation(mix, weights),
        messages=(
            *scaling(mix),
            *_rounding_message(None if rounded is None else rounded.refined),
            *_gap_message(solution.gap),
            *_usual_message(mix, rows, solution.weights),
        ),
        exact_grams=tuple(float(value) for value in solution.weights),
    )


def _present(mix: Mixture) -> tuple[TargetValue, ...] | None:
    return None if mix.present is None else target_values(mix, mix.present)


def _safety(
    mix: Mixture,
    confidence: float,
    plain: Solution,
    safe: Solution,
    before: tuple[Chance, ...],
) -> Message:
    """What safety costs, and what the plain mix risks."""
    weakest = min(before, key=lambda chance: chance.percent)
    more = None
    if mix.prices is not None and mix.start is None:
        more = float(mix.prices @ (safe.weights - plain.weights)) / mix.recipe.batch_g
    return message(
        "holds_at_confidence",
        key=weakest.key,
        name=target_name(weakest.key, mix.recipe)[0],
        confidence=confidence,
        plain_percent=weakest.percent,
        cost_per_kg=more,
        moved_g=0.5 * float(np.abs(safe.weights - plain.weights).sum()),
    )


def _not_so_safe(mix: Mixture, rows: Programme, confidence: float) -> Message:
    """How high a confidence can be had, by halving."""
    low, high = 0.0, confidence
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if middle > 0.0 and safe_optimum(mix, rows, middle) is None:
            high = middle
        else:
            low = middle
    return message("no_such_confidence", value=100.0 * confidence, limit=100.0 * low)


def _impossible(mix: Mixture, rows: Programme) -> Result:
    if is_counted(mix) and not mix.crossings:
        free = uncounted(mix)
        if free is not None:
            return _too_few(mix, rows, free)
    explanation = explain(mix, rows)
    judged = assess(mix, explanation.nearest)
    disputed = {demand.key for demand in explanation.conflict if demand.kind == "target"}
    missed = {target.key for target in judged.targets if not target.met}
    reaches = tuple(
        reach(mix, rows, target.key, alone=target.key in missed)
        for target in judged.targets
        if target.key in disputed | missed
    )
    return Result(
        name=mix.recipe.name,
        batch_g=mix.recipe.batch_g,
        status="impossible",
        mix=judged,
        mixture=mix,
        present=_present(mix),
        preparation=preparation(mix, explanation.nearest),
        conflict=explanation.conflict,
        contradiction=explanation.contradiction,
        reach=reaches,
        proposals=(
            *relaxations(mix, rows, explanation, reaches, judged),
            *additions(mix, explanation),
        ),
        messages=scaling(mix),
        exact_grams=tuple(float(value) for value in explanation.nearest),
    )


def _too_few(mix: Mixture, rows: Programme, free: Solution) -> Result:
    """A mix would do, but not with so few changes or ingredients: the mix without the counts."""
    judged = assess(mix, free.weights)
    return Result(
        name=mix.recipe.name,
        batch_g=mix.recipe.batch_g,
        status="impossible",
        mix=judged,
        mixture=mix,
        present=_present(mix),
        preparation=preparation(mix, free.weights),
        conflict=count_conflict(mix, rows),
        proposals=count_proposals(mix.recipe),
        messages=(
            *scaling(mix),
            message("counts_not_kept"),
        ),
        exact_grams=tuple(float(value) for value in free.weights),
    )


def _gap_message(gap: float) -> tuple[Message, ...]:
    return () if gap <= 1e-4 else (message("counting_cut_short", value=100.0 * gap),)


def _usual_message(mix: Mixture, rows: Programme, weights: Array) -> tuple[Message, ...]:
    """Where the targets take more of an ingredient than is usual: so, and what would spare it."""
    usual = within_usual(mix, rows)
    if np.all(weights <= usual.upper + _SAME_G):
        return ()
    usual = within_usual(mix, programme(mix))  # without what a confidence adds
    names = tuple(
        name
        for name, weight, most in zip(mix.names, weights, usual.upper, strict=True)
        if weight > most + _SAME_G
    )
    ways: tuple[Message, ...] = ()
    if not is_possible(usual):  # else it would be, but not with so few changes or ingredients
        limited = replace(mix, upper=usual.upper)
        ways = tuple(way.what for way in additions(limited, explain(limited, usual))[:_WAYS])
    return (message("only_above_usual", names=names, ways=ways),)


def _rounding_message(refined: int | None) -> tuple[Message, ...]:
    if refined is None:
        return (message("not_rounded"),)
    return (message("finer_than_scale", value=refined),) if refined > 1 else ()
