"""What may go wrong with a mix that its weights do not show: crystals, glass, too much alcohol.

They are warnings, not predictions: whether something crystallises also depends on time, cooling and
what else is in the mix.  What each threshold rests on stands with its words in
:mod:`formulate.report.english.mixes`.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from formulate.arrays import Array
from formulate.data import data_folder, number, read_rows
from formulate.freezing import freezing_model, held_at
from formulate.ingredients import COMPONENTS, position, properties
from formulate.messages import Message, message
from formulate.recipes import Serving

__all__ = ["glass_temperature", "risks"]


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


def risks(composition: Array, serving: Serving) -> tuple[Message, ...]:
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


def _alcohol(composition: Array) -> Message | None:
    ethanol = float(composition[position("ethanol")])
    if ethanol <= 0.0:
        return None
    liquid = _liquid(composition, _CHURN_C)
    frozen = 100.0 * (1.0 - liquid / float(composition[_WATER]))
    if frozen >= _CHURN_FROZEN:
        return None
    return message(
        "churn_may_not_freeze",
        key="ethanol",
        value=ethanol,
        at_c=_CHURN_C,
        frozen_percent=frozen,
    )


def _sandiness(composition: Array, serving: Serving) -> Message | None:
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
    return message(
        "may_turn_sandy",
        key="lactose",
        value=values["msnf"],
        limit=ceiling,
        freezer_c=serving.freezer_c,
        lactose_g=100.0 * lactose / liquid,
        dissolves_g=_LACTOSE_AT_0_C,
    )


def _crystals(composition: Array, serving: Serving) -> list[Message]:
    found = []
    liquid = _liquid(composition, serving.freezer_c)
    for row in _solubility():
        grams = float(composition[position(row["component"])])
        limit = float(row["grams_per_100g_water"])
        if grams <= 0.0 or 100.0 * grams / liquid <= limit:
            continue
        found.append(
            message(
                "may_crystallise",
                key=row["component"],
                name=row["name"],
                value=100.0 * grams / liquid,
                limit=limit,
                limit_c=float(row["temperature_c"]),
                freezer_c=serving.freezer_c,
                hindered_by=row["hindered_by"],
                source=row["source"],
            )
        )
    return found


def _storage(composition: Array, serving: Serving) -> Message | None:
    glass = glass_temperature(composition)
    if glass is None or serving.freezer_c <= glass + _TOO_WARM:
        return None
    return message(
        "ice_grows_in_storage",
        key="freezer_c",
        value=serving.freezer_c,
        limit=glass + _TOO_WARM,
        glass_c=glass,
        warmer_c=serving.freezer_c - glass,
        rough_c=_GLASS_ROUGH,
    )


def _range(composition: Array, serving: Serving) -> Message | None:
    """Whether the prediction leaves what was measured further behind than its ± can tell."""
    if serving.temperature_c < _FAR_BELOW_MEASUREMENTS_C:
        return message(
            "colder_than_measured",
            key="temperature_c",
            value=serving.temperature_c,
            limit=_FAR_BELOW_MEASUREMENTS_C,
        )
    liquid = held_at((serving.temperature_c,))[0] * composition
    share = 100.0 * float(liquid @ _unmeasured()) / max(float(liquid.sum()), 1e-12)
    if share <= _MUCH_UNMEASURED:
        return None
    return message(
        "much_unmeasured", value=share, limit=_MUCH_UNMEASURED, at_c=serving.temperature_c
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
