"""From the exact optimum to weights that go on the bench: what the scale shows, judged whole."""

from __future__ import annotations

from dataclasses import dataclass, replace

from formulate.arrays import Array
from formulate.errors import VerificationFault
from formulate.mix import Assessment, Mixture, verified
from formulate.solver import Chosen, kept_to_counts, reached, weighable

__all__ = ["Weighed", "weighed"]

_NEXT_TO_NOTHING = 0.1  # standard deviations of margin: what rounding to a scale may take


@dataclass(frozen=True)
class Weighed:
    """A mix as it is shown.

    Attributes
    ----------
    weights:
        [g], shape (ingredients,).
    refined:
        How many times finer than the scale some weights are; ``None`` where they are not rounded.
    mix:
        The mix, judged from composition.
    """

    weights: Array
    refined: int | None
    mix: Assessment


def weighed(mix: Mixture, chosen: Chosen, margin: float | None = None) -> Weighed:
    """Return the mix that is shown for an optimum.

    The present weights, where these meet everything and moving them wins next to nothing; else the
    optimum rounded to the scale, or exact where that breaks a target.

    Parameters
    ----------
    mix, chosen:
        The recipe met with the tables, and its optimum.
    margin:
        What was asked for; as the recipe says if not given.

    Raises
    ------
    VerificationFault
        If the mix, recomputed, does not keep what the recipe asks.
    """
    present = _right_already(mix, chosen, mix.recipe.balance.margin if margin is None else margin)
    if present is not None:
        return Weighed(present.weights, 1, present.mix)
    kept = kept_to_counts(mix, chosen.programme, chosen.weights)
    rounded = weighable(kept, chosen.weights, mix.recipe.scale, chosen.moves)
    if rounded is not None:
        try:
            return Weighed(rounded.weights, rounded.refined, verified(mix, rounded.weights))
        except VerificationFault:  # what rounding breaks is not rounded
            pass
    return Weighed(chosen.weights, None, verified(mix, chosen.weights))


def _right_already(mix: Mixture, chosen: Chosen, margin: float) -> Weighed | None:
    present, asked = mix.present, mix.recipe.balance.objective
    if present is None or mix.scaled_from is not None or asked not in (None, "change"):
        return None
    off = abs(float(mix.reach @ present) - mix.recipe.batch_g)  # what a scale leaves
    asked_for = chosen.programme
    least, most = asked_for.total_least - off, asked_for.total_most + off
    if not replace(asked_for, total_least=least, total_most=most).holds(present):
        return None
    here, there = (reached(chosen, weights) for weights in (present, chosen.weights))
    if here is not None and there is not None and here < min(there, margin) - _NEXT_TO_NOTHING:
        return None
    try:
        return Weighed(present, 1, verified(mix, present))
    except VerificationFault:
        return None
