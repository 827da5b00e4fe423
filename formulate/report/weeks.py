"""A planned week in words, as plain data, and as a ledger for a spreadsheet."""

from __future__ import annotations

import csv
import io
from datetime import date as Date
from typing import Any

from formulate.data import cell, made_with, versions
from formulate.mix import Weight
from formulate.planning import Draw, LotUse, Making, Serve, Week, WeekLine, name_of
from formulate.report.certainty import meant_data, minded
from formulate.report.figures import grams_words
from formulate.report.mixes import mix_sentences
from formulate.report.orders import churns_words, cost_words
from formulate.report.wording import sentence, sentences

__all__ = [
    "WEEK_CAUTIONS",
    "WEEK_MIXES",
    "buy_words",
    "day_words",
    "draw_words",
    "in_all",
    "lot_words",
    "made_words",
    "reasons",
    "waste_words",
    "week_csv",
    "week_data",
    "week_text",
]

#: Shown with every week.
WEEK_CAUTIONS: tuple[str, ...] = (
    "Use-by days and how long a mix keeps are the kitchen's own: your local rules and your hazard plan "
    "come first.",
    "What is bought during the week is taken to be as the recipe says: read it when it comes, put it on "
    "the shelf of the menu, and plan again.",
)

#: Which mix each of a week is.
WEEK_MIXES = "Every mix is balanced to the lots that it is drawn from."

#: What comes out of a tap, and is on no order.
_TAP = "water"

_LEDGER = tuple(
    "movement day mix key ingredient lot grams price_per_kg churns g_per_churn formulate data".split()
)


def week_text(found: Week) -> str:
    """Return a week as text: what is made on each day, what to order, what to use first, waste.

    Parameters
    ----------
    found:
        The week planned.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> found.name in week_text(found)
    True
    """
    parts = [f"{found.name}: {day_words(found.first)} to {day_words(found.last)}", WEEK_MIXES]
    day: Date | None = None
    for making in found.makings:
        if making.churning.day != day:
            day = making.churning.day
            parts += ["", day_words(day)]
        parts += [f"  {line}" for line in _making(making)]
    if found.ahead:
        parts += ["", "Begin"]
        parts += [
            f"  {day_words(each.begin)}: {sentence(each.what)} ({each.mix})" for each in found.ahead
        ]
    parts += ["", "Order", *_order(found.lines)]
    total = cost_words([line.order for line in found.lines])
    parts += [total] if total else []
    if found.use_first:
        parts += ["", "Use first", *(f"  {lot_words(use)}" for use in found.use_first)]
    wasted = [waste_words(line) for line in found.lines if line.wasted]
    parts += ["", "Expires unused", *(f"  {words}" for words in wasted)] if wasted else []
    return "\n".join([*parts, "", *WEEK_CAUTIONS, f"Made with {made_with()}."])


def day_words(day: Date) -> str:
    """Return a day in words: Tuesday 24 November.

    Parameters
    ----------
    day:
        The day.

    Returns
    -------
    str

    Examples
    --------
    >>> from datetime import date
    >>> day_words(date(2026, 11, 24))
    'Tuesday 24 November'
    """
    return f"{day:%A} {day.day} {day:%B}"


def made_words(making: Making) -> str:
    """Return how a mix is churned and for what, in one line.

    Parameters
    ----------
    making:
        A mix of the week.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> made_words(found.makings[0]) != ""
    True
    """
    churning = making.churning
    stays = churning.grams - churning.wanted_g
    words = f"{churns_words(churning.churns, churning.churn_g)}; {churning.wanted_g:,.0f} g served"
    words += (
        f", {grams_words(round(stays, 1), exact=True)} g for the machine and the scale"
        if stays > 0
        else ""
    )
    return f"{words}: {', '.join(_serve(serve, churning.day) for serve in churning.serves)}"


def draw_words(draw: Draw) -> str:
    """Return which lots an ingredient comes from, and what they read together.

    Parameters
    ----------
    draw:
        Where an ingredient of a mix comes from.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> draw_words(found.makings[0].draws[0]) != ""
    True
    """
    lots = [_use(use) for use in draw.lots]
    words = ", ".join(lots)
    if draw.brix is not None:
        words += f"; {'together ' if len(lots) > 1 else ''}{draw.brix:.1f} °Bx"
    return words


def lot_words(use: LotUse) -> str:
    """Return a lot with its day and what there is of it.

    Parameters
    ----------
    use:
        A lot to use.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> lot_words(found.use_first[0]) != ""
    True
    """
    assert use.lot is not None
    lot = use.lot.lot
    day = f"by {day_words(lot.use_by)}" if lot.use_by is not None else "no day"
    return f"{name_of(lot.key)}, {lot.name}: {day}, {use.grams:,.0f} g"


