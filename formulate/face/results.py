"""Answers as Python users meet them: those of the engine, with tables and a short way of showing.

Each class is one of :mod:`formulate.answers` and may stand wherever that may; it holds nothing more,
but gives what it holds as tables.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from enum import StrEnum
from html import escape
from typing import TYPE_CHECKING, Any, TypeVar

from formulate.answers import Frontier as PlainFrontier
from formulate.answers import Ladder as PlainLadder
from formulate.answers import Ranges as PlainRanges
from formulate.answers import Result as PlainResult
from formulate.face.frames import (
    curve_frame,
    grams_frame,
    properties_frame,
    spans_frame,
    targets_frame,
    weights_frame,
)
from formulate.ingredients import labelled
from formulate.mix import Assessment
from formulate.recipes import Recipe
from formulate.report import brief_text, frontier_data, headline, ladder_data, mix_data, ranges_data

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Frontier", "Ladder", "Mixes", "Ranges", "Result", "Status", "with_tables"]

T = TypeVar("T")


class Status(StrEnum):
    """What became of a question: a member equals its word in the JSON of a command.

    Examples
    --------
    >>> Status.BALANCED == "balanced"
    True
    """

    BALANCED = "balanced"
    IMPOSSIBLE = "impossible"
    MEETS = "meets"
    MISSES = "misses"


@dataclass(frozen=True, repr=False)
class Result(PlainResult):
    """What balancing or checking says of a recipe.

    Everything that :class:`formulate.answers.Result` holds, and as tables ``weights``, ``targets``,
    ``properties`` and ``curve``, with units in their ``attrs["units"]``.

    Examples
    --------
    >>> import formulate as fm
    >>> result = fm.balance(fm.load("damson_sorbet"))
    >>> result.status
    <Status.BALANCED: 'balanced'>
    >>> float(result.weights["grams"].sum().round(6)), result.weights.attrs["units"]["grams"]
    (2000.0, 'g')
    """

    @property
    def weights(self) -> pd.DataFrame:
        """Grams by key: ``grams``, ``before``, ``bought``, ``reached`` [g], and ``name``."""
        return weights_frame(self.mix)

    @property
    def targets(self) -> pd.DataFrame:
        """What is asked and what the mix gives, by key."""
        return targets_frame(self.mix)

    @property
    def properties(self) -> pd.DataFrame:
        """Every property of the mix by key: ``name``, ``value``, ``unit``."""
        return properties_frame(self.mix)

    @property
    def curve(self) -> pd.DataFrame:
        """Frozen water with its ± [% of water] by temperature [°C]."""
        return curve_frame(self.mix, self.outlook.frozen_water_deviation)

    @property
    def composition(self) -> pd.Series[float]:
        """What the mix is made of, by component [g per 100 g]."""
        return labelled(self.mix.composition)

    @property
    def recipe(self) -> Recipe:
        """The recipe with the weights of this mix."""
        return self.mixture.recipe.with_weights(
            {weight.key: weight.grams for weight in self.mix.weights}
        )

    def to_dict(self) -> dict[str, Any]:
        """Return all of it as plain data, the same as the command's ``--json``.

        Examples
        --------
        >>> import formulate as fm
        >>> fm.check(fm.load("damson_sorbet")).to_dict()["status"] == "misses"
        True
        """
        return mix_data(self)

    def __repr__(self) -> str:
        return brief_text(self)

    def _repr_html_(self) -> str:
        """What a notebook shows: weights and targets, escaped."""
        weights = self.weights[["name", "before", "grams"]]
        targets = self.targets
        tables = [weights] if targets.empty else [weights, targets]
        shown = (
            frame.to_html(border=0, index=False, na_rep="", float_format="{:,.2f}".format)
            for frame in tables
        )
        return f"<p><b>{escape(headline(self))}</b></p>{''.join(shown)}"


@dataclass(frozen=True)
class Ladder(PlainLadder):
    """One balanced mix for each reading; ``recipe`` is what it was asked of."""

    recipe: Recipe

    def to_frame(self) -> pd.DataFrame:
        """Return the weights [g], a row for each reading ``brix`` [°Bx]; NaN where no mix can be.

        Examples
        --------
        >>> import formulate as fm
        >>> fm.ladder(fm.load("damson_sorbet"), "damson", [10, 11]).to_frame().shape
        (2, 6)
        """
        keys = [entry.key for entry in self.recipe.ingredients]
        return grams_frame({rung.brix: rung.grams for rung in self.rungs}, keys, "brix")

    def to_dict(self) -> dict[str, Any]:
        """Return all of it as plain data, the same as the command's ``--json``.

        Examples
        --------
        >>> import formulate as fm
        >>> found = fm.ladder(fm.load("damson_sorbet"), "damson", [10, 11])
        >>> len(found.to_dict()["rungs"])
        2
        """
        return ladder_data(self, self.recipe)


@dataclass(frozen=True)
class Ranges(PlainRanges):
    """How far ingredients and targets can move around the optimum, and what each target costs."""

    def to_frame(self) -> pd.DataFrame:
        """Return the spans: ``low``, ``value``, ``high`` by ``of`` and ``key``.

        Examples
        --------
        >>> import formulate as fm
        >>> frame = fm.ranges(fm.load("damson_sorbet")).to_frame()
        >>> bool((frame["low"] <= frame["high"]).all())
        True
        """
        return spans_frame(self.ingredients, self.targets)

    def to_dict(self) -> dict[str, Any]:
        """Return all of it as plain data, the same as the command's ``--json``.

        Examples
        --------
        >>> import formulate as fm
        >>> "prices" in fm.ranges(fm.load("damson_sorbet")).to_dict()
        True
        """
        return ranges_data(self)


@dataclass(frozen=True, slots=True)
class Frontier(PlainFrontier):
    """The corners of the best trade-offs; between two neighbours every blend is one, too."""

    def to_frame(self) -> pd.DataFrame:
        """Return a row for each corner: both wishes, then the weights [g].

        Returns
        -------
        DataFrame
            Columns in two levels: ``("wish", word)`` and ``("grams", key)``.

        Examples
        --------
        >>> import formulate as fm
        >>> found = fm.tradeoff(fm.load("damson_sorbet"), "change", "sweetness")
        >>> found.to_frame()["wish"].columns.tolist()
        ['change', 'sweetness']
        """
        import pandas as pd

        mixes = Mixes(tuple(corner.mix for corner in self.corners)).to_frame()
        wishes = pd.DataFrame(
            [(corner.first, corner.second) for corner in self.corners],
            index=mixes.index,
            columns=[self.first, self.second],
        )
        return pd.concat({"wish": wishes, "grams": mixes}, axis=1)

    def to_dict(self) -> dict[str, Any]:
        """Return all of it as plain data, the same as the command's ``--json``.

        Examples
        --------
        >>> import formulate as fm
        >>> found = fm.tradeoff(fm.load("damson_sorbet"), "change", "sweetness")
        >>> found.to_dict()["first"]
        'change'
        """
        return frontier_data(self)


@dataclass(frozen=True, slots=True)
class Mixes:
    """Several mixes of the same ingredients, best first."""

    mixes: tuple[Assessment, ...]

    def __len__(self) -> int:
        return len(self.mixes)

    def __iter__(self) -> Iterator[Assessment]:
        return iter(self.mixes)

    def to_frame(self) -> pd.DataFrame:
        """Return the weights [g], a row for each mix, counted from 1.

        Examples
        --------
        >>> import formulate as fm
        >>> found = fm.alternatives(fm.load("damson_sorbet"), 1)
        >>> found.to_frame().index.tolist()
        [1]
        """
        keys = [weight.key for weight in self.mixes[0].weights] if self.mixes else []
        rows = {
            number: [weight.grams for weight in mix.weights]
            for number, mix in enumerate(self.mixes, start=1)
        }
        return grams_frame(rows, keys, "mix")


def with_tables(kind: type[T], found: Any, **more: Any) -> T:
    """Return an answer of the engine as its kind in the face.

    Parameters
    ----------
    kind:
        One of the classes of this module that extends the answer's.
    found:
        The answer.
    more:
        What the face adds.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import check
    >>> plain = check(fm.load("damson_sorbet"))
    >>> with_tables(Result, plain, status=Status(plain.status)).weights.index[0]
    'damson'
    """
    held = {field.name: getattr(found, field.name) for field in fields(found)}
    return kind(**{**held, **more})
