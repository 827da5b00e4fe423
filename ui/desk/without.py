"""A recipe without one of its ingredients and without the rules that rest on it."""

from __future__ import annotations

from dataclasses import replace

from formulate.recipe import Recipe

__all__ = ["without"]


def without(recipe: Recipe, key: str) -> Recipe:
    """Return the recipe without an ingredient; it is not proposed again."""
    groups = tuple(
        replace(group, keys=tuple(each for each in group.keys if each != key))
        for group in recipe.groups
        if group.keys != (key,)
    )
    return replace(
        recipe,
        ingredients=tuple(entry for entry in recipe.ingredients if entry.key != key),
        ratios=tuple(ratio for ratio in recipe.ratios if key not in (ratio.of, ratio.to)),
        groups=groups,
    )
