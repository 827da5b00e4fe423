"""A planned week as a page of HTML for A4, to pin on the wall: days, order, lots to use first."""

from __future__ import annotations

from itertools import groupby

from formulate.data import versions
from formulate.planning import Making, Week
from formulate.printing.page import rendered
from formulate.report import (
    WEEK_CAUTIONS,
    WEEK_MIXES,
    buy_words,
    cost_words,
    day_words,
    draw_words,
    grams_words,
    in_all,
    lot_words,
    made_words,
    minded,
    reasons,
    sentence,
    sentences,
    waste_words,
)

__all__ = ["week_html"]


def week_html(found: Week) -> str:
    """Return a week as a page of HTML in one file, for the screen and for A4.

    Parameters
    ----------
    found:
        The week as planned.

    Returns
    -------
    str
        The page.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf, week
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> found = week(menu, recipes, shelf(menu.lots, (), recipes.values()))
    >>> week_html(found).startswith("<!doctype html>")
    True
    """
    return rendered(
        "week.html",
        title=f"{found.name}: week",
        foot=(found.name[:80], *(f"{key} {version}" for key, version in versions().items())),
        marks="",
        variables="",
        week=found,
        days=[
            (day, list(makings))
            for day, makings in groupby(found.makings, key=lambda making: making.churning.day)
        ],
        ahead=[
            f"{day_words(each.begin)}: {sentence(each.what)} ({each.mix})" for each in found.ahead
        ],
        wasted=[waste_words(line) for line in found.lines if line.wasted],
        use_first=[lot_words(use) for use in found.use_first],
        total=cost_words([line.order for line in found.lines]),
        cautions=WEEK_CAUTIONS,
        said_of=_said_of,
        sentences=sentences,
        buy_words=buy_words,
        day_words=day_words,
        draw_words=draw_words,
        grams_words=grams_words,
        in_all=in_all,
        made_words=made_words,
        reasons=reasons,
    )


def _said_of(making: Making) -> tuple[str, ...]:
    known = f"Recipe {making.digest}, as on its batch sheet."
    return (*minded(making.result), *sentences(making.result.messages), WEEK_MIXES, known)
