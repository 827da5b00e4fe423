"""What passes and what stays: pressing, sieving, boiling off, and herbs drawn in a liquid.

Every function parts grams by column into two, so that nothing is lost or made.  Seeds, skins and fibres
are pulp; all else runs with the juice.

Pressed out, a spent herb holds liquid.  What a kitchen can weigh is the liquid poured on less the liquid
strained off, so that this, per gram of herb, is the figure of an infusion.  It is net of what the herb
gives: all that passes over from the herb takes the place of as much liquid, which stays in the herb.

Time and temperature choose the usual figures, hot or cold; how fast a herb draws is not computed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite, sqrt

import numpy as np

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients import COLUMNS, COMPONENT_KEYS, brix_of, position
from formulate.messages import Message, message

__all__ = [
    "Infusion",
    "Prepared",
    "clear_fat",
    "drain",
    "evaporate",
    "infusion_notes",
    "liquid_for",
    "mass_of",
    "preparation_notes",
    "press",
    "retained_from_weighing",
    "share",
    "sieve",
    "soak",
    "steep",
    "top_up",
    "yield_from_weighing",
]

Split = tuple[Array, Array]

#: What neither dissolves nor runs with the juice of a plant.
_PULP = np.isin(COLUMNS, ("other_fat", "cocoa_fat", "other_protein", "fibre", "starch"))
_WATER, _ETHANOL, _MILK_FAT = position("water"), position("ethanol"), position("milk_fat")
_FAR = 3.0  # times the usual dose or time, where a word is due; no source


@dataclass(frozen=True, slots=True)
class Infusion:
    """How a herb gives itself to a liquid, and what it keeps of it.

    Attributes
    ----------
    grams_kept_per_gram:
        Liquid poured on less liquid strained off, per gram of herb; below zero where a juicy herb gives
        more than it keeps.
    solids_percent, water_percent:
        Shares of the herb's soluble solids and of its own water that pass over; liquid takes the place
        of both.  Oil, protein, fibre and starch stay.
    hot, minutes, at_c:
        How it is drawn; ``None`` where the recipe does not say.
    usual_minutes, usual_grams_per_kg:
        Usual time and dose, for advice; ``None`` where not known.
    """

    grams_kept_per_gram: float
    solids_percent: float
    water_percent: float
    hot: bool = True
    minutes: float | None = None
    at_c: float | None = None
    usual_minutes: float | None = None
    usual_grams_per_kg: float | None = None


@dataclass(frozen=True)
class Prepared:
    """What a gram at the scale becomes.  All vectors are grams by column per gram weighed.

    Attributes
    ----------
    weighed:
        What is on the scale: the composition, changed by the steps before the scale.
    contribution:
        What reaches the mix; below zero in an infusion, for the liquid that the spent herb keeps.
    losses, trimmings:
        What leaves after and before the scale, by where; below zero where water is taken up.
        ``contribution`` and ``losses`` together are ``weighed``.
    buy_per_weighed:
        Grams to buy per gram weighed.
    doubts:
        Change of ``contribution`` by one standard deviation of each setting, by step and setting.
    liquids:
        Liquid that a herb is drawn in, and what its weight loses, g per gram weighed.
    """

    weighed: Array
    contribution: Array
    losses: Mapping[str, Array]
    trimmings: Mapping[str, Array]
    buy_per_weighed: float
    doubts: Mapping[str, Array]
    liquids: Mapping[str, float]

    @property
    def yield_share(self) -> float:
        """Grams that reach the mix per gram weighed."""
        return mass_of(self.contribution) / mass_of(self.weighed)

    @property
    def spread(self) -> float:
        """Standard deviation of ``yield_share`` in shares of it; doubts add up as squares."""
        size = abs(mass_of(self.contribution))
        return (
            sqrt(sum(mass_of(part) ** 2 for part in self.doubts.values())) / size if size else 0.0
        )


def mass_of(grams: Array) -> float:
    """Return the mass of a vector over the columns [g]: its components, without the attributes.

    Parameters
    ----------
    grams:
        Grams over the columns, shape (columns,).

    Returns
    -------
    float

    Examples
    --------
    >>> from formulate.ingredients import read_only
    >>> mass_of(read_only({"water": 10.0, "egg_yolk_solids": 2.0}))
    10.0
    """
    return float(grams[: len(COMPONENT_KEYS)].sum())


def share(grams: Array, to: Mapping[str, float], place: str) -> Split:
    """Waste of the same composition leaves."""
    lost = grams * (to["waste_percent"] / 100.0)
    return grams - lost, lost


def sieve(grams: Array, to: Mapping[str, float], place: str) -> Split:
    """Pulp stays behind with juice; at least half of what stays is juice."""
    waste = mass_of(grams) * to["waste_percent"] / 100.0
    pulp = mass_of(grams * _PULP)
    juice = mass_of(grams) - pulp
    held = min(pulp * to["fibre_percent"] / 100.0, waste / 2.0)
    if juice < max(pulp, waste - held):  # nuts and powders: a sieve does not sort them
        return share(grams, to, place)
    stays = grams * np.where(_PULP, _ratio(held, pulp), _ratio(waste - held, juice))
    return grams - stays, stays


def drain(grams: Array, to: Mapping[str, float], place: str) -> Split:
    """Juice runs off, with some pulp: what stays, and what runs."""
    mass, pulp = mass_of(grams), mass_of(grams * _PULP)
    passing = to.get("pulp_percent", 0.0) / 100.0
    wanted = mass * to["juice_percent"] / 100.0 - passing * pulp
    if not 0.0 <= wanted <= mass - pulp:
        low, high = (100.0 * (passing * pulp + part) / mass for part in (0.0, mass - pulp))
        problem = f"is {to['juice_percent']:g}, and must be from {low:.3g} to {high:.3g}"
        remedy = "There is no more juice in it: weigh again."
        raise InputError(f"{place}, juice_percent", problem, remedy)
    runs = grams * np.where(_PULP, passing, _ratio(wanted, mass - pulp))
    return grams - runs, runs


def press(grams: Array, to: Mapping[str, float], place: str) -> Split:
    """As :func:`drain`, but the juice is wanted."""
    stays, runs = drain(grams, to, place)
    return runs, stays


def evaporate(grams: Array, to: Mapping[str, float], place: str) -> Split:
    """Alcohol and water leave, until the end that ``to`` names."""
    mass, water = mass_of(grams), float(grams[_WATER])
    if water <= 0.0:
        raise InputError(place, "there is no water that could leave", "Leave this step out.")
    spirit = float(grams[_ETHANOL]) * (1.0 - to["alcohol_kept_percent"] / 100.0)
    if "to_brix" in to:
        brix = brix_of(grams)
        left = water * brix / (100.0 - brix) * (100.0 / to["to_brix"] - 1.0) if brix else -mass
        problem = f"to_brix is {to['to_brix']:g}, and it reads {brix:.1f} °Bx before"
    elif "to_moisture_percent" in to:
        aim = to["to_moisture_percent"]
        left = (mass - spirit - water) * aim / (100.0 - aim)
        now = 100.0 * water / (mass - spirit)
        problem = f"to_moisture_percent is {aim:g}, and it has {now:.1f} % of water before"
    else:
        off = mass * to.get("steam_percent", 100.0 - to.get("to_percent", 100.0)) / 100.0
        spirit = min(spirit, off)
        left = water + spirit - off
        most = 100.0 * (water + spirit) / mass
        problem = f"{100.0 * off / mass:.3g} % of it cannot leave; only {most:.3g} % can boil off"
    if not -1e-12 * mass <= left <= water + 1e-12 * mass:
        raise InputError(place, problem, "Check where the step ends, and what comes before it.")
    lost = np.zeros_like(grams)
    lost[_WATER], lost[_ETHANOL] = water - min(max(left, 0.0), water), spirit
    return grams - lost, lost


def clear_fat(grams: Array, to: Mapping[str, float], place: str) -> Split:
    """Milk fat is poured off; water and milk solids stay, with some fat."""
    if grams[_MILK_FAT] <= 0.0:
        raise InputError(place, "there is no milk fat in it", "To clear a juice, write clarify.")
    kept = np.zeros_like(grams)
    kept[_MILK_FAT] = grams[_MILK_FAT] * to["fat_kept_percent"] / 100.0
    return kept, grams - kept


def soak(grams: Array, to: Mapping[str, float], place: str) -> Split:
    """Water is taken up: what leaves is below zero."""
    taken = np.zeros_like(grams)
    taken[_WATER] = mass_of(grams) * to["grams_taken_per_gram"]
    return grams + taken, -taken


def steep(herb: Array, liquid: Array, figures: Infusion, place: str = "infuse") -> Split:
    """Return what a herb adds to a liquid, and what leaves with the spent herb.

    Parameters
    ----------
    herb, liquid:
        Grams of the herb by column, and the composition of the liquid, of which only the proportions
        count.
    figures:
        Figures of the infusion.
    place:
        Where the step stands, for messages.

    Returns
    -------
    tuple
        Grams that the mix gains, below zero for what the spent herb keeps of the liquid, and grams in
        the spent herb.  Together they are the herb.

    Raises
    ------
    InputError
        If more would be strained off than liquid and herb can give.
    """
    mass = mass_of(herb)
    passes = np.where(_PULP, 0.0, figures.solids_percent / 100.0)
    passes[_WATER] = figures.water_percent / 100.0
    given = herb * passes
    held = figures.grams_kept_per_gram * mass + mass_of(given)
    if held < -1e-12 * mass:
        kept, least = figures.grams_kept_per_gram, -mass_of(given) / mass
        problem = (
            f"is {kept:g}, and must be at least {least:.2f}, all that passes over from the herb"
        )
        remedy = "Weigh liquid, herb and strained liquid again."
        raise InputError(f"{place}, grams_kept_per_gram", problem, remedy)
    gained = given - liquid * (held / mass_of(liquid))
    return gained, herb - gained


def liquid_for(wanted_g: float, herb_g: float, figures: Infusion) -> float:
    """Return how much liquid to pour on [g] so that ``wanted_g`` comes through."""
    return wanted_g + figures.grams_kept_per_gram * herb_g


def top_up(herb_g: float, figures: Infusion) -> float:
    """Return how much liquid brings the strained infusion back to the weight poured on [g]."""
    return max(0.0, figures.grams_kept_per_gram * herb_g)


def retained_from_weighing(liquid_g: float, herb_g: float, strained_g: float) -> float:
    """Return ``grams_kept_per_gram`` as one weighing of liquid, herb and strained liquid shows it [g].

    Parameters
    ----------
    liquid_g, herb_g, strained_g:
        Liquid, herb, and what was strained off [g], above 0.

    Returns
    -------
    float

    Raises
    ------
    InputError
        If a weight is not above zero, or more was strained off than went in.

    Examples
    --------
    >>> retained_from_weighing(1000.0, 30.0, 955.0)
    1.5
    """
    _weighing(liquid=liquid_g, herb=herb_g, strained=strained_g)
    _no_more(strained_g, liquid_g + herb_g)
    return (liquid_g - strained_g) / herb_g


def yield_from_weighing(before_g: float, after_g: float) -> float:
    """Return the share of the weight that is left after a step, 0 to 1.

    Parameters
    ----------
    before_g, after_g:
        Weights before and after the step [g], above 0.

    Returns
    -------
    float

    Raises
    ------
    InputError
        If a weight is not above zero, or there is more after the step than before.

    Examples
    --------
    >>> yield_from_weighing(500.0, 430.0)
    0.86
    """
    _weighing(before=before_g, after=after_g)
    _no_more(after_g, before_g)
    return after_g / before_g


def preparation_notes(name: str, prepared: Prepared, grams: float) -> tuple[Message, ...]:
    """Return what to buy and weigh, what reaches the churn and where the rest goes.

    Parameters
    ----------
    name:
        The ingredient, as at the start of a sentence.
    prepared, grams:
        What a gram of it becomes, and the weight at the scale [g].

    Returns
    -------
    tuple of Message

    Examples
    --------
    >>> from formulate.recipes import prepare, steps_from_data
    >>> from formulate.ingredients import ingredient_table
    >>> damson = ingredient_table()["damson"].composition
    >>> steps = steps_from_data([{"do": "sieve", "waste_percent": 10}])
    >>> [said.code for said in preparation_notes("Damsons", prepare(damson, steps, "fruit"), 1000.0)]
    ['weighed_and_reaches', 'lost_on_the_way', 'preparation_unsure']
    """
    bought = grams * prepared.buy_per_weighed
    for liquid, kept in prepared.liquids.items():
        return (
            message("herb_weighed", name=name, bought_g=bought, weighed_g=grams),
            message("spent_herb_keeps", liquid=liquid, grams=kept * grams),
        )
    reaches = grams * prepared.yield_share
    weights = {"bought_g": bought, "weighed_g": grams, "reaches_g": reaches}
    found = [message("weighed_and_reaches", name=name, **weights)]
    rest = [*prepared.trimmings.items(), *prepared.losses.items()]
    lost = [(where, mass_of(part) * grams) for where, part in rest]
    lost.sort(key=lambda part: part[1] < 0.0)  # what is taken up comes last
    parts = tuple(message("lost", where=where, grams=part) for where, part in lost if part != 0.0)
    if parts:
        found.append(message("lost_on_the_way", parts=parts))
    if prepared.spread >= 0.01:
        found.append(message("preparation_unsure", grams=reaches * prepared.spread))
    return tuple(found)


def infusion_notes(
    herb: str, liquid: str, herb_g: float, liquid_g: float, figures: Infusion
) -> tuple[Message, ...]:
    """Return how to draw a herb, what comes through and what to top up.

    Parameters
    ----------
    herb, liquid:
        Their names.
    herb_g, liquid_g:
        Weights before the infusion [g].
    figures:
        Figures of the infusion.

    Returns
    -------
    tuple of Message

    Examples
    --------
    >>> figures = Infusion(1.5, 20.0, 10.0)
    >>> infusion_notes("spearmint", "whole milk", 30.0, 1000.0, figures)[0].code
    'draw_herb'
    """
    minutes = figures.usual_minutes if figures.minutes is None else figures.minutes
    names = {"herb": herb, "liquid": liquid}
    weights = {"herb_g": herb_g, "liquid_g": liquid_g}
    how = {"hot": figures.hot, "minutes": minutes, "at_c": figures.at_c}
    found = [message("draw_herb", **names, **weights, **how)]
    more, whole = top_up(herb_g, figures), liquid_for(liquid_g, herb_g, figures)
    if more >= liquid_g:
        return (*found, message("too_little_liquid", **names))
    comes = {"grams": 2.0 * liquid_g - whole, "top_up_g": more, "instead_g": whole}
    found.append(message("comes_through", liquid=liquid, liquid_g=liquid_g, **comes))
    usual, dose = figures.usual_grams_per_kg, 1000.0 * herb_g / liquid_g
    if usual is not None and not usual / _FAR <= dose <= usual * _FAR:
        found.append(message("unusual_dose", liquid=liquid, value=dose, limit=usual))
    usual = figures.usual_minutes
    if usual and minutes and not usual / _FAR <= minutes <= usual * _FAR:
        found.append(message("taken_as_after", minutes=usual))
    return tuple(found)


def _ratio(part: float, whole: float) -> float:
    return part / whole if whole > 0.0 else 0.0


def _weighing(**weights: float) -> None:
    for name, grams in weights.items():
        if not (isfinite(grams) and grams > 0.0):
            problem = f"is {grams:g} g, and must be above 0"
            raise InputError(f"weighing, {name}", problem, "Give the weight without the bowl.")


def _no_more(after_g: float, before_g: float) -> None:
    if after_g > before_g:
        problem = f"{after_g:g} g came out of {before_g:g} g"
        raise InputError("weighing", problem, "Take off the weight of the bowl and weigh again.")
