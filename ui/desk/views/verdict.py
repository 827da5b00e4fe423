"""The verdict on the present weights, drawn at the same place of every page."""

from __future__ import annotations

from desk.hand.units import temperature
from desk.pictures.plain import text
from formulate import Result

__all__ = ["verdict_html", "waiting_html"]

_WORDS = {
    "scoopable": ("Scoopable", "✓"),
    "too hard": ("Too hard", "▲"),
    "too soft": ("Too soft", "▼"),
}


def verdict_html(result: Result, *, stale: bool) -> str:
    """The verdict as a row of four facts: does it scoop, how much is frozen, first ice, targets.

    ``stale`` says that an entry waits to be mended, so that this is the verdict from before it.
    """
    mix, outlook = result.mix, result.outlook
    word, mark = _WORDS[mix.verdict]
    served = temperature(mix.serving.temperature_c, digits=1).replace(".0 ", " ")
    frozen = f"{mix.serving_frozen_water:.1f} ± {outlook.serving_frozen_water_deviation:.1f} %"
    point = temperature(
        mix.initial_freezing_point_c, outlook.initial_freezing_point_deviation, digits=2
    )
    kind = "good" if mix.verdict == "scoopable" else "bad"
    under = "before the entry that needs mending" if stale else f"as it stands, served at {served}"
    window = mix.serving.frozen_water
    chance = (
        f"in the window {min(max(100.0 * result.chance.scoopable, 1.0), 99.0):.0f} times in 100"
    )
    return (
        f'<div class="verdict {kind}" role="status" aria-live="polite">'
        f'<div class="word"><i aria-hidden="true">{mark}</i><div>{word}<span>{text(under)}</span></div>'
        "</div>"
        + _fact(frozen, f"of the water frozen; wanted {_between(window.min, window.max)}", chance)
        + _fact(point, "the first ice forms")
        + _targets(result)
        + "</div>"
    )


def waiting_html(why: str) -> str:
    """The place of the verdict while there is none."""
    return (
        '<div class="verdict" role="status" aria-live="polite"><div class="word">'
        f'<i aria-hidden="true">?</i><div>No verdict yet<span>{text(why)}</span></div></div></div>'
    )


def _targets(result: Result) -> str:
    targets = result.mix.targets
    if not targets:
        return _fact("Nothing asked", "set targets on the page of the mix")
    missed = [target.name for target in targets if not target.met]
    under = f"missed: {', '.join(missed)}" if missed else "every one is met"
    mark = "✗" if missed else "✓"
    return _fact(f"{mark} {len(targets) - len(missed)} of {len(targets)} targets", under)


def _fact(value: str, *under: str) -> str:
    lines = "".join(f"<span>{text(line)}</span>" for line in under)
    return f'<div class="fact"><b>{text(value)}</b>{lines}</div>'


def _between(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "anything"
    if low is None:
        return f"at most {high:g}"
    return f"at least {low:g}" if high is None else f"{low:g} to {high:g}"
