"""A batch sheet as one file of HTML that prints on A4: nothing fetched, no script, all text escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil

from formulate.printing.page import page, safe
from formulate.printing.sheet_contents import Curve, Line, Panel, Sheet, WorkStep

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
_AIRY, _TIGHT = (1.9, 1.65, 2.0, 0.74), (1.3, 1.15, 0.45, 0.62)
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
_LETTER = 0.53  # width of a letter of a wide typeface, in parts of its size

_STYLE = """
h1 { font-size: calc(1.1rem + .35 * var(--row)); line-height: 1.1; font-weight: 650;
  letter-spacing: -.01em; overflow-wrap: anywhere; }
h2 { font-size: 1rem; font-weight: 700; display: inline; }
header { border-bottom: 1.4pt solid var(--plum); padding-bottom: calc(var(--gap) + .6mm); }
.size { margin-top: .4mm; font-size: 1.05rem; }
.blanks { display: grid; grid-template-columns: repeat(4, 1fr); gap: 2.5mm; margin-top: 1.5mm; }
.blank { border: .6pt solid var(--edge); border-radius: .9mm; height: calc(var(--row) + .2rem);
  padding: .3mm 1.3mm; font-size: .66rem; color: var(--soft); }
.notice { border-left: 1.2mm solid var(--plum); background: var(--wash); padding: .8mm 2.5mm;
  margin-top: 1.5mm; font-weight: 600; font-size: .9rem; break-inside: avoid; }
aside { float: right; width: 14.4rem; margin: calc(var(--gap) + .3mm) 0 1mm 5mm; }
.panel { break-inside: avoid; padding-bottom: calc(var(--gap) + .5mm); }
.panel h2 { display: block; border-bottom: .5pt solid var(--line); margin-bottom: .5mm;
  font-size: .86rem; color: var(--plum); }
.fact { display: flex; align-items: center; gap: 1.6mm; min-height: calc(var(--box) + .12rem);
  font-size: .9rem; }
.fact b { margin-left: auto; font-weight: 650; white-space: nowrap; }
.fact.alone { font-size: 1.05rem; }
.fact.alone b { margin-left: 0; white-space: normal; }
.note { font-size: var(--small); color: var(--soft); line-height: 1.2; margin-top: .3mm; }
svg { display: block; width: 100%; height: auto; margin-top: .6mm; }
ol { list-style: none; }
.step { display: flow-root; break-inside: avoid; padding: var(--gap) 0 var(--gap) 1.7rem;
  position: relative; border-bottom: .5pt solid var(--line); }
.number { position: absolute; left: 0; width: 1.2rem; text-align: right; color: var(--plum);
  font-weight: 700; }
.head { display: flex; flex-wrap: wrap; gap: .4mm 2.2mm; align-items: baseline; }
.how { font-size: .86rem; line-height: 1.18; }
.head .how { flex: 1 1 9rem; }
.boxes { display: flex; gap: 2mm; margin-left: auto; }
.box { display: inline-flex; align-items: center; gap: .9mm; font-size: .72rem; color: var(--soft);
  white-space: nowrap; }
