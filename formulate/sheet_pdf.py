"""A batch sheet as PDF, drawn by reportlab on A4; the same sheet always gives the same bytes."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4  # type: ignore[import-untyped]
from reportlab.pdfbase import pdfmetrics  # type: ignore[import-untyped]
from reportlab.pdfbase.ttfonts import TTFont  # type: ignore[import-untyped]
from reportlab.pdfgen.canvas import Canvas  # type: ignore[import-untyped]

from formulate.sheet import Curve, Line, Panel, Sheet, WorkStep
from formulate.sheet_html import (
    BESIDE,
    BLANKS,
    CLOCK,
    LARGE,
    LEVELS,
    TWO_PAGES,
    Level,
    true_minus,
)

__all__ = ["as_pdf"]

_MM = 72.0 / 25.4
_LEFT, _TOP, _WIDTH, _DEPTH = 12.0 * _MM, 9.0 * _MM, 187.0 * _MM, 275.0 * _MM
_GUTTER = 5.0 * _MM
_INK, _SOFT, _LINE, _EDGE = "#201d1a", "#5d554d", "#d6cec4", "#857b70"
_PLUM, _WASH, _WINDOW, _COLON = "#7a2e4d", "#f3ece2", "#e6dccb", "#b7ada2"
_PLAIN, _BOLD = "Vera", "VeraBd"  # come with reportlab, in its licence
_LOST = "Some letters are not in this typeface; the HTML sheet shows them all."

_Mark = Callable[[Any, float, float], None]


@dataclass
class _Block:
    """A piece of the page: marks drawn from its upper left corner, and how far they reach down [pt]."""

    high: float = 0.0
    marks: list[_Mark] = field(default_factory=list)

    def text(
        self, x: float, y: float, words: str, size: float, colour: str = _INK, *, bold: bool = False,
        right: bool = False,
    ) -> float:
        """Put a line of text on the baseline ``y``; return its width."""
        font, words = (_BOLD if bold else _PLAIN), _printable(words)
        wide = _wide(words, size, bold)
        start = x - wide if right else x

        def mark(canvas: Any, left: float, top: float) -> None:
            canvas.setFillColor(colour)
            canvas.setFont(font, size)
            canvas.drawString(left + start, top - y, words)

        self.marks.append(mark)
        return wide

    def rule(self, x: float, y: float, wide: float, colour: str = _LINE, weight: float = 0.5) -> None:
        def mark(canvas: Any, left: float, top: float) -> None:
            canvas.setStrokeColor(colour)
            canvas.setLineWidth(weight)
            canvas.line(left + x, top - y, left + x + wide, top - y)

        self.marks.append(mark)

    def box(
        self, x: float, y: float, wide: float, high: float, colour: str = _EDGE, *,
        weight: float = 0.6, fill: str = "",
    ) -> None:
        def mark(canvas: Any, left: float, top: float) -> None:
            canvas.setStrokeColor(colour)
            canvas.setLineWidth(weight)
            canvas.setFillColor(fill or "#ffffff")
            shape = (left + x, top - y - high, wide, high)
            if fill:
                canvas.rect(*shape, stroke=0, fill=1)
            else:
                canvas.roundRect(*shape, 2.4, stroke=1, fill=0)

        self.marks.append(mark)

    def paragraph(
        self, x: float, y: float, wide: float, words: str, size: float, colour: str = _INK, *,
        bold: bool = False,
    ) -> float:
        """Put text in lines below ``y``; return where it ends."""
        for line in _broken(words, wide, size, bold):
            self.text(x, y + 0.93 * size, line, size, colour, bold=bold)
            y += 1.19 * size
        return y

    def add(self, other: _Block, x: float, y: float) -> None:
        """Put another block into this one."""
        for mark in other.marks:
            self.marks.append(lambda c, left, top, mark=mark: mark(c, left + x, top - y))  # type: ignore[misc]
        self.high = max(self.high, y + other.high)


def as_pdf(sheet: Sheet) -> bytes:
    """Return a sheet as a PDF file: one page of A4 where it fits, else two or more."""
    for name in (_PLAIN, _BOLD):
        pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    tries: Sequence[Level] = (LARGE,) if sheet.large else LEVELS
    pages = next((p for p in (_pages(sheet, level) for level in tries) if len(p) == 1), None)
    if pages is None:
        pages = _pages(sheet, LARGE if sheet.large else TWO_PAGES)
    out = BytesIO()
    canvas = Canvas(out, pagesize=A4, invariant=1, pageCompression=1, lang="en-GB")
    canvas.setTitle(f"{sheet.name}: batch sheet")
    canvas.setCreator("formulate")
    foot = " · ".join(sheet.foot)
    lost = any(_printable(word) != _composed(word) for word in _words(sheet))
    for number, page in enumerate(pages, start=1):
        page.rule(0.0, _DEPTH + 3.0, _WIDTH)
        page.text(0.0, _DEPTH + 11.0, foot, min(7.2, 7.2 * _WIDTH / (_wide(foot, 7.2) + 60.0)), _SOFT)
        if len(pages) > 1:
            page.text(_WIDTH, _DEPTH + 11.0, f"{number} of {len(pages)}", 7.2, _SOFT, right=True)
        if lost:
            page.text(0.0, _DEPTH + 19.5, _LOST, 7.2, _SOFT)
        for mark in page.marks:
            mark(canvas, _LEFT, A4[1] - _TOP)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _words(sheet: Sheet) -> list[str]:
    return [sheet.name, *(line.name for step in sheet.steps for line in step.lines)]


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", true_minus(text))


def _printable(text: str) -> str:
    """A text in the letters that the typeface has: without its accent, else a question mark."""
    known = pdfmetrics.getFont(_PLAIN).face.charToGlyph
    found = []
    for letter in _composed(text):
        bare = unicodedata.normalize("NFKD", letter)[0]
        found.append(letter if ord(letter) in known else bare if ord(bare) in known else "?")
    return "".join(found)


def _wide(words: str, size: float, bold: bool = False) -> float:
    return float(pdfmetrics.stringWidth(_printable(words), _BOLD if bold else _PLAIN, size))


def _broken(words: str, wide: float, size: float, bold: bool = False) -> list[str]:
    """A text in lines that are not too wide; a word that is gets broken."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if _wide(longer, size, bold) <= wide:
            lines[-1] = longer
            continue
        lines += [""] if lines[-1] else []
        for letter in word:
            if lines[-1] and _wide(lines[-1] + letter, size, bold) > wide:
                lines.append("")
            lines[-1] += letter
    return lines


