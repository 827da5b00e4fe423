"""An order in words, and its totals."""

from __future__ import annotations

from collections.abc import Sequence

from formulate.planning import OrderLine

__all__ = ["churns_words", "cost_words", "order_rows"]


def order_rows(lines: Sequence[OrderLine]) -> list[str]:
    """Return an order as a table of text: needed, in stock and to buy [g], and cost where known.

    Parameters
    ----------
    lines:
        Lines of an order.

    Returns
    -------
    list of str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.planning import order
    >>> len(order_rows(order(((fm.check(fm.load("damson_sorbet")), 4000.0),)))) > 6
    True
    """
    width = max(len(line.name) for line in lines)
    rows = [f"{'':{width}}  {'needs':>9} {'stock':>9} {'buy':>9}  g"]
    for line in lines:
        cost = "" if line.cost is None else f"  {line.cost:8.2f}"
        rows.append(
            f"{line.name:{width}}  {line.needed_g:9,.0f} {line.stock_g:9,.0f} {line.buy_g:9,.0f}{cost}"
        )
    return rows


def churns_words(number: int, grams: float) -> str:
    """Return how many churns there are, and of how much.

    Parameters
    ----------
    number:
        How many.
    grams:
        What one holds [g].

    Returns
    -------
    str

    Examples
    --------
    >>> churns_words(3, 1333.0)
    '3 churns of 1,333 g'
    """
    return f"{number} {'churn' if number == 1 else 'churns'} of {grams:,.0f} g"


def cost_words(lines: Sequence[OrderLine]) -> str:
    """Return what an order costs in all, and of how many lines no price is known; "" if of none.

    Parameters
    ----------
    lines:
        Lines of an order.

    Returns
    -------
    str

    Examples
    --------
    >>> cost_words(())
    ''
    """
    bought = [line for line in lines if line.buy_g > 0.0]
    known = [line.cost for line in bought if line.cost is not None]
    if not known:
        return ""
    rest = len(bought) - len(known)
    words = f"To buy comes to {sum(known):,.2f}"
    return (
        f"{words}, without {rest} of {len(bought)} lines that have no price."
        if rest
        else f"{words}."
    )
