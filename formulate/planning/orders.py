"""What to order for several mixes: everything that they take from the shelf, less what is in stock."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

from formulate.answers import balance
from formulate.errors import InputError
from formulate.recipes import Recipe

__all__ = ["OrderLine", "churns", "order", "order_line", "without_stock"]


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One ingredient [g]: needed as bought, in stock, and to buy; cost where its price is known."""

    key: str
    name: str
    needed_g: float
    stock_g: float
    buy_g: float
    cost: float | None


def order(recipes: tuple[tuple[Recipe, float], ...]) -> tuple[OrderLine, ...]:
    """Return what to order for balanced mixes of so many grams each, in the order of first use.

    Stock is what the recipes give; of several figures the largest counts, once for all.

    Parameters
    ----------
    recipes:
        Each recipe with the grams of mix that are wanted, above 0.

    Returns
    -------
    tuple of OrderLine

    Raises
    ------
    InputError
        If no mix can meet the targets of a recipe, or a batch is not above zero.

    Examples
    --------
    >>> import formulate as fm
    >>> lines = order(((fm.load("damson_sorbet"), 4000.0),))
    >>> lines[0].key
    'damson'
    """
    needed: dict[str, float] = {}
    names: dict[str, str] = {}
    stock: dict[str, float] = {}
    prices: dict[str, float] = {}
    for recipe, grams in recipes:
        if not 0.0 < grams < 1e9:
            raise InputError(recipe.name, f"{grams:g} g is no batch", "Give grams, above 0.")
        result = balance(without_stock(recipe))
        if result.status != "balanced":
            problem = "has no mix that meets its targets"
            raise InputError(
                recipe.name, problem, "Balance it alone to see what stands against it."
            )
        for entry, weight in zip(recipe.ingredients, result.mix.weights, strict=True):
            if weight.bought <= 0.0:
                continue
            share = grams / recipe.batch_g
            needed[entry.key] = needed.get(entry.key, 0.0) + weight.bought * share
            names.setdefault(entry.key, weight.name)
            stock[entry.key] = max(stock.get(entry.key, 0.0), entry.stock_g or 0.0)
            if entry.price_per_kg is not None:
                prices[entry.key] = entry.price_per_kg
    return tuple(
        order_line(
            key, names[key], amount, stock[key], max(amount - stock[key], 0.0), prices.get(key)
        )
        for key, amount in needed.items()
    )


def without_stock(recipe: Recipe) -> Recipe:
    """Return a recipe whose stock does not limit the mix: what is short can be bought."""
    entries = tuple(replace(entry, stock_g=None) for entry in recipe.ingredients)
    return replace(recipe, ingredients=entries)


def order_line(
    key: str, name: str, needed: float, stock: float, buy: float, price: float | None
) -> OrderLine:
    """Return a line of an order [g], its cost from the price per kg where that is known."""
    cost = None if price is None else price * buy / 1000.0
    return OrderLine(key, name, needed, stock, buy, cost)


def churns(grams: float, churn_g: float) -> tuple[int, float]:
    """Return how many equal churns a batch makes, and the grams of each.

    Parameters
    ----------
    grams:
        The batch [g], above 0.
    churn_g:
        What one churn takes at most [g], above 0.

    Returns
    -------
    tuple of int and float

    Raises
    ------
    InputError
        If the churn holds nothing.

    Examples
    --------
    >>> churns(4000.0, 1800.0)
    (3, 1333.3333333333333)
    """
    if not churn_g > 0.0:
        raise InputError("churn", f"holds {churn_g:g} g", "Give what one churn takes, in grams.")
    number = max(1, ceil(grams / churn_g - 1e-9))
    return number, grams / number
