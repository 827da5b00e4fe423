"""Answers of more than one mix, each with a table: ladders, ranges, trade-offs, alternatives."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from formulate.answers import Frontier as PlainFrontier
from formulate.answers import Ladder as PlainLadder
from formulate.answers import Ranges as PlainRanges
from formulate.face.frames import grams_frame, spans_frame
from formulate.mix import Assessment
from formulate.recipes import Recipe
from formulate.report import frontier_data, ladder_data, ranges_data

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Frontier", "Ladder", "Mixes", "Ranges"]


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
    """Several mixes, those first that a cook would think of first.

    Attributes
    ----------
    mixes:
        The mixes.
    ways:
        In which way each differs, in words, where they are of different recipes.
    recipes:
        The recipe of each then, with its weights.
    """

    mixes: tuple[Assessment, ...]
    ways: tuple[str, ...] = ()
    recipes: tuple[Recipe, ...] = ()

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
        keys = list(dict.fromkeys(weight.key for mix in self.mixes for weight in mix.weights))
        grams = [{weight.key: weight.grams for weight in mix.weights} for mix in self.mixes]
        rows = {
            number: [each.get(key, 0.0) for key in keys]
            for number, each in enumerate(grams, start=1)
        }
        return grams_frame(rows, keys, "mix")
