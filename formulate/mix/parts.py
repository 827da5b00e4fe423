"""The parts of a mix: each ingredient with its share, and what the tables know of it besides composition.

Kind, origin and allergens stand in ``ingredients.csv``.  Of an ingredient of one's own only the
composition is known, also where it bears a key of the table.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from formulate.arrays import Array
from formulate.data import data_folder, read_rows
from formulate.errors import InputError
from formulate.ingredients import ingredient_table, position
from formulate.mix.mixtures import Mixture

__all__ = ["Part", "mean_composition", "parts_of", "strained_parts"]


@dataclass(frozen=True)
class Part:
    """One ingredient of a mix with what the tables know of it.

    Attributes
    ----------
    kind, animal:
        Columns of ``ingredients.csv``; ``own`` and ``unknown`` for an ingredient of one's own.
    allergens_eu, allergens_us:
        Their allergens; ``None`` for an ingredient of one's own: nobody knows but its pack.
    share:
        g per g of mix.
    composition:
        g per 100 g, shape (columns,).
    """

    key: str
    name: str
    kind: str
    animal: str
    allergens_eu: tuple[str, ...] | None
    allergens_us: tuple[str, ...] | None
    share: float
    composition: Array

    @property
    def table_key(self) -> str:
        """Key of the table, or "" for an ingredient of one's own, whatever it is called."""
        return "" if self.kind == "own" else self.key

    def of(self, *columns: str) -> float:
        """Return the sum of some columns [g per 100 g of the ingredient]."""
        return float(sum(self.composition[position(column)] for column in columns))


def parts_of(mix: Mixture, weights: Array) -> tuple[Part, ...]:
    """Return the ingredients of which something reaches the mix, after their steps, in recipe order.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    weights:
        [g], shape (ingredients,).

    Returns
    -------
    tuple of Part

    Raises
    ------
    InputError
        If the weights are not one per ingredient, or not all finite and not negative with a sum above
        zero.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> round(sum(part.share for part in parts_of(mix, mix.start)), 9)
    1.0
    """
    grams = np.asarray(weights, dtype=float)
    if grams.shape != (len(mix.keys),) or not np.isfinite(grams).all() or (grams < 0.0).any():
        problem = "must be one finite number per ingredient, none below zero"
        raise InputError("weights", problem, "Give grams in the order of the recipe.")
    reached = grams * mix.reach
    total = float(reached.sum())
    if not total > 0.0:
        raise InputError("weights", "add up to nothing", "Give each ingredient its grams.")
    return tuple(
        _part(mix, index, float(reached[index]) / total, mix.compositions[index] / mix.reach[index])
        for index in range(len(grams))
        if reached[index] > 0.0  # not what is not used, or strained out with some of its liquid
    )


def strained_parts(mix: Mixture, weights: Array) -> tuple[Part, ...]:
    """Return the ingredients that are weighed but strained out: of them allergens may stay.

    Takes what :func:`parts_of` does; their share is 0 and their composition that before the steps.

    Parameters
    ----------
    mix:
        The recipe met with the tables.
    weights:
        [g], shape (ingredients,).

    Returns
    -------
    tuple of Part

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> strained_parts(mix, mix.start)
    ()
    """
    grams = np.asarray(weights, dtype=float)
    return tuple(
        _part(mix, index, 0.0, mix.raw[index])
        for index in range(len(grams))
        if grams[index] > 0.0 and grams[index] * mix.reach[index] <= 0.0
    )


def _part(mix: Mixture, index: int, share: float, composition: Array) -> Part:
    entry = mix.recipe.ingredients[index]
    own = entry.composition is not None
    about = {} if own else _about()[entry.key]
    return Part(
        key=entry.key,
        name=mix.names[index],
        kind="own" if own else about["kind"],
        animal="unknown" if own else about["animal"],
        allergens_eu=None if own else _split(about["allergens_eu"]),
        allergens_us=None if own else _split(about["allergens_us"]),
        share=share,
        composition=composition,
    )


def mean_composition(parts: Sequence[Part]) -> Array:
    """Return the composition of a mix of parts [g per 100 g], shape (columns,).

    Parameters
    ----------
    parts:
        Parts of a mix, with their shares.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.mix import mixture
    >>> mix = mixture(fm.load("damson_sorbet"))
    >>> mean_composition(parts_of(mix, mix.start)).shape
    (43,)
    """
    return np.asarray(sum(part.share * part.composition for part in parts), dtype=float)


@lru_cache(maxsize=1)
def _about() -> Mapping[str, Mapping[str, str]]:
    rows = {row["key"]: row for row in read_rows(data_folder() / "ingredients.csv")}
    return {key: rows[key] for key in ingredient_table()}


def _split(cell: str) -> tuple[str, ...]:
    return tuple(part for part in cell.split(";") if part)
