"""One mix from the lots on the shelf: drawn, blended and balanced until the three agree.

What is taken of a lot depends on the weights, and the weights on the reading of what is taken.  So it
goes round: draw what the last weights need, blend it, balance again.  Rounded weights settle within a
few rounds; where two answers alternate, the weight of the blended ingredient is held in turn.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date as Date

from formulate.answers import Result, balance
from formulate.ingredients import Account, Part, milligrams, offer
from formulate.messages import message
from formulate.mix import Mixture, blended, mixture, says_something
from formulate.recipes import Recipe

__all__ = ["FromLots", "from_lots"]

_ROUNDS = 12
_MOST_PASSED = 8  # ways of passing lots over that are tried

Parts = Mapping[str, tuple[Part, ...]]


@dataclass(frozen=True, slots=True)
class FromLots:
    """A mix of one churn, balanced to the lots that it is drawn from, or why none can be.

    ``recipe`` has the lots as they are blended; ``parts`` are what all churns take of each lot, by
    ingredient, empty where no mix can be; ``passed`` are lots left aside because no mix can be with them.
    """

    recipe: Recipe
    result: Result
    parts: Parts
    passed: frozenset[int] = frozenset()


def from_lots(recipe: Recipe, churns: int, day: Date, account: Account) -> FromLots:
    """Return a mix from the lots that come first, or from later ones where those cannot do it.

    Parameters
    ----------
    recipe:
        For one churn.
    churns:
        How many such churns are made.
    day, account:
        When, and what is left on the shelf.

    Raises
    ------
    InputError
        If the recipe cannot be read against the tables and these lots.
    """
    first = _settled(recipe, churns, day, account, frozenset())
    if first.parts:
        return first
    for passed in _ways_round(recipe, day, account):
        found = _settled(recipe, churns, day, account, passed)
        if found.parts:
            return found
    return first


def _ways_round(recipe: Recipe, day: Date, account: Account) -> Iterator[frozenset[int]]:
    """Lots to leave aside: the first, the first two and so on of each ingredient that was read."""
    tried = 0
    for entry in recipe.ingredients:
        everything = sum(account.left)
        places = [part.lot for part in offer(account, entry.key, everything, day)]
        there = [place for place in places if place is not None]
        if not any(says_something(account.shelf[place]) for place in there):
            continue
        for count in range(1, len(there)):
            if tried < _MOST_PASSED:
                tried += 1
                yield frozenset(there[:count])


def _settled(
    recipe: Recipe, churns: int, day: Date, account: Account, passed: frozenset[int]
) -> FromLots:
    mix = mixture(recipe)
    needed = _first_guess(mix, churns)
    before = needed
    tried: list[dict[str, int]] = []
    while needed not in tried and len(tried) < _ROUNDS:
        tried.append(needed)
        parts = {key: offer(account, key, need, day, passed) for key, need in needed.items()}
        supplied = _supplied(mix, parts, account)
        result = balance(supplied)
        taken = _needed(result, churns)
        again = {key: offer(account, key, need, day, passed) for key, need in taken.items()}
        if _agree(parts, again, account):
            drawn = again if result.status == "balanced" else {}
            return FromLots(supplied, result, drawn, passed)
        before, needed = needed, taken
    for share in (0.0, 0.5):
        held = {
            key: round(need + share * (before.get(key, need) - need))
            for key, need in needed.items()
        }
        parts = {key: offer(account, key, need, day, passed) for key, need in held.items()}
        fixed = _held(mix, parts, account, churns)
        supplied = _supplied(replace(mix, recipe=fixed), parts, account)
        found = balance(supplied)
        taken = _needed(found, churns)
        again = {key: offer(account, key, need, day, passed) for key, need in taken.items()}
        if found.status == "balanced" and _agree(parts, again, account):
            return FromLots(supplied, found, again, passed)
    said = (*result.messages, message("shares_unsettled"))
    result = replace(result, status="impossible", messages=said)
    return FromLots(supplied, result, {}, passed)


def _first_guess(mix: Mixture, churns: int) -> dict[str, int]:
    """What the present weights need as bought [mg]; a little of everything where there are none."""
    found = {}
    for at, key in enumerate(mix.keys):
        done = mix.prepared[at]
        grams = 0.0 if mix.start is None else float(mix.start[at])
        bought = grams * (1.0 if done is None else done.buy_per_weighed)
        found[key] = max(milligrams(churns * bought), 1)
    return found


def _needed(result: Result, churns: int) -> dict[str, int]:
    """What the churns take of each ingredient, as bought [mg]."""
    found = {weight.key: milligrams(churns * weight.bought) for weight in result.mix.weights}
    return {key: need for key, need in found.items() if need > 0}


def _supplied(mix: Mixture, parts: Parts, account: Account) -> Recipe:
    """The recipe with each ingredient as the lots that it is drawn from make it."""
    entries = []
    for entry, row in zip(mix.recipe.ingredients, mix.raw, strict=True):
        lots = tuple(
            (None if part.lot is None else account.shelf[part.lot], float(part.milligrams))
            for part in parts.get(entry.key, ())
        )
        entries.append(blended(entry, row, lots) if lots else entry)
    return replace(mix.recipe, ingredients=tuple(entries))


def _is_blend(parts: tuple[Part, ...], account: Account) -> bool:
    """Whether a composition depends on how much is taken of each part."""
    read = [part.lot is not None and says_something(account.shelf[part.lot]) for part in parts]
    return len(parts) > 1 and any(read)


def _agree(parts: Parts, again: Parts, account: Account) -> bool:
    """Whether what the weights need is what they were balanced to."""
    for key, wanted in again.items():
        had = parts.get(key, ())
        if [part.lot for part in had] != [part.lot for part in wanted]:
            return False
        if _is_blend(wanted, account) and had != wanted:
            return False
    return True


def _held(mix: Mixture, parts: Parts, account: Account, churns: int) -> Recipe:
    """The recipe with the weights of blended ingredients held."""
    entries = []
    for at, entry in enumerate(mix.recipe.ingredients):
        each = parts.get(entry.key, ())
        if _is_blend(each, account):
            done = mix.prepared[at]
            bought = sum(part.milligrams for part in each) / 1000.0 / churns
            grams = bought / (1.0 if done is None else done.buy_per_weighed)
            entry = replace(entry, grams=grams, min_g=None, max_g=None, fixed=True)
        entries.append(entry)
    return replace(mix.recipe, ingredients=tuple(entries))