def in_all(making: Making, weight: Weight) -> float:
    """Return what all churns of a mix weigh of an ingredient [g at the scale].

    Parameters
    ----------
    making:
        A mix of the week.
    weight:
        One of its weights.

    Returns
    -------
    float

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> making = week(menu, recipes, shelf(menu.lots, (), recipes.values())).makings[0]
    >>> weight = making.result.mix.weights[0]
    >>> in_all(making, weight) >= weight.grams
    True
    """
    return round(making.churning.churns * weight.grams, 6)


def buy_words(line: WeekLine) -> str:
    """Return what is to be there on which day.

    Parameters
    ----------
    line:
        One ingredient of the week.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> buy_words(found.lines[0])
    ''
    """
    if line.order.key == _TAP and line.order.buy_g:
        return "tap"
    return ", ".join(
        f"{grams_words(round(g, 1), exact=True)} g {day:%a} {day.day}" for day, g in line.purchases
    )


def waste_words(line: WeekLine) -> str:
    """Return what expires of an ingredient, by lot, with its cost where it is known.

    Parameters
    ----------
    line:
        One ingredient of the week.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> type(waste_words(found.lines[0]))
    <class 'str'>
    """
    lots = ", ".join(
        f"{use.lot.lot.name} {use.grams:,.0f} g" for use in line.wasted if use.lot is not None
    )
    cost = "" if line.waste_cost is None else f", worth {line.waste_cost:,.2f}"
    return f"{line.order.name}: {lots}{cost}"


def reasons(making: Making) -> tuple[str, ...]:
    """Return why a mix cannot be, and the nearest, in sentences.

    Parameters
    ----------
    making:
        A mix of the week.

    Returns
    -------
    tuple of str
        None where the mix can be.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> type(reasons(found.makings[0]))
    <class 'tuple'>
    """
    nearest = ", ".join(
        f"{weight.name} {grams_words(round(weight.grams, 1), exact=True)} g"
        for weight in making.result.mix.weights
        if weight.grams > 0.0
    )
    return (*mix_sentences(making.result), f"Nearest, for one churn: {nearest}.")


def week_data(found: Week) -> dict[str, Any]:
    """Return a week as plain data, ready for JSON.

    Parameters
    ----------
    found:
        The week planned.

    Returns
    -------
    dict

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> week_data(found)["name"] == found.name
    True
    """
    return {
        "name": found.name,
        "first": found.first.isoformat(),
        "last": found.last.isoformat(),
        "status": "planned" if found.is_possible else "impossible",
        "makings": [_making_data(making) for making in found.makings],
        "ahead": [
            {"begin": each.begin.isoformat(), "mix": each.mix, "text": sentence(each.what)}
            for each in found.ahead
        ],
        "order": [_line_data(line) for line in found.lines],
        "use_first": [_use_data(use) for use in found.use_first],
        "cautions": list(WEEK_CAUTIONS),
        "versions": versions(),
    }


def week_csv(found: Week) -> str:
    """Return the account of a week as a ledger: stock and bought come in; used, left and expired go out.

    Cells are safe to open in a spreadsheet; every row names the versions of program, table and model.

    Parameters
    ----------
    found:
        The week planned.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> len(week_csv(found).splitlines()) > 5
    True
    """
    rows: list[dict[str, object]] = []
    for line in found.lines:
        about: dict[str, object] = {"key": line.order.key, "ingredient": line.order.name}
        ways = {"stock": line.stock_g, "left": line.left_g, "expired": line.expired_g}
        rows += [about | {"movement": way, "grams": grams} for way, grams in ways.items() if grams]
        for day, grams in line.purchases:
            rows.append(about | {"movement": "bought", "day": day.isoformat(), "grams": grams})
    for making in found.makings:
        churning = making.churning
        head: dict[str, object] = {
            "movement": "used",
            "day": churning.day.isoformat(),
            "mix": making.name,
            "churns": churning.churns,
        }
        each = {weight.key: weight.grams for weight in making.result.mix.weights}
        for draw in making.draws:
            about = {"key": draw.key, "ingredient": draw.name, "g_per_churn": each[draw.key]}
            rows += [
                head
                | about
                | {"lot": _lot_name(use), "grams": use.grams, "price_per_kg": _price(use)}
                for use in draw.lots
            ]
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet)
    writer.writerow(_LEDGER)
    about_all: dict[str, object] = dict(versions())
    for row in rows:
        writer.writerow([cell((row | about_all).get(name)) for name in _LEDGER])
    return sheet.getvalue()


