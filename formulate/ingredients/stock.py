"""One account of what is in stock: first to expire goes first, and it adds up to the milligram.

Weights are whole milligrams, as bought, so that used, left and expired are stock and bought, exactly.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date as Date

from formulate.checks import not_negative
from formulate.ingredients.lots import Lot, first_to_use

__all__ = [
    "Account",
    "Closed",
    "Move",
    "Part",
    "StockLot",
    "closed",
    "milligrams",
    "offer",
    "opened",
    "past_use_by",
    "take",
]


@dataclass(frozen=True, slots=True)
class StockLot:
    """A lot on the shelf, with its ``grams``; ``plus_minus`` is of its reading [°Bx], if known."""

    lot: Lot
    plus_minus: float | None = None

    def __post_init__(self) -> None:
        """Check the ± of the reading."""
        if self.plus_minus is not None:
            place = f"lot of {self.lot.key}, plus_minus"
            object.__setattr__(self, "plus_minus", not_negative(self.plus_minus, place))


@dataclass(frozen=True, slots=True)
class Part:
    """So many milligrams of a lot, by its place on the shelf; ``None`` for what is to be bought."""

    lot: int | None
    milligrams: int


@dataclass(frozen=True, slots=True)
class Move:
    """What one mix took of one lot on one day."""

    day: Date
    mix: str
    key: str
    part: Part


@dataclass(frozen=True, slots=True)
class Account:
    """The shelf, what is left of each lot [mg], and what was taken, in order."""

    shelf: tuple[StockLot, ...]
    left: tuple[int, ...]
    moves: tuple[Move, ...] = ()


@dataclass(frozen=True, slots=True)
class Closed:
    """One ingredient when the week is over [mg]: ``used + left + expired == stock + bought``.

    ``purchases`` are what is bought for each day; ``wasted`` what expired of each lot.
    """

    key: str
    stock: int
    bought: int
    used: int
    left: int
    expired: int
    purchases: tuple[tuple[Date, int], ...]
    wasted: tuple[Part, ...]


def milligrams(grams: float) -> int:
    """Return grams as whole milligrams.

    Parameters
    ----------
    grams:
        A weight [g].

    Returns
    -------
    int
        [mg].

    Examples
    --------
    >>> milligrams(0.3)
    300
    """
    return round(1000.0 * grams)


def opened(shelf: tuple[StockLot, ...]) -> Account:
    """Return the account of a shelf of which nothing was taken yet.

    Parameters
    ----------
    shelf:
        The lots; one without ``grams`` holds nothing.

    Returns
    -------
    Account

    Examples
    --------
    >>> opened((StockLot(Lot("damson", grams=2.0)),)).left
    (2000,)
    """
    return Account(shelf, tuple(milligrams(each.lot.grams or 0.0) for each in shelf))


def offer(
    account: Account, key: str, wanted: int, day: Date, passed: frozenset[int] = frozenset()
) -> tuple[Part, ...]:
    """Return where so many milligrams of an ingredient come from on a day; the rest is to be bought.

    First to expire first, then first in.  A lot is not offered before it comes in, after its use-by, or
    if it is ``passed`` over.

    Parameters
    ----------
    account:
        What was taken so far.
    key:
        The ingredient.
    wanted:
        How much [mg], 0 or more.
    day:
        When it is used.
    passed:
        Lots that are not offered, by their places on the shelf.

    Returns
    -------
    tuple of Part

    Examples
    --------
    >>> account = opened((StockLot(Lot("damson", grams=2.0)),))
    >>> offer(account, "damson", 3000, Date(2026, 9, 1))
    (Part(lot=0, milligrams=2000), Part(lot=None, milligrams=1000))
    """
    parts = []
    for place in _in_order(account, key):
        if wanted and place not in passed and _is_usable(account.shelf[place].lot, day):
            part = Part(place, min(wanted, account.left[place]))
            parts.append(part)
            wanted -= part.milligrams
    return (*parts, *([Part(None, wanted)] if wanted else []))


def take(account: Account, parts: Mapping[str, tuple[Part, ...]], day: Date, mix: str) -> Account:
    """Return the account after a mix has taken what was offered, by ingredient.

    Parameters
    ----------
    account:
        What was taken so far.
    parts:
        What :func:`offer` gave, by ingredient.
    day:
        When it is used.
    mix:
        What it is used for.

    Returns
    -------
    Account

    Examples
    --------
    >>> account = opened((StockLot(Lot("damson", grams=2.0)),))
    >>> part = offer(account, "damson", 500, Date(2026, 9, 1))
    >>> take(account, {"damson": part}, Date(2026, 9, 1), "sorbet").left
    (1500,)
    """
    left = list(account.left)
    moves = list(account.moves)
    for key, each in parts.items():
        for part in each:
            moves.append(Move(day, mix, key, part))
            if part.lot is not None:
                left[part.lot] -= part.milligrams
                assert left[part.lot] >= 0
    return replace(account, left=tuple(left), moves=tuple(moves))


def past_use_by(account: Account, key: str, day: Date) -> tuple[int, ...]:
    """Return the lots of an ingredient that are left and may not be used any more on a day.

    Parameters
    ----------
    account:
        What was taken so far.
    key:
        The ingredient.
    day:
        The day.

    Returns
    -------
    tuple of int
        Places on the shelf.

    Examples
    --------
    >>> account = opened((StockLot(Lot("damson", grams=2.0, use_by=Date(2026, 9, 1))),))
    >>> past_use_by(account, "damson", Date(2026, 9, 2))
    (0,)
    """
    return tuple(place for place in _in_order(account, key) if _is_past(account, place, day))


def closed(account: Account, last: Date) -> tuple[Closed, ...]:
    """Return the account of each ingredient after the last day.

    What may not be used after that day, and was not used, has expired.

    Parameters
    ----------
    account:
        What was taken.
    last:
        The last day.

    Returns
    -------
    tuple of Closed

    Examples
    --------
    >>> account = opened((StockLot(Lot("damson", grams=2.0, use_by=Date(2026, 9, 1))),))
    >>> closed(account, Date(2026, 9, 2))[0].expired
    2000
    """
    keys = dict.fromkeys([move.key for move in account.moves])
    keys |= dict.fromkeys([each.lot.key for each in account.shelf])
    found = []
    for key in keys:
        places = [at for at, each in enumerate(account.shelf) if each.lot.key == key]
        moves = [move for move in account.moves if move.key == key]
        wasted = tuple(
            Part(at, account.left[at])
            for at in places
            if account.left[at] and (account.shelf[at].lot.use_by or Date.max) <= last
        )
        purchases: dict[Date, int] = {}
        for move in moves:
            if move.part.lot is None:
                bought = purchases.get(move.day, 0) + move.part.milligrams
                purchases[move.day] = bought
        expired = sum(part.milligrams for part in wasted)
        found.append(
            Closed(
                key=key,
                stock=sum(milligrams(account.shelf[at].lot.grams or 0.0) for at in places),
                bought=sum(purchases.values()),
                used=sum(move.part.milligrams for move in moves),
                left=sum(account.left[at] for at in places) - expired,
                expired=expired,
                purchases=tuple(purchases.items()),
                wasted=wasted,
            )
        )
    return tuple(found)


def _in_order(account: Account, key: str) -> list[int]:
    """Lots of an ingredient of which something is left, what to use first at the front."""
    places = [
        at for at, each in enumerate(account.shelf) if each.lot.key == key and account.left[at] > 0
    ]
    return sorted(places, key=lambda at: first_to_use(account.shelf[at].lot))


def _is_usable(lot: Lot, day: Date) -> bool:
    return (lot.date or Date.min) <= day <= (lot.use_by or Date.max)


def _is_past(account: Account, place: int, day: Date) -> bool:
    return (account.shelf[place].lot.use_by or Date.max) < day
