"""What a reading of the whole mix says: which weight or lot is not as it was thought.

Every weight may be off by what a scale and a hand do, every lot by what :mod:`formulate.mix.uncertainty`
says.  The causes that together make the reading most likely are found by weighted least squares with
bounds: nothing can weigh less than nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients import brix_of
from formulate.messages import Message, message
from formulate.mix import Mixture, lot_doubts, mixture
from formulate.recipes import Recipe
from formulate.solver import bounded_least_squares

__all__ = ["Inference", "Suspect", "infer"]


#: How far a weight may be off in a busy kitchen, in % of it; common practice, no source.
_WEIGHING_PERCENT = 3.0
_SHOWN = 4
_STEP = 1e-3


@dataclass(frozen=True, slots=True)
class Suspect:
    """One cause.

    Attributes
    ----------
    what:
        The weight of an ingredient, or a doubt about what it holds.
    alone:
        By how much it would have to be off, if it were the only cause.
    likely:
        By how much it is off in the likeliest explanation by all causes together.
    unit:
        Of both.
    share_percent:
        How much of the difference it explains, given how far each cause usually is off [%].
    """

    what: Message
    alone: float
    likely: float
    unit: str
    share_percent: float


@dataclass(frozen=True, slots=True)
class Inference:
    """A reading against what the weights say, and the suspects, likeliest first.

    ``unusual`` is the difference in standard deviations of all causes together: above 2 it is hardly
    chance.
    """

    expected_brix: float
    read_brix: float
    unusual: float
    suspects: tuple[Suspect, ...]


def infer(recipe: Recipe, brix: float, plus_minus: float = 0.2) -> Inference:
    """Return what a reading of the finished mix says about its weights and lots.

    Parameters
    ----------
    recipe:
        With the weights that are thought to be in the pot.
    brix:
        Reading of the mix at 20 °C [°Bx], without fat or much protein.
    plus_minus:
        Its standard deviation [°Bx], above 0.

    Returns
    -------
    Inference

    Raises
    ------
    InputError
        If the recipe gives no weights, or a reading is out of its range.

    Examples
    --------
    >>> import formulate as fm
    >>> found = infer(fm.load("damson_sorbet"), 26.0)
    >>> found.read_brix < found.expected_brix
    True
    """
    if not 0.0 < brix <= 85.0 or not plus_minus > 0.0:
        raise InputError("brix", f"{brix:g} °Bx is not from above 0 to 85", "Read again.")
    mix = mixture(recipe)
    if mix.present is None:
        raise InputError(recipe.name, "does not give every weight", "Give what went into the pot.")
    grams = np.array([entry.grams or 0.0 for entry in recipe.ingredients])
    expected = _brix(mix, grams)
    causes, units, sizes, effects, bounds = _causes(mix, grams, expected)
    difference = brix - expected
    found = bounded_least_squares(
        np.vstack([effects / plus_minus, np.eye(len(effects))]),
        np.concatenate([[difference / plus_minus], np.zeros(len(effects))]),
        bounds,
    )
    variance = effects**2
    total = float(variance.sum())
    suspects = [
        Suspect(
            what=causes[index],
            alone=float(difference / effects[index] * sizes[index]),
            likely=float(found[index] * sizes[index]),
            unit=units[index],
            share_percent=100.0 * float(variance[index]) / total,
        )
        for index in np.argsort(-variance, kind="stable")[:_SHOWN]
        if abs(effects[index]) > 1e-9
    ]
    unusual = abs(difference) / float(np.sqrt(total + plus_minus**2))
    return Inference(expected, brix, unusual, tuple(suspects))


def _brix(mix: Mixture, grams: Array) -> float:
    return brix_of(grams @ mix.compositions / float(mix.reach @ grams))


def _causes(
    mix: Mixture, grams: Array, expected: float
) -> tuple[list[Message], list[str], list[float], Array, Array]:
    """Causes: what, unit, size of one standard deviation, effect on the reading, lowest value."""
    causes, units, sizes, effects, lowest = [], [], [], [], []
    for index, weight in enumerate(grams):
        if weight <= 0.0:
            continue
        off = max(weight * _WEIGHING_PERCENT / 100.0, 0.5)
        moved = grams.copy()
        moved[index] += _STEP * off
        causes.append(message("doubt_of_weight", name=mix.names[index]))
        units.append("g")
        sizes.append(off)
        effects.append((_brix(mix, moved) - expected) / _STEP)
        lowest.append(-weight / off)
        for what, change in lot_doubts(mix, index):
            compositions = mix.compositions.copy()
            compositions[index] = compositions[index] + _STEP * change
            shifted = _brix(replace(mix, compositions=compositions), grams)
            own = brix_of(compositions[index]) - brix_of(mix.compositions[index])
            causes.append(what)
            units.append("°Bx of it")
            sizes.append(own / _STEP)
            effects.append((shifted - expected) / _STEP)
            lowest.append(-5.0)
    return causes, units, sizes, np.array(effects), np.array(lowest)