class _Layout:
    """The blocks of a sheet at one size of type and one level of air."""

    def __init__(self, sheet: Sheet, level: Level) -> None:
        self.sheet, self.em = sheet, 18.0 if sheet.large else 12.0
        self.row, self.tall, self.small = (self.em * level[part] for part in (0, 1, 3))
        self.gap = level[2] * _MM
        self.aside = (13.6 if sheet.us_weights else 14.6) * 12.0
        every = [*(line for step in sheet.steps for line in step.lines), *sheet.totals]
        longest = max((line.weight.partition(".")[2] for line in every), key=len)
        self.fraction = _wide(f".{longest}", 1.06 * self.em, True) if longest else 0.0

    def top(self) -> _Block:
        """Name, what it makes, blanks and notices."""
        em, block = self.em, _Block()
        y = block.paragraph(0.0, 0.0, _WIDTH, self.sheet.name, 1.7 * em, bold=True)
        y = block.paragraph(0.0, y, _WIDTH, " · ".join(self.sheet.size), 1.05 * em) + 1.5 * _MM
        wide, high = (_WIDTH - 7.5 * _MM) / 4.0, self.row + 0.2 * em
        for count, word in enumerate(BLANKS):
            x = count * (wide + 2.5 * _MM)
            block.box(x, y, wide, high)
            block.text(x + 1.3 * _MM, y + 0.8 * em, word, 0.66 * em, _SOFT)
        y += high + self.gap + 0.6 * _MM
        block.rule(0.0, y, _WIDTH, _PLUM, 1.4)
        y += 0.8
        for notice in self.sheet.notices:
            inner = _Block()
            end = inner.paragraph(0.0, 0.0, _WIDTH - 6.0 * _MM, notice, 0.9 * em, bold=True)
            block.box(0.0, y + 1.5 * _MM, _WIDTH, end + 1.6 * _MM, fill=_WASH)
            block.box(0.0, y + 1.5 * _MM, 1.2 * _MM, end + 1.6 * _MM, fill=_PLUM)
            block.add(inner, 3.5 * _MM, y + 2.1 * _MM)
            y += end + 3.1 * _MM
        block.high = y
        return block

    def panel(self, panel: Panel, wide: float) -> _Block:
        em, block = self.em, _Block()
        block.text(0.0, 0.8 * em, panel.title, 0.86 * em, _PLUM, bold=True)
        y = 1.08 * em
        block.rule(0.0, y, wide)
        y += 1.2
        for fact in panel.facts:
            if not fact.value:
                y = block.paragraph(0.0, y + 1.0, wide, fact.label, 1.05 * em, bold=True)
                continue
            high, right = self.tall + 0.12 * em, wide
            if fact.box:
                block.box(wide - 3.0 * em, y + 0.06 * em, 3.0 * em, self.tall)
                right -= 3.0 * em + 1.6 * _MM
            base = y + high / 2.0 + 0.33 * em
            block.text(0.0, base, fact.label, 0.9 * em)
            block.text(right, base, fact.value, 0.9 * em, bold=True, right=True)
            y += high
        if panel.curve is not None:
            block.add(_curve(panel.curve, wide), 0.0, y + 1.5)
            y += 0.6 * wide + 1.5
        for note in panel.notes:
            y = block.paragraph(0.0, y + 0.5, wide, note, self.small, _SOFT)
        block.high = y + self.gap + 0.5 * _MM
        return block

    def boxes(self, block: _Block, right: float, y: float, words: Sequence[str]) -> None:
        """Boxes to write in, the last one ending at ``right``."""
        em = self.em
        for word in reversed(words):
            block.box(right - 3.0 * em, y, 3.0 * em, self.tall)
            if word in CLOCK:
                block.text(right - 1.6 * em, y + self.tall / 2.0 + 0.35 * em, ":", em, _COLON, bold=True)
            right -= 3.0 * em + 0.9 * _MM
            base = y + self.tall / 2.0 + 0.26 * em
            right -= block.text(right, base, word, 0.72 * em, _SOFT, right=True) + 2.0 * _MM

    def how(self, block: _Block, x: float, y: float, wide: float, step: WorkStep, start: float) -> float:
        """How a step is done, beside its verb, with its boxes at the right; return where it ends."""
        em, size = self.em, 0.86 * self.em
        taken = sum(3.0 * em + 3.4 * _MM + _wide(word, 0.72 * em) for word in step.boxes)
        room, text = wide - start - taken, _wide(step.how, size)
        under = bool(step.boxes) and min(room, text) < min(9.0 * em, text)
        room += taken if under else 0.0
        shift = (self.tall - 1.19 * em) / 2.0 if step.boxes and not under else 0.0
        end = block.paragraph(x + start, y + shift + 0.1 * em, room, step.how, size) if step.how else y
        if step.boxes:
            at = max(end, y + 1.19 * em) if under else y
            self.boxes(block, x + wide, at, step.boxes)
            end = max(end, at + self.tall)
        return end

    def step(self, count: int, wide: float, totals: Sequence[Line]) -> _Block:
        """A step with what is weighed for it."""
        em, step, block, x = self.em, self.sheet.steps[count], _Block(), 1.7 * self.em
        y, inner = self.gap, wide - x
        plain = (self.tall - 1.19 * em) / 2.0 if step.boxes and not step.lines else 0.0
        base = y + plain + 0.95 * em
        block.text(1.2 * em, base, str(count + 1), em, _PLUM, bold=True, right=True)
        start = block.text(x, base, step.verb, em, bold=True) + 2.0 * _MM
        if not step.lines:
            y = max(self.how(block, x, y, inner, step, start), y + 1.19 * em)
        else:
            y = self.weights(block, x, y, inner, step, start, totals)
        if step.small:
            y = block.paragraph(x, y + 0.5, inner, " ".join(step.small), self.small, _SOFT)
        block.high = y + self.gap
        block.rule(0.0, block.high, wide)
        return block

    def weights(
        self, block: _Block, x: float, y: float, wide: float, step: WorkStep, start: float,
        totals: Sequence[Line],
    ) -> float:
        em, right = self.em, x + wide
        own = 4.0 * em if self.sheet.us_weights else 4.6 * em
        pounds = right - own
        grams = pounds - (6.2 * em if self.sheet.us_weights else 0.0)
        names = x + 1.5 * em
        room = grams - 4.2 * em - self.fraction - names
        base = y + 0.95 * em
        block.text(grams - self.fraction, base, "g", 0.7 * em, _SOFT, right=True)
        block.text(right, base, "weighed, g", 0.7 * em, _SOFT, right=True)
        if self.sheet.us_weights:
            block.text(pounds, base, "lb, oz", 0.7 * em, _SOFT, right=True)
        beside = len(step.how) <= BESIDE
        end = y + 1.25 * em
        if beside and step.how:
            free = grams - 1.6 * em - self.fraction - x - start
            end = max(end, block.paragraph(x + start, y + 0.13 * em, free, step.how, 0.86 * em))
        y = end + 0.2 * em
        for line in (*step.lines, *totals):
            total = line in totals
            bold = total
            lines = _broken(line.name, room, em, bold)
            high = max(self.row, 1.1 * em * len(lines) + 0.2 * em)
            block.rule(x, y, wide, _INK if total else _LINE, 1.0 if line is totals[:1] else 0.5)
            middle = y + high / 2.0
            first = middle - 0.55 * em * (len(lines) - 1) + 0.36 * em
            for index, words in enumerate(lines):
                wide_name = block.text(names, first + 1.1 * em * index, words, em, bold=bold)
            if line.remark:
                last = first + 1.1 * em * (len(lines) - 1)
                block.text(names + wide_name + 0.5 * em, last, line.remark, 0.72 * em, _SOFT)
            after = line.weight.partition(".")[2]
            shift = self.fraction - (_wide(f".{after}", 1.06 * em, True) if after else 0.0)
            base = middle + 0.38 * em
            block.text(grams - shift, base, line.weight, 1.06 * em, bold=True, right=True)
            if self.sheet.us_weights:
                block.text(pounds, base, line.us_weight, 0.88 * em, right=True, bold=bold)
            if not total:
                block.box(x, middle - 0.5 * em, em, em, _INK, weight=0.8)
                block.box(right - own + 0.9 * em, y + 1.3, own - 0.9 * em, high - 2.6)
            y += high
        return y if beside and not step.boxes else self.how(
            block, x, y, wide, step if not beside else WorkStep("", "", boxes=step.boxes), 0.0
        )


