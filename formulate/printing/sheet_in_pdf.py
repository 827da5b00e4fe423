"""A batch sheet as PDF on A4: paragraphs and tables of reportlab, put beside and below each other.

The same sheet always gives the same bytes.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from functools import cache
from io import BytesIO
from typing import Any, NamedTuple
from xml.sax.saxutils import escape

from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, Spacer, Table

from formulate.data import made_with
from formulate.printing.curve_in_pdf import curve_picture
from formulate.printing.page import typeset
from formulate.printing.sheet_contents import Line, Panel, Sheet, WorkStep
from formulate.printing.sheet_in_html import BESIDE, BLANKS, CLOCK, LEVELS, Level, ounces

__all__ = ["sheet_pdf"]

_MM = 72.0 / 25.4
_LEFT, _TOP, _WIDTH, _DEPTH = 12.0 * _MM, 9.0 * _MM, 187.0 * _MM, 275.0 * _MM
_INK, _SOFT, _LINE, _EDGE = "#201d1a", "#5d554d", "#d6cec4", "#857b70"
_PLUM, _WASH, _COLON = "#7a2e4d", "#f3ece2", "#b7ada2"
_PLAIN, _BOLD = "Vera", "VeraBd"  # come with reportlab, under a licence of their own
_LOST = "Some letters are not in this typeface; the HTML sheet shows them all."
_BARE = [("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0)]
_BARE += [("TOPPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, 0), (-1, -1), 0)]
_FOOT_SIZE = 7.2

_Style = Sequence[tuple[Any, ...]]
_Page = list[tuple[Flowable, float, float]]


class _Pen(NamedTuple):
    """How words are set: size [pt], colour, weight."""

    size: float
    colour: str = _INK
    bold: bool = False

    @property
    def font(self) -> str:
        return _BOLD if self.bold else _PLAIN

    def marked(self, words: str) -> str:
        """Words as reportlab's markup for a paragraph."""
        text = escape(_printable(words))
        return (
            f'<font name="{self.font}" size="{self.size:.2f}" color="{self.colour}">{text}</font>'
        )


class _Box(Flowable):  # type: ignore[misc]
    """A box to tick or to write in, with a word in its corner or a mark in its middle."""

    def __init__(
        self, wide: float, high: float, colour: str = _EDGE, word: str = "", mark: str = ""
    ) -> None:
        super().__init__()
        self.width, self.height = wide, high
        self._colour, self._word, self._mark = colour, word, mark

    def draw(self) -> None:
        """Draw it on the canvas that reportlab has set."""
        self.canv.setStrokeColor(self._colour)
        self.canv.setLineWidth(0.7)
        self.canv.roundRect(0.0, 0.0, self.width, self.height, 2.2)
        if self._word:
            self.canv.setFillColor(_SOFT)
            self.canv.setFont(_PLAIN, size := 0.37 * self.height)
            self.canv.drawString(1.3 * _MM, self.height - 1.15 * size, self._word)
        if self._mark:
            self.canv.setFillColor(_COLON)
            self.canv.setFont(_BOLD, 0.6 * self.height)
            self.canv.drawCentredString(self.width / 2.0, 0.3 * self.height, self._mark)


def sheet_pdf(sheet: Sheet) -> bytes:
    """Return a sheet as a PDF file: on as few pages of A4 as it fits, with as much air as there is.

    Parameters
    ----------
    sheet:
        What it says.

    Returns
    -------
    bytes
        The file.

    Examples
    --------
    >>> import formulate as fm
    >>> sheet_pdf(fm.sheet(fm.balance(fm.load("damson_sorbet"))))[:5]
    b'%PDF-'
    """
    for name in (_PLAIN, _BOLD):
        pdfmetrics.registerFont(TTFont(name, f"{name}.ttf"))
    pages = _fewest(sheet)
    canvas = Canvas(out := BytesIO(), pagesize=A4, invariant=1, pageCompression=1, lang="en-GB")
    canvas.setTitle(f"{sheet.name}: batch sheet")
    canvas.setCreator(made_with())
    words = [sheet.name, *(line.name for step in sheet.steps for line in step.lines)]
    lost = any(_printable(word) != _composed(word) for word in words)
    for number, page in enumerate(pages, start=1):
        for block, x, y in page:
            block.drawOn(canvas, _LEFT + x, A4[1] - _TOP - y - block.height)
        _foot(canvas, sheet, f"{number} of {len(pages)}" if len(pages) > 1 else "", lost)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _fewest(sheet: Sheet) -> list[_Page]:
    """The pages of the airiest level at which there are as few as at the tightest."""
    tried = cache(lambda at: _pages(sheet, LEVELS[at]))
    fewest = len(tried(len(LEVELS) - 1))
    return tried(bisect_left(range(len(LEVELS)), True, key=lambda at: len(tried(at)) <= fewest))


