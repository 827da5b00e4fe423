"""One thing of a recipe: what is weighed, within which limits, and what is known of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from formulate.checks import (
    MOST,
    flag,
    keep_all,
    known_word,
    not_negative,
    number,
    positive_number,
    word,
)
from formulate.errors import InputError
from formulate.frozen import FrozenMapping
from formulate.ingredients import Lot, check_parts
from formulate.recipes.roles import ROLES
from formulate.recipes.steps import Step, check_order

__all__ = ["RecipeIngredient"]

_MOST_BRIX = 85.0
_AMOUNTS = ("grams", "min_g", "max_g", "least_use_g", "stock_g", "price_per_kg")


@dataclass(frozen=True, slots=True)
class RecipeIngredient:
    """One thing that is weighed.  Weights in g, readings in °Bx, prices in the kitchen's money.

    Attributes
    ----------
    key:
        Of the ingredient table, or of one's own with a ``composition``.
    grams:
        Present weight, before the ``steps``; ``None`` where it is not known, which is not 0.
    min_g, max_g:
        Limits of the new weight.
    fixed:
        These grams, whatever the rest adds up to.
    least_use_g:
        None of it, or at least so much.
    brix, brix_temperature_c, brix_plus_minus:
        Reading, its temperature [°C], and its standard deviation; 0.2 °Bx is what hand refractometers
        state.
    lot:
        The delivery that it comes from.
    composition:
        % by mass, by :data:`formulate.ingredients.OWN_KEYS`; read-only.
    steps:
        What is done with it; targets are asked of the mix after them.
    price_per_kg, stock_g:
        Of what is bought.
    role:
        One of :data:`formulate.recipes.ROLES`; ``None`` for what its kind usually is.

    Raises
    ------
    InputError
        If a value is not of its kind, not finite or out of its range; if ``min_g`` is above ``max_g``,
        or ``fixed`` has no grams or lies outside them.

    Examples
    --------
    >>> RecipeIngredient("pear", grams=600, min_g=500).min_g
    500.0
    """

    key: str
    grams: float | None = None
    min_g: float | None = None
    max_g: float | None = None
    fixed: bool = False
    least_use_g: float | None = None
    brix: float | None = None
    brix_temperature_c: float = 20.0
    brix_plus_minus: float = 0.2
    lot: Lot | None = None
    composition: Mapping[str, float] | None = None
    steps: tuple[Step, ...] = ()
    price_per_kg: float | None = None
    stock_g: float | None = None
    role: str | None = None

    def __post_init__(self) -> None:
        """Check every field, and all together."""
        word(self.key, "ingredient, key")
        try:
            self._check()
        except InputError as error:
            raise error.about(self.key) from None

    def _check(self) -> None:
        place = f"ingredient {self.key}"
        for name in _AMOUNTS:
            value = getattr(self, name)
            if value is not None and not (type(value) is float and 0.0 <= value <= MOST):
                object.__setattr__(self, name, not_negative(value, f"{place}, {name}"))
        flag(self.fixed, f"{place}, fixed")
        self._check_limits(place)
        self._check_reading(place)
        if self.composition is not None:
            self._check_composition(f"{place}, composition")
        if self.steps:
            keep_all(self, "steps", Step, place)
            check_order(self.steps, f"{place}, steps")
        if self.role is not None:
            known_word(self.role, ROLES, f"{place}, role", "role")

    def _check_limits(self, place: str) -> None:
        low, high = self.min_g, self.max_g
        if low is not None and high is not None and low > high:
            problem = f"min_g {low:g} is above max_g {high:g}"
            remedy, allowed = "Exchange or widen them.", (0.0, high)
            raise InputError(place, problem, remedy, field="min_g", value=low, allowed=allowed)
        if not self.fixed:
            return
        if self.grams is None:
            problem, remedy = "is fixed but has no grams", "Give its weight as grams."
            raise InputError(place, problem, remedy, field="grams")
        least, most = low or 0.0, MOST if high is None else high
        if not least <= self.grams <= most:
            side = (
                f"below its min_g {least:g}" if self.grams < least else f"above its max_g {most:g}"
            )
            problem, remedy = f"is fixed at {self.grams:g} g, {side}", "Move one of the two."
            allowed = (least, most)
            raise InputError(
                place, problem, remedy, field="grams", value=self.grams, allowed=allowed
            )

    def _check_reading(self, place: str) -> None:
        if self.brix is not None:
            brix = number(self.brix, f"{place}, brix")
            if not 0.0 < brix <= _MOST_BRIX:
                problem = f"is {brix:g}, and must be above 0 to {_MOST_BRIX:g} °Bx"
                where, allowed = f"{place}, brix", (0.0, _MOST_BRIX)
                raise InputError(
                    where, problem, "Read again.", field="brix", value=brix, allowed=allowed
                )
            object.__setattr__(self, "brix", brix)
        warm = number(self.brix_temperature_c, f"{place}, brix_temperature_c")
        object.__setattr__(self, "brix_temperature_c", warm)
        spread = positive_number(self.brix_plus_minus, f"{place}, brix_plus_minus")
        object.__setattr__(self, "brix_plus_minus", spread)
        if self.lot is None:
            return
        if not isinstance(self.lot, Lot):
            problem = "must be what is known of the delivery"
            raise InputError(f"{place}, lot", problem, "Give Lot(…).", field="lot", value=self.lot)
        if self.brix is not None and self.lot.reading is not None:
            problem = "is given beside the lot's own reading"
            remedy = "Keep one of the two."
            raise InputError(f"{place}, brix", problem, remedy, field="brix", value=self.brix)

    def _check_composition(self, place: str) -> None:
        if not isinstance(self.composition, Mapping):
            problem, remedy = "must be a table of % by mass", "Write { water = 63.7, … }."
            field, value = "composition", self.composition
            raise InputError(place, problem, remedy, field=field, value=value)
        parts = {
            key: value
            if type(value) is float and 0.0 <= value <= MOST
            else not_negative(value, f"{place}, {key}")
            for key, value in self.composition.items()
        }
        check_parts(parts, place)
        object.__setattr__(self, "composition", FrozenMapping(parts))
