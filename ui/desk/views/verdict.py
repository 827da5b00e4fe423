"""The verdict on the present weights, drawn at the same place of every page."""

from __future__ import annotations

from desk.hand.units import temperature
from desk.pictures.plain import paragraphs, text
from formulate import Result
from formulate.report import chance_words, seal

__all__ = ["verdict_html", "waiting_html"]

#: Told apart by mark and shape as well as by colour.
_MARKS = {"sure": "✓", "likely": "✓", "toss_up": "?", "warned": "!", "misses": "✗"}
_WRONG_WAY = {"too hard": "▲", "too soft": "▼"}


def verdict_html(result: Result, *, stale: bool) -> str:
    """The verdict: what to mind first, how sure it is, four facts, and what to do next.

    ``stale`` says that an entry waits to be mended, so that this is the verdict from before it.
    """
    mix, outlook, found = result.mix, result.outlook, seal(result)
    served = temperature(mix.serving.temperature_c, digits=1).replace(".0 ", " ")
    frozen = f"{mix.serving_frozen_water:.1f} ± {outlook.serving_frozen_water_deviation:.1f} %"
    point = temperature(
        mix.initial_freezing_point_c, outlook.initial_freezing_point_deviation, digits=2
    )
    under = "as before; an entry waits to be mended" if stale else f"served at {served}"
    window = mix.serving.frozen_water
    mark = _WRONG_WAY.get(mix.verdict, _MARKS[found.kind])
    return (
        f'<div class="verdict {found.kind}" role="status" aria-live="polite">'
        + _warnings(found.warnings)
        + f'<div class="word"><i aria-hidden="true"><b>{mark}</b></i><div>{text(found.words)}'
        f"<span>{text(under)}</span></div></div>"
        + _fact(
            f"Will scoop {chance_words(result.chance.scoopable)}",
            f"{frozen} of the water frozen; wanted {_between(window.min, window.max)}",
        )
        + _targets(result)
        + _fact(point, "first ice (initial freezing point)")
        + f'<p class="next"><b>Next:</b> {text(found.next_step)}</p></div>'
    )


def waiting_html(why: str) -> str:
    """The place of the verdict while there is none."""
    return (
        '<div class="verdict" role="status" aria-live="polite"><div class="word">'
        f'<i aria-hidden="true"><b>?</b></i><div>No verdict yet<span>{text(why)}</span></div></div>'
        "</div>"
    )


def _warnings(warnings: tuple[str, ...]) -> str:
    return f'<div class="first">{paragraphs(warnings)}</div>' if warnings else ""


def _targets(result: Result) -> str:
    targets = result.mix.targets
    if not targets:
        return _fact("Nothing asked", "set targets on the page of the mix")
    missed = [target.name for target in targets if not target.met]
    mark = "✗" if missed else "✓"
    head = f"{mark} {len(targets) - len(missed)} of {len(targets)} targets"
    if missed:
        return _fact(head, f"missed: {', '.join(missed)}")
    return _fact(head, f"every one is met, all together {chance_words(result.chance.all_targets)}")


def _fact(value: str, *under: str) -> str:
    lines = "".join(f"<span>{text(line)}</span>" for line in under)
    return f'<div class="fact"><b>{text(value)}</b>{lines}</div>'


def _between(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "anything"
    if low is None:
        return f"at most {high:g}"
    return f"at least {low:g}" if high is None else f"{low:g} to {high:g}"
