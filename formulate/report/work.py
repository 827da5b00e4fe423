"""What is done with a mix once it is ready: churn it, scrape it, whip and mould it, or only mould it."""

from __future__ import annotations

from typing import NamedTuple

from formulate.recipes import Serving, how_made
from formulate.timing import cup_weight

__all__ = ["Work", "dissolve_words", "last_work", "late_words"]


class Work(NamedTuple):
    """One step: a verb, how, and what to write down, comma by comma."""

    verb: str
    how: str
    boxes: str = ""


def late_words(kind: str) -> str:
    """Return when what would suffer from heat or thin the mix comes in, for a kind of serving.

    Parameters
    ----------
    kind:
        One of :func:`formulate.recipes.serving_kinds`, or "" for none.

    Returns
    -------
    str

    Examples
    --------
    >>> late_words("granita")
    'into the cold mix'
    """
    if how_made(kind) == "churned":
        return "just before churning, into the cold mix"
    return "into the cold mix"


def dissolve_words(late: bool) -> str:
    """Return how the dry mix comes into a mix that is not warmed: with what, and until when.

    Parameters
    ----------
    late:
        Whether nothing else comes before it.

    Returns
    -------
    str

    Examples
    --------
    >>> dissolve_words(late=True)
    'with the dry mix, until it has dissolved'
    """
    return "with the dry mix, until it has dissolved" if late else "with the dry mix"


def last_work(serving: Serving, *, tempers: bool) -> tuple[Work, ...]:
    """Return what is done with a finished mix, in order.

    The order is common practice, without a source.

    Parameters
    ----------
    serving:
        Of the mix: its kind says how it is made.
    tempers:
        Whether it must warm up between the freezer and the table.

    Returns
    -------
    tuple of Work

    Examples
    --------
    >>> [step.verb for step in last_work(Serving(kind="granita"), tempers=False)]
    ['Freeze, scrape', 'Serve']
    >>> [step.verb for step in last_work(Serving(kind="block"), tempers=True)]
    ['Fill', 'Freeze still', 'Unmould, cut']
    """
    freezer, place = serving.freezer_c, serving.temperature_c
    made = how_made(serving.kind)
    if made == "scraped":
        how = "A finger deep in trays; scrape the ice in from the edge as it forms, until all is grains."
        again = f"At {place:g} °C; out of the freezer, scrape it loose again."
        return Work("Freeze, scrape", how, "from, to"), Work("Serve", again, "°C")
    if made in ("whipped", "moulded"):
        mould = "Into moulds lined with film; tap them flat."
        still = f"Covered, at {freezer:g} °C or colder, unstirred."
        cut = f"Dip the mould in warm water; a warm, dry knife; at {place:g} °C."
        fold = Work("Fold", "the whipped cream into the rest, a third first")
        steps = (Work("Fill", mould), Work("Freeze still", still, "from, to"))
        return (*([fold] * (made == "whipped")), *steps, Work("Unmould, cut", cut, "°C"))
    air = serving.overrun_percent
    how = f"{air:g} % overrun: a cup of 100 g comes out at {cup_weight(100.0, air):.0f} g."
    how = how if air > 0.0 else "Weigh a full cup of mix, and of what comes out."
    churn = Work("Churn", how, "°C, min, g a cup")
    if serving.kind == "soft_serving":
        return churn, _served(freezer, place, tempers=False)
    harden = Work("Harden", f"Covered and shallow, at {freezer:g} °C or colder.", "from, to")
    return churn, harden, _served(freezer, place, tempers=tempers)


def _served(freezer: float, place: float, *, tempers: bool) -> Work:
    if tempers:
        return Work(
            "Temper, serve", f"Let it warm from {freezer:g} to {place:g} °C.", "from, to, °C"
        )
    return Work("Serve", f"At {place:g} °C.", "°C")