def _foot(canvas: Canvas, sheet: Sheet, number: str, lost: bool) -> None:
    """What made the sheet, below a line at the foot of the page."""
    y, foot = A4[1] - _TOP - _DEPTH, _printable(" · ".join(sheet.foot))
    size = _FOOT_SIZE * min(1.0, (_WIDTH - 40.0) / pdfmetrics.stringWidth(foot, _PLAIN, _FOOT_SIZE))
    canvas.setStrokeColor(_LINE)
    canvas.setLineWidth(0.5)
    canvas.line(_LEFT, y - 3.0, _LEFT + _WIDTH, y - 3.0)
    canvas.setFillColor(_SOFT)
    canvas.setFont(_PLAIN, size)
    canvas.drawString(_LEFT, y - 11.0, foot)
    canvas.setFont(_PLAIN, _FOOT_SIZE)
    canvas.drawRightString(_LEFT + _WIDTH, y - 11.0, number)
    canvas.drawString(_LEFT, y - 19.5, _LOST if lost else "")


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
    return float(pdfmetrics.stringWidth(_printable(words), pen.font, pen.size))


def _paragraph(words: str, pen: _Pen, leading: float = 1.19) -> Paragraph:
    """Words in lines as wide as there is room."""
    return _marked(pen.marked(words), pen.size, leading)


def _marked(markup: str, size: float, leading: float = 1.19) -> Paragraph:
    style = ParagraphStyle(
        "", fontName=_PLAIN, fontSize=size, leading=leading * size, splitLongWords=1
    )
    return Paragraph(markup, style)


def _table(
    rows: Sequence[Sequence[Any]], widths: Sequence[float], style: _Style = (), least: float = 0.0
) -> Table:
    """A table without lines or air of its own; measured, so that its height is known."""
    made = Table(rows, colWidths=widths, style=[*_BARE, *style], minRowHeights=[least] * len(rows))
    return _measured(made, sum(widths))


def _stack(blocks: Iterable[Flowable], wide: float, style: _Style = ()) -> Table:
    """Blocks below each other as one."""
    return _table([[list(blocks)]], [wide], style)


def _measured(block: Flowable, wide: float) -> Flowable:
    _, block.height = block.wrap(wide, 10.0 * _DEPTH)
    return block


