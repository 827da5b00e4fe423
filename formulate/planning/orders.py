"""What to order for several mixes: everything that they take from the shelf, less what is in stock."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

from formulate.answers import Result, meant
from formulate.errors import InputError
from formulate.recipes import Recipe

__all__ = ["OrderLine", "churns", "mix_to_order", "order", "order_line", "without_stock"]


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One ingredient [g]: needed as bought, in stock, and to buy; cost where its price is known."""

    key: str
    name: str
    needed_g: float
    stock_g: float
    buy_g: float
    cost: float | None


def order(mixes: tuple[tuple[Result, float], ...]) -> tuple[OrderLine, ...]:
    """Return what to order for so many grams of each mix, in the order of first use.

    Stock is what the recipes give; of several figures the largest counts, once for all.

    Parameters
    ----------
    mixes:
        Each mix, from :func:`mix_to_order`, with the grams of it that are wanted, above 0.

    Returns
    -------
    tuple of OrderLine

    Raises
    ------
    InputError
        If a batch is not above zero.

    Examples
    --------
    >>> import formulate as fm
    >>> lines = order(((fm.check(fm.load("damson_sorbet")), 4000.0),))
    >>> lines[0].key
    'damson'
    """
    needed: dict[str, float] = {}
    names: dict[str, str] = {}
    stock: dict[str, float] = {}
    prices: dict[str, float] = {}
    for result, grams in mixes:
        if not 0.0 < grams < 1e9:
            raise InputError(result.name, f"{grams:g} g is no batch", "Give grams, above 0.")
        entries = result.mixture.recipe.ingredients
        for entry, weight in zip(entries, result.mix.weights, strict=True):
            if weight.bought <= 0.0:
                continue
            share = grams / result.batch_g
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


def mix_to_order(recipe: Recipe, balanced: bool = False) -> Result:
    """Return the mix that a recipe stands for, as :func:`formulate.answers.meant`, to be ordered.

    Stock does not limit it: what is short can be bought.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    balanced:
        Whether the balanced mix is meant, be every weight given.

    Returns
    -------
    Result
        Of the recipe with its stock.

    Examples
    --------
    >>> import formulate as fm
    >>> str(mix_to_order(fm.load("damson_sorbet")).which)
    'as_it_stands'
    """
    found = meant(without_stock(recipe), balanced)
    return replace(found, mixture=replace(found.mixture, recipe=recipe))


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
