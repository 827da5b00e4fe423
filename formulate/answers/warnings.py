"""What must never be proposed without a word: unusual amounts, and a dessert that is no longer itself."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from formulate.answers.result import Result
from formulate.arrays import Array
from formulate.messages import Message, message
from formulate.mix import Mixture, reading_of, unread_deviation
from formulate.recipes import usual_use
from formulate.solver import gums, role, usual_most

__all__ = ["OF_ITSELF", "warnings_of"]

#: A change of what gives the dessert its name beyond this makes it another; common practice, no source.
OF_ITSELF = 1.0 / 3.0
_SAME = 0.02  # of a ratio of gums, and of a usual limit: what the scale may do
_NOTHING_G = 1e-6
_UNREAD_BRIX = 0.5  # °Bx: lots that differ less need no reading
_UNREAD_OF_MIX = 0.1  # % of the mix: nor does a squeeze of lemon


def warnings_of(result: Result) -> tuple[Message, ...]:
    """Return what a cook must be told of a mix before anything else, the gravest first.

    Every message has a stable code and the fields ``key``, ``value`` and ``limit``:

    ``dropped``
        An ingredient of the present recipe that is left out; grams before, and 0.
    ``character_changed``
        What gives the dessert its name changes by more than a third; the share, and a third.
    ``above_usual``
        More of an ingredient than is usual; % of the mix, and the usual most.
    ``blend_broken``
        Gums that kept no ratio; the ratio, and what it was.
    ``may_crystallise``
        A solute beyond its solubility; both in g per 100 g of liquid water.
    ``unread_lot``
        A fruit whose sweetness varies from lot to lot without a reading; ± and 0 [°Bx].

    Parameters
    ----------
    result:
        What balancing or checking says.

    Returns
    -------
    tuple of Message

    Examples
    --------
    >>> import formulate as fm
    >>> [warned.code for warned in warnings_of(fm.check(fm.load("damson_sorbet")))]
    []
    """
    mix = result.mixture
    weights = np.array([weight.grams for weight in result.mix.weights])
    found = [
        *_changed(mix, weights),
        *_unusual(mix, weights),
        *_blends(mix, weights),
        *_crystals(result),
        *_unread(mix, weights),
    ]
    return tuple(found)


def _changed(mix: Mixture, weights: Array) -> list[Message]:
    found = []
    for index, (entry, grams) in enumerate(zip(mix.recipe.ingredients, weights, strict=True)):
        start = None if mix.start is None or not mix.known[index] else float(mix.start[index])
        if start is None or start <= _NOTHING_G:
            continue
        name = mix.names[index]
        if grams <= _NOTHING_G:
            found.append(message("dropped", key=entry.key, name=name, value=0.0, limit=start))
        elif role(mix, index) == "character" and abs(grams / start - 1.0) > OF_ITSELF:
            moved = float(grams / start - 1.0)
            found.append(
                message("character_changed", key=entry.key, name=name, value=moved, limit=OF_ITSELF)
            )
    return sorted(found, key=lambda each: each.code != "dropped")


def _unusual(mix: Mixture, weights: Array) -> list[Message]:
    found = []
    for index, (entry, grams, most) in enumerate(
        zip(mix.recipe.ingredients, weights, usual_most(mix), strict=True)
    ):
        if grams <= most * (1.0 + _SAME):
            continue
        infused = any(step.do == "infuse" for step in entry.steps)
        usual = usual_use(entry.key, mix.kinds[index], mix.recipe.style, infused)
        percent = usual.most * float(grams / most)
        found.append(
            message(
                "above_usual",
                key=entry.key,
                name=mix.names[index],
                value=percent,
                limit=usual.most,
                source=usual.basis,
            )
        )
    return found


def _blends(mix: Mixture, weights: Array) -> list[Message]:
    """Gums of which the recipe had a ratio."""
    found = []
    for one, other in pairwise(gums(mix)):
        if min(weights[one], weights[other]) <= _NOTHING_G or mix.start is None:
            continue
        was = float(mix.start[one] / mix.start[other])
        now = float(weights[one] / weights[other])
        step = mix.recipe.scale.fine_step_g / float(min(weights[one], weights[other]))
        if abs(now / was - 1.0) > _SAME + step:
            found.append(
                message(
                    "blend_broken",
                    key=mix.keys[one],
                    name=mix.names[one],
                    other=mix.names[other],
                    value=now,
                    limit=was,
                )
            )
    return found


def _crystals(result: Result) -> list[Message]:
    return [risk for risk in result.outlook.risks if risk.code == "may_crystallise"]


def _unread(mix: Mixture, weights: Array) -> list[Message]:
    """Fruit without a reading, whose lots differ."""
    found = []
    for index, (entry, grams) in enumerate(zip(mix.recipe.ingredients, weights, strict=True)):
        if grams <= _NOTHING_G or entry.composition is not None or reading_of(entry) is not None:
            continue
        spread = unread_deviation(entry.key, mix.raw[index])
        share = float(mix.reach[index]) * grams / mix.recipe.batch_g
        if spread >= _UNREAD_BRIX and share * spread >= _UNREAD_OF_MIX:
            name = mix.names[index]
            found.append(message("unread_lot", key=entry.key, name=name, value=spread, limit=0.0))
    return found
