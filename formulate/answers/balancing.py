"""The two questions that a recipe is asked: which weights meet the targets, and what do these give."""

from __future__ import annotations

from dataclasses import replace
from statistics import NormalDist

import numpy as np

from formulate.answers.checking import check, scaling
from formulate.answers.conflicts import explain, reach
from formulate.answers.counting import count_conflict, count_proposals, uncounted
from formulate.answers.proposals import additions, relaxations
from formulate.answers.result import Result
from formulate.answers.servings import served_otherwise, served_within_usual
from formulate.answers.warnings import OF_ITSELF
from formulate.answers.weighing import weighed
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
    target_values,
)
from formulate.recipes import Recipe
from formulate.solver import (
    Chosen,
    is_counted,
    is_possible,
    of_its_name,
    optimum,
    reached,
    role,
    within_usual,
)

__all__ = ["balance", "balance_safely", "check"]


_SAME_G = 1e-7
_WAYS = 3  # as many as a cook reads


def balance(recipe: Recipe, margin: float | None = None) -> Result:
    """Return the mix that meets every target, or why none can.

    The mix is chosen by the order of wishes of :mod:`formulate.solver.optima`.

    Parameters
    ----------
    recipe:
        What is asked.
    margin:
        Standard deviations to keep inside every uncertain target, 0 to 10; as the recipe says if not
        given.

    Returns
    -------
    Result
        ``balanced`` or ``impossible``.

    Raises
    ------
    InputError
        If the recipe cannot be read against the tables, or the margin is out of its range.
    SolverFault, VerificationFault
        If the answer cannot be trusted.

    Examples
    --------
    >>> from formulate.data import example_bytes
    >>> from formulate.recipes import parse
    >>> balance(parse(example_bytes("damson_sorbet"), "damson_sorbet")).status
    'balanced'
    """
    mix = mixture(recipe.with_balance(margin))
    rows = programme(mix)
    chosen = optimum(mix, rows)
    if chosen is None:
        return _impossible(mix, rows)
    return _balanced(mix, rows, chosen)


def balance_safely(recipe: Recipe, confidence: float) -> Result:
    """Return the mix of least change of which every target holds with a confidence.

    Where there is none, the result is impossible, and shows the mix of which the least sure target is
    surest, as far as it was found.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    confidence:
        Probability with which each target must hold, from 0.5 to below 1.  What is asked exactly is left
        out, as nothing keeps a distance from itself.

    Returns
    -------
    Result

    Raises
    ------
    InputError
        If the confidence is out of its range, or the recipe cannot be read against the tables.

    Examples
    --------
    >>> import formulate as fm
    >>> balance_safely(fm.load("damson_sorbet"), 0.6).status == "balanced"
    True
    """
    if not 0.5 <= confidence < 1.0:
        problem = f"is {confidence:g}, and must be from 0.5 to below 1"
        raise InputError("confidence", problem, "Try 0.8.")
    mix = mixture(recipe)
    rows = programme(mix)
    plain = optimum(mix, rows, margin=0.0)
    if plain is None:
        return _impossible(mix, rows)
    one_sided = NormalDist().inv_cdf(confidence)
    two_sided = NormalDist().inv_cdf(0.5 + 0.5 * confidence)
    tried: list[tuple[float, Result]] = []
    for distance in (one_sided, 0.5 * (one_sided + two_sided), two_sided, 1.25 * two_sided):
        chosen = optimum(mix, rows, margin=distance)
        assert chosen is not None  # as there is one without a margin
        result = _balanced(mix, rows, chosen, distance)
        tried.append((_least_sure(result), result))
        if tried[-1][0] >= confidence - result.chance.error:
            return replace(result, messages=(*result.messages, _safety(result, plain, confidence)))
    sureness, result = max(tried, key=lambda each: each[0])
    nearest = message("no_such_confidence", value=100.0 * confidence, limit=100.0 * sureness)
    return replace(result, status="impossible", messages=(*result.messages, nearest))


def _least_sure(result: Result) -> float:
    """Chance of the target that is least sure; 1 without targets that can be unsure."""
    ranged = {target.key for target in result.mix.targets if target.min != target.max}
    return min((each.value for each in result.chance.targets if each.key in ranged), default=1.0)


def _safety(result: Result, plain: Chosen, confidence: float) -> Message:
    """What safety costs, and what it gives."""
    return message(
        "holds_at_confidence",
        confidence=confidence,
        value=100.0 * _least_sure(result),
        moved_g=0.5 * float(np.abs(np.array(result.exact_grams) - plain.weights).sum()),
    )


def _balanced(mix: Mixture, rows: Programme, chosen: Chosen, margin: float | None = None) -> Result:
    """The result of a solved mix: rounded, recomputed, and refused if it misses a target."""
    recipe, exact, shown = mix.recipe, chosen.weights, weighed(mix, chosen, margin)
    return Result(
        name=recipe.name,
        batch_g=recipe.batch_g,
        status="balanced",
        mix=shown.mix,
        mixture=mix,
        present=_present(mix),
        preparation=preparation(mix, shown.weights),
        margin=reached(chosen, shown.weights),
        messages=(
            *scaling(mix),
            *_rounding_message(shown.refined),
            *_gap_message(chosen.solution.gap),
            *_usual_message(mix, rows, exact),
            *_character_message(mix, chosen),
        ),
        exact_grams=tuple(float(value) for value in exact),
    )


def _present(mix: Mixture) -> tuple[TargetValue, ...] | None:
    return None if mix.present is None else target_values(mix, mix.present)


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
            *served_otherwise(mix, rows, explanation.nearest),
            *relaxations(mix, rows, explanation, reaches, judged),
            *additions(mix, rows, explanation),
        ),
        messages=scaling(mix),
        exact_grams=tuple(float(value) for value in explanation.nearest),
    )


def _too_few(mix: Mixture, rows: Programme, free: Chosen) -> Result:
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
    return (message("only_above_usual", names=names, ways=_spared_by(mix, usual)),)


def _character_message(mix: Mixture, chosen: Chosen) -> tuple[Message, ...]:
    """Where the targets make another dessert of it: so, and what would spare that."""
    if not chosen.eased or mix.start is None:
        return ()
    kept = of_its_name(mix, within_usual(mix, programme(mix)))
    beyond = np.maximum(kept.lower - chosen.weights, chosen.weights - kept.upper)
    names = tuple(
        name
        for index, name in enumerate(mix.names)
        if role(mix, index) == "character"
        and beyond[index] > max(OF_ITSELF * float(mix.start[index]), _SAME_G)
    )
    ways = _spared_by(mix, kept) if names else ()
    return (message("only_with_other_character", names=names, ways=ways),) if names else ()


def _spared_by(mix: Mixture, limited: Programme) -> tuple[Message, ...]:
    """What could be done so that the targets hold within limits that they break."""
    if is_possible(limited):  # it would be, but not with so few changes or ingredients
        return ()
    narrow = replace(mix, lower=limited.lower, upper=limited.upper)
    why = explain(narrow, limited)
    ways = (*served_within_usual(narrow, limited, why.nearest), *additions(narrow, limited, why))
    return tuple(way.what for way in ways[:_WAYS])


def _rounding_message(refined: int | None) -> tuple[Message, ...]:
    if refined is None:
        return (message("not_rounded"),)
    return (message("finer_than_scale", value=refined),) if refined > 1 else ()
