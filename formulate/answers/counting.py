"""Why no mix keeps the counts of a recipe, though without them one would do, and what to let go."""

from __future__ import annotations

from dataclasses import replace

from formulate.answers.conflicts import Demand
from formulate.answers.proposals import Proposal, solved_proposal
from formulate.mix import Mixture, mixture, programme
from formulate.recipes import Counts, Recipe
from formulate.solver import Chosen, optimum

__all__ = ["count_conflict", "count_proposals", "uncounted"]

_NAMES = {"most_changes": "changes", "most_ingredients": "ingredients"}


def uncounted(mix: Mixture) -> Chosen | None:
    """Return the mix without counts and least uses, ``None`` if there is none either."""
    free = mixture(_without(mix.recipe))
    return optimum(free, programme(free))


def count_conflict(recipe: Recipe) -> tuple[Demand, ...]:
    """Return every count and least use of a recipe, as demands."""
    found = [
        Demand("count", key, "max", float(value), words, "")
        for key, words in _NAMES.items()
        if (value := getattr(recipe.counts, key)) is not None
    ]
    found += [
        Demand("count", entry.key, "min", entry.least_use_g, f"{entry.key}, if any", "g")
        for entry in recipe.ingredients
        if entry.least_use_g
    ]
    return tuple(found)


def count_proposals(recipe: Recipe) -> tuple[Proposal, ...]:
    """Return by how much each count must grow, alone, for a mix to be possible."""
    found = []
    for key, words in _NAMES.items():
        value = getattr(recipe.counts, key)
        if value is None:
            continue
        for more in range(value + 1, len(recipe.ingredients) + 1):
            counts = replace(recipe.counts, **{key: more})
            proposal = solved_proposal(
                "relax",
                f"Allow {more} {words}.",
                float(more - value),
                replace(recipe, counts=counts),
            )
            if proposal is not None:
                found.append(proposal)
                break
    if any(entry.least_use_g for entry in recipe.ingredients):
        entries = tuple(replace(entry, least_use_g=None) for entry in recipe.ingredients)
        words = "Let ingredients come in below their least use."
        proposal = solved_proposal("relax", words, 1.0, replace(recipe, ingredients=entries))
        if proposal is not None:
            found.append(proposal)
    return tuple(found)


def _without(recipe: Recipe) -> Recipe:
    entries = tuple(replace(entry, least_use_g=None) for entry in recipe.ingredients)
    return replace(recipe, counts=Counts(), ingredients=entries)