def _making(making: Making) -> list[str]:
    lines = [f"{making.name}: {made_words(making)}"]
    if not making.is_possible:
        lines[0] = f"{making.name}: NO MIX CAN DO IT; {made_words(making)}"
        return [*lines, *(f"  {text}" for text in (*reasons(making), *sentences(making.notes)))]
    draws = {draw.key: draw for draw in making.draws}
    weights = [weight for weight in making.result.mix.weights if weight.grams > 0.0]
    width = max(len(weight.name) for weight in weights)
    lines.append(f"  {'':{width}}  g a churn   in all  from, as bought")
    for weight in weights:
        lots = draw_words(draws[weight.key]) if weight.key in draws else ""
        each, total = (
            grams_words(weight.grams, exact=True),
            grams_words(in_all(making, weight), exact=True),
        )
        lines.append(f"  {weight.name:{width}}  {each:>9}  {total:>7}  {lots}".rstrip())
    said = (*minded(making.result), *sentences((*making.notes, *making.result.messages)))
    return [*lines, *(f"  {text}" for text in said)]


def _order(lines: tuple[WeekLine, ...]) -> list[str]:
    width = max(len(line.order.name) for line in lines)
    rows = [f"{'':{width}}  {'needs':>8} {'stock':>8} {'buy':>8} {'left':>8}  g"]
    for line in lines:
        of = line.order
        cost = f"{of.cost:8.2f}" if of.cost and of.key != _TAP else ""
        buy = buy_words(line)
        rows.append(
            f"{of.name:{width}}  {of.needed_g:8,.0f} {of.stock_g:8,.0f} {of.buy_g:8,.0f} "
            f"{line.left_g:8,.0f}  {cost:8}  {buy}".rstrip()
        )
    return rows


def _serve(serve: Serve, day: Date) -> str:
    when = f"{serve.day:%A}" if serve.day != day else "same day"
    count = f" {serve.portions:,} portions" if serve.portions else f" {serve.grams:,.0f} g"
    return f"{when}{' ' + serve.service if serve.service else ''}{count}"


def _use(use: LotUse) -> str:
    grams = grams_words(round(use.grams, 1), exact=True)
    return f"buy {grams} g" if use.lot is None else f"{use.lot.lot.name} {grams} g"


def _lot_name(use: LotUse) -> str:
    return "" if use.lot is None else use.lot.lot.name


def _price(use: LotUse) -> float | None:
    return None if use.lot is None else use.lot.lot.price_per_kg


def _use_data(use: LotUse) -> dict[str, Any]:
    data: dict[str, Any] = {"lot": None, "grams": use.grams}
    if use.lot is not None:
        lot = use.lot.lot
        use_by = None if lot.use_by is None else lot.use_by.isoformat()
        data |= {"lot": lot.name, "key": lot.key, "use_by": use_by}
    return data


def _making_data(making: Making) -> dict[str, Any]:
    churning = making.churning
    return {
        "day": churning.day.isoformat(),
        "recipe": churning.recipe,
        "name": making.name,
        "recipe_digest": making.digest,
        "status": making.result.status,
        "serves": [
            {
                "day": serve.day.isoformat(),
                "service": serve.service,
                "grams": serve.grams,
                "portions": serve.portions,
            }
            for serve in churning.serves
        ],
        "wanted_g": churning.wanted_g,
        "churns": churning.churns,
        "churn_g": churning.churn_g,
        "grams": churning.grams,
        "which": making.result.which,
        "warnings": meant_data(making.result)["warnings"],
        "mix": [
            {"key": weight.key, "grams": weight.grams, "in_all_g": in_all(making, weight)}
            for weight in making.result.mix.weights
        ],
        "draws": [
            {
                "key": draw.key,
                "brix": draw.brix,
                "lots": [{"lot": _lot_name(use) or None, "grams": use.grams} for use in draw.lots],
            }
            for draw in making.draws
        ],
        "messages": list(
            sentences(making.result.messages) if making.is_possible else reasons(making)
        ),
        "notes": list(sentences(making.notes)),
    }


def _line_data(line: WeekLine) -> dict[str, Any]:
    of = line.order
    by = line.purchases[0][0].isoformat() if line.purchases else None
    return {
        "key": of.key,
        "name": of.name,
        "needed_g": of.needed_g,
        "usable_g": of.stock_g,
        "buy_g": of.buy_g,
        "by": by,
        "cost": of.cost,
        "purchases": [{"day": day.isoformat(), "grams": grams} for day, grams in line.purchases],
        "stock_g": line.stock_g,
        "used_g": line.used_g,
        "left_g": line.left_g,
        "expired_g": line.expired_g,
        "wasted": [_use_data(use) for use in line.wasted],
        "waste_cost": line.waste_cost,
    }
