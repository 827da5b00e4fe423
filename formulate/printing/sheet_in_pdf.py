"""A batch sheet as PDF, drawn by reportlab on A4; the same sheet always gives the same bytes."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any, NamedTuple

from reportlab.lib.pagesizes import A4
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from formulate.data import made_with
from formulate.printing.page import typeset
from formulate.printing.sheet_contents import Curve, Line, Panel, Sheet, WorkStep
from formulate.printing.sheet_in_html import BESIDE, BLANKS, CLOCK, LEVELS, Level, ounces

__all__ = ["sheet_pdf"]

_MM = 72.0 / 25.4
_LEFT, _TOP, _WIDTH, _DEPTH = 12.0 * _MM, 9.0 * _MM, 187.0 * _MM, 275.0 * _MM
_INK, _SOFT, _LINE, _EDGE = "#201d1a", "#5d554d", "#d6cec4", "#857b70"
_PLUM, _WASH, _WINDOW, _COLON = "#7a2e4d", "#f3ece2", "#e6dccb", "#b7ada2"
_PLAIN, _BOLD = "Vera", "VeraBd"  # come with reportlab, under a licence of their own
_LOST = "Some letters are not in this typeface; the HTML sheet shows them all."


class _Pen(NamedTuple):
    """How words are set: size [pt], colour, weight."""

    size: float
    colour: str = _INK
    bold: bool = False


_FOOT = _Pen(7.2, _SOFT)


@dataclass
class _Block:
    """A piece of the page: calls of the canvas from its upper left corner, and how far down it goes."""

    high: float = 0.0
    calls: list[tuple[str, tuple[Any, ...]]] = field(default_factory=list)

    def text(self, x: float, y: float, words: str, pen: _Pen) -> None:
        """Put a line of text on the baseline ``y``."""
        self.calls.append(("setFillColor", (pen.colour,)))
        self.calls.append(("setFont", (_BOLD if pen.bold else _PLAIN, pen.size)))
        self.calls.append(("drawString", (x, -y, _printable(words))))

    def ending(self, x: float, y: float, words: str, pen: _Pen) -> float:
        """Put a line of text that ends at ``x``; return where it starts."""
        self.text(start := x - _wide(words, pen), y, words, pen)
        return start

    def paragraph(self, x: float, y: float, wide: float, words: str, pen: _Pen) -> float:
        """Put text in lines below ``y``; return where it ends."""
        for line in _broken(words, wide, pen):
            self.text(x, y + 0.93 * pen.size, line, pen)
            y += 1.19 * pen.size
        return y

    def rule(self, x: float, y: float, wide: float, colour: str, weight: float = 0.5) -> None:
        """Draw a line to the right."""
        self.calls += [("setStrokeColor", (colour,)), ("setLineWidth", (weight,))]
        self.calls.append(("line", (x, -y, x + wide, -y)))

    def fill(self, x: float, y: float, wide: float, high: float, colour: str) -> None:
        """Fill a rectangle."""
        self.calls += [("setFillColor", (colour,)), ("rect", (x, -y - high, wide, high, 0, 1))]

    def box(self, x: float, y: float, wide: float, high: float, colour: str = _EDGE) -> None:
        """Draw a box to tick or to write in."""
        self.calls += [("setStrokeColor", (colour,)), ("setLineWidth", (0.7,))]
        self.calls.append(("roundRect", (x, -y - high, wide, high, 2.2)))

    def add(self, other: _Block, x: float, y: float) -> None:
        """Put another block into this one."""
        self.calls += [("saveState", ()), ("translate", (x, -y))]
        self.calls += [*other.calls, ("restoreState", ())]
        self.high = max(self.high, y + other.high)


def sheet_pdf(sheet: Sheet) -> bytes:
    """Return a sheet as a PDF file: on as few pages of A4 as it fits, with as much air as there is."""
    for name in (_PLAIN, _BOLD):
        pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    pages = min((_pages(sheet, level) for level in LEVELS), key=len)
    canvas = Canvas(out := BytesIO(), pagesize=A4, invariant=1, pageCompression=1, lang="en-GB")
    canvas.setTitle(f"{sheet.name}: batch sheet")
    canvas.setCreator(made_with())
    foot, y = " · ".join(sheet.foot), _DEPTH + 11.0
    size = _FOOT.size * min(1.0, (_WIDTH - 40.0) / _wide(foot, _FOOT))
    words = [sheet.name, *(line.name for step in sheet.steps for line in step.lines)]
    for number, page in enumerate(pages, start=1):
        page.rule(0.0, _DEPTH + 3.0, _WIDTH, _LINE)
        page.text(0.0, y, foot, _FOOT._replace(size=size))
        if len(pages) > 1:
            page.ending(_WIDTH, y, f"{number} of {len(pages)}", _FOOT)
        if any(_printable(word) != _composed(word) for word in words):
            page.text(0.0, y + 8.5, _LOST, _FOOT)
        canvas.translate(_LEFT, A4[1] - _TOP)
        for call, values in page.calls:
            getattr(canvas, call)(*values)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _composed(text: str) -> str:
    return unicodedata.normalize("NFC", typeset(text))


def _printable(text: str) -> str:
    """A text in the letters that the typeface has: without its accent, else a question mark."""
    known = pdfmetrics.getFont(_PLAIN).face.charToGlyph
    found = []
    for letter in _composed(text):
        bare = unicodedata.normalize("NFKD", letter)[0]
        found.append(letter if ord(letter) in known else bare if ord(bare) in known else "?")
    return "".join(found)


def _wide(words: str, pen: _Pen) -> float:
    font = _BOLD if pen.bold else _PLAIN
    return float(pdfmetrics.stringWidth(_printable(words), font, pen.size))


def _broken(words: str, wide: float, pen: _Pen) -> list[str]:
    """A text in lines that are not too wide; a word that is gets broken."""
    lines = [""]
    for word in typeset(words).split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if _wide(longer, pen) <= wide:
            lines[-1] = longer
            continue
        lines += [""] if lines[-1] else []
        for letter in word:
            if lines[-1] and _wide(lines[-1] + letter, pen) > wide:
                lines.append("")
            lines[-1] += letter
    return lines


class _Layout:
    """The blocks of a sheet at one size of type and one level of air."""

    def __init__(self, sheet: Sheet, level: Level) -> None:
        em = 18.0 if sheet.large else 12.0
        self.sheet, self.em, self.gap = sheet, em, level[2] * _MM
        self.row, self.tall = em * level[0], em * level[1]
        self.plain, self.bold, self.text = _Pen(em), _Pen(em, bold=True), _Pen(0.86 * em)
        self.small, self.label = _Pen(em * level[3], _SOFT), _Pen(0.7 * em, _SOFT)
        self.number, self.ounces = _Pen(1.06 * em, bold=True), _Pen(0.88 * em)
        self.aside = (13.2 if sheet.us_weights else 14.6) * 12.0
        lines = [*(line for step in sheet.steps for line in step.lines), *sheet.totals]
        self.fraction = max(self.after(line) for line in lines)
        self.whole = max(_wide(line.weight, self.number) - self.after(line) for line in lines)
        self.own = (4.3 if sheet.us_weights else 4.6) * em
        widest = max(_wide(ounces(line.grams), self.ounces._replace(bold=True)) for line in lines)
        self.pounds = widest + 0.8 * em if sheet.us_weights else 0.0

    def after(self, line: Line) -> float:
        """How wide the point and what stands after it are in a weight."""
        return _wide("".join(line.weight.partition(".")[1:]), self.number)

    def top(self) -> _Block:
        """Name, what it makes, blanks and notices."""
        em, block = self.em, _Block()
        y = block.paragraph(0.0, 0.0, _WIDTH, self.sheet.name, _Pen(1.7 * em, bold=True))
        y = block.paragraph(0.0, y, _WIDTH, " · ".join(self.sheet.size), _Pen(1.05 * em))
        wide, high, y = (_WIDTH - 7.5 * _MM) / 4.0, self.row + 0.2 * em, y + 1.5 * _MM
        for count, word in enumerate(BLANKS):
            x = count * (wide + 2.5 * _MM)
            block.box(x, y, wide, high)
            block.text(x + 1.3 * _MM, y + 0.8 * em, word, self.label)
        y += high + self.gap + 0.6 * _MM
        block.rule(0.0, y, _WIDTH, _PLUM, 1.4)
        for notice in self.sheet.notices:
            inner, y = _Block(), y + 1.5 * _MM
            pen = _Pen(0.9 * em, bold=True)
            high = inner.paragraph(0.0, 0.0, _WIDTH - 6.0 * _MM, notice, pen) + 1.4 * _MM
            block.fill(0.0, y, _WIDTH, high, _WASH)
            block.fill(0.0, y, 1.2 * _MM, high, _PLUM)
            block.add(inner, 3.5 * _MM, y + 0.6 * _MM)
            y += high
        block.high = y
        return block

    def panel(self, panel: Panel, wide: float) -> _Block:
        """Figures and notes under a title."""
        em, block = self.em, _Block()
        block.text(0.0, 0.8 * em, panel.title, _Pen(0.86 * em, _PLUM, True))
        block.rule(0.0, 1.08 * em, wide, _LINE)
        y = 1.08 * em + 1.2
        for fact in panel.facts:
            if not fact.value:
                y = block.paragraph(0.0, y + 1.0, wide, fact.label, _Pen(1.05 * em, bold=True))
                continue
            right, base = wide, y + self.tall / 2.0 + 0.39 * em
            if fact.box:
                right -= 3.0 * em + 1.6 * _MM
                block.box(wide - 3.0 * em, y + 0.06 * em, 3.0 * em, self.tall)
            block.text(0.0, base, fact.label, _Pen(0.9 * em))
            block.ending(right, base, fact.value, _Pen(0.9 * em, bold=True))
            y += self.tall + 0.12 * em
        if panel.curve is not None:
            block.add(_curve(panel.curve, wide), 0.0, y + 1.5)
            y = block.high
        for note in panel.notes:
            y = block.paragraph(0.0, y + 0.5, wide, note, self.small)
        block.high = y + self.gap + 0.5 * _MM
        return block

    def room(self, wide: float, step: WorkStep) -> tuple[float, float]:
        """Width for words beside boxes, all of it where they go below, and how far words go down."""
        taken = sum(3.0 * self.em + 3.4 * _MM + _wide(word, self.label) for word in step.boxes)
        below = not step.boxes or wide - taken < min(9.0 * self.em, _wide(step.how, self.text))
        return (wide, 0.0) if below else (wide - taken, (self.tall - 1.19 * self.em) / 2.0)

    def how(self, block: _Block, x: float, y: float, wide: float, step: WorkStep) -> float:
        """How a step is done, with its boxes at the right or below; return where it ends."""
        em, right, end = self.em, x + wide, y
        room, shift = self.room(wide, step)
        if step.how:
            end = block.paragraph(x, y + shift + 0.1 * em, room, step.how, self.text)
        at = end + 1.0 if room == wide else y
        middle = at + self.tall / 2.0
        for word in reversed(step.boxes):
            block.box(right - 3.0 * em, at, 3.0 * em, self.tall)
            if word in CLOCK:
                block.text(right - 1.7 * em, middle + 0.35 * em, ":", _Pen(em, _COLON, True))
            right -= 3.0 * em + 0.9 * _MM
            right = block.ending(right, middle + 0.26 * em, word, self.label) - 2.0 * _MM
        return max(end, at + self.tall) if step.boxes else end

    def step(self, count: int, wide: float, totals: tuple[Line, ...]) -> _Block:
        """A step with what is weighed for it."""
        em, step, block, x = self.em, self.sheet.steps[count], _Block(), 1.75 * self.em
        y, inner = self.gap, wide - x
        start = _wide(step.verb, self.bold) + 2.0 * _MM
        shift = 0.0 if step.lines else self.room(inner - start, step)[1]
        base = y + shift + 0.95 * em
        block.ending(1.42 * em, base, str(count + 1), _Pen(em, _PLUM, True))
        block.text(x, base, step.verb, self.bold)
        if step.lines:
            y = self.weights(block, x, y, inner, step, totals)
        else:
            y = max(self.how(block, x + start, y, inner - start, step), y + 1.19 * em)
        if step.small:
            y = block.paragraph(x, y + 0.5, inner, " ".join(step.small), self.small)
        block.high = y + self.gap
        block.rule(0.0, block.high, wide, _LINE)
        return block

    def weights(
        self, block: _Block, x: float, y: float, wide: float, step: WorkStep, totals: Sequence[Line]
    ) -> float:
        """What is weighed for a step, under the heads of its columns; return where it ends."""
        em, right, beside = self.em, x + wide, len(step.how) <= BESIDE
        pounds, base, names = right - self.own, y + 0.95 * em, x + 1.5 * em
        point = pounds - self.pounds - self.fraction
        room = point - self.whole - 0.6 * em - names
        block.ending(point, base, "g", self.label)
        block.ending(right, base, "weighed, g", self.label)
        if self.pounds:
            block.ending(pounds, base, "lb, oz", self.label)
        y += 1.25 * em
        if beside and step.how:
            start = _wide(step.verb, self.bold) + 2.0 * _MM
            free = point - 0.9 * em - x - start
            y = max(y, block.paragraph(x + start, y - 1.12 * em, free, step.how, self.text))
        y += 0.15 * em
        for line in (*step.lines, *totals):
            total = line in totals
            pen = self.bold if total else self.plain
            words = _broken(line.name, room, pen)
            high = max(self.row, 1.1 * em * len(words) + 0.2 * em)
            middle = y + high / 2.0
            base = middle - 0.55 * em * (len(words) - 1) + 0.36 * em
            block.rule(x, y, wide, _INK if total else _LINE, 1.0 if line in totals[:1] else 0.5)
            for index, part in enumerate(words):
                block.text(names, base + 1.1 * em * index, part, pen)
            after, base = names + _wide(words[-1], pen) + 0.5 * em, middle + 0.38 * em
            block.text(after, base + 0.55 * em * (len(words) - 1), line.remark, self.label)
            block.ending(point + self.after(line), base, line.weight, self.number)
            if self.pounds:
                block.ending(pounds, base, ounces(line.grams), self.ounces._replace(bold=total))
            if not total:
                block.box(x, middle - 0.5 * em, em, em, _INK)
                wide_box, top = self.own - 0.9 * em, middle - self.row / 2.0 + 1.3
                block.box(right - wide_box, top, wide_box, self.row - 2.6)
            y += high
        rest = WorkStep("", "" if beside else step.how, boxes=step.boxes)
        return self.how(block, x, y, wide, rest) if rest.how or rest.boxes else y


def _pages(sheet: Sheet, level: Level) -> list[_Block]:
    """The pages of a sheet at one level of air: steps flow beside the panels and then below them."""
    made, pages, full = _Layout(sheet, level), [_Block()], _WIDTH
    pages[0].add(made.top(), 0.0, 0.0)
    y = pages[0].high + 0.3 * _MM
    beside, below = (sheet.panels[:1], sheet.panels[1:]) if sheet.large else (sheet.panels, ())
    aside, down = full if sheet.large else made.aside, y + made.gap
    for panel in beside:
        pages[0].add(block := made.panel(panel, aside), full - aside, down)
        down += block.high
    y = down if sheet.large else y
    last = max(count for count, step in enumerate(sheet.steps) if step.lines)
    for count in range(len(sheet.steps)):
        totals = sheet.totals if count == last else ()
        block = made.step(count, full if y >= down else full - aside - 5.0 * _MM, totals)
        if y + block.high > _DEPTH:
            pages, y, down = [*pages, _Block()], 0.0, 0.0
            block = made.step(count, full, totals)
        pages[-1].add(block, 0.0, y)
        y += block.high
    y = max(y, down) + made.gap
    half, texts = (full - 6.0 * _MM) / 2.0, []
    for caution in sheet.cautions:
        texts.append(_Block())
        texts[-1].high = texts[-1].paragraph(0.0, 0.0, half, caution, made.small) + 1.6
    for blocks in ([made.panel(panel, half) for panel in below], texts):
        columns = _columns(blocks)
        high = max(sum(block.high for block in column) for column in columns)
        if y + high > _DEPTH:
            pages, y = [*pages, _Block()], 0.0
        if blocks is texts and len(pages) == 1 and _DEPTH - y - high > 16.0 * _MM:
            tall = min(_DEPTH - y - high - 3.0 * _MM, 45.0 * _MM)
            pages[-1].box(0.0, y, full, tall)
            pages[-1].text(1.3 * _MM, y + 0.8 * made.em, "Notes", made.label)
            y += tall + 2.0 * _MM
        for column, x in zip(columns, (0.0, half + 6.0 * _MM), strict=True):
            at = y
            for block in column:
                pages[-1].add(block, x, at)
                at += block.high
        y += high
    return pages


def _columns(blocks: Sequence[_Block]) -> tuple[Sequence[_Block], Sequence[_Block]]:
    """Blocks in two columns, in order, as even as can be."""
    highs = [block.high for block in blocks]
    cut = min(range(len(blocks) + 1), key=lambda at: max(sum(highs[:at]), sum(highs[at:])))
    return blocks[:cut], blocks[cut:]


def _curve(curve: Curve, wide: float) -> _Block:
    """The freezing curve, its ± shaded, the serving window as a band; in a width of 240 parts."""
    block, part = _Block(146.0 * wide / 240.0), wide / 240.0
    left, right, top, bottom = 22.0 * part, 236.0 * part, 6.0 * part, 116.0 * part
    pen, middle = _Pen(9.5 * part, _SOFT), 3.1 * part

    def at(celsius: float, percent: float) -> tuple[float, float]:
        height = min(max(percent, 0.0), 100.0) / 100.0 * (bottom - top)
        return left + (celsius + 24.0) / 24.0 * (right - left), bottom - height

    for percent in (0, 25, 50, 75, 100):
        y = at(0.0, percent)[1]
        block.rule(left, y, right - left, _LINE)
        block.ending(left - 4.0 * part, y + middle, str(percent), pen)
    low, high = (at(0.0, percent)[1] for percent in curve.window)
    block.fill(left, high, right - left, low - high, _WINDOW)
    words = "serving window"
    x = right - 2.0 if curve.serving_c < -9.0 else left + 2.0 + _wide(words, pen)
    block.ending(x, (low + high) / 2.0 + middle, words, pen)
    dot = at(curve.serving_c, curve.served[1])
    doubt = [at(c, p + s) for c, p, s in curve.points]
    doubt += [at(c, p - s) for c, p, s in reversed(curve.points)]
    line = [at(c, p) for c, p, _ in curve.points]
    block.calls += [
        ("saveState", ()),
        *(("setFillColor", (_PLUM,)), ("setStrokeColor", (_PLUM,)), ("setFillAlpha", (0.28,))),
        ("drawPath", (_path(doubt), 0, 1)),
        *(("setFillAlpha", (1.0,)), ("setLineWidth", (1.4,)), ("setLineJoin", (1,))),
        ("drawPath", (_path(line), 1, 0)),
        *(("setStrokeColor", (_INK,)), ("setLineWidth", (0.7,)), ("setDash", (1.6, 2.0))),
    ]
    if curve.serving_c >= -24.0:
        block.calls.append(("circle", (dot[0], -dot[1], 2.3, 0, 1)))
        block.calls.append(("line", (dot[0], -top, dot[0], -bottom)))
    block.calls.append(("restoreState", ()))
    for celsius in (-24, -18, -12, -6, 0):
        x = at(celsius, 0.0)[0] + _wide(str(celsius), pen) / 2.0
        block.ending(x, 128.0 * part, str(celsius), pen)
    words = "frozen water, %, by temperature, °C"
    block.ending((left + right + _wide(words, pen)) / 2.0, 142.0 * part, words, pen)
    return block


def _path(points: Sequence[tuple[float, float]]) -> PDFPathObject:
    path = PDFPathObject()
    for count, (x, y) in enumerate(points):
        (path.lineTo if count else path.moveTo)(x, -y)
    return path
