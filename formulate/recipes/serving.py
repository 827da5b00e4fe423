"""How a mix is served: temperatures, and the share of frozen water that scoops well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from formulate.checks import known_word, number, within
from formulate.data import data_folder, read_rows
from formulate.data import number as cell
from formulate.errors import InputError

__all__ = ["Range", "Serving", "how_made", "kind_name", "middle_of", "serving_kinds"]

_FILE = "serving.csv"

_COLDEST_C = -30.0
_MOST_OVERRUN = 300.0
_MOST_SWING_C = 20.0


@dataclass(frozen=True, slots=True)
class Range:
    """What a value must lie between; ``None`` where there is no bound.

    Raises
    ------
    InputError
        If a bound is not a finite number, or the least is above the most.

    Examples
    --------
    >>> Range(28, 32), Range(max=27)
    (Range(min=28.0, max=32.0), Range(min=None, max=27.0))
    """

    min: float | None = None
    max: float | None = None

    def __post_init__(self) -> None:
        """Check the bounds."""
        for name in ("min", "max"):
            bound = getattr(self, name)
            if bound is not None:
                object.__setattr__(self, name, number(bound, f"range, {name}"))
        if self.min is not None and self.max is not None and self.min > self.max:
            problem = f"min {self.min:g} is above max {self.max:g}"
            remedy, allowed = "Exchange or widen them.", (None, self.max)
            raise InputError("range", problem, remedy, field="min", value=self.min, allowed=allowed)

    @property
    def is_exact(self) -> bool:
        """Whether it asks for one value."""
        return self.min is not None and self.min == self.max


@dataclass(frozen=True, slots=True)
class Serving:
    """At what temperature a mix is served, how much of its water is then frozen, where it is kept.

    Attributes
    ----------
    temperature_c:
        Serving temperature [°C].
    frozen_water:
        The serving window: frozen water at that temperature [% of all water].
    kind:
        One of :func:`serving_kinds`, or "" for none.
    freezer_c:
        Temperature of the freezer where it is kept [°C].
    overrun_percent:
        Air beaten in, in % of the volume of the mix, 0 to 300.
    swing_c:
        By how much the cabinet's temperature goes up and down around the stated one [°C], 0 to 20;
        ``None`` where nobody has said, which counts as 1.

    The defaults are common practice, without a source.

    Raises
    ------
    InputError
        If a value is not of its kind or out of its range: temperatures from -30 to below 0, bounds of
        frozen water from 0 to below 100.

    Examples
    --------
    >>> Serving(-12, Range(70, 76), swing_c=2).temperature_c
    -12.0
    """

    temperature_c: float = -14.0
    frozen_water: Range = Range(70.0, 76.0)
    kind: str = ""
    freezer_c: float = -18.0
    overrun_percent: float = 0.0
    swing_c: float | None = None

    def __post_init__(self) -> None:
        """Check every field."""
        for name in ("temperature_c", "freezer_c"):
            object.__setattr__(self, name, _cold(getattr(self, name), f"serving, {name}"))
        place = "serving, frozen_water"
        window = self.frozen_water
        if not isinstance(window, Range):
            problem = f"is {window!r}, not a range"
            remedy, field = "Give Range(70, 76).", "frozen_water"
            raise InputError(place, problem, remedy, field=field, value=window)
        for bound in (window.min, window.max):
            if bound is not None and not 0.0 <= bound < 100.0:
                problem, field = f"{bound:g} is not from 0 to below 100 %", "frozen_water"
                remedy, allowed = "Give % of water.", (0.0, 100.0)
                raise InputError(place, problem, remedy, field=field, value=bound, allowed=allowed)
        if self.kind:
            known_word(self.kind, _rows(), "serving, kind", "kind")
        place = "serving, overrun_percent"
        most, remedy = _MOST_OVERRUN, "30 is usual in a small churn."
        overrun = within(self.overrun_percent, 0.0, most, place, remedy, " %")
        object.__setattr__(self, "overrun_percent", overrun)
        if self.swing_c is not None:
            place, remedy = "serving, swing_c", "Half of what a thermometer shows in a day, in °C."
            swing = within(self.swing_c, 0.0, _MOST_SWING_C, place, remedy, " °C")
            object.__setattr__(self, "swing_c", swing)


def _cold(value: float, place: str) -> float:
    """A temperature at which mixes are frozen [°C]."""
    found = number(value, place)
    if not _COLDEST_C <= found < 0.0:
        problem = f"is {found:g}, and must be from -30 to below 0 °C"
        remedy, field = "Give the temperature in °C, like -14.", place.rpartition(", ")[2]
        allowed = (_COLDEST_C, 0.0)
        raise InputError(place, problem, remedy, field=field, value=found, allowed=allowed)
    return found


@lru_cache(maxsize=1)
def _rows() -> Mapping[str, dict[str, str]]:
    """Rows of ``serving.csv`` by kind."""
    return MappingProxyType({row["kind"]: row for row in read_rows(data_folder() / _FILE)})


@lru_cache(maxsize=1)
def serving_kinds() -> Mapping[str, Serving]:
    """Return the usual serving of each kind of frozen dessert; ``serving.csv`` says from where.

    Returns
    -------
    Mapping
        Servings by kind, read-only.

    Examples
    --------
    >>> serving_kinds()["sorbet"].temperature_c
    -12.0
    """
    found = {}
    for kind, row in _rows().items():
        where = f"{_FILE}, {kind}"
        window = Range(cell(row, "frozen_min", where), cell(row, "frozen_max", where))
        found[kind] = Serving(cell(row, "temperature_c", where), window, kind)
    return MappingProxyType(found)


def how_made(kind: str) -> str:
    """Return how a kind of frozen dessert is made: ``churned``, ``scraped``, ``whipped`` or ``moulded``.

    ``whipped`` is beaten and folded before it is frozen at rest in a mould, ``moulded`` only poured.

    Parameters
    ----------
    kind:
        One of :func:`serving_kinds`, or "" for none: that is churned.

    Returns
    -------
    str

    Examples
    --------
    >>> how_made("granita"), how_made("")
    ('scraped', 'churned')
    """
    return _rows()[kind]["made"] if kind else "churned"


def kind_name(kind: str) -> str:
    """Return the name of a kind of frozen dessert, as the table has it.

    Parameters
    ----------
    kind:
        One of :func:`serving_kinds`.

    Returns
    -------
    str

    Examples
    --------
    >>> kind_name("ice_cream")
    'Ice cream'
    """
    return _rows()[kind]["name"]


def middle_of(window: Range) -> float:
    """Return the middle of a serving window [% of water], or its one bound; of the usual one if none.

    Parameters
    ----------
    window:
        Frozen water [% of water].

    Returns
    -------
    float

    Examples
    --------
    >>> middle_of(Range(70.0, 76.0)), middle_of(Range(max=76.0))
    (73.0, 76.0)
    """
    if window.min is None and window.max is None:
        return middle_of(Serving().frozen_water)
    if window.min is None or window.max is None:
        bound = window.min if window.max is None else window.max
        assert bound is not None
        return bound
    return (window.min + window.max) / 2.0
