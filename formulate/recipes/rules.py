"""What a recipe says of the whole mix: the scale, what holds together, what may come in, the choice."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.checks import flag, keep_all, known_word, positive_number, whole, within, word
from formulate.errors import InputError
from formulate.recipes.serving import Range

__all__ = ["OBJECTIVES", "Balance", "Counts", "Exclude", "Group", "Ratio", "Scale"]

#: What a mix may be chosen by, among all that meet the targets.
OBJECTIVES: tuple[str, ...] = ("change", "cost", "typical")

_MOST_COUNTED = 1000
_MOST_MARGIN = 10.0


@dataclass(frozen=True, slots=True)
class Scale:
    """The smallest steps that the kitchen's scales show [g], above 0.

    Raises
    ------
    InputError
        If a step is not above 0.
    """

    step_g: float = 1.0
    fine_step_g: float = 0.1
    fine_below_g: float = 20.0

    def __post_init__(self) -> None:
        """Check every field."""
        for name in ("step_g", "fine_step_g", "fine_below_g"):
            value = positive_number(getattr(self, name), f"scale, {name}")
            object.__setattr__(self, name, value)


@dataclass(frozen=True, slots=True)
class Ratio:
    """Grams of one ingredient for each gram of another: thyme to cream, sucrose to dextrose.

    Raises
    ------
    InputError
        If it compares an ingredient with itself, or a bound is below zero.
    """

    of: str
    to: str
    bounds: Range

    def __post_init__(self) -> None:
        """Check every field."""
        word(self.of, "ratio, of")
        word(self.to, "ratio, to")
        if self.of == self.to:
            problem, remedy = f"compares {self.of} with itself", "Name two ingredients."
            raise InputError("ratio", problem, remedy, field="to", value=self.to)
        for bound in _bounds_of(self.bounds, "ratio, value"):
            if bound < 0.0:
                problem, remedy = "is below zero", "Give grams per gram, above 0."
                raise InputError("ratio, value", problem, remedy, field="value", value=bound)

    @property
    def key(self) -> str:
        """Key of the demand that it makes."""
        return f"ratio {self.of} : {self.to}"


@dataclass(frozen=True, slots=True)
class Group:
    """Ingredients that together must be so much of the mix [%]: all fruit at least 45.

    Raises
    ------
    InputError
        If it names no ingredient, or one twice.
    """

    name: str
    keys: tuple[str, ...]
    bounds: Range

    def __post_init__(self) -> None:
        """Check every field."""
        word(self.name, "group, name")
        keep_all(self, "keys", str, "group")
        if not self.keys:
            problem, remedy = "is empty", "Name the ingredients of the group."
            raise InputError("group, keys", problem, remedy, field="keys", value=())
        for key in self.keys:
            if self.keys.count(key) > 1:
                problem, remedy = f'"{key}" is given twice', "Name it once."
                raise InputError("group, keys", problem, remedy, field="keys", value=key)
        _bounds_of(self.bounds, "group, percent")

    @property
    def key(self) -> str:
        """Key of the demand that it makes."""
        return f"group {self.name}"


@dataclass(frozen=True, slots=True)
class Counts:
    """At most so many weights may change, and so many ingredients be used; ``None`` for any number.

    Raises
    ------
    InputError
        If a count is not a whole number from 0 to 1,000.
    """

    most_changes: int | None = None
    most_ingredients: int | None = None

    def __post_init__(self) -> None:
        """Check every field."""
        for name in ("most_changes", "most_ingredients"):
            value = getattr(self, name)
            if value is not None:
                whole(value, 0, _MOST_COUNTED, f"limits, {name}")


@dataclass(frozen=True, slots=True)
class Exclude:
    """What may not be proposed as a further ingredient.

    Attributes
    ----------
    allergens:
        EU names of allergens.
    animal:
        Nothing of animal origin.
    alcohol:
        Nothing with alcohol.
    keys:
        These ingredients.
    only:
        If not empty: nothing but these, what is in stock.

    Raises
    ------
    InputError
        If a field is not of its kind.
    """

    allergens: tuple[str, ...] = ()
    animal: bool = False
    alcohol: bool = False
    keys: tuple[str, ...] = ()
    only: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Check every field."""
        for name in ("animal", "alcohol"):
            flag(getattr(self, name), f"exclude, {name}")
        for name in ("allergens", "keys", "only"):
            keep_all(self, name, str, "exclude")


@dataclass(frozen=True, slots=True)
class Balance:
    """By what the mix is chosen among all that meet the targets.

    Attributes
    ----------
    margin:
        Standard deviations kept inside every uncertain range before anything else, 0 to 10; 0 for none.
    objective:
        One of :data:`OBJECTIVES`; ``None`` for the change where there are weights, else the typical.

    Raises
    ------
    InputError
        If the margin is out of its range, or the objective unknown.
    """

    margin: float = 1.0
    objective: str | None = None

    def __post_init__(self) -> None:
        """Check every field."""
        remedy = "1 is usual, 0 keeps nothing in hand."
        margin = within(self.margin, 0.0, _MOST_MARGIN, "balance, margin", remedy)
        object.__setattr__(self, "margin", margin)
        if self.objective is not None:
            known_word(self.objective, OBJECTIVES, "balance, objective", "choice")


def _bounds_of(bounds: Range, place: str) -> tuple[float, ...]:
    """Return those bounds that a range has."""
    if not isinstance(bounds, Range):
        problem, field = f"is {bounds!r}, not a range", place.rpartition(", ")[2]
        raise InputError(place, problem, "Give Range(0.5, 2).", field=field, value=bounds)
    return tuple(bound for bound in (bounds.min, bounds.max) if bound is not None)
