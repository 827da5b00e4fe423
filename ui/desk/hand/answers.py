"""What the engine says of a recipe, remembered by the text of the recipe.

Answers are frozen and shared by all sessions; asking twice costs nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, TypeVar

from formulate import Result, balance, check
from formulate.recipes import Recipe, parse, to_toml

__all__ = ["again", "asked", "balanced", "present", "remembered"]

T = TypeVar("T")

_REMEMBERED = 256


def present(recipe: Recipe) -> Result | None:
    """What the present weights give, ``None`` unless every one is known; raises as the engine does."""
    if not recipe.is_weighed:
        return None
    return remembered(check, recipe)


def balanced(recipe: Recipe, confidence: float | None = None) -> Result:
    """The balanced mix or why there is none; raises as the engine does."""
    return remembered(_balance, recipe, confidence)


def remembered(question: Callable[..., T], recipe: Recipe, *asked: object) -> T:
    """Return ``question(recipe, *asked)``, which is asked once; raises as the question does."""
    found: T = _answer(question, to_toml(recipe), asked)
    return found


def asked(recipe: Recipe) -> bool:
    """Whether the recipe asks anything of its mix."""
    wishes = (*recipe.targets, *recipe.ratios, *recipe.groups)
    return bool(wishes) or recipe.serving is not None


def again(text: str) -> Recipe:
    """The recipe of a text that :func:`formulate.recipes.to_toml` wrote."""
    return parse(text.encode(), "recipe")


def _balance(recipe: Recipe, confidence: float | None) -> Result:
    return balance(recipe, confidence=confidence)


@lru_cache(maxsize=_REMEMBERED)
def _answer(question: Callable[..., Any], text: str, asked: tuple[object, ...]) -> Any:
    return question(again(text), *asked)
