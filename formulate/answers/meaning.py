"""Which mix of a recipe is meant: the one rule for whatever is printed, timed, labelled or kept of it."""

from __future__ import annotations

from formulate.answers.balancing import balance
from formulate.answers.checking import check
from formulate.answers.result import Result
from formulate.recipes import Recipe

__all__ = ["meant"]


def meant(recipe: Recipe, balanced: bool = False) -> Result:
    """Return the mix that a recipe stands for: as it stands, or balanced.

    As it stands, where every weight is given: whoever wrote the weights means them.  Balanced where
    that is asked for, or a weight is missing.  The result says which: see
    :attr:`formulate.answers.Result.which`.

    Parameters
    ----------
    recipe:
        What is weighed and what it must be.
    balanced:
        Whether the balanced mix is meant, be every weight given.

    Returns
    -------
    Result

    Raises
    ------
    InputError
        If the recipe cannot be read against the tables.

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> str(meant(recipe).which), str(meant(recipe, balanced=True).which)
    ('as_it_stands', 'balanced')
    """
    return balance(recipe) if balanced or not recipe.is_weighed else check(recipe)