.box i { display: inline-block; width: 3rem; height: var(--box); border: .6pt solid var(--edge);
  border-radius: .9mm; background: #fff; }
.clock i::after { content: ":"; display: block; text-align: center;
  font: 700 1rem/calc(var(--box) - .2rem) sans-serif; color: #b7ada2; }
.small { font-size: var(--small); line-height: 1.18; color: var(--soft); }
.small p { display: inline; }
.small p + p::before { content: " "; }
table { width: 100%; border-collapse: collapse; }
th { font-weight: 400; font-size: .7rem; color: var(--soft); text-align: right;
  vertical-align: baseline; padding-bottom: .3mm; }
th.verb { text-align: left; font-size: 1rem; color: var(--ink); }
th .how { padding-left: 1mm; }
td { height: var(--row); vertical-align: middle; border-top: .5pt solid #e9e2d9; }
td.tick { width: 1.5rem; }
td.tick i { display: block; width: 1rem; height: 1rem; border: .8pt solid var(--ink);
  border-radius: .6mm; }
td.name { overflow-wrap: anywhere; line-height: 1.08; }
td.name small { font-size: .72rem; color: var(--soft); white-space: nowrap; }
.grams { width: var(--grams); text-align: right; white-space: nowrap; }
td.grams { font-weight: 650; font-size: 1.06rem; }
.grams span { display: inline-block; text-align: left; }
.us { width: 5.6rem; padding-left: .6rem; text-align: right; white-space: nowrap; }
td.us { font-size: .88rem; }
.own { width: 4.6rem; text-align: right; }
html.pounds .own { width: 4.5rem; }
html.pounds aside { width: 13.2rem; }
html.pounds th .how { font-size: .8rem; }
html.large aside { float: none; width: auto; margin: 0; columns: 2; column-gap: 6mm;
  padding-top: var(--gap); }
html.large aside.first { columns: 1; border-bottom: .5pt solid var(--line); }
html.large aside.first h2 { display: inline; border: 0; font-size: 1rem; margin-right: 2mm; }
html.large aside.first .note, html.large aside.first .fact { display: inline; margin-right: 2mm; }
.own i { display: block; margin-left: .9rem; height: calc(var(--row) - .9mm);
  border: .6pt solid var(--edge); border-radius: .9mm; }
tr.total td { border-top: 1pt solid var(--ink); font-weight: 650; }
tr.total + tr.total td { border-top-width: .5pt; }
.cautions { clear: both; columns: 2; column-gap: 6mm; padding-top: var(--gap);
  font-size: var(--small); line-height: 1.18; color: var(--soft); }
.cautions p { break-inside: avoid; margin-bottom: .6mm; }
.notes { border: .6pt solid var(--edge); border-radius: .9mm; margin-top: 1.5mm; clear: both;
  padding: .5mm 1.3mm; font-size: .66rem; color: var(--soft); }
"""


def sheet_html(sheet: Sheet) -> str:
    """Return a sheet as a page of HTML in one file, for the screen and for A4."""
    lines = [*(line for step in sheet.steps for line in step.lines), *sheet.totals]
    digits = max(len(_fraction(line)) for line in lines)
    whole = max(len(line.weight.partition(".")[0]) for line in lines)
    last = max(count for count, step in enumerate(sheet.steps) if step.lines)
    work = [
        _step(count, step, sheet, digits, sheet.totals if count == last else ())
        for count, step in enumerate(sheet.steps)
    ]
    blanks = "".join(f'<div class="blank">{word}</div>' for word in BLANKS)
    cautions = _paragraphs(sheet.cautions)
    panels = [_panel(panel) for panel in sheet.panels]
    beside = "".join(panels[1:])
    tries = [level for level in LEVELS if _height(sheet, level) <= _PAGE]
    tries += [LEVELS[-1]] if _height(sheet, LEVELS[-1]) <= _PAGE + 9.0 else [_TWO_PAGES]
    level = _LARGE if sheet.large else tries[0]
    spare = 0.0 if sheet.large else min(_PAGE - _height(sheet, level), _MOST_NOTES)
    notes = f'<div class="notes" style="height:{spare:.0f}mm">Notes</div>'
    notes = notes if spare >= _LEAST_NOTES else ""
    marks = " ".join(
        word for word, on in (("large", sheet.large), ("pounds", sheet.us_weights)) if on
    )
    body = f"""<header><h1>{safe(sheet.name)}</h1>
<p class="size">{safe(" · ".join(sheet.size))}</p>
<div class="blanks">{blanks}</div></header>
{"".join(f'<p class="notice">{safe(notice)}</p>' for notice in sheet.notices)}
<aside{' class="first"' if sheet.large else ""}>{panels[0]}{"" if sheet.large else beside}</aside>
<ol>{"".join(work)}</ol>{f"<aside>{beside}</aside>" if sheet.large else ""}
{notes}<section class="cautions">{cautions}</section>"""
    return page(
        f"{sheet.name}: batch sheet",
        body,
        sheet.foot,
        style=_STYLE,
        marks=marks,
        variables=_variables(level, whole, digits),
    )


def ounces(grams: float) -> str:
    """Return a weight in pounds and ounces: ``3 lb 11.6 oz``; below an ounce with two decimals."""
    if grams < OUNCE_G:
        return f"{grams / OUNCE_G:.2f} oz"
    pounds, tenths = divmod(round(10.0 * grams / OUNCE_G), 160)
    return f"{pounds} lb {tenths / 10.0:.1f} oz" if pounds else f"{tenths / 10.0:.1f} oz"


def _paragraphs(texts: Iterable[str]) -> str:
    return "".join(f"<p>{safe(text)}</p>" for text in texts)


def _fraction(line: Line) -> str:
    return line.weight.partition(".")[2]


def _boxes(words: Sequence[str]) -> str:
    found = []
    for word in words:
        kind = "box clock" if word in CLOCK else "box"
        found.append(f'<span class="{kind}">{safe(word)}<i></i></span>')
    return f'<div class="boxes">{"".join(found)}</div>' if found else ""


def _step(count: int, step: WorkStep, sheet: Sheet, digits: int, totals: tuple[Line, ...]) -> str:
    how = f'<span class="how">{safe(step.how)}</span>' if step.how else ""
    small = f'<div class="small">{_paragraphs(step.small)}</div>' if step.small else ""
    number, verb = f'<span class="number">{count + 1}</span>', f"<h2>{safe(step.verb)}</h2>"
    boxes = _boxes(step.boxes)
    if not step.lines:
        return f'<li class="step">{number}<div class="head">{verb}{how}{boxes}</div>{small}</li>'
    us = '<th class="us">lb, oz</th>' if sheet.us_weights else ""
    rows = "".join(_row(line, sheet.us_weights, digits) for line in step.lines)
    rows += "".join(_row(line, sheet.us_weights, digits, "total") for line in totals)
    beside, under = (how, boxes) if len(step.how) <= BESIDE else ("", f"{how}{boxes}")
    under = f'<div class="head">{under}</div>' if under else ""
    return (
        f'<li class="step">{number}<table><thead><tr><th class="verb" colspan="2">{verb}{beside}</th>'
        f'<th class="grams">g{_pad(digits)}</th>{us}<th class="own">weighed, g</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>{under}{small}</li>"
    )


def _row(line: Line, us: bool, digits: int, kind: str = "") -> str:
    remark = f" <small>{safe(line.remark)}</small>" if line.remark else ""
    fraction = _fraction(line)
    whole = line.weight.partition(".")[0]
    rest = f".{fraction}" if fraction else ""
    pad = f'<span style="width:{_width(digits)}">{rest}</span>' if digits else ""
    pounds = f'<td class="us">{safe(ounces(line.grams))}</td>' if us else ""
    tick = "" if kind else "<i></i>"
    return (
        f'<tr class="{kind}"><td class="tick">{tick}</td><td class="name">{safe(line.name)}{remark}'
        f'</td><td class="grams">{whole}{pad}</td>{pounds}<td class="own">{tick}</td></tr>'
    )


def _width(digits: int) -> str:
    return f"{0.3 + 0.64 * digits:.2f}em"


def _pad(digits: int) -> str:
    return f'<span style="width:{_width(digits)}"></span>' if digits else ""


def _panel(panel: Panel) -> str:
    facts = []
    for fact in panel.facts:
        kind = "fact" if fact.value else "fact alone"
        label = f"<span>{safe(fact.label)}</span><b>{safe(fact.value)}</b>"
        label = label if fact.value else f"<b>{safe(fact.label)}</b>"
        box = '<span class="box"><i></i></span>' if fact.box else ""
        facts.append(f'<div class="{kind}">{label}{box}</div>')
    curve = "" if panel.curve is None else _curve(panel.curve)
    notes = "".join(f'<p class="note">{safe(note)}</p>' for note in panel.notes)
    return f'<div class="panel"><h2>{safe(panel.title)}</h2>{"".join(facts)}{curve}{notes}</div>'


def _curve(curve: Curve) -> str:
    """The freezing curve as an inline picture, its ± shaded, the serving window as a band."""
    left, right, top, bottom = 22.0, 236.0, 6.0, 116.0

    def x(celsius: float) -> float:
        return left + (celsius + 24.0) / 24.0 * (right - left)

    def y(percent: float) -> float:
        return bottom - min(max(percent, 0.0), 100.0) / 100.0 * (bottom - top)

    def path(points: Iterable[tuple[float, float]]) -> str:
        return " ".join(f"{x(c):.1f},{y(p):.1f}" for c, p in points)

    upper = [(c, p + s) for c, p, s in curve.points]
    lower = [(c, p - s) for c, p, s in curve.points]
    low, high = curve.window
    grid = "".join(
        f'<line x1="{left}" x2="{right}" y1="{y(p):.1f}" y2="{y(p):.1f}" stroke="#ddd5ca" '
        f'stroke-width=".6"/><text x="{left - 4}" y="{y(p) + 3:.1f}" text-anchor="end">{p}</text>'
        for p in (0, 25, 50, 75, 100)
    )
    ticks = "".join(
        f'<text x="{x(c):.1f}" y="{bottom + 12}" text-anchor="middle">{safe(str(c))}</text>'
        for c in (-24, -18, -12, -6, 0)
    )
    place, anchor = (right - 2, "end") if curve.serving_c < -9.0 else (left + 2, "start")
    served = ""
    if curve.serving_c >= -24.0:
        at, (_, percent, _) = f"{x(curve.serving_c):.1f}", curve.served
        served = (
            f'<line x1="{at}" x2="{at}" y1="{top}" y2="{bottom}" stroke="#201d1a" '
            f'stroke-dasharray="2 2.5"/><circle cx="{at}" cy="{y(percent):.1f}" r="3" fill="#7a2e4d"/>'
        )
    return (
        '<svg viewBox="0 0 240 146" role="img" font-size="9.5" fill="#5d554d" '
        'aria-label="Freezing curve with its doubt and the serving window">'
        f'{grid}<rect x="{left}" width="{right - left}" y="{y(high):.1f}" '
        f'height="{y(low) - y(high):.1f}" fill="#e6dccb" fill-opacity=".85"/>'
        f'<polygon points="{path(upper)} {path(reversed(lower))}" fill="#7a2e4d" '
        'fill-opacity=".28"/>'
        f'<polyline points="{path((c, p) for c, p, _ in curve.points)}" fill="none" '
        'stroke="#7a2e4d" stroke-width="1.7" stroke-linejoin="round"/>'
        f'{served}<text x="{place}" y="{y((low + high) / 2.0) + 3:.1f}" text-anchor="{anchor}">'
        "serving window</text>"
        f'{ticks}<text x="{(left + right) / 2}" y="142" text-anchor="middle">'
        "frozen water, %, by temperature, °C</text></svg>"
    )


def _variables(level: Level, whole: int, digits: int) -> str:
    """Sizes that the style takes: the level of air, and a column wide enough for the weights."""
    row, box, gap, small = level
    grams = 0.72 * whole + 1.06 * (0.3 + 0.64 * digits) * bool(digits) + 0.6
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
    top = 18.0 + row + gap + 6.5 * len(sheet.notices)
    texts = lines(sum(map(len, sheet.cautions)) + 40.0 * len(sheet.cautions), 181.0, small)
    return top + max(down, aside) + len(sheet.totals) * row + texts + gap + 5.0