class _Layout:
    """The blocks of a sheet at one size of type and one level of air."""

    def __init__(self, sheet: Sheet, level: Level) -> None:
        em = 18.0 if sheet.large else 12.0
        self.sheet, self.em, self.gap = sheet, em, level[2] * _MM
        self.row, self.tall = em * level[0], em * level[1]
        self.plain, self.bold, self.text = _Pen(em), _Pen(em, bold=True), _Pen(0.86 * em)
        self.small, self.label = _Pen(em * level[3], _SOFT), _Pen(0.7 * em, _SOFT)
        self.number = _Pen(1.06 * em, bold=True)
        self.aside = (13.2 if sheet.us_weights else 14.6) * 12.0
        lines = [*(line for step in sheet.steps for line in step.lines), *sheet.totals]
        self.fraction = max(map(self.after, lines))
        whole = max(_wide(line.weight, self.number) - self.after(line) for line in lines)
        self.grams = whole + self.fraction + 0.6 * em
        self.own = (4.3 if sheet.us_weights else 4.6) * em
        widest = max(_wide(ounces(line.grams), _Pen(0.88 * em, bold=True)) for line in lines)
        self.pounds = widest + 0.8 * em if sheet.us_weights else 0.0
        self.indent = 1.75 * em

    def after(self, line: Line) -> float:
        """How wide the point and what stands after it are in a weight, so that points stand in line."""
        return _wide("".join(line.weight.partition(".")[1:]), self.number)

    def top(self) -> Table:
        """Name, what it makes, blanks and notices."""
        em, sheet = self.em, self.sheet
        wide, apart, high = (_WIDTH - 7.5 * _MM) / 4.0, 2.5 * _MM, self.row + 0.2 * em
        blanks = [[_Box(wide, high, word=word) for word in BLANKS]]
        notices = [
            _table(
                [[_paragraph(notice, _Pen(0.9 * em, bold=True))]],
                [_WIDTH],
                [
                    ("BACKGROUND", (0, 0), (-1, -1), _WASH),
                    ("LINEBEFORE", (0, 0), (0, -1), 1.2 * _MM, _PLUM, 0),
                    ("LEFTPADDING", (0, 0), (-1, -1), 3.5 * _MM),
                    ("TOPPADDING", (0, 0), (-1, -1), 0.6 * _MM),
                    ("BOTTOMPADDING", (0, 0), (-1, -1), 0.8 * _MM),
                ],
            )
            for notice in sheet.notices
        ]
        head = [
            _paragraph(sheet.name, _Pen(1.7 * em, bold=True)),
            _paragraph(" · ".join(sheet.size), _Pen(1.05 * em)),
            Spacer(1.0, 1.5 * _MM),
            _table(blanks, [*[wide + apart] * 3, wide]),
        ]
        ruled = [
            ("BOTTOMPADDING", (0, 0), (-1, -1), self.gap + 0.6 * _MM),
            ("LINEBELOW", (0, 0), (-1, -1), 1.4, _PLUM),
        ]
        spaced = [part for notice in notices for part in (Spacer(1.0, 1.5 * _MM), notice)]
        return _stack([_stack(head, _WIDTH, ruled), *spaced], _WIDTH)

    def panel(self, panel: Panel, wide: float) -> Table:
        """Figures and notes under a title."""
        em, box = self.em, 3.0 * self.em
        title = _paragraph(panel.title, _Pen(0.86 * em, _PLUM, True))
        ruled = [
            ("LINEBELOW", (0, 0), (-1, -1), 0.5, _LINE),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
        ]
        blocks: list[Flowable] = [_stack([title], wide, ruled), Spacer(1.0, 1.2)]
        for fact in panel.facts:
            if not fact.value:
                blocks.append(_paragraph(fact.label, _Pen(1.05 * em, bold=True)))
                continue
            pen = _Pen(0.9 * em, bold=True)
            room = _wide(fact.value, pen) + 1.0
            cells = [_paragraph(fact.label, _Pen(0.9 * em)), _paragraph(fact.value, pen)]
            widths = [wide - room, room]
            if fact.box:
                widths = [wide - room - box - 1.6 * _MM, room + 1.6 * _MM, box]
                cells.append(_Box(box, self.tall))
            style = [("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
            blocks.append(_table([cells], widths, style, self.tall + 0.12 * em))
        if panel.curve is not None:
            blocks += [Spacer(1.0, 1.5), curve_picture(panel.curve, wide)]
        blocks += [_paragraph(note, self.small) for note in panel.notes]
        return _stack(blocks, wide, [("BOTTOMPADDING", (0, 0), (-1, -1), self.gap + 0.5 * _MM)])

    def step(self, count: int, wide: float, totals: tuple[Line, ...]) -> Table:
        """A step with what is weighed for it."""
        step = self.sheet.steps[count]
        number = self.numbered(str(count + 1))
        if step.lines:
            blocks = [self.weights(step, number, wide, totals)]
            rest = WorkStep("", "" if len(step.how) <= BESIDE else step.how, boxes=step.boxes)
            blocks += self.work(rest, self.numbered(""), wide) if rest.how or rest.boxes else []
        else:
            blocks = self.work(step, number, wide)
        if step.small:
            small = _paragraph(" ".join(step.small), self.small)
            blocks.append(_table([["", small]], [self.indent, wide - self.indent]))
        edges = [
            ("TOPPADDING", (0, 0), (-1, -1), self.gap),
            ("BOTTOMPADDING", (0, 0), (-1, -1), self.gap),
            ("LINEBELOW", (0, 0), (-1, -1), 0.5, _LINE),
        ]
        return _stack(blocks, wide, edges)

    def numbered(self, number: str) -> Paragraph:
        """The number of a step, ending shortly before its verb."""
        markup = _Pen(self.em, _PLUM, True).marked(number)
        end, leading = 0.33 * self.em, 1.19 * self.em
        style = ParagraphStyle(
            "", fontSize=self.em, leading=leading, alignment=TA_RIGHT, rightIndent=end
        )
        return Paragraph(markup, style)

    def work(self, step: WorkStep, number: Paragraph, wide: float) -> list[Flowable]:
        """How a step is done, after its number and verb, with its boxes at the right or below."""
        em, inner = self.em, wide - self.indent
        verb = _wide(step.verb, self.bold) + 2.0 * _MM if step.verb else 0.0
        cells: list[Any] = []
        widths: list[float] = []
        for word in step.boxes:
            mark = ":" if word in CLOCK else ""
            cells += [_paragraph(word, self.label), _Box(3.0 * em, self.tall, mark=mark)]
            widths += [_wide(word, self.label) + 0.9 * _MM, 3.0 * em + 2.0 * _MM]
        widths[-1:] = [3.0 * em] * bool(widths)
        taken, room = sum(widths), inner - verb
        how = _paragraph(step.how, self.text)
        middle = [("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
        head = [number, _paragraph(step.verb, self.bold)]
        if room - taken >= min(9.0 * em, _wide(step.how, self.text)):
            row = [*head, how, *cells]
            return [_table([row], [self.indent, verb, room - taken, *widths], middle)]
        below = _table([["", *cells]], [wide - taken, *widths], middle)
        lower = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("TOPPADDING", (2, 0), (2, 0), 0.12 * em)]
        return [_table([[*head, how]], [self.indent, verb, room], lower), Spacer(1.0, 1.0), below]

    def weights(
        self, step: WorkStep, number: Paragraph, wide: float, totals: Sequence[Line]
    ) -> Table:
        """What is weighed for a step, under the heads of its columns."""
        em, us = self.em, bool(self.pounds)
        tick, names = 1.5 * em, wide - self.indent - 1.5 * em - self.grams - self.pounds - self.own
        verb, high = _wide(step.verb, self.bold) + 2.0 * _MM, [("VALIGN", (0, 0), (-1, -1), "TOP")]
        beside = _paragraph(step.how if len(step.how) <= BESIDE else "", self.text)
        head = _table(
            [[_paragraph(step.verb, self.bold), beside]],
            [verb, tick + names + self.grams - self.fraction - 0.9 * em - verb],
            [*high, ("TOPPADDING", (1, 0), (1, 0), 0.12 * em)],
        )
        labels = ["g", *["lb, oz"] * us, "weighed, g"]
        rows: list[list[Any]] = [[number, head, "", *labels]]
        for line in (*step.lines, *totals):
            total = line in totals
            name = (self.bold if total else self.plain).marked(line.name)
            if line.remark:
                name += f" {self.label.marked(line.remark)}"
            tick_box = "" if total else _Box(em, em, _INK)
            own_box = "" if total else _Box(self.own - 0.9 * em, self.row - 2.6)
            weighed = [_printable(line.weight), *[ounces(line.grams)] * us]
            rows.append(["", tick_box, _marked(name, em, 1.1), *weighed, own_box])
        first = len(rows) - len(totals)
        style: list[tuple[Any, ...]] = [
            ("SPAN", (1, 0), (2, 0)),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ("VALIGN", (0, 0), (2, 0), "TOP"),
            ("VALIGN", (3, 0), (-1, 0), "BOTTOM"),
            ("ALIGN", (3, 0), (-1, -1), "RIGHT"),
            ("RIGHTPADDING", (3, 0), (3, -1), self.fraction),
            ("FONT", (3, 0), (-1, 0), _PLAIN, self.label.size),
            ("TEXTCOLOR", (3, 0), (-1, 0), _SOFT),
            ("FONT", (3, 1), (3, -1), _BOLD, self.number.size),
            ("TEXTCOLOR", (3, 1), (-1, -1), _INK),
            ("LINEABOVE", (1, 1), (-1, -1), 0.5, _LINE),
            ("BOTTOMPADDING", (0, 0), (-1, 0), 0.15 * em),
            ("TOPPADDING", (2, 1), (2, -1), 0.1 * em),
            ("BOTTOMPADDING", (2, 1), (2, -1), 0.1 * em),
        ]
        for at, line in enumerate((*step.lines, *totals), start=1):
            style.append(("RIGHTPADDING", (3, at), (3, at), self.fraction - self.after(line)))
        if us:
            style.append(("FONT", (4, 1), (4, -1), _PLAIN, 0.88 * em))
        if totals:
            style.append(("LINEABOVE", (1, first), (-1, -1), 0.5, _INK))
            style.append(("LINEABOVE", (1, first), (-1, first), 1.0, _INK))
            style += [("FONT", (4, first), (4, -1), _BOLD, 0.88 * em)] if us else []
        widths = [self.indent, tick, names, self.grams, *[self.pounds] * us, self.own]
        heights = [1.25 * em, *[self.row] * (len(rows) - 1)]
        made = Table(rows, colWidths=widths, style=[*_BARE, *style], minRowHeights=heights)
        return _measured(made, wide)


def _pages(sheet: Sheet, level: Level) -> list[_Page]:
    """The pages of a sheet at one level of air: steps flow beside the panels and then below them."""
    made, full = _Layout(sheet, level), _WIDTH
    pages: list[_Page] = [[(top := made.top(), 0.0, 0.0)]]
    y = top.height + 0.3 * _MM
    beside, below = (sheet.panels[:1], sheet.panels[1:]) if sheet.large else (sheet.panels, ())
    aside, down = full if sheet.large else made.aside, y + made.gap
    for panel in beside:
        pages[0].append((block := made.panel(panel, aside), full - aside, down))
        down += block.height
    y = down if sheet.large else y
    last = max(count for count, step in enumerate(sheet.steps) if step.lines)
    for count in range(len(sheet.steps)):
        totals = sheet.totals if count == last else ()
        block = made.step(count, full if y >= down else full - aside - 5.0 * _MM, totals)
        if y + block.height > _DEPTH:
            pages, y, down = [*pages, []], 0.0, 0.0
            block = made.step(count, full, totals)
        pages[-1].append((block, 0.0, y))
        y += block.height
    y = max(y, down) + made.gap
    half = (full - 6.0 * _MM) / 2.0
    edge = [("BOTTOMPADDING", (0, 0), (-1, -1), 1.6)]
    texts = [_stack([_paragraph(text, made.small)], half, edge) for text in sheet.cautions]
    for blocks in ([made.panel(panel, half) for panel in below], texts):
        columns = _columns(blocks)
        high = max(sum(block.height for block in column) for column in columns)
        if y + high > _DEPTH:
            pages, y = [*pages, []], 0.0
        spare = _DEPTH - y - high
        if blocks is texts and len(pages) == 1 and spare > 16.0 * _MM:
            tall = min(spare - 3.0 * _MM, 45.0 * _MM)
            pages[-1].append((_Box(full, tall), 0.0, y))
            note = _measured(_paragraph("Notes", made.label), half)
            pages[-1].append((note, 1.3 * _MM, y + 0.5 * _MM))
            y += tall + 2.0 * _MM
        for column, x in zip(columns, (0.0, half + 6.0 * _MM), strict=True):
            at = y
            for block in column:
                pages[-1].append((block, x, at))
                at += block.height
        y += high
    return pages


def _columns(blocks: Sequence[Flowable]) -> tuple[Sequence[Flowable], Sequence[Flowable]]:
    """Blocks in two columns, in order, as even as can be."""
    highs = [block.height for block in blocks]
    cut = min(range(len(blocks) + 1), key=lambda at: max(sum(highs[:at]), sum(highs[at:])))
    return blocks[:cut], blocks[cut:]
