"""A batch sheet as PDF, drawn by reportlab on A4; the same sheet always gives the same bytes."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any

from reportlab.lib.pagesizes import A4  # type: ignore[import-untyped]
from reportlab.pdfbase import pdfmetrics  # type: ignore[import-untyped]
from reportlab.pdfbase.ttfonts import TTFont  # type: ignore[import-untyped]
from reportlab.pdfgen.canvas import Canvas  # type: ignore[import-untyped]
from reportlab.pdfgen.pathobject import PDFPathObject  # type: ignore[import-untyped]

from formulate.sheet import Curve, Line, Panel, Sheet, WorkStep
from formulate.sheet_html import BESIDE, BLANKS, CLOCK, LEVELS, Level, true_minus

__all__ = ["as_pdf"]

_MM = 72.0 / 25.4
_LEFT, _TOP, _WIDTH, _DEPTH = 12.0 * _MM, 9.0 * _MM, 187.0 * _MM, 275.0 * _MM
_GUTTER = 5.0 * _MM
_INK, _SOFT, _LINE, _EDGE = "#201d1a", "#5d554d", "#d6cec4", "#857b70"
_PLUM, _WASH, _WINDOW, _COLON = "#7a2e4d", "#f3ece2", "#e6dccb", "#b7ada2"
_PLAIN, _BOLD = "Vera", "VeraBd"  # come with reportlab, in its licence
_Texts = tuple[str, ...]
_LOST = "Some letters are not in this typeface; the HTML sheet shows them all."


@dataclass
class _Block:
    """A piece of the page: calls of the canvas from its upper left corner, and how far down it goes."""

    high: float = 0.0
    calls: list[tuple[str, tuple[Any, ...]]] = field(default_factory=list)

    def text(
        self, x: float, y: float, words: str, size: float, colour: str = _INK, *, bold: bool = False
    ) -> None:
        """Put a line of text on the baseline ``y``."""
        self.calls.append(("setFillColor", (colour,)))
        self.calls.append(("setFont", (_BOLD if bold else _PLAIN, size)))
        self.calls.append(("drawString", (x, -y, _printable(words))))

    def ending(
        self, x: float, y: float, words: str, size: float, colour: str = _INK, *, bold: bool = False
    ) -> float:
        """Put a line of text that ends at ``x``; return where it starts."""
        start = x - _wide(words, size, bold)
        self.text(start, y, words, size, colour, bold=bold)
        return start

    def rule(self, x: float, y: float, wide: float, colour: str = _LINE, weight: float = 0.5) -> None:
        """Draw a line to the right."""
        self.calls += [("setStrokeColor", (colour,)), ("setLineWidth", (weight,))]
        self.calls.append(("line", (x, -y, x + wide, -y)))

    def fill(self, x: float, y: float, wide: float, high: float, colour: str) -> None:
        """Fill a rectangle."""
        self.calls += [("setFillColor", (colour,)), ("rect", (x, -y - high, wide, high, 0, 1))]

    def box(
        self, x: float, y: float, wide: float, high: float, colour: str = _EDGE, weight: float = 0.6
    ) -> None:
        """Draw a box to tick or to write in."""
        self.calls += [("setStrokeColor", (colour,)), ("setLineWidth", (weight,))]
        self.calls.append(("roundRect", (x, -y - high, wide, high, 2.2)))

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
        self.calls += [("saveState", ()), ("translate", (x, -y)), *other.calls, ("restoreState", ())]
        self.high = max(self.high, y + other.high)


def as_pdf(sheet: Sheet) -> bytes:
    """Return a sheet as a PDF file: on as few pages of A4 as it fits, with as much air as there is."""
    for name in (_PLAIN, _BOLD):
        pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    pages = min((_pages(sheet, level) for level in LEVELS), key=len)
    canvas = Canvas(out := BytesIO(), pagesize=A4, invariant=1, pageCompression=1, lang="en-GB")
    canvas.setTitle(f"{sheet.name}: batch sheet")
    canvas.setCreator("formulate")
    foot = " · ".join(sheet.foot)
    size = 7.2 * min(1.0, (_WIDTH - 40.0) / _wide(foot, 7.2))
    for number, page in enumerate(pages, start=1):
        page.rule(0.0, _DEPTH + 3.0, _WIDTH)
        page.text(0.0, _DEPTH + 11.0, foot, size, _SOFT)
        if len(pages) > 1:
            page.ending(_WIDTH, _DEPTH + 11.0, f"{number} of {len(pages)}", 7.2, _SOFT)
        if any(_printable(word) != _composed(word) for word in _words(sheet)):
            page.text(0.0, _DEPTH + 19.5, _LOST, 7.2, _SOFT)
        canvas.translate(_LEFT, A4[1] - _TOP)
        for call, values in page.calls:
            getattr(canvas, call)(*values)
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
        self.fraction = max(_after(line, self.em) for line in every)
        self.whole = max(_wide(x.weight, 1.06 * self.em, True) - _after(x, self.em) for x in every)
        self.own = (4.3 if sheet.us_weights else 4.6) * self.em
        self.pounds = max(_wide(line.us_weight, 0.88 * self.em, True) for line in every)
        self.pounds += 0.8 * self.em if sheet.us_weights else 0.0

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
        for notice in self.sheet.notices:
            inner, y = _Block(), y + 1.5 * _MM
            end = inner.paragraph(0.0, 0.0, _WIDTH - 6.0 * _MM, notice, 0.9 * em, bold=True)
            block.fill(0.0, y, _WIDTH, end + 1.4 * _MM, _WASH)
            block.fill(0.0, y, 1.2 * _MM, end + 1.4 * _MM, _PLUM)
            block.add(inner, 3.5 * _MM, y + 0.6 * _MM)
            y += end + 1.4 * _MM
        block.high = y
        return block

    def panel(self, panel: Panel, wide: float) -> _Block:
        """Figures and notes under a title."""
        em, block = self.em, _Block()
        block.text(0.0, 0.8 * em, panel.title, 0.86 * em, _PLUM, bold=True)
        block.rule(0.0, 1.08 * em, wide)
        y = 1.08 * em + 1.2
        for fact in panel.facts:
            if not fact.value:
                y = block.paragraph(0.0, y + 1.0, wide, fact.label, 1.05 * em, bold=True)
                continue
            right, base = wide, y + self.tall / 2.0 + 0.39 * em
            if fact.box:
                right -= 3.0 * em + 1.6 * _MM
                block.box(wide - 3.0 * em, y + 0.06 * em, 3.0 * em, self.tall)
            block.text(0.0, base, fact.label, 0.9 * em)
            block.ending(right, base, fact.value, 0.9 * em, bold=True)
            y += self.tall + 0.12 * em
        if panel.curve is not None:
            picture = _curve(panel.curve, wide)
            block.add(picture, 0.0, y + 1.5)
            y += picture.high + 1.5
        for note in panel.notes:
            y = block.paragraph(0.0, y + 0.5, wide, note, self.small, _SOFT)
        block.high = y + self.gap + 0.5 * _MM
        return block

    def how(self, block: _Block, x: float, y: float, wide: float, how: str, boxes: _Texts) -> float:
        """How a step is done, with its boxes at the right or below; return where it ends."""
        em, size = self.em, 0.86 * self.em
        taken = sum(3.0 * em + 3.4 * _MM + _wide(word, 0.72 * em) for word in boxes)
        text = _wide(how, size)
        under = bool(boxes) and wide - taken < min(9.0 * em, text)
        shift = (self.tall - 1.19 * em) / 2.0 if boxes and not under else 0.0
        end, at, right = y, y, x + wide
        if how:
            room = wide if under else wide - taken
            end = block.paragraph(x, y + shift + 0.1 * em, room, how, size)
        at = end + 1.0 if under else y
        middle = at + self.tall / 2.0
        for word in reversed(boxes):
            block.box(right - 3.0 * em, at, 3.0 * em, self.tall)
            if word in CLOCK:
                block.text(right - 1.7 * em, middle + 0.35 * em, ":", em, _COLON, bold=True)
            right -= 3.0 * em + 0.9 * _MM
            right = block.ending(right, middle + 0.26 * em, word, 0.72 * em, _SOFT) - 2.0 * _MM
        return max(end, at + self.tall) if boxes else end

    def step(self, count: int, wide: float, totals: tuple[Line, ...]) -> _Block:
        """A step with what is weighed for it."""
        em, step, block, x = self.em, self.sheet.steps[count], _Block(), 1.75 * self.em
        y, inner = self.gap, wide - x
        shift = (self.tall - 1.19 * em) / 2.0 if step.boxes and not step.lines else 0.0
        base = y + shift + 0.95 * em
        block.ending(1.42 * em, base, str(count + 1), em, _PLUM, bold=True)
        block.text(x, base, step.verb, em, bold=True)
        start = _wide(step.verb, em, True) + 2.0 * _MM
        if not step.lines:
            end = self.how(block, x + start, y, inner - start, step.how, step.boxes)
            y = max(end, y + 1.19 * em)
        else:
            y = self.weights(block, x, y, inner, step, start, totals)
        if step.small:
            y = block.paragraph(x, y + 0.5, inner, " ".join(step.small), self.small, _SOFT)
        block.high = y + self.gap
        block.rule(0.0, block.high, wide)
        return block

    def weights(
        self, block: _Block, x: float, y: float, wide: float, step: WorkStep, start: float,
        totals: tuple[Line, ...],
    ) -> float:
        """What is weighed for a step, under the heads of its columns; return where it ends."""
        em, right, us = self.em, x + wide, self.sheet.us_weights
        pounds = right - self.own
        grams = pounds - self.pounds
        names, base, beside = x + 1.5 * em, y + 0.95 * em, len(step.how) <= BESIDE
        room = grams - self.fraction - self.whole - 0.6 * em - names
        block.ending(grams - self.fraction, base, "g", 0.7 * em, _SOFT)
        block.ending(right, base, "weighed, g", 0.68 * em, _SOFT)
        if us:
            block.ending(pounds, base, "lb, oz", 0.7 * em, _SOFT)
        y += 1.25 * em
        if beside and step.how:
            free = grams - self.fraction - 0.9 * em - x - start
            top = y - 1.12 * em
            y = max(y, block.paragraph(x + start, top, free, step.how, 0.86 * em))
        y += 0.15 * em
        for line in (*step.lines, *totals):
            bold = line in totals
            lines = _broken(line.name, room, em, bold)
            high = max(self.row, 1.1 * em * len(lines) + 0.2 * em)
            middle = y + high / 2.0
            first = middle - 0.55 * em * (len(lines) - 1) + 0.36 * em
            block.rule(x, y, wide, _INK if bold else _LINE, 1.0 if line in totals[:1] else 0.5)
            for index, words in enumerate(lines):
                block.text(names, first + 1.1 * em * index, words, em, bold=bold)
            after = names + _wide(lines[-1], em) + 0.5 * em
            block.text(after, first + 1.1 * em * (len(lines) - 1), line.remark, 0.72 * em, _SOFT)
            base = middle + 0.38 * em
            block.ending(
                grams - self.fraction + _after(line, em), base, line.weight, 1.06 * em, bold=True
            )
            block.ending(pounds, base, line.us_weight, 0.88 * em, bold=bold)
            if not bold:
                block.box(x, middle - 0.5 * em, em, em, _INK, 0.8)
                block.box(right - self.own + 0.9 * em, y + 1.3, self.own - 0.9 * em, high - 2.6)
            y += high
        how = "" if beside else step.how
        return self.how(block, x, y, wide, how, step.boxes) if how or step.boxes else y


def _after(line: Line, em: float) -> float:
    """How wide the point and what stands after it are in a weight."""
    point, rest = line.weight.partition(".")[1:]
    return _wide(point + rest, 1.06 * em, True)


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
        block.ending(left - 4.0 * part, y + 0.33 * size, str(percent), size, _SOFT)
    block.fill(left, high, right - left, low - high, _WINDOW)
    place = at(0.0, sum(curve.window) / 2.0)[1]
    block.ending(right - 2.0, place + 0.33 * size, "serving window", size, _SOFT)
    served = min(curve.points, key=lambda point: abs(point[0] - curve.serving_c))
    dot, foot = at(curve.serving_c, served[1]), at(curve.serving_c, 0.0)
    doubt = [at(c, p + s) for c, p, s in curve.points]
    doubt += [at(c, p - s) for c, p, s in reversed(curve.points)]
    line = [at(c, p) for c, p, _ in curve.points]
    block.calls += [
        ("saveState", ()),
        *(("setFillColor", (_PLUM,)), ("setStrokeColor", (_PLUM,)), ("setFillAlpha", (0.28,))),
        ("drawPath", (_path(doubt), 0, 1)),
        *(("setFillAlpha", (1.0,)), ("setLineWidth", (1.4,)), ("setLineJoin", (1,))),
        ("drawPath", (_path(line), 1, 0)),
        ("circle", (dot[0], -dot[1], 2.3, 0, 1)),
        *(("setStrokeColor", (_INK,)), ("setLineWidth", (0.7,)), ("setDash", (1.6, 2.0))),
        ("line", (foot[0], -top, foot[0], -bottom)),
        ("restoreState", ()),
    ]
    for celsius in (-24, -18, -12, -6, 0):
        words, y = true_minus(str(celsius)), bottom + 1.25 * size
        block.text(at(celsius, 0.0)[0] - _wide(words, size) / 2.0, y, words, size, _SOFT)
    words = "frozen water, %, by temperature, °C"
    block.text((left + right - _wide(words, size)) / 2.0, 142.0 * part, words, size, _SOFT)
    block.high = 146.0 * part
    return block


def _path(points: Sequence[tuple[float, float]]) -> PDFPathObject:
    path = PDFPathObject()
    for count, (x, y) in enumerate(points):
        (path.lineTo if count else path.moveTo)(x, -y)
    return path
