"""Weight and volume: density of a mix, overrun, and what a gallon or a cup weighs with air in it.

Units: density kg/L, overrun in % of the volume of the mix, gallon of the United States (3.785411784 L).
"""

from __future__ import annotations

from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients import COMPONENT_KEYS, position, properties

__all__ = [
    "LITRES_PER_GALLON",
    "POUND_PER_GALLON",
    "cup_weight",
    "density_with_overrun",
    "mix_density",
    "most_overrun",
    "overrun_by_volume",
    "overrun_by_weight",
    "pounds_per_gallon",
]


LITRES_PER_GALLON = 3.785411784

#: One pound (0.45359237 kg) per gallon in kg/L; both by definition.
POUND_PER_GALLON = 0.45359237 / LITRES_PER_GALLON

# Litres that one kg takes.  Fat and other solids: the textbook formula for ice cream mixes,
# 1 / (1.075 fat + 0.63 (total solids - fat) + water), kg/L, as printed in a copy of a course on ice
# cream.  Alcohol is not in it: 1 / 0.789, the density of ethanol at 20 °C (handbook, from memory).
_FAT, _OTHER_SOLIDS, _WATER, _ALCOHOL = 1.075, 0.63, 1.0, 1.0 / 0.789

_MOST_OVERRUN = 300.0


def mix_density(composition: Array) -> float:
    """Return the density of a mix without air [kg/L], by the textbook formula.

    ``1 / (1.075 fat + 0.63 (total solids - fat) + water)`` with mass fractions; near 1.1 for ice cream
    mixes, for which it was made.  A printed example (12 % fat, 38.3 % solids) gives 1.096; another
    textbook route (Choi and Okos, 4 °C) gives 1.091 for it, so trust it to about 0.5 %.  Alcohol is
    added by its own density; the shrinking of alcohol and water is left out.

    Parameters
    ----------
    composition:
        Amounts over :data:`formulate.ingredients.COLUMNS`, shape (columns,); only ratios matter.

    Returns
    -------
    float
        kg/L.

    Raises
    ------
    InputError
        If there is nothing in it.

    Notes
    -----
    Source: formula and example as printed in a copy of a course on ice cream.

    Examples
    --------
    >>> from formulate.ingredients import read_only
    >>> mix = read_only({"water": 61.7, "milk_fat": 12.0, "other_solids": 26.3})
    >>> round(mix_density(mix), 3)  # printed there as 1.096
    1.097
    """
    total = float(composition[: len(COMPONENT_KEYS)].sum())
    if not total > 0.0:
        raise InputError("composition", "has no mass", "Give weights above zero.")
    known = properties()
    fat = float(composition @ known["fat"].weights)
    solids = float(composition @ known["total_solids"].weights)
    water = float(composition[position("water")])
    alcohol = float(composition[position("ethanol")])
    litres = _FAT * fat + _OTHER_SOLIDS * (solids - fat) + _WATER * water + _ALCOHOL * alcohol
    return total / litres


def overrun_by_volume(mix_l: float, frozen_l: float) -> float:
    """Return the overrun [%] of so much mix that became so much frozen dessert, both in litres."""
    _positive("mix_l", mix_l)
    _positive("frozen_l", frozen_l)
    return 100.0 * (frozen_l - mix_l) / mix_l


def overrun_by_weight(mix_g: float, frozen_g: float) -> float:
    """Return the overrun [%] from the weights of one full cup of mix and of frozen dessert [g].

    ``100 (mix - frozen) / frozen`` for equal volumes, without the cup.
    """
    _positive("mix_g", mix_g)
    _positive("frozen_g", frozen_g)
    return 100.0 * (mix_g - frozen_g) / frozen_g


def density_with_overrun(density: float, overrun_percent: float) -> float:
    """Return the density with air [kg/L] of a mix [kg/L] at an overrun from 0 to 300 %.

    Overrun is against the volume of the unfrozen mix, so that ice does not enter; air weighs nothing.

    Parameters
    ----------
    density:
        Of the mix without air [kg/L], or what a cup holds of it [g]; above 0.
    overrun_percent:
        Air [% of the volume of the mix], 0 to 300.

    Returns
    -------
    float
        Of the mix with its air, in the unit of ``density``.

    Raises
    ------
    InputError
        If a value is out of its range.

    Examples
    --------
    >>> density_with_overrun(1.1, 100.0)
    0.55
    """
    _positive("density", density)
    if not 0.0 <= overrun_percent <= _MOST_OVERRUN:
        problem = f"is {overrun_percent:g}, and must be from 0 to {_MOST_OVERRUN:g} %"
        raise InputError("overrun_percent", problem, "30 means 1 L of mix became 1.3 L.")
    return density / (1.0 + overrun_percent / 100.0)


def pounds_per_gallon(density: float, overrun_percent: float = 0.0) -> float:
    """Return what a gallon weighs [lb] of a mix of so many kg/L with so much overrun [%].

    Parameters
    ----------
    density:
        Of the mix without air [kg/L], above 0.
    overrun_percent:
        Air [% of the volume of the mix], 0 to 300.

    Returns
    -------
    float
        lb per US gallon.

    Raises
    ------
    InputError
        If a value is out of its range.

    Examples
    --------
    >>> round(pounds_per_gallon(1.0), 3)
    8.345
    """
    return density_with_overrun(density, overrun_percent) / POUND_PER_GALLON


def most_overrun(density: float, least: float) -> float:
    """Return the overrun [%] at which a mix [kg/L] weighs just ``least`` kg/L with its air.

    Below zero where the mix is too light even without air.
    """
    _positive("density", density)
    _positive("least", least)
    return 100.0 * (density / least - 1.0)


def cup_weight(mix_g: float, overrun_percent: float, tare_g: float = 0.0) -> float:
    """Return what a full cup weighs on the scale [g]: a cup that holds ``mix_g`` of mix, and its tare.

    Parameters
    ----------
    mix_g:
        What the cup holds of the mix without air [g], above 0.
    overrun_percent:
        Air [% of the volume of the mix], 0 to 300.
    tare_g:
        What the empty cup weighs [g], 0 or more.

    Returns
    -------
    float
        [g].

    Raises
    ------
    InputError
        If a value is out of its range.

    Examples
    --------
    >>> cup_weight(110.0, 100.0, tare_g=12.0)
    67.0
    """
    if not 0.0 <= tare_g < float("inf"):
        raise InputError("tare_g", f"is {tare_g:g}, and must be 0 or more", "Weigh the empty cup.")
    return tare_g + density_with_overrun(mix_g, overrun_percent)


def _positive(place: str, value: float) -> None:
    if not 0.0 < value < float("inf"):
        raise InputError(place, f"is {value:g}, and must be above zero", "Measure again.")
