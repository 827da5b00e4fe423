"""A batch sheet as one file of HTML that prints on A4: nothing fetched, no script, all text escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil

from markupsafe import Markup

from formulate.printing.page import rendered
from formulate.printing.sheet_contents import Curve, Sheet, WorkStep

__all__ = [
    "BESIDE",
    "BLANKS",
    "CLOCK",
    "LEVELS",
    "OUNCE_G",
    "Level",
    "ounces",
    "sheet_html",
]

Level = Sequence[float]

#: One avoirdupois ounce [g], by definition.
OUNCE_G = 28.349523125

#: Row and box height [em], space between steps [mm] and small type [em], from airy to tight.
_AIRY, _TIGHT = (1.9, 1.65, 2.0, 0.74), (1.2, 1.1, 0.3, 0.605)
LEVELS: tuple[Level, ...] = tuple(
    tuple(airy + (tight - airy) * step / 8.0 for airy, tight in zip(_AIRY, _TIGHT, strict=True))
    for step in range(9)
)
_TWO_PAGES, _LARGE = LEVELS[3], LEVELS[5]

#: What is written by hand at the top, boxes that take a time of day, and how many letters of how a step
#: is done stand beside its verb.
BLANKS = ("Date", "Made by", "Batch number", "Use by")
CLOCK = ("from", "to")
BESIDE = 48

_PAGE, _LEAST_NOTES, _MOST_NOTES = 268.0, 14.0, 45.0  # of 281 mm on a page; room to write in
_REM = 12.0 * 25.4 / 72.0  # [mm]
_LEFT, _RIGHT, _TOP, _BOTTOM = 22.0, 229.0, 6.0, 116.0  # of the curve in its picture
_LETTER = 0.53  # width of a letter of a wide typeface, in parts of its size


def sheet_html(sheet: Sheet) -> str:
    """Return a sheet as a page of HTML in one file, for the screen and for A4.

    Parameters
    ----------
    sheet:
        What it says.

    Returns
    -------
    str
        The page.

    Examples
    --------
    >>> import formulate as fm
    >>> page = sheet_html(fm.sheet(fm.balance(fm.load("damson_sorbet"))))
    >>> page.startswith("<!doctype html>")
    True
    """
    lines = [*(line for step in sheet.steps for line in step.lines), *sheet.totals]
    digits = max(len(line.weight.partition(".")[2]) for line in lines)
    whole = max(len(line.weight.partition(".")[0]) for line in lines)
    tries = [level for level in LEVELS if _height(sheet, level) <= _PAGE]
    tries += [LEVELS[-1]] if _height(sheet, LEVELS[-1]) <= _PAGE + 9.0 else [_TWO_PAGES]
    level = _LARGE if sheet.large else tries[0]
    spare = 0.0 if sheet.large else min(_PAGE - _height(sheet, level), _MOST_NOTES)
    marks = (("large", sheet.large), ("pounds", sheet.us_weights))
    fraction = 0.3 + 0.64 * digits
    return rendered(
        "sheet.html",
        title=f"{sheet.name}: batch sheet",
        foot=sheet.foot,
        marks=" ".join(word for word, on in marks if on),
        variables=_variables(level, 0.72 * whole + 1.06 * fraction * bool(digits) + 0.6),
        sheet=sheet,
        blanks=BLANKS,
        clock=CLOCK,
        beside_letters=BESIDE,
        digits=digits,
        fraction_em=f"{fraction:.2f}",
        last_weighed=max(count for count, step in enumerate(sheet.steps) if step.lines),
        notes_mm=f"{spare:.0f}" if spare >= _LEAST_NOTES else "",
        ounces=ounces,
        drawn=_drawn,
        points=_points,
    )


def ounces(grams: float) -> str:
    """Return a weight in pounds and ounces: ``3 lb 11.6 oz``; below an ounce with two decimals."""
    if grams < OUNCE_G:
        return f"{grams / OUNCE_G:.2f} oz"
    pounds, tenths = divmod(round(10.0 * grams / OUNCE_G), 160)
    return f"{pounds} lb {tenths / 10.0:.1f} oz" if pounds else f"{tenths / 10.0:.1f} oz"


@dataclass(frozen=True, slots=True)
class _Drawn:
    """Where the lines of the freezing curve's picture go, in a box of 240 by 146."""

    grid: tuple[tuple[int, float], ...]
    ticks: tuple[tuple[int, float], ...]
    window: tuple[float, float]
    doubt: tuple[tuple[float, float], ...]
    line: tuple[tuple[float, float], ...]
    served: tuple[float, float] | None
    words: tuple[float, float]
    anchor: str
    left: float = _LEFT
    right: float = _RIGHT
    top: float = _TOP
    bottom: float = _BOTTOM


