"""What may go wrong with a mix that its weights do not show: crystals, glass, too much alcohol.

Each risk is a sentence with the basis of its threshold.  They are warnings, not predictions: whether
something crystallises also depends on time, cooling and what else is in the mix.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.freezing import freezing_model, held_at
from formulate.ingredients import COMPONENTS, position, properties
from formulate.recipes import Serving

__all__ = ["Risk", "glass_temperature", "risks"]


_WATER = position("water")
_DISSOLVING = ("sugar", "syrup", "polyol")

#: MSNF ceiling as a share of (100 - fat - sugar - stabiliser and emulsifier): quick and slow turnover.
#: Dairy handbook rule as quoted at th4.ilovetranslation.com; one seventh after Hyde and Rothwell, from
#: memory.
_MSNF_CEILING = 0.15
_MSNF_CEILING_SLOW = 1.0 / 7.0

#: Lactose in 100 g of water is saturated at 11.9 g at 0 °C (C. S. Hudson, as quoted in an old cookery
#: handbook); lactose in the cold always is supersaturated, so that the handbook ceilings decide.
_LACTOSE_AT_0_C = 11.9

#: A churn that hardly freezes: frozen water at -8 °C below this [%].  Common practice, no source.
_CHURN_C, _CHURN_FROZEN = -8.0, 30.0

#: The unfrozen syrup of most mixes turns to glass near -30 °C and colder; figures by source differ by
#: up to 14 °C (Levine and Slade against Roos).
_GLASS_ROUGH = 10.0

#: A freezer so much warmer than the glass that crystals grow within days [°C].  Common practice, no
#: source.
_TOO_WARM = 18.0

#: Colder than this, published continuations of the sugar curves differ by 8 % and more [°C].
_FAR_BELOW_MEASUREMENTS_C = -20.0

#: Share of liquid water held by solutes without measured freezing points that is worth a word [%].
_MUCH_UNMEASURED = 20.0


@dataclass(frozen=True, slots=True)
class Risk:
    """One thing that may go wrong: a key, a sentence, and what its threshold rests on."""

    key: str
    text: str
    basis: str


def risks(composition: Array, serving: Serving) -> tuple[Risk, ...]:
    """Return what may go wrong with a mix, the most urgent first.

    Parameters
    ----------
    composition:
        g per 100 g, shape (columns,).
    serving:
        How it is kept and served.
    """
    if composition[_WATER] <= 0.0:
        return ()
    found = (
        _alcohol(composition),
        _sandiness(composition, serving),
        *_crystals(composition, serving),
        _storage(composition, serving),
        _range(composition, serving),
    )
    return tuple(risk for risk in found if risk is not None)


def glass_temperature(composition: Array) -> float | None:
    """Return a rough glass transition of the fully frozen mix [°C], ``None`` without sugars.

    The mass mean over its sugars, syrups and polyols of what ``freezing/glass.csv`` gives for each.
    """
    weights, temperatures = _glass()
    total = float(composition @ weights)
    if total <= 0.0:
        return None
    return float(composition @ (weights * temperatures)) / total


def _alcohol(composition: Array) -> Risk | None:
    ethanol = float(composition[position("ethanol")])
    if ethanol <= 0.0:
        return None
    liquid = _liquid(composition, _CHURN_C)
    frozen = 100.0 * (1.0 - liquid / float(composition[_WATER]))
    if frozen >= _CHURN_FROZEN:
        return None
    return Risk(
        "alcohol",
        f"With {ethanol:.1f} % alcohol only {frozen:.0f} % of the water is frozen at {_CHURN_C:g} °C: "
        "a churn may not thicken it. Simmer off part of the alcohol, or use less.",
        "common practice, no source",
    )


def _sandiness(composition: Array, serving: Serving) -> Risk | None:
    lactose = float(composition[position("lactose")])
    known = properties()
    values = {
        key: float(composition @ known[key].weights) for key in ("msnf", "fat", "added_sugars")
    }
    syrup = float(composition[position("glucose_syrup_solids")])
    other = float(composition[[position("stabiliser"), position("emulsifier")]].sum())
    free = 100.0 - values["fat"] - values["added_sugars"] - syrup - other
    ceiling = _MSNF_CEILING * free
    if lactose <= 0.0 or values["msnf"] <= _MSNF_CEILING_SLOW * free:
        return None
    liquid = _liquid(composition, serving.freezer_c)
    sure = values["msnf"] > ceiling
    verb = "is above" if sure else "is close to"
    return Risk(
        "sandiness",
        f"Milk solids-not-fat of {values['msnf']:.1f} % {verb} the handbook ceiling of {ceiling:.1f} %: "
        f"lactose may crystallise and feel sandy in storage. At {serving.freezer_c:g} °C there are "
        f"{100.0 * lactose / liquid:.0f} g lactose for each 100 g of unfrozen water, where "
        f"{_LACTOSE_AT_0_C:g} g dissolve at 0 °C. Fastest at -10 to -12 °C and where the temperature "
        "swings.",
        "dairy handbook rule: 0.15 x (100 - fat - sugar - stabiliser); temperatures: Livney 1995",
    )


def _crystals(composition: Array, serving: Serving) -> list[Risk]:
    found = []
    liquid = _liquid(composition, serving.freezer_c)
    for row in _solubility():
        grams = float(composition[position(row["component"])])
        limit = float(row["grams_per_100g_water"])
        if grams <= 0.0 or 100.0 * grams / liquid <= limit:
            continue
        found.append(
            Risk(
                f"crystals_{row['component']}",
                f"{row['name']} may crystallise out: {100.0 * grams / liquid:.0f} g for each 100 g of "
                f"unfrozen water at {serving.freezer_c:g} °C, where {limit:.0f} g dissolve at "
                f"{float(row['temperature_c']):g} °C. Take {row['hindered_by']}.",
                row["source"],
            )
        )
    return found


def _storage(composition: Array, serving: Serving) -> Risk | None:
    glass = glass_temperature(composition)
    if glass is None or serving.freezer_c <= glass + _TOO_WARM:
        return None
    warmer = serving.freezer_c - glass
    return Risk(
        "storage",
        f"Its unfrozen syrup turns to glass at very roughly {glass:.0f} °C, and a freezer at "
        f"{serving.freezer_c:g} °C is {warmer:.0f} °C warmer: ice crystals keep growing, faster the "
        "more the temperature swings. Below that glass it is brittle.",
        "mean of published glass temperatures of its sugars (Levine and Slade), rough to "
        f"± {_GLASS_ROUGH:g} °C",
    )


def _range(composition: Array, serving: Serving) -> Risk | None:
    """Whether the prediction leaves what was measured further behind than its ± can tell."""
    if serving.temperature_c < _FAR_BELOW_MEASUREMENTS_C:
        return Risk(
            "range",
            f"{serving.temperature_c:g} °C is far below the measured freezing points of sugars, most "
            "of which end near -5 °C: take the figures there as a guide.",
            "ranges in freezing/solutes.csv",
        )
    liquid = held_at((serving.temperature_c,))[0] * composition
    share = 100.0 * float(liquid @ _unmeasured()) / max(float(liquid.sum()), 1e-12)
    if share <= _MUCH_UNMEASURED:
        return None
    return Risk(
        "range",
        f"{share:.0f} % of the unfrozen water at {serving.temperature_c:g} °C is held by substances "
        "whose freezing points were not at hand, only a constant from the literature: churn a small "
        "sample first.",
        "ranges in freezing/solutes.csv",
    )


def _liquid(composition: Array, temperature_c: float) -> float:
    liquid = float(held_at((temperature_c,))[0] @ composition)
    return max(min(liquid, float(composition[_WATER])), 1e-9)


@lru_cache(maxsize=1)
def _unmeasured() -> Array:
    """1 for components that count as a solute without measured freezing points, else 0."""
    model = freezing_model()
    without = np.array([not curve.particles for curve in model.curves])
    return np.asarray((model.shares[:, without] != 0.0).any(axis=1), dtype=float)


@lru_cache(maxsize=1)
def _solubility() -> tuple[dict[str, str], ...]:
    rows = read_rows(data_folder() / "freezing" / "solubility.csv")
    for row in rows:
        number(row, "grams_per_100g_water", f"solubility.csv, {row['component']}")
        number(row, "temperature_c", f"solubility.csv, {row['component']}")
    return tuple(rows)


@lru_cache(maxsize=1)
def _glass() -> tuple[Array, Array]:
    rows = {row["component"]: row for row in read_rows(data_folder() / "freezing" / "glass.csv")}
    keys = [part.key for part in COMPONENTS if part.family in _DISSOLVING or part.key == "inulin"]
    weights, temperatures = np.zeros((2, len(COMPONENTS) + 2))
    for key in keys:
        if key in rows:
            weights[position(key)] = 1.0
            temperatures[position(key)] = number(rows[key], "glass_c", f"glass.csv, {key}")
    return weights, temperatures