def _pages(sheet: Sheet, level: Level) -> list[_Block]:
    """The pages of a sheet at one level of air: steps flow beside the panels and then below them."""
    made, pages = _Layout(sheet, level), [_Block()]
    pages[0].add(made.top(), 0.0, 0.0)
    y = pages[0].high + 0.3 * _MM
    beside, below = (sheet.panels[:1], sheet.panels[1:]) if sheet.large else (sheet.panels, ())
    full, aside = _WIDTH, _WIDTH if sheet.large else made.aside
    down = y + made.gap
    for panel in beside:
        block = made.panel(panel, aside)
        pages[0].add(block, full - aside, down)
        down += block.high
    y = down if sheet.large else y
    last = max(count for count, step in enumerate(sheet.steps) if step.lines)
    for count in range(len(sheet.steps)):
        totals = sheet.totals if count == last else ()
        block = made.step(count, full if y >= down else full - aside - _GUTTER, totals)
        if y + block.high > _DEPTH:
            pages, y, down = [*pages, _Block()], 0.0, 0.0
            block = made.step(count, full, totals)
        pages[-1].add(block, 0.0, y)
        y += block.high
    y = max(y, down) + made.gap
    half = (full - 6.0 * _MM) / 2.0
    texts = []
    for caution in sheet.cautions:
        texts.append(_Block())
        texts[-1].high = texts[-1].paragraph(0.0, 0.0, half, caution, made.small, _SOFT) + 1.6
    for blocks in ([made.panel(panel, half) for panel in below], texts):
        left, right = _columns(blocks)
        high = max(sum(b.high for b in left), sum(b.high for b in right))
        if y + high > _DEPTH:
            pages, y = [*pages, _Block()], 0.0
        if blocks is texts and len(pages) == 1 and _DEPTH - y - high > 16.0 * _MM:
            tall = min(_DEPTH - y - high - 3.0 * _MM, 45.0 * _MM)
            pages[-1].box(0.0, y, full, tall)
            pages[-1].text(1.3 * _MM, y + 0.8 * made.em, "Notes", 0.66 * made.em, _SOFT)
            y += tall + 2.0 * _MM
        for column, x in ((left, 0.0), (right, half + 6.0 * _MM)):
            at = y
            for block in column:
                pages[-1].add(block, x, at)
                at += block.high
        y += high
    return pages


