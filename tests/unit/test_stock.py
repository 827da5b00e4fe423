"""The account of the stock, against sums done by hand."""

from __future__ import annotations

from datetime import date

import pytest

from formulate.ingredients.lots import Lot
from formulate.ingredients.stock import (
    Part,
    StockLot,
    closed,
    milligrams,
    offer,
    opened,
    past_use_by,
    take,
)

MONDAY, TUESDAY, WEDNESDAY = date(2026, 11, 23), date(2026, 11, 24), date(2026, 11, 25)


def lot(name, grams, use_by=None, came=None, key="damson", price=None):
    return StockLot(Lot(key, name=name, grams=grams, use_by=use_by, date=came, price_per_kg=price))


SHELF = (
    lot("no day", 1000.0),
    lot("later", 500.0, WEDNESDAY),
    lot("sooner", 200.0, TUESDAY),
    lot("came second", 300.0, WEDNESDAY, MONDAY),
    lot("still to come", 400.0, WEDNESDAY, WEDNESDAY),
    lot("past", 50.0, date(2026, 11, 22)),
    lot("other", 70.0, key="sucrose"),
)


def named(parts):
    return [
        ("buy" if part.lot is None else SHELF[part.lot].lot.name, part.milligrams / 1000.0)
        for part in parts
    ]


def test_first_to_expire_goes_first_then_first_in():
    found = offer(opened(SHELF), "damson", milligrams(2500.0), MONDAY)
    assert named(found) == [
        ("sooner", 200.0),
        ("came second", 300.0),
        ("later", 500.0),
        ("no day", 1000.0),
        ("buy", 500.0),
    ]


def test_a_lot_is_used_from_the_day_it_comes_to_its_use_by():
    account = opened(SHELF)
    assert named(offer(account, "damson", 1, TUESDAY)) == [("sooner", 0.001)]
    wednesday = named(offer(account, "damson", milligrams(700.0), WEDNESDAY))
    assert wednesday == [("came second", 300.0), ("still to come", 400.0)]
    assert [SHELF[at].lot.name for at in past_use_by(account, "damson", WEDNESDAY)] == [
        "past",
        "sooner",
    ]


def test_lots_may_be_passed_over():
    found = offer(opened(SHELF), "damson", milligrams(300.0), MONDAY, frozenset({2}))
    assert named(found) == [("came second", 300.0)]


def test_the_account_of_a_week_by_hand():
    """1,000 + 500 + 200 + 300 + 400 + 50 = 2,450 g; Monday takes 600, Tuesday 2,000.

    Monday: 200, 300 and 100 of "later".  Tuesday: 400 of "later", 1,000 without a day, 600 to buy.  After
    Wednesday the 400 that came and the 50 that were past have expired; nothing else is left.
    """
    account = opened(SHELF)
    for day, grams in ((MONDAY, 600.0), (TUESDAY, 2000.0)):
        parts = {"damson": offer(account, "damson", milligrams(grams), day)}
        account = take(account, parts, day, "sorbet")
    damson, sucrose = closed(account, WEDNESDAY)
    assert damson.stock == milligrams(2450.0)
    assert damson.purchases == ((TUESDAY, milligrams(600.0)),)
    assert (damson.used, damson.left) == (milligrams(2600.0), 0)
    assert damson.expired == milligrams(450.0)
    assert damson.wasted == (Part(4, milligrams(400.0)), Part(5, milligrams(50.0)))
    assert damson.used + damson.left + damson.expired == damson.stock + damson.bought
    assert (sucrose.stock, sucrose.left, sucrose.used) == (70_000, 70_000, 0)


def test_two_mixes_of_a_day_do_not_take_the_same_grams():
    account = opened((lot("bag", 1000.0),))
    for _ in range(2):
        parts = {"damson": offer(account, "damson", milligrams(700.0), MONDAY)}
        account = take(account, parts, MONDAY, "sorbet")
    (line,) = closed(account, MONDAY)
    assert (line.used, line.bought, line.left) == (1_400_000, 400_000, 0)


def test_more_than_is_left_cannot_be_taken():
    account = opened((lot("bag", 100.0),))
    with pytest.raises(AssertionError):
        take(account, {"damson": (Part(0, 100_001),)}, MONDAY, "sorbet")
