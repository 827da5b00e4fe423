"""Why no mix keeps the counts of a recipe, though without them one would do, and what to let go."""

from __future__ import annotations

from dataclasses import replace

from formulate.answers.conflicts import Demand, demands, restricted
from formulate.answers.proposals import Proposal, solved_proposal
from formulate.errors import SolverFault
from formulate.messages import message
from formulate.mix import Mixture, Programme, mixture, programme
from formulate.recipes import Counts, Recipe
from formulate.solver import Chosen, optimum

__all__ = ["count_conflict", "count_proposals", "uncounted"]

_NAMES = {"most_changes": "changes", "most_ingredients": "ingredients"}

#: What is let go first where a conflict needs it not.
_LET_GO = ("limit", "target", "count")


def uncounted(mix: Mixture) -> Chosen | None:
    """Return the mix without counts and least uses, ``None`` if there is none either."""
    free = mixture(_without(mix.recipe))
    return optimum(free, programme(free))


def count_conflict(mix: Mixture, rows: Programme) -> tuple[Demand, ...]:
    """Return counts, least uses, targets and limits that cannot hold together.

    Each is needed: without any one of them the others can, as far as the solver ends in time to say.

    Parameters
    ----------
    mix, rows:
        A recipe met with the tables, and its programme, that has a mix without its counts alone.
    """
    kept = [*demands(mix, rows), *_counts(mix)]
    for demand in sorted(kept, key=lambda entry: _LET_GO.index(entry.kind)):
        rest = [entry for entry in kept if entry is not demand]
        if not _is_possible(mix, rows, rest):
            kept = rest
    return tuple(kept)


def _counts(mix: Mixture) -> list[Demand]:
    """Every count and least use of a recipe, as demands."""
    found = [
        Demand("count", key, "max", float(value), words, "", key)
        for key, words in _NAMES.items()
        if (value := getattr(mix.recipe.counts, key)) is not None
    ]
    found += [
        Demand("count", entry.key, "min", entry.least_use_g, name, "g", "least_use_g")
        for entry, name in zip(mix.recipe.ingredients, mix.names, strict=True)
        if entry.least_use_g
    ]
    return found


def _is_possible(mix: Mixture, rows: Programme, kept: list[Demand]) -> bool:
    """Say whether these demands can hold together; that they can, where the solver does not end."""
    held = {(demand.kind, demand.key) for demand in kept}
    recipe = mix.recipe
    entries = tuple(
        entry if ("count", entry.key) in held else replace(entry, least_use_g=None)
        for entry in recipe.ingredients
    )
    counts = Counts(
        *(getattr(recipe.counts, key) if ("count", key) in held else None for key in _NAMES)
    )
    asked = replace(mix, recipe=replace(recipe, counts=counts, ingredients=entries))
    try:
        return optimum(asked, restricted(rows, kept)) is not None
    except SolverFault:
        return True


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
                message(f"allow_{words}", limit=more),
                float(more - value),
                replace(recipe, counts=counts),
            )
            if proposal is not None:
                found.append(proposal)
                break
    if any(entry.least_use_g for entry in recipe.ingredients):
        entries = tuple(replace(entry, least_use_g=None) for entry in recipe.ingredients)
        what = message("allow_below_least_use")
        proposal = solved_proposal("relax", what, 1.0, replace(recipe, ingredients=entries))
        if proposal is not None:
            found.append(proposal)
    return tuple(found)


def _without(recipe: Recipe) -> Recipe:
    entries = tuple(replace(entry, least_use_g=None) for entry in recipe.ingredients)
    return replace(recipe, counts=Counts(), ingredients=entries)
