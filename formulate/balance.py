"""The two questions that a recipe is asked: which weights meet the targets, and what do these give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from formulate.answer import Result
from formulate.errors import InputError
from formulate.explain import explain, reach
from formulate.mixture import Mixture, mixture
from formulate.optimum import kept_to_counts, optimum
from formulate.outlook import outlook
from formulate.programme import Programme, programme
from formulate.proposals import additions, relaxations
from formulate.recipe import Recipe
from formulate.result import Judged, judge, require_met
from formulate.weigh import weighable

__all__ = ["balance", "check"]

Array = NDArray[np.float64]


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
    present = None if mix.start is None else judge(mix, mix.start)
    if solution is None:
        return _impossible(mix, rows, present)
    kept = kept_to_counts(mix, rows, solution.weights)
    rounded = weighable(kept, solution.weights, recipe.scale)
    weights = solution.weights if rounded is None else rounded.weights
    judged = judge(mix, weights)
    require_met(judged)
    return Result(
        name=recipe.name,
        batch_g=recipe.batch_g,
        status="balanced",
        mix=judged,
        outlook=outlook(mix, judged),
        present=present,
        messages=(
            *_rounding_message(None if rounded is None else rounded.refined),
            *_gap_message(solution.gap),
        ),
        exact_grams=tuple(float(value) for value in solution.weights),
    )


def check(recipe: Recipe) -> Result:
    """Return what the present weights give, scaled to the batch.  Nothing is solved.

    Raises
    ------
    InputError
        If the recipe gives no weights, or cannot be read against the tables.
    """
    mix = mixture(recipe)
    if mix.start is None:
        raise InputError(
            recipe.name, "gives no weights to check", "Give grams, or balance it instead."
        )
    judged = judge(mix, mix.start)
    total = sum(entry.grams or 0.0 for entry in recipe.ingredients)
    messages: list[str] = []
    if abs(total - recipe.batch_g) > 0.05:
        messages.append(
            f"The weights add up to {total:,.0f} g and were scaled to the batch of "
            f"{recipe.batch_g:,.0f} g."
        )
    status = "meets" if judged.all_met else "misses"
    return Result(
        name=recipe.name,
        batch_g=recipe.batch_g,
        status=status,
        mix=judged,
        outlook=outlook(mix, judged),
        present=judged,
        messages=tuple(messages),
    )


def _impossible(mix: Mixture, rows: Programme, present: Judged | None) -> Result:
    explanation = explain(mix, rows)
    judged = judge(mix, explanation.nearest)
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
        outlook=outlook(mix, judged),
        present=present,
        conflict=explanation.conflict,
        contradiction=explanation.contradiction,
        reach=reaches,
        proposals=(
            *relaxations(mix, rows, explanation, reaches, judged),
            *additions(mix, explanation),
        ),
        exact_grams=tuple(float(value) for value in explanation.nearest),
    )


def _gap_message(gap: float) -> tuple[str, ...]:
    if gap <= 1e-4:
        return ()
    return (f"Counting took long: a change up to {100.0 * gap:.1f} % smaller may exist.",)


def _rounding_message(refined: int | None) -> tuple[str, ...]:
    if refined is None:
        return ("The targets are too tight for any scale: the weights are not rounded.",)
    if refined > 1:
        return (
            f"The targets are tight: some weights are {refined} times finer than the scale shows. "
            "Widen a target, or make a larger batch.",
        )
    return ()
