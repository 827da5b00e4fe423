"""How long a result hardens, tempers and holds as a scoop, with what its recipe says of serving."""

from __future__ import annotations

from typing import TYPE_CHECKING

from formulate.errors import InputError
from formulate.safety import HeatVerdict, Lethality, heat_verdicts
from formulate.safety import lethality as lethality_of
from formulate.timing import Container, Timing
from formulate.timing import harden as time_to_harden
from formulate.timing import scoop_holds as time_to_melt
from formulate.timing import temper as time_to_temper

if TYPE_CHECKING:
    from formulate.answers import Result

__all__ = ["DRAW_C", "harden", "heated", "scoop_holds", "temper"]

#: Temperature at which a mix leaves the churn [°C]; common practice, no source.
DRAW_C = -6.0


def harden(
    result: Result,
    container: Container,
    *,
    start_c: float | None = None,
    core_c: float | None = None,
    freezer_c: float | None = None,
    air: str = "still",
    minutes: float | None = None,
) -> Timing:
    """Return how long a container of a mix takes in the freezer until its core is cold enough.

    Parameters
    ----------
    result:
        What balancing or checking says.
    container:
        From :func:`formulate.timing.vessel`.
    start_c, core_c, freezer_c:
        At the start, wanted in the core, and of the freezer [°C], -30 to 40, each colder than the one
        before; ``None``: :data:`DRAW_C`, and what the recipe says of serving and freezer.
    air:
        One of :data:`formulate.timing.AIR`.
    minutes:
        A time to judge: is an hour enough?

    Returns
    -------
    Timing

    Raises
    ------
    InputError
        If a value is out of its range or a word unknown.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.timing import vessel
    >>> result = fm.check(fm.load("damson_sorbet"))
    >>> ball = vessel("ball", "60")
    >>> harden(result, ball).minutes > harden(result, ball, air="blast").minutes
    True
    """
    serving = result.mix.serving
    return time_to_harden(
        result.mix.composition,
        container,
        serving.overrun_percent,
        DRAW_C if start_c is None else start_c,
        serving.temperature_c if core_c is None else core_c,
        serving.freezer_c if freezer_c is None else freezer_c,
        air,
        minutes=minutes,
    )


def temper(
    result: Result,
    container: Container,
    *,
    storage_c: float | None = None,
    serving_c: float | None = None,
    place: str = "fridge",
    minutes: float | None = None,
) -> Timing:
    """Return how long a container of a mix takes from the freezer to its serving temperature.

    Parameters
    ----------
    result:
        What balancing or checking says.
    container:
        From :func:`formulate.timing.vessel`.
    storage_c, serving_c:
        At the start and wanted as the mean [°C], -30 to 40; ``None``: what the recipe says of freezer
        and serving.
    place:
        One of :data:`formulate.timing.PLACES`.
    minutes:
        A time to judge.

    Returns
    -------
    Timing

    Raises
    ------
    InputError
        If a value is out of its range or a word unknown.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.timing import vessel
    >>> result = fm.check(fm.load("damson_sorbet"))
    >>> temper(result, vessel("ball", "60"), place="bench").target_c
    -12.0
    """
    serving = result.mix.serving
    return time_to_temper(
        result.mix.composition,
        container,
        serving.overrun_percent,
        serving.freezer_c if storage_c is None else storage_c,
        serving.temperature_c if serving_c is None else serving_c,
        place,
        minutes=minutes,
    )


def scoop_holds(result: Result, grams: float = 60.0, serving_c: float | None = None) -> Timing:
    """Return how long a scoop in the room keeps nine tenths of its ice.

    Parameters
    ----------
    result:
        What balancing or checking says.
    grams:
        Mass of the scoop [g], 1 to 1000.
    serving_c:
        Temperature of the scoop [°C], -30 to 40; ``None``: that of serving.

    Returns
    -------
    Timing

    Raises
    ------
    InputError
        If a value is out of its range, the scoop has no ice, or the room does not melt it.

    Examples
    --------
    >>> import formulate as fm
    >>> result = fm.check(fm.load("damson_sorbet"))
    >>> scoop_holds(result, 40.0).minutes < scoop_holds(result, 80.0).minutes
    True
    """
    serving = result.mix.serving
    served = serving.temperature_c if serving_c is None else serving_c
    return time_to_melt(result.mix.composition, grams, serving.overrun_percent, served)


def heated(
    temperature_c: float, seconds: float
) -> tuple[tuple[HeatVerdict, ...], Lethality | None]:
    """Return what a time at a temperature comes to against quoted rules, and what it kills, as advice.

    Parameters
    ----------
    temperature_c:
        Lowest temperature of the coldest part while it is held [°C], 40 to 160.
    seconds:
        How long it was held, 0 to a day.

    Returns
    -------
    tuple
        One verdict a rule; the advice is ``None`` outside what was measured.

    Raises
    ------
    InputError
        If a value is out of its range.

    Examples
    --------
    >>> verdicts, advice = heated(80.0, 25.0)
    >>> verdicts[0].met.printed, advice is None
    ('175 °F (80 °C) for 25 s', False)
    """
    verdicts = heat_verdicts(temperature_c, seconds)
    try:
        return verdicts, lethality_of(temperature_c, seconds)
    except InputError:
        return verdicts, None
