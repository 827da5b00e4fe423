"""Targets as strips: what is asked, where the present mix lies, where the balanced one does."""

from __future__ import annotations

from desk.pictures.plain import table, text
from formulate.mix import TargetValue
from formulate.report import asked_words, value_words

__all__ = ["targets_table"]

_ROOM = 0.22  # of the span, left free at either end of a strip


def targets_table(now: tuple[TargetValue, ...], new: tuple[TargetValue, ...], head: str) -> str:
    """Every target with its strip and what both mixes make of it.

    Parameters
    ----------
    now, new:
        The targets of the present and of the new mix; either may be empty.
    head:
        What the new mix is called, ``Balanced`` or ``Nearest``.
    """
    heads = ["Target", "Asked", "Where it lies"]
    heads += ["Now"] if now else []
    heads += [head] if new else []
    rows = []
    for place, target in enumerate(now or new):
        shown = [mix[place] for mix in (now, new) if mix]
        unit = target.unit.replace("g sucrose/100 g", "g sucrose per 100 g")
        row = [
            f"{text(target.name)}<small>{text(unit)}</small>",
            f'<span class="quiet">{text(asked_words(target))}</span>',
            _strip(target, now[place].value if now else None, new[place].value if new else None),
        ]
        rows.append([*row, *(_judged(each) for each in shown)])
    keys = {
        "asked": "asked",
        **({"now": "now"} if now else {}),
        **({"new": head.lower()} if new else {}),
    }
    legend = "".join(
        f'<span><i class="mark {kind}"></i>{word}</span>' for kind, word in keys.items()
    )
    return f'<div class="legend" aria-hidden="true">{legend}</div>' + table(
        "Targets: asked, now and balanced", heads, rows, kind="strips", numbers=(3, 4)
    )


def _judged(target: TargetValue) -> str:
    kind, mark, words = ("met", "✓", "met") if target.met else ("missed", "✗", "missed")
    value = text(value_words(target, target.value))
    return f'<span class="{kind}">{value} {mark}<span class="unseen"> {words}</span></span>'


def _strip(target: TargetValue, now: float | None, new: float | None) -> str:
    known = [each for each in (target.min, target.max, now, new) if each is not None]
    low, high = min(known), max(known)
    room = _ROOM * ((high - low) or abs(high) or 1.0)
    low, high = low - room, high + room

    def at(value: float) -> float:
        return round(100.0 * (value - low) / (high - low), 2)

    parts = []
    if target.min is not None or target.max is not None:
        left = 0.0 if target.min is None else at(target.min)
        right = 100.0 if target.max is None else at(target.max)
        ends = " openleft" if target.min is None else " openright" if target.max is None else ""
        parts.append(
            f'<div class="asked{ends}" style="left:{left}%;width:{round(right - left, 2)}%"></div>'
        )
    if now is not None:
        parts.append(f'<div class="mark now" style="left:{at(now)}%"></div>')
    if new is not None:
        parts.append(f'<div class="mark new" style="left:{at(new)}%"></div>')
    return f'<div class="strip" aria-hidden="true">{"".join(parts)}</div>'
