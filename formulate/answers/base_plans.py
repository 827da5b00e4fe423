"""The joint programme of a shared base: grams of the whole base, and of what is added to each mix.

How many grams of finished base each mix takes is given, and the base is the same in all, so that
everything is linear in these.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from formulate.answers.conflicts import Demand
from formulate.answers.menus import Flavour, Menu
from formulate.arrays import Array
from formulate.mix import (
    LEFT,
    Mixture,
    Programme,
    crossings,
    leasts,
    limits_of,
    mixture,
    mosts,
    programme,
    start_of,
)
from formulate.recipes import Recipe, RecipeIngredient, scaled
from formulate.solver import sparse_linear

__all__ = ["Block", "Part", "Plan", "plan_of", "solved", "stock_rows"]

_NO_LIMIT = 1e12  # g
_NO_CHANGE = 1e-3  # of what a change counts: to find a weight that nobody has given
_SMALLEST_BASE = 0.02  # of a batch, below which a change does not count for more


@dataclass(frozen=True, eq=False)
class Block:
    """What is weighed in one place, the base or the additions of a mix.

    Attributes
    ----------
    name:
        Of the mix, "" for the base.
    entries, names:
        The ingredients, and what they are called.
    reach, buys:
        Grams that reach the mix, and that are bought, per gram at the scale.
    lower, upper, start:
        Limits and present weights [g].
    change:
        What a gram of change counts [1/g].
    """

    name: str
    entries: tuple[RecipeIngredient, ...]
    names: tuple[str, ...]
    reach: Array
    buys: Array
    lower: Array
    upper: Array
    start: Array
    change: Array

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of the ingredients."""
        return tuple(entry.key for entry in self.entries)

    def crossed_demands(self) -> list[Demand]:
        """Limits of one ingredient that contradict each other, two by two."""
        found = []
        for crossing in crossings(self.entries, self.buys):
            name = self.names[self.keys.index(crossing.key)]
            for side, limit in (("min", crossing.least), ("max", crossing.most)):
                found.append(
                    Demand("limit", crossing.key, side, limit.grams, name, "g", limit.field)
                )
        return found

    def limit_demands(self) -> list[Demand]:
        """Every limit that the cook has set, as demands."""
        found = []
        for at, (entry, name) in enumerate(zip(self.entries, self.names, strict=True)):
            sides = (("min", leasts(entry)), ("max", mosts(entry, float(self.buys[at]))))
            for side, limits in sides:
                found += [
                    Demand("limit", entry.key, side, limit.grams, name, "g", limit.field)
                    for limit in limits[:1]
                ]
        return found

    def only(self, kept: list[Demand]) -> Block:
        """The block with these of its limits."""
        held = {(demand.key, demand.side) for demand in kept}
        low = np.array([(key, "min") in held for key in self.keys], dtype=bool)
        high = np.array([(key, "max") in held for key in self.keys], dtype=bool)
        lower = np.where(low, self.lower, 0.0)
        return replace(self, lower=lower, upper=np.where(high, self.upper, np.inf))


@dataclass(frozen=True, eq=False)
class Part:
    """A mix of the menu: the whole of it, its programme, and where base and additions stand in it."""

    flavour: Flavour
    whole: Mixture
    rows: Programme
    added: Block
    of_base: list[int]
    of_added: list[int]


@dataclass(frozen=True, eq=False)
class Plan:
    """A menu met with the tables; ``left`` are rows that say what straining leaves in the base."""

    total_g: float
    base: Block
    parts: tuple[Part, ...]
    left: Array

    @property
    def blocks(self) -> tuple[Block, ...]:
        """The base, then the additions of each mix."""
        return (self.base, *(part.added for part in self.parts))


def plan_of(menu: Menu) -> Plan:
    """Return a menu met with the tables."""
    total = menu.total_g
    wholes = [mixture(flavour.recipe) for flavour in menu.flavours]
    places = [whole.keys.index(entry.key) for entry in menu.base for whole in wholes[:1]]
    first = wholes[0]
    base = _block("", _grown(menu, first.reach[places]), first, places, total, len(wholes))
    parts = []
    for flavour, whole in zip(menu.flavours, wholes, strict=True):
        of_added = [whole.keys.index(entry.key) for entry in flavour.additions]
        room = flavour.recipe.batch_g - flavour.base_g
        name = flavour.recipe.name
        added = _block(name, flavour.additions, whole, of_added, room, 1, flavour.recipe.batch_g)
        of_base = [whole.keys.index(entry.key) for entry in menu.base]
        parts.append(Part(flavour, whole, programme(whole), added, of_base, of_added))
    rows = [row.coefficients[places] for row in parts[0].rows.rows if row.key.startswith(LEFT)]
    return Plan(total, base, tuple(parts), np.array(rows).reshape(len(rows), len(places)))


