"""What is printed of a result: the batch sheet and the draft of a label."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from formulate.labels import label as draft_label
from formulate.printing import sheet as batch_sheet

if TYPE_CHECKING:
    from formulate.answers import Result
    from formulate.labels import Label
    from formulate.printing import Sheet

__all__ = ["label", "sheet"]


def sheet(
    result: Result,
    *,
    batch_g: float | None = None,
    portions: int | None = None,
    portion_g: float | None = None,
    large: bool = False,
    us_weights: bool = False,
) -> Sheet:
    """Return the batch sheet of a result: weights in order of work, at the scale's fineness.

    Parameters
    ----------
    result:
        What balancing or checking says.
    batch_g:
        Mix that goes into the churn [g], above 0 to 1,000,000; ``None``: as the recipe says.
    portions, portion_g:
        In place of ``batch_g``: so many portions, 1 to 100,000, of so much, above 0 to 10,000 g.  A
        portion alone is counted and priced.
    large, us_weights:
        In very large type; with pounds and ounces beside the grams.

    Returns
    -------
    Sheet
        To be written by :func:`formulate.save` as ``.html`` or ``.pdf``.

    Raises
    ------
    InputError
        If a size cannot be.

    Examples
    --------
    >>> import formulate as fm
    >>> fm.sheet(fm.balance(fm.load("damson_sorbet")), batch_g=4000).size[0]
    '4,000 g of mix'
    """
    return batch_sheet(
        result.mixture.recipe,
        result,
        batch_g=batch_g,
        portions=portions,
        portion_g=portion_g,
        large=large,
        us_weights=us_weights,
    )


def label(result: Result, rules: str = "eu", portion_g: float | None = None) -> Label:
    """Return the draft label of a result, for somebody who knows the rules and has every pack at hand.

    Parameters
    ----------
    result:
        What balancing or checking says.
    rules:
        ``eu`` or ``us``.
    portion_g:
        One portion, above 0 to 10,000 g.  ``None``: none with ``eu``; with ``us`` what two thirds of a
        cup weigh.

    Returns
    -------
    Label

    Raises
    ------
    InputError
        If the rules are unknown or the portion is out of its range.

    Notes
    -----
    Sources: Regulation (EU) 1169/2011, Article 22 and Annex III; 21 CFR 101.9 and 101.12.

    Examples
    --------
    >>> import formulate as fm
    >>> fm.label(fm.balance(fm.load("bay_leaf_ice_cream"))).allergens
    ('eggs', 'milk')
    """
    weights = np.array([weight.grams for weight in result.mix.weights])
    return draft_label(result.mixture, weights, rules, portion_g)
