"""What a kitchen can expect of a mix in the cold, and how sure that is.

Brings together the curve's uncertainty, the span of temperatures in which the mix scoops, the freezer
where it is kept, the classical method's opinion and what may go wrong.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.arrays import Array
from formulate.freezing import SecondOpinion, freezing_model, frozen_at, second_opinion
from formulate.ingredients import position
from formulate.messages import Message
from formulate.mix.assessment import CURVE_TEMPERATURES, Assessment
from formulate.mix.defects import glass_temperature, risks
from formulate.mix.mixtures import Mixture
from formulate.mix.uncertainty import Doubts, doubts, frozen_water_deviation, temperature_deviation
from formulate.recipes import Range, middle_of
from formulate.timing import ice_volume_percent

__all__ = ["Cause", "Outlook", "outlook"]


_CAUSES_SHOWN = 3
_WATER = position("water")


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause of uncertainty, and its share of the variance [%]."""

    what: Message
    share_percent: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """The cold side of a mix.  Deviations are standard deviations; ``None`` where there is no value.

    Attributes
    ----------
    initial_freezing_point_deviation, serving_temperature_deviation:
        [°C].
    frozen_water_deviation:
        At :data:`CURVE_TEMPERATURES` [% of water].
    serving_frozen_water_deviation:
        At the serving temperature [% of water].
    causes:
        What makes it uncertain, largest first.
    scoops_between_c:
        Warmest and coldest temperature at which the mix is in its serving window [°C].
    freezer_frozen_water:
        Frozen water at the temperature of the freezer [% of water].
    ice_volume_percent:
        Ice at the serving temperature, with the air of the overrun [% of volume].
    glass_temperature_c:
        Rough glass transition [°C].
    second_opinion, risks:
        The classical method's opinion; what may go wrong.
    """

    initial_freezing_point_deviation: float | None
    serving_temperature_deviation: float | None
    frozen_water_deviation: tuple[float, ...]
    serving_frozen_water_deviation: float
    causes: tuple[Cause, ...]
    scoops_between_c: tuple[float | None, float | None]
    freezer_frozen_water: float
    ice_volume_percent: float
    glass_temperature_c: float | None
    second_opinion: SecondOpinion
    risks: tuple[Message, ...]


def outlook(mix: Mixture, judged: Assessment) -> Outlook:
    """Return the outlook of a mix that was judged from this recipe.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    judged:
        The mix, from composition.

    Returns
    -------
    Outlook

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import assess, mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> 0.0 <= outlook(mix, assess(mix, mix.start)).freezer_frozen_water <= 100.0
    True
    """
    weights = np.array([weight.grams for weight in judged.weights])
    composition, serving = judged.composition, judged.serving
    found = doubts(mix, weights)
    temperatures = (*CURVE_TEMPERATURES, serving.temperature_c, serving.freezer_c)
    by_doubt = frozen_water_deviation(composition, found, temperatures)
    spread = np.sqrt((by_doubt**2).sum(axis=0))
    window = serving.frozen_water
    frozen = frozen_at(temperatures, composition)
    point, served = _temperature_deviations(
        composition,
        found,
        (
            (judged.initial_freezing_point_c, 0.0),
            (judged.serving_temperature_c, middle_of(window)),
        ),
    )
    return Outlook(
        initial_freezing_point_deviation=point,
        serving_temperature_deviation=served,
        frozen_water_deviation=tuple(float(value) for value in spread[:-2]),
        serving_frozen_water_deviation=float(spread[-2]),
        causes=_causes(found, by_doubt[:, -2]),
        scoops_between_c=_reached(composition, window),
        freezer_frozen_water=float(frozen[-1]),
        ice_volume_percent=float(
            ice_volume_percent(composition, serving.temperature_c, serving.overrun_percent)
        ),
        glass_temperature_c=glass_temperature(composition),
        second_opinion=second_opinion(
            composition, judged.initial_freezing_point_c, serving.temperature_c
        ),
        risks=risks(composition, serving),
    )


def _temperature_deviations(
    composition: Array, found: Doubts, places: tuple[tuple[float | None, float], ...]
) -> list[float | None]:
    """Standard deviation of each temperature [°C]; ``None`` where there is none."""
    known = tuple((at, percent) for at, percent in places if at is not None and at < 0.0)
    effects = temperature_deviation(composition, found, known) if known else np.zeros((1, 0))
    spread = iter(np.sqrt((effects**2).sum(axis=0)))
    return [float(next(spread)) if at is not None and at < 0.0 else None for at, _ in places]


def _causes(found: Doubts, effects: Array) -> tuple[Cause, ...]:
    """The largest shares of the variance; doubts of which the same is said count as one."""
    shares: dict[Message, float] = {}
    for what, effect in zip(found.what, effects, strict=True):
        shares[what] = shares.get(what, 0.0) + float(effect) ** 2
    total = sum(shares.values())
    if total <= 0.0:
        return ()
    ranked = sorted(shares.items(), key=lambda pair: -pair[1])[:_CAUSES_SHOWN]
    return tuple(Cause(what, 100.0 * part / total) for what, part in ranked)


def _reached(composition: Array, window: Range) -> tuple[float | None, float | None]:
    """Where the least and the most of a window are frozen [°C]; ``None`` for no such bound or place."""
    if composition[_WATER] <= 0.0:
        return None, None
    bounds = (window.min, window.max)
    percents = tuple(0.0 if bound is None else bound for bound in bounds)
    found = freezing_model().temperatures_at_frozen_water(composition, percents)[0]
    low, high = (
        None if bound is None or np.isnan(at) else float(at)
        for bound, at in zip(bounds, found, strict=True)
    )
    return low, high