def _grown(menu: Menu, reach: Array) -> tuple[RecipeIngredient, ...]:
    """The base as it is written, for all mixes: weights and limits grow with it, the stock does not."""
    grams = np.array([entry.grams or 0.0 for entry in menu.base])
    written = float(reach @ grams)
    if any(entry.grams is None for entry in menu.base) or written <= 0.0:
        return menu.base
    return scaled(Recipe("base", written, menu.base), menu.total_g / written).ingredients


def _block(
    name: str,
    entries: tuple[RecipeIngredient, ...],
    whole: Mixture,
    places: list[int],
    room: float,
    times: int,
    batch_g: float | None = None,
) -> Block:
    """What is weighed in one place: ``room`` grams in all, of which a change counts so many times."""
    reach, buys = whole.reach[places], whole.buys[places]
    lower, upper = limits_of(entries, room, reach, buys)
    start = start_of(entries, room, reach)
    known = np.array([entry.grams is not None for entry in entries], dtype=bool)
    start = np.zeros(len(entries)) if start is None else start
    least = _SMALLEST_BASE * (room if batch_g is None else batch_g)
    change = np.where(known, 1.0, _NO_CHANGE) * times / np.maximum(start, least)
    names = tuple(whole.names[place] for place in places)
    return Block(name, entries, names, reach, buys, lower, upper, start, change)


def solved(
    plan: Plan, parts: tuple[Part, ...], base: Block | None = None, with_stock: bool = True
) -> tuple[Array, list[Array], float] | None:
    """Grams of the base, additions of each mix [g], and the sum of relative changes."""
    base = plan.base if base is None else base
    number = len(base.entries)
    blocks: list[tuple[Array, Array]] = []
    lower: list[Array] = []
    upper: list[Array] = []
    for part in parts:
        matrix = np.vstack([part.rows.matrix, part.rows.reach])
        share = part.flavour.base_g / plan.total_g
        blocks.append((share * matrix[:, part.of_base], matrix[:, part.of_added]))
        lower += [part.rows.row_lower, np.array([part.flavour.recipe.batch_g])]
        upper += [part.rows.row_upper, np.array([part.flavour.recipe.batch_g])]
    every = [base, *(part.added for part in parts)]
    columns = sum(len(block.entries) for block in every)
    further, low, high = _further(plan, base, parts, columns, with_stock)
    most = np.concatenate([block.upper for block in every])
    found = sparse_linear(
        blocks,
        np.concatenate(lower),
        np.concatenate(upper),
        np.concatenate([block.start for block in every]),
        np.concatenate([block.change for block in every]),
        np.concatenate([block.lower for block in every]),
        np.where(np.isfinite(most), most, _NO_LIMIT),
        (further, low, high),
    )
    if found is None:
        return None
    x, change = found
    ends = np.cumsum([len(block.entries) for block in every])
    pieces = np.split(np.maximum(x, 0.0), ends[:-1])
    limits = zip(pieces, every, strict=True)
    kept = [np.clip(piece, block.lower, block.upper) for piece, block in limits]
    assert len(kept[0]) == number
    return kept[0], kept[1:], change


def _further(
    plan: Plan, base: Block, parts: tuple[Part, ...], columns: int, with_stock: bool
) -> tuple[Array, Array, Array]:
    """Rows over everything: the base adds up, straining leaves something, no stock is used up twice."""
    number = len(base.entries)
    rows = np.zeros((1 + len(plan.left), columns))
    rows[0, :number] = base.reach
    rows[1:, :number] = plan.left
    low = np.concatenate([[plan.total_g], np.zeros(len(plan.left))])
    high = np.concatenate([[plan.total_g], np.full(len(plan.left), np.inf)])
    stock = stock_rows(base, parts, columns) if with_stock else {}
    if stock:
        rows = np.vstack([rows, *(uses for uses, _ in stock.values())])
        low = np.concatenate([low, np.full(len(stock), -np.inf)])
        high = np.concatenate([high, [limit for _, limit in stock.values()]])
    return rows, low, high


def stock_rows(
    base: Block, parts: tuple[Part, ...], columns: int
) -> dict[str, tuple[Array, float]]:
    """What all mixes buy of each ingredient, and what there is of it [g], where that is known."""
    found: dict[str, tuple[Array, float]] = {}
    limits: dict[str, float] = {}
    uses: dict[str, Array] = {}
    place = 0
    for block in (base, *(part.added for part in parts)):
        for entry, buy in zip(block.entries, block.buys, strict=True):
            uses.setdefault(entry.key, np.zeros(columns))[place] += buy
            if entry.stock_g is not None:
                limits[entry.key] = min(entry.stock_g, limits.get(entry.key, np.inf))
            place += 1
    for key, limit in limits.items():
        found[key] = (uses[key], limit)
    return found
