"""What a sweep varies: readings, prices, bounds and sets of ingredients, on a grid or at random.

Points are numbered, and a point follows from its number alone: what random samples draw depends on the
seed, the axis and the number of the sample, never on what was drawn before.  So a sweep can be cut
anywhere, worked on in any order and by any number of machines, and gives the same rows.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.arrays import Array
from formulate.data import versions
from formulate.errors import InputError, nearest
from formulate.mix import mixture
from formulate.recipes import Counts, Recipe, without
from formulate.sweeps.changes import Changes

__all__ = [
    "NORMAL",
    "STEPS",
    "UNIFORM",
    "Axis",
    "Sweep",
    "axis_of",
    "sweep_of",
]

Whole = NDArray[np.int64]

STEPS, UNIFORM, NORMAL = "steps", "uniform", "normal"

_SHORT = {"price": "price_per_kg"}
_EXAMPLE = "Write damson.brix=9:15:0.5, damson.brix=9:15 or damson.brix=12+-0.8."
_MOST_STEPS = 1_000_000
_MOST_POINTS = 10**10
_MOST_LEFT_OUT = 12
_DRAWN_AT_ONCE = 1024
_FAST_RUN = 8  # from so many points on, solving for each corner costs less than for each point
_FAST_BLOCK, _PLAIN_BLOCK = 8192, 1000


@dataclass(frozen=True, slots=True)
class Axis:
    """One thing that is varied.

    Attributes
    ----------
    path:
        What it is, as in a recipe file: ``damson.brix``, ``target.sugars.max``.
    kind:
        ``steps`` from ``first`` to ``second`` by ``step``; ``uniform`` between the two; ``normal`` with
        mean ``first`` and standard deviation ``second``.
    """

    path: str
    kind: str
    first: float
    second: float
    step: float = 0.0

    @property
    def count(self) -> int:
        """How many values a grid has; 1 for what is drawn at random."""
        if self.kind != STEPS:
            return 1
        return int((self.second - self.first) / self.step + 1e-9) + 1

    @property
    def reads(self) -> str | None:
        """The ingredient whose reading this is, if it is one."""
        head, _, last = self.path.rpartition(".")
        return head if last == "brix" else None

    @property
    def words(self) -> str:
        """The axis as it is written."""
        if self.kind == NORMAL:
            return f"{self.path}={self.first:g}+-{self.second:g}"
        step = f":{self.step:g}" if self.kind == STEPS else ""
        return f"{self.path}={self.first:g}:{self.second:g}{step}"


@dataclass(frozen=True)
class Sweep:
    """A recipe and everything that is varied of it.

    Attributes
    ----------
    axes:
        What is varied; steps are crossed with each other and with the samples.
    left_out:
        Ingredients that are there and are not: every set of them.
    samples, seed:
        How many times what is random is drawn at every point of the grid, and from where.
    made_with:
        Versions of program, tables and the source of random numbers.
    block_points:
        How many points are worked on at once.
    """

    recipe: Recipe
    axes: tuple[Axis, ...]
    left_out: tuple[str, ...] = ()
    samples: int = 1
    seed: int = 0
    made_with: Mapping[str, str] = field(default_factory=dict)
    block_points: int = _PLAIN_BLOCK

    @property
    def read_axis(self) -> int | None:
        """The axis whose values lie side by side in the order of points: a reading, if there is one."""
        drawn = [at for at, axis in enumerate(self.axes) if axis.kind != STEPS]
        if len(drawn) == 1 and self.axes[drawn[0]].reads is not None:
            return drawn[0]
        stepped = [at for at, a in enumerate(self.axes) if a.kind == STEPS and a.reads is not None]
        return max(stepped, key=lambda at: self.axes[at].count, default=None)

    @property
    def run(self) -> int:
        """How many points in turn differ in nothing but one reading; 1 if there is none."""
        at = self.read_axis
        if at is None:
            return 1
        return self.axes[at].count if self.axes[at].kind == STEPS else self.samples

    @property
    def is_fast(self) -> bool:
        """Whether many lots can be rebalanced at once: one reading, no steps or counts."""
        recipe = self.recipe
        given = [entry.grams for entry in recipe.ingredients]
        prices = [entry.price_per_kg for entry in recipe.ingredients]
        return (
            self.run >= _FAST_RUN
            and not any(entry.steps or entry.least_use_g for entry in recipe.ingredients)
            and recipe.counts == Counts()
            and (any(given) or None not in prices)
        )

    @property
    def points(self) -> int:
        """How many points there are in all."""
        return math.prod(self._shape)

    @property
    def blocks(self) -> int:
        """How many blocks there are."""
        return -(-self.points // self.block_points)

    def numbers(self, block: int) -> Whole:
        """Return the numbers of the points of a block."""
        first = block * self.block_points
        return np.arange(first, min(first + self.block_points, self.points), dtype=np.int64)

    def values(self, numbers: Whole) -> tuple[Whole, Array]:
        """Return which set is left out, and the value of each axis, at points.

        Returns
        -------
        Sets as whole numbers, of which bit i says that ``left_out[i]`` is not there, shape (points,);
        and values, shape (points, axes).
        """
        digits = dict(zip(self._order, np.unravel_index(numbers, self._shape), strict=True))
        values = np.empty((len(numbers), len(self.axes)))
        for at, axis in enumerate(self.axes):
            if axis.kind == STEPS:
                values[:, at] = np.round(axis.first + axis.step * digits[at], 9)
            else:
                values[:, at] = self._drawn(at, digits["samples"])
        return np.asarray(digits["sets"], dtype=np.int64), values

    def recipe_at(self, left_out: int, values: ArrayLike) -> Recipe:
        """Return the recipe of a point.

        Raises
        ------
        InputError
            If a value is out of its range, as the tail of a normal distribution may be, or a lower bound
            is above the upper one.
        """
        recipe = self._with_values(values)
        for key in self.keys_of(left_out):
            recipe = without(recipe, key)
        return recipe

    @property
    def pattern(self) -> Recipe:
        """A recipe with everything that is varied: what is asked of any point, not how much."""
        return self._with_values([axis.first for axis in self.axes], exchanged=True)

    def keys_of(self, left_out: int) -> tuple[str, ...]:
        """Return the ingredients of a set that is left out."""
        return tuple(key for bit, key in enumerate(self.left_out) if left_out >> bit & 1)

    def _with_values(self, values: ArrayLike, exchanged: bool = False) -> Recipe:
        """The recipe with all values set at once; bounds that cross are exchanged, if so asked."""
        given = np.asarray(values, dtype=float)
        changes = Changes(self.recipe)
        for axis, value in zip(self.axes, given, strict=True):
            changes.put(axis.path, float(value))
        return changes.recipe(exchanged)

    @property
    def _order(self) -> tuple[int | str, ...]:
        """What changes from point to point: slowest first, the reading that is rebalanced fastest."""
        read = self.read_axis
        stepped = [at for at, axis in enumerate(self.axes) if axis.kind == STEPS and at != read]
        last = [read] if read is not None and self.axes[read].kind == STEPS else []
        return ("sets", *stepped, "samples", *last)

    @property
    def _shape(self) -> tuple[int, ...]:
        sizes = {"sets": 2 ** len(self.left_out), "samples": self.samples}
        return tuple(
            sizes[name] if isinstance(name, str) else self.axes[name].count for name in self._order
        )

    def _drawn(self, at: int, samples: Whole) -> Array:
        """What an axis draws: chunks of numbers, each from the seed, the axis and its own number."""
        axis = self.axes[at]
        chunk, place = np.divmod(samples, _DRAWN_AT_ONCE)
        found = np.empty(len(samples))
        for number in np.unique(chunk):
            source = np.random.default_rng([self.seed, at, int(number)])
            here = chunk == number
            if axis.kind == UNIFORM:
                numbers = axis.first + (axis.second - axis.first) * source.random(_DRAWN_AT_ONCE)
            else:
                numbers = axis.first + axis.second * source.standard_normal(_DRAWN_AT_ONCE)
            found[here] = numbers[place[here]]
        return found


def axis_of(words: str) -> Axis:
    """Return the axis in ``damson.brix=9:15:0.5`` (from, to, step), ``=9:15`` or ``=12+-0.8``.

    Parameters
    ----------
    words:
        What is varied, an equals sign, and its values.

    Returns
    -------
    Axis

    Raises
    ------
    InputError
        If it is not written so.

    Examples
    --------
    >>> axis_of("damson.brix=9:15:0.5").path
    'damson.brix'
    """
    path, _, value = words.partition("=")
    head, dot, last = path.strip().rpartition(".")
    path = f"{head}{dot}{_SHORT.get(last, last)}"
    kind = NORMAL if "+-" in value or "±" in value else ""
    parts = value.replace("±", "+-").split("+-") if kind else value.split(":")
    try:
        numbers = [float(part.replace(",", ".")) for part in parts]
    except ValueError:
        numbers = []
    if not head or len(numbers) not in ((2,) if kind else (2, 3)) or not np.isfinite(numbers).all():
        problem = f'"{words}" is neither WHAT=FROM:TO:STEP, WHAT=FROM:TO nor WHAT=MEAN+-DEVIATION'
        raise InputError("vary", problem, _EXAMPLE)
    if kind:
        if numbers[1] <= 0.0:
            raise InputError(f"vary {path}", "needs a deviation above zero", _EXAMPLE)
        return Axis(path, NORMAL, *numbers)
    axis = Axis(path, STEPS if len(numbers) == 3 else UNIFORM, *numbers)
    if axis.kind == UNIFORM and not axis.first < axis.second:
        raise InputError(f"vary {path}", "must go from less to more", _EXAMPLE)
    if axis.kind == STEPS and not (axis.first <= axis.second and axis.step > 0.0):
        raise InputError(f"vary {path}", "must go from less to more by a step above zero", _EXAMPLE)
    if axis.kind == STEPS and (axis.second - axis.first) / axis.step > _MOST_STEPS:
        raise InputError(
            f"vary {path}", f"has more than {_MOST_STEPS:,} steps", "Take larger ones."
        )
    return axis


def sweep_of(
    recipe: Recipe,
    axes: tuple[Axis, ...],
    left_out: tuple[str, ...] = (),
    samples: int | None = None,
    seed: int = 0,
    block_points: int | None = None,
) -> Sweep:
    """Return a sweep of a recipe, checked as far as it can be before it is begun.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    axes:
        What is varied.
    left_out:
        Keys of ingredients that are there and are not there: every set of them.
    samples:
        How often what is random is drawn, at every point of the grid; ``None`` where nothing is.
    seed:
        From 0.
    block_points:
        How many points are worked on at once, from 1; about a second's work if not given.

    Returns
    -------
    Sweep

    Raises
    ------
    InputError
        If nothing is varied, something is varied that the recipe does not have, samples are missing or
        not needed, or there are too many points.

    Examples
    --------
    >>> import formulate as fm
    >>> sweep_of(fm.load("damson_sorbet"), (axis_of("damson.brix=9:15:0.5"),)).points
    13
    """
    if not axes and not left_out:
        raise InputError("explore", "varies nothing", "Give --vary, --leave-out or --mixes.")
    _check_names(recipe, axes, left_out)
    random = [axis.path for axis in axes if axis.kind != STEPS]
    if random and (samples is None or samples < 1):
        raise InputError("samples", f"says how often {random[0]} is drawn", "Give 1000, say.")
    if samples is not None and not random:
        problem = "is given, and nothing is drawn at random"
        raise InputError("samples", problem, "Write a --vary without a step, or leave it out.")
    if seed < 0:
        raise InputError("seed", f"is {seed}, and must be a whole number from 0", "Try 1.")
    made_with = {**versions(), "numpy": np.__version__}
    sweep = Sweep(recipe, axes, left_out, samples or 1, seed, made_with)
    usual = _FAST_BLOCK if sweep.is_fast else _PLAIN_BLOCK
    sweep = replace(sweep, block_points=usual if block_points is None else block_points)
    if sweep.points > _MOST_POINTS:
        problem = f"comes to {sweep.points:,} points, and at most {_MOST_POINTS:,} can be"
        raise InputError("explore", problem, "Take larger steps, or samples.")
    firsts = np.array([axis.first for axis in axes])
    mixture(sweep.pattern)
    for at, axis in enumerate(axes):
        if axis.kind != NORMAL:
            ends = np.where(np.arange(len(axes)) == at, axis.second, firsts)
            mixture(sweep._with_values(ends, exchanged=True))
    return sweep


def _check_names(recipe: Recipe, axes: tuple[Axis, ...], left_out: tuple[str, ...]) -> None:
    keys = [entry.key for entry in recipe.ingredients]
    for key in left_out:
        if key not in keys:
            hint = nearest(key, keys) or f"It has: {', '.join(keys)}."
            raise InputError("leave_out", f'"{key}" is not in the recipe', hint)
    if len(set(left_out)) < len(left_out):
        raise InputError("leave_out", "names an ingredient twice", "Name it once.")
    if len(left_out) > _MOST_LEFT_OUT or len(left_out) == len(keys):
        problem = f"can name at most {min(_MOST_LEFT_OUT, len(keys) - 1)} of these ingredients"
        raise InputError("leave_out", problem, "Name fewer.")
    seen: set[str] = set()
    for axis in axes:
        if axis.path in seen:
            raise InputError(f"vary {axis.path}", "is given twice", "Give it once.")
        seen.add(axis.path)
        head = axis.path.rpartition(".")[0]
        if head in left_out:
            problem = "belongs to an ingredient that --leave-out takes away"
            raise InputError(f"vary {axis.path}", problem, "Leave one of the two.")
