"""What to mind in a mix by what it contains: heating, cooling, ageing, eggs, things added cold.

Quoted rules and common practice, each caution with what it rests on; none says that a mix is safe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from formulate.ingredients import ingredient_table, position
from formulate.safety.heat import heat_rows

__all__ = ["DEFER", "REFREEZING_C", "Caution", "cautions_for"]

#: Stands with every answer about safety.
DEFER = (
    "Quoted to help, not as legal advice: follow your local rules and your own hazard plan, and ask your "
    "food authority where in doubt."
)

#: Warmest temperature that frozen ice cream may have had and still be sold, UK [°C].
REFREEZING_C = -2.2

_RAW_EGGS = ("whole_egg", "egg_yolk", "egg_white")
_LIKE_MILK = ("plant_drink", "nut", "protein")
_FRESH = ("fruit", "herb", "vegetable")
_MILK_PARTS = tuple(position(key) for key in ("milk_protein", "milk_fat", "lactose"))
_EGG_PARTS = _EGG_PROTEIN, _EGG_FAT = position("egg_protein"), position("egg_fat")
_YOLK_FAT = 0.1  # g of egg fat per g of egg protein, above which it is not white alone
_ETHANOL = position("ethanol")


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to mind in a mix: a key, sentences, and what they rest on."""

    key: str
    text: str
    basis: str


def cautions_for(keys: Sequence[str], composition: ArrayLike) -> tuple[Caution, ...]:
    """Return what to mind in a mix by what it contains, heat treatment first and local rules last.

    Parameters
    ----------
    keys:
        Its ingredients; those that the table does not have are judged by the composition alone.
    composition:
        The mix, g per 100 g, shape (columns,).

    Returns
    -------
    tuple of Caution

    Notes
    -----
    Source of each stands in its ``basis``. That nothing is said of something does not make it safe.

    Examples
    --------
    >>> composition = ingredient_table()["whole_milk"].composition
    >>> [caution.key for caution in cautions_for(["whole_milk"], composition)]
    ['heat', 'cooling', 'ageing', 'refreezing', 'local']
    """
    table = ingredient_table()
    known = [table[key] for key in keys if key in table]
    parts = np.asarray(composition, dtype=float)
    eggs = [entry.key for entry in known if "eggs" in entry.allergens]
    milk = any("milk" in entry.allergens for entry in known)
    milk = milk or bool(parts[list(_MILK_PARTS)].any())
    egg = bool(eggs) or bool(parts[list(_EGG_PARTS)].any())
    yolk = bool(parts[_EGG_FAT] > _YOLK_FAT * parts[_EGG_PROTEIN])
    like_milk = [entry.name for entry in known if entry.kind in _LIKE_MILK]
    heated = milk or yolk
    unheated = _like_milk(like_milk) if like_milk else _WATER_ICE
    found = [_heat_caution(milk, egg) if heated else unheated]
    if egg:
        raw = [table[key].name for key in eggs if key in _RAW_EGGS]
        found += _egg_cautions(raw, told=bool(eggs), custard=yolk and milk)
    if heated or like_milk:
        found += [_COOLING, _AGEING]
    fresh = [entry.name for entry in known if entry.kind in _FRESH]
    if fresh and heated:
        found.append(_fresh(fresh))
    if parts[_ETHANOL] > 0.0:
        found.append(_alcohol(float(parts[_ETHANOL])))
    return (*found, _REFREEZING, Caution("local", DEFER, ""))


_COOLING = Caution(
    "cooling",
    "Cool fast after heating: to 7.2 °C or colder within 1.5 h (UK, 1995), or from 57 to 21 °C within "
    "2 h and to 5 °C within 6 h in all (US Food Code). Spread it thin, stand it in ice water and stir.",
    "SI 1995/1372; Food Code 3-501.14",
)
_AGEING = Caution(
    "ageing",
    "Age it at 5 °C or colder for at least 4 h, usually overnight: fat sets, proteins and gums take up "
    "water. How long a mix may wait before churning is for your local rules.",
    "H. D. Goff, Ice Cream Technology e-Book, University of Guelph, Ageing of mix",
)
_WATER_ICE = Caution(
    "water_ice",
    "It has no milk, and no egg but white: by the US pattern a water ice, whose mix need not be "
    "pasteurised; UK regulations of 1959 let water ices off that are acid enough. Fruit, herbs and water "
    "still bring what is on them: wash them, and heat what has little acid, as melon, banana or an "
    "infusion.",
    "21 CFR 135.160; Hackney health report 1959 (wellcomelibrary.org); washing and heating: common "
    "practice, no source",
)
_REFREEZING = Caution(
    "refreezing",
    f"What has been warmer than {REFREEZING_C:g} °C since it was frozen is not sold unless it is "
    "heat-treated and frozen again (UK, 1995); thawed dessert is not simply frozen again.",
    "SI 1995/1372, Schedule 6 Part V (repealed, from memory; used as guidance)",
)


def _heat_caution(milk: bool, egg: bool) -> Caution:
    what = " and ".join(name for name, there in (("milk", milk), ("egg", egg)) if there)
    shown = {"US": "us_pmo", "UK": "uk_1995"}
    rows = "; ".join(
        f"{place}: "
        + ", ".join(
            row.printed for row in heat_rows() if row.key.startswith(key) and row.product == "mix"
        )
        for place, key in shown.items()
    )
    return Caution(
        "heat",
        f"It contains {what}: the rules for frozen dessert mix heat the whole mixture, also where its "
        f"parts came pasteurised. {rows}.",
        "heat_treatment.csv; the UK figures are repealed (from memory) and used as guidance",
    )


def _egg_cautions(raw: Sequence[str], *, told: bool, custard: bool) -> list[Caution]:
    found = []
    if raw or not told:
        subject = ", ".join(raw) if raw else "Egg in it that is not said to be pasteurised"
        found.append(
            Caution(
                "raw_egg",
                f"{subject}: raw egg may carry Salmonella. The US Food Code wants pasteurised egg in ice "
                "cream unless it is cooked; US advice to households is 71 °C inside, stirring. UK "
                "advice allows raw eggs of the British Lion scheme to most people, not to the severely "
                "immunocompromised.",
                "Food Code 3-302.13 (Washington 246-215-03312); foodsafety.gov; Food Standards Agency, "
                "2017, as reported by ncass.org.uk",
            )
        )
    if custard:
        found.append(
            Caution(
                "custard",
                "Custard sets between about 79 and 83 °C and curdles some 3 to 6 °C above: stir, probe "
                "the middle, and cool as soon as it has held its time.",
                "H. McGee, On Food and Cooking, 2004",
            )
        )
    return found


def _like_milk(names: Sequence[str]) -> Caution:
    return Caution(
        "like_milk",
        f"{', '.join(names)}: with protein and little acid microbes grow as in milk. Kitchens treat such "
        "a mix as one with milk, though no rule quoted here names it.",
        "common practice, no source",
    )


def _fresh(names: Sequence[str]) -> Caution:
    return Caution(
        "added_cold",
        f"{', '.join(names)}: what is stirred in after heating has not been heated. Wash it, or heat it "
        "with the mix or by itself.",
        "common practice, no source",
    )


def _alcohol(percent: float) -> Caution:
    return Caution(
        "alcohol",
        f"{percent:.1f} % alcohol does not stand in for heat treatment. Add it once the mix is cold, and "
        "say on the menu that it is there.",
        "common practice, no source",
    )