def _columns(blocks: Sequence[_Block]) -> tuple[Sequence[_Block], Sequence[_Block]]:
    """Blocks in two columns, in order, as even as can be."""
    cuts = range(len(blocks) + 1)
    highs = [block.high for block in blocks]
    cut = min(cuts, key=lambda at: (max(sum(highs[:at]), sum(highs[at:])), -at))
    return blocks[:cut], blocks[cut:]


def _curve(curve: Curve, wide: float) -> _Block:
    """The freezing curve, its ± shaded, the serving window as a band; in a width of 240 parts."""
    block, part = _Block(), wide / 240.0
    left, right, top, bottom = 22.0 * part, 236.0 * part, 6.0 * part, 116.0 * part
    size = 9.5 * part

    def at(celsius: float, percent: float) -> tuple[float, float]:
        height = min(max(percent, 0.0), 100.0) / 100.0 * (bottom - top)
        return left + (celsius + 24.0) / 24.0 * (right - left), bottom - height

    low, high = (at(0.0, percent)[1] for percent in curve.window)
    for percent in (0, 25, 50, 75, 100):
        y = at(0.0, percent)[1]
        block.rule(left, y, right - left, _LINE, 0.5)
        block.text(left - 4.0 * part, y + 0.33 * size, str(percent), size, _SOFT, right=True)
    block.box(left, high, right - left, low - high, fill=_WINDOW)
    place = at(0.0, sum(curve.window) / 2.0)[1]
    block.text(right - 2.0, place + 0.33 * size, "serving window", size, _SOFT, right=True)
    upper = [at(c, p + s) for c, p, s in curve.points]
    lower = [at(c, p - s) for c, p, s in reversed(curve.points)]
    line = [at(c, p) for c, p, _ in curve.points]
    served = min(curve.points, key=lambda point: abs(point[0] - curve.serving_c))
    dot = at(curve.serving_c, served[1])

    def mark(canvas: Any, x: float, y: float) -> None:
        def path(points: Sequence[tuple[float, float]]) -> Any:
            found = canvas.beginPath()
            for count, (right_, down) in enumerate(points):
                (found.lineTo if count else found.moveTo)(x + right_, y - down)
            return found

        canvas.saveState()
        canvas.setFillColor(_PLUM)
        canvas.setFillAlpha(0.28)
        canvas.drawPath(path([*upper, *lower]), stroke=0, fill=1)
        canvas.setFillAlpha(1.0)
        canvas.setLineWidth(0.7)
        canvas.setStrokeColor(_INK)
        canvas.setDash(1.6, 2.0)
        canvas.drawPath(path([(dot[0], top), (dot[0], bottom)]))
        canvas.setDash()
        canvas.setStrokeColor(_PLUM)
        canvas.setLineWidth(1.4)
        canvas.setLineJoin(1)
        canvas.drawPath(path(line))
        canvas.circle(x + dot[0], y - dot[1], 2.3, stroke=0, fill=1)
        canvas.restoreState()

    block.marks.append(mark)
    for celsius in (-24, -18, -12, -6, 0):
        words = true_minus(str(celsius))
        block.text(at(celsius, 0.0)[0] - _wide(words, size) / 2.0, bottom + 1.25 * size, words, size, _SOFT)
    words = "frozen water, %, by temperature, °C"
    block.text((left + right - _wide(words, size)) / 2.0, 142.0 * part, words, size, _SOFT)
    block.high = 146.0 * part
    return block
