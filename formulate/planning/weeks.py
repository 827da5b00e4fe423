"""A week's menu planned: which mixes on which day, from which lots, what to order, what will be wasted.

All mixes draw on one account of the stock, day by day, so that nothing is counted twice.  A mix that no
lots can balance is a result with its reasons; it takes nothing, and the rest of the week is planned.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date as Date
from datetime import timedelta
from math import ceil

from formulate.answers import Result
from formulate.ingredients import (
    Account,
    Closed,
    StockLot,
    closed,
    first_to_use,
    ingredient_table,
    opened,
    past_use_by,
    take,
)
from formulate.messages import Message, message
from formulate.mix import reading_of
from formulate.planning.drawing import FromLots, from_lots
from formulate.planning.menu import WeekMenu
from formulate.planning.orders import OrderLine, order_line, without_stock
from formulate.planning.shared_churns import Churning, churnings
from formulate.recipes import Recipe, digest, scaled

__all__ = ["Ahead", "Draw", "LotUse", "Making", "Week", "WeekLine", "name_of", "week"]

_MORNING_MIN = 240.0  # what may be done on the day itself; common practice, no source


@dataclass(frozen=True, slots=True)
class LotUse:
    """So many grams, as bought, of a lot; ``lot`` is ``None`` for what is to be bought."""

    lot: StockLot | None
    grams: float


@dataclass(frozen=True, slots=True)
class Draw:
    """Where an ingredient of a mix comes from [g as bought], and what the blend reads [°Bx at 20 °C]."""

    key: str
    name: str
    lots: tuple[LotUse, ...]
    brix: float | None


@dataclass(frozen=True, slots=True)
class Ahead:
    """A step that takes time: when to begin it, for which mix, and what it is."""

    begin: Date
    mix: str
    what: Message


@dataclass(frozen=True, slots=True)
class Making:
    """One making of a mix: churns, the mix of one churn in ``result``, its lots, and what to know.

    ``draws`` and ``ahead`` are empty where no mix can be; ``digest`` is of the recipe, as on its sheet.
    """

    churning: Churning
    name: str
    result: Result
    draws: tuple[Draw, ...]
    ahead: tuple[Ahead, ...]
    notes: tuple[Message, ...]
    digest: str

    @property
    def is_possible(self) -> bool:
        """Whether the lots make a mix that meets every target."""
        return self.result.status == "balanced"


@dataclass(frozen=True, slots=True)
class WeekLine:
    """One ingredient over the week [g as bought].

    In every line ``used_g + left_g + expired_g == stock_g + order.buy_g``, to the milligram.

    Attributes
    ----------
    order:
        Needed, in stock and usable when it is needed, and to buy, with the cost where a price is known.
    purchases:
        What is to be there on which day.
    stock_g, used_g, left_g, expired_g:
        All that is on the shelf, used, left for later, and past its use-by when the week is over.
    wasted, waste_cost:
        What expires unused, by lot, and what was paid for it, where known.
    """

    order: OrderLine
    purchases: tuple[tuple[Date, float], ...]
    stock_g: float
    used_g: float
    left_g: float
    expired_g: float
    wasted: tuple[LotUse, ...]
    waste_cost: float | None


@dataclass(frozen=True, slots=True)
class Week:
    """A planned week: makings by day, a line for each ingredient, and lots in the order of their use.

    ``use_first`` are lots that have a day still to come or are used, with what is there of each [g].
    """

    name: str
    first: Date
    last: Date
    makings: tuple[Making, ...]
    lines: tuple[WeekLine, ...]
    use_first: tuple[LotUse, ...]

    @property
    def is_possible(self) -> bool:
        """Whether every mix can be made."""
        return all(making.is_possible for making in self.makings)

    @property
    def ahead(self) -> tuple[Ahead, ...]:
        """What takes time, by the day on which to begin."""
        found = [ahead for making in self.makings for ahead in making.ahead]
        return tuple(sorted(found, key=lambda each: each.begin))


def week(menu: WeekMenu, recipes: Mapping[str, Recipe], shelf: tuple[StockLot, ...]) -> Week:
    """Return the week of a menu.

    Parameters
    ----------
    menu, recipes:
        The menu, and its recipes by the words with which it names them.
    shelf:
        Every lot that there is, with its grams.

    Returns
    -------
    Week

    Raises
    ------
    InputError
        If a recipe cannot be read against the tables and its lots, or a churn holds nothing.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.data import menu_bytes
    >>> from formulate.planning import parse_menu, shelf
    >>> menu = parse_menu(menu_bytes("november_week"), "november_week")
    >>> recipes = {serve.recipe: fm.load(serve.recipe) for serve in menu.serves}
    >>> week(menu, recipes, shelf(menu.lots, (), recipes.values())).is_possible
    True
    """
    plans = [
        churning
        for word in dict.fromkeys(serve.recipe for serve in menu.serves)
        for churning in churnings(menu, word, recipes[word].scale.step_g)
    ]
    account = opened(shelf)
    makings = []
    for churning in sorted(plans, key=lambda plan: plan.day):
        recipe = without_stock(recipes[churning.recipe])
        recipe = scaled(recipe, churning.churn_g / recipe.batch_g)
        recipe = replace(recipe, batch_g=churning.churn_g)
        found = from_lots(recipe, churning.churns, churning.day, account)
        known = digest(recipes[churning.recipe])
        makings.append(_making(churning, recipe, found, account, known))
        account = take(account, found.parts, churning.day, recipe.name)
    days = [serve.day for serve in menu.serves]
    names = {w.key: w.name for making in makings for w in making.result.mix.weights}
    prices = _prices(recipes.values())
    return Week(
        name=menu.name,
        first=min(days),
        last=max(days),
        makings=tuple(makings),
        lines=tuple(_line(each, account, names, prices) for each in closed(account, max(days))),
        use_first=_use_first(account, min(days)),
    )


def _making(
    churning: Churning, recipe: Recipe, found: FromLots, account: Account, known: str
) -> Making:
    weights = found.result.mix.weights
    if not found.parts:
        notes = _past(churning.day, [w.key for w in weights], _names(found), account)
        return Making(churning, recipe.name, found.result, (), (), notes, known)
    return Making(
        churning=churning,
        name=recipe.name,
        result=found.result,
        draws=_draws(found, account),
        ahead=_ahead(churning, recipe, found),
        notes=(
            *_past(churning.day, list(found.parts), _names(found), account),
            *_passed(found, account),
        ),
        digest=known,
    )


def _names(found: FromLots) -> dict[str, str]:
    """Names of the ingredients of a mix, by key."""
    return {weight.key: weight.name for weight in found.result.mix.weights}


def _draws(found: FromLots, account: Account) -> tuple[Draw, ...]:
    names = _names(found)
    readings = {entry.key: reading_of(entry) for entry in found.recipe.ingredients}
    return tuple(
        Draw(
            key,
            names[key],
            tuple(
                LotUse(
                    None if part.lot is None else account.shelf[part.lot], part.milligrams / 1000.0
                )
                for part in parts
            ),
            readings[key],
        )
        for key, parts in found.parts.items()
    )


def _ahead(churning: Churning, recipe: Recipe, found: FromLots) -> tuple[Ahead, ...]:
    """Steps for which the recipe says how long, with the day on which to begin them."""
    names = _names(found)
    ahead = []
    for entry in recipe.ingredients:
        for step in entry.steps if entry.key in found.parts else ():
            minutes = step.get("minutes")
            if isinstance(minutes, int | float) and minutes > 0:
                days = ceil(max(minutes - _MORNING_MIN, 0.0) / 1440.0)
                begin = churning.day - timedelta(days)
                name = names[entry.key]
                what = message("begin_step", name=name, step=step.do, minutes=minutes)
                ahead.append(Ahead(begin, recipe.name, what))
    return tuple(ahead)


def _past(
    day: Date, keys: Iterable[str], names: Mapping[str, str], account: Account
) -> tuple[Message, ...]:
    """Lots of a mix that may not be used any more."""
    found = []
    for key in keys:
        for place in past_use_by(account, key, day):
            lot = account.shelf[place].lot
            grams = account.left[place] / 1000.0
            about = {"key": key, "name": names[key], "lot": lot.name}
            about["use_by"] = "" if lot.use_by is None else lot.use_by.isoformat()
            found.append(message("lot_past_use_by", **about, grams=grams))
    return tuple(found)


def _passed(found: FromLots, account: Account) -> tuple[Message, ...]:
    """Lots that come first and are left aside."""
    names = _names(found)
    lots = [account.shelf[place].lot for place in sorted(found.passed)]
    return tuple(
        message("lot_left_aside", key=lot.key, name=names[lot.key], lot=lot.name) for lot in lots
    )


def _line(
    each: Closed, account: Account, names: Mapping[str, str], prices: Mapping[str, float]
) -> WeekLine:
    grams = {
        name: getattr(each, name) / 1000.0
        for name in ("stock", "bought", "used", "left", "expired")
    }
    wasted = tuple(
        LotUse(account.shelf[part.lot], part.milligrams / 1000.0)
        for part in each.wasted
        if part.lot is not None
    )
    costs = [
        use.lot.lot.price_per_kg * use.grams / 1000.0
        for use in wasted
        if use.lot is not None and use.lot.lot.price_per_kg is not None
    ]
    name = names.get(each.key) or name_of(each.key)
    price = prices.get(each.key, _last_price(each.key, account))
    usable = _usable(each.key, account) / 1000.0
    return WeekLine(
        order=order_line(each.key, name, grams["used"], usable, grams["bought"], price),
        purchases=tuple((day, bought / 1000.0) for day, bought in each.purchases),
        stock_g=grams["stock"],
        used_g=grams["used"],
        left_g=grams["left"],
        expired_g=grams["expired"],
        wasted=wasted,
        waste_cost=sum(costs) if wasted and len(costs) == len(wasted) else None,
    )


def name_of(key: str) -> str:
    """Return the name of an ingredient of the table, or of one's own.

    Parameters
    ----------
    key:
        Key of an ingredient.

    Returns
    -------
    str

    Examples
    --------
    >>> name_of("sucrose"), name_of("my_jam")
    ('Sugar (sucrose)', 'My jam')
    """
    table = ingredient_table()
    return table[key].name if key in table else key.replace("_", " ").capitalize()


def _usable(key: str, account: Account) -> int:
    """What of the shelf may be used on a day on which the ingredient is needed [mg]."""
    days = {move.day for move in account.moves if move.key == key}
    return sum(
        opened((each,)).left[0]
        for each in account.shelf
        if each.lot.key == key
        and any((each.lot.date or Date.min) <= day <= (each.lot.use_by or Date.max) for day in days)
    )


def _prices(recipes: Iterable[Recipe]) -> dict[str, float]:
    entries = [entry for recipe in recipes for entry in recipe.ingredients]
    return {e.key: e.price_per_kg for e in entries if e.price_per_kg is not None}


def _last_price(key: str, account: Account) -> float | None:
    """What the lot that came in last cost."""
    lots = [each.lot for each in account.shelf if each.lot.key == key]
    priced = [lot for lot in lots if lot.price_per_kg is not None]
    return max(priced, key=lambda lot: lot.date or Date.min).price_per_kg if priced else None


def _use_first(account: Account, first: Date) -> tuple[LotUse, ...]:
    """Lots with a use-by that is not past, or that are used, what to use first at the front."""
    used = {move.part.lot for move in account.moves}
    start = opened(account.shelf)
    places = [
        place
        for place, each in enumerate(account.shelf)
        if place in used or first <= (each.lot.use_by or Date.min)
    ]
    places.sort(key=lambda place: first_to_use(account.shelf[place].lot))
    return tuple(LotUse(account.shelf[place], start.left[place] / 1000.0) for place in places)
