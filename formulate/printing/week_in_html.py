"""A planned week as a page of HTML for A4, to pin on the wall: days, order, lots to use first."""

from __future__ import annotations

from itertools import groupby

from formulate.data import versions
from formulate.planning import Making, Week, WeekLine
from formulate.printing.page import page, safe
from formulate.report import (
    WEEK_CAUTIONS,
    buy_words,
    cost_words,
    day_words,
    draw_words,
    grams_words,
    in_all,
    lot_words,
    made_words,
    reasons,
    sentence,
    sentences,
    waste_words,
)

__all__ = ["week_html"]

_STYLE = """
h1 { font-size: 1.7rem; font-weight: 650; line-height: 1.1; overflow-wrap: anywhere; }
header { border-bottom: 1.4pt solid var(--plum); padding-bottom: 1.5mm; margin-bottom: 2mm; }
h2 { font-size: 1.1rem; color: var(--plum); margin-top: 3.5mm; break-after: avoid; }
h3 { font-size: 1rem; font-weight: 650; margin-top: 1.5mm; break-after: avoid; }
.made { font-size: .9rem; }
section { break-inside: avoid; }
table.list { width: 100%; border-collapse: collapse; font-size: .9rem; margin: .8mm 0 1mm; }
.list th { font-weight: 400; font-size: .72rem; color: var(--soft); text-align: left; }
.list td { border-top: .5pt solid #e9e2d9; padding: .5mm 0; vertical-align: top;
  overflow-wrap: anywhere; }
.list th, .list td { padding-right: 2.5mm; }
.list td:nth-child(2) { width: 32%; }
.list.lots td:nth-child(2) { width: auto; }
.list .number { text-align: right; white-space: nowrap; }
.list tr { break-inside: avoid; }
.list td.tick { width: 1.5rem; }
.tick i { display: block; width: 1rem; height: 1rem; border: .8pt solid var(--ink);
  border-radius: .6mm; }
.cannot { border-left: 1.2mm solid var(--plum); background: var(--wash); padding: .8mm 2.5mm;
  font-size: .9rem; }
.note { font-size: .8rem; color: var(--soft); line-height: 1.2; }
"""


def week_html(found: Week) -> str:
    """Return a week as a page of HTML in one file, for the screen and for A4."""
    days = [
        f"<h2>{safe(day_words(day))}</h2>{''.join(_making(making) for making in makings)}"
        for day, makings in groupby(found.makings, key=lambda making: making.churning.day)
    ]
    ahead = [f"{day_words(each.begin)}: {sentence(each.what)} ({each.mix})" for each in found.ahead]
    wasted = [waste_words(line) for line in found.lines if line.wasted]
    total = cost_words([line.order for line in found.lines])
    body = f"""<header><h1>{safe(found.name)}</h1>
<p>{safe(day_words(found.first))} to {safe(day_words(found.last))}</p></header>
{"".join(days)}
{_list("Begin", ahead)}
{_order(found.lines)}{f'<p class="made">{safe(total)}</p>' if total else ""}
{_list("Use first", [lot_words(use) for use in found.use_first])}
{_list("Expires unused", wasted)}
{"".join(f'<p class="note">{safe(text)}</p>' for text in WEEK_CAUTIONS)}"""
    foot = (found.name[:80], *(f"{key} {version}" for key, version in versions().items()))
    return page(f"{found.name}: week", body, foot, style=_STYLE)


def _making(making: Making) -> str:
    head = f'<h3>{safe(making.name)}</h3><p class="made">{safe(made_words(making))}</p>'
    notes = "".join(f'<p class="note">{safe(text)}</p>' for text in sentences(making.notes))
    if not making.is_possible:
        why = "".join(f"<p>{safe(text)}</p>" for text in reasons(making))
        words = "<p><b>No mix can do it with these lots.</b></p>"
        return f'<section>{head}<div class="cannot">{words}{why}</div>{notes}</section>'
    draws = {draw.key: draw for draw in making.draws}
    rows = "".join(
        f'<tr><td class="tick"><i></i></td><td>{safe(weight.name)}</td>'
        f'<td class="number">{safe(grams_words(weight.grams, exact=True))}</td>'
        f'<td class="number">{safe(grams_words(in_all(making, weight), exact=True))}</td>'
        f"<td>{safe(draw_words(draws[weight.key]) if weight.key in draws else '')}</td></tr>"
        for weight in making.result.mix.weights
        if weight.grams > 0.0
    )
    said = (*sentences(making.result.messages), f"Recipe {making.digest}, as on its batch sheet.")
    notes += "".join(f'<p class="note">{safe(text)}</p>' for text in said)
    return (
        f'<section>{head}<table class="list"><thead><tr><th></th><th></th>'
        '<th class="number">g a churn</th><th class="number">in all</th>'
        "<th>from, as bought</th></tr></thead>"
        f"<tbody>{rows}</tbody></table>{notes}</section>"
    )


def _order(lines: tuple[WeekLine, ...]) -> str:
    rows = []
    for line in lines:
        of = line.order
        cells = (of.needed_g, of.stock_g, of.buy_g, line.left_g)
        numbers = "".join(f'<td class="number">{grams:,.0f}</td>' for grams in cells)
        cost = f"{of.cost:,.2f}" if of.cost else ""
        tick = "<i></i>" if of.buy_g and buy_words(line) != "tap" else ""
        rows.append(
            f'<tr><td class="tick">{tick}</td><td>{safe(of.name)}</td>{numbers}'
            f'<td class="number">{cost}</td><td>{safe(buy_words(line))}</td></tr>'
        )
    names = ("needs, g", "stock", "buy", "left", "cost")
    heads = "".join(f'<th class="number">{name}</th>' for name in names)
    return (
        '<h2>Order</h2><table class="list"><thead><tr><th></th><th></th>'
        f"{heads}<th>to be there</th></tr></thead><tbody>{''.join(rows)}</tbody></table>"
    )


def _list(title: str, texts: list[str]) -> str:
    rows = "".join(f'<tr><td class="tick"><i></i></td><td>{safe(text)}</td></tr>' for text in texts)
    return (
        f'<section><h2>{title}</h2><table class="list lots"><tbody>{rows}</tbody></table></section>'
        if texts
        else ""
    )
