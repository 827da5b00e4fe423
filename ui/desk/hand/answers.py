"""What the engine says of a recipe, remembered by the text of the recipe.

Answers are frozen and shared by all sessions; asking twice costs nothing.
"""

from __future__ import annotations

from functools import lru_cache

from formulate.answers import Result, balance, balance_safely, check
from formulate.recipes import Recipe, parse, to_toml

__all__ = ["again", "asked", "balanced", "present"]

_REMEMBERED = 128


def present(recipe: Recipe) -> Result | None:
    """What the present weights give, ``None`` where there are none; raises as the engine does."""
    if not any(entry.grams for entry in recipe.ingredients):
        return None
    return _check(to_toml(recipe))


def balanced(recipe: Recipe, confidence: float | None = None) -> Result:
    """The balanced mix or why there is none; raises as the engine does."""
    return _balance(to_toml(recipe), confidence)


def asked(recipe: Recipe) -> bool:
    """Whether the recipe asks anything of its mix."""
    wishes = (*recipe.targets, *recipe.ratios, *recipe.groups)
    return bool(wishes) or recipe.serving is not None


def again(text: str) -> Recipe:
    """The recipe of a text that :func:`formulate.recipes.file.to_toml` wrote."""
    return parse(text.encode(), "recipe")


@lru_cache(maxsize=_REMEMBERED)
def _check(text: str) -> Result:
    return check(again(text))


@lru_cache(maxsize=_REMEMBERED)
def _balance(text: str, confidence: float | None) -> Result:
    recipe = again(text)
    return balance(recipe) if confidence is None else balance_safely(recipe, confidence)