def _drawn(curve: Curve) -> _Drawn:
    """The freezing curve, its ± shaded, the serving window as a band."""

    def x(celsius: float) -> float:
        return round(_LEFT - celsius / 24.0 * (_RIGHT - _LEFT), 1)

    def y(percent: float) -> float:
        return round(_BOTTOM - min(max(percent, 0.0), 100.0) / 100.0 * (_BOTTOM - _TOP), 1)

    upper = [(x(c), y(p + s)) for c, p, s in curve.points]
    lower = [(x(c), y(p - s)) for c, p, s in reversed(curve.points)]
    low, high = (y(percent) for percent in curve.window)
    cold = curve.serving_c < -9.0
    return _Drawn(
        grid=tuple((percent, y(percent)) for percent in (0, 25, 50, 75, 100)),
        ticks=tuple((celsius, x(celsius)) for celsius in (0, -6, -12, -18, -24)),
        window=(high, round(low - high, 1)),
        doubt=(*upper, *lower),
        line=tuple((x(c), y(p)) for c, p, _ in curve.points),
        served=(x(curve.serving_c), y(curve.served[1])) if curve.serving_c >= -24.0 else None,
        words=(_LEFT + 2.0 if cold else _RIGHT - 2.0, round((low + high) / 2.0 + 3.0, 1)),
        anchor="start" if cold else "end",
    )


def _points(points: Iterable[tuple[float, float]]) -> Markup:
    return Markup(" ".join(f"{x:g},{y:g}" for x, y in points))


def _variables(level: Level, grams: float) -> str:
    """Sizes that the style takes: the level of air, and a column wide enough for the weights [rem]."""
    row, box, gap, small = level
    return (
        f"--row: {row:.3g}rem; --box: {box:.3g}rem; --gap: {gap:.3g}mm; --small: {small:.3g}rem; "
        f"--grams: {grams:.2f}rem"
    )


def _height(sheet: Sheet, level: Level) -> float:
    """About how high a sheet becomes [mm], with a wide typeface; large type is not fitted."""
    row, box, gap, small = (_REM * part for part in level)
    gap = level[2]

    def lines(letters: float, width: float, size: float) -> float:
        return ceil(letters / (width / (size * _LETTER))) * size * 1.19

    def head(step: WorkStep, width: float, verb: float) -> float:
        boxes = sum(3.0 * _REM + 3.0 + 1.6 * len(word) for word in step.boxes)
        rest = max(width - verb * 1.3 * _LETTER * _REM - boxes, 9.0 * _REM)
        return max(lines(len(step.how), rest, 0.86 * _REM), box if boxes else 0.0)

    def high(step: WorkStep, width: float) -> float:
        found = 2.0 * gap + lines(sum(map(len, step.small)), width, small)
        if not step.lines:
            return found + head(step, width, len(step.verb))
        names = width - (16.0 if sheet.us_weights else 11.5) * _REM
        found += 1.4 * _REM + sum(
            max(row, lines(len(f"{line.name} {line.remark}"), names, _REM)) for line in step.lines
        )
        if len(step.how) > BESIDE or step.boxes:
            return found + head(step, width, 0.0)
        return (
            found
            + lines(len(step.how) + 1.3 * len(step.verb), names + 1.5 * _REM, _REM)
            - 1.2 * _REM
        )

    aside = 0.0
    for panel in sheet.panels:
        aside += 6.0 + gap + len(panel.facts) * (box + 0.5) + (38.0 if panel.curve else 0.0)
        aside += sum(lines(len(note), 14.4 * _REM, small) for note in panel.notes)
    down = 0.0
    for step in sheet.steps:
        down += high(step, 114.0 if down < aside else 180.0)
    notices = sum(lines(len(note), 178.0, _REM) + 2.3 for note in sheet.notices)
    top = 18.0 + row + gap + notices
    texts = lines(sum(map(len, sheet.cautions)) + 40.0 * len(sheet.cautions), 181.0, small)
    return top + max(down, aside) + len(sheet.totals) * row + texts + gap + 5.0
