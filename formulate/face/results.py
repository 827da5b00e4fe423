"""What balancing or checking says, as Python users meet it: with tables and a short way of showing.

A class here is one of :mod:`formulate.answers` and may stand wherever that may; it holds nothing more,
but gives what it holds as tables.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum
from html import escape
from typing import TYPE_CHECKING, Any, TypeVar

from formulate.answers import Result as PlainResult
from formulate.face.frames import (
    curve_frame,
    properties_frame,
    targets_frame,
    weights_frame,
)
from formulate.ingredients import labelled
from formulate.recipes import Recipe
from formulate.report import brief_text, headline, mix_data

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Result", "Status", "with_tables"]

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
