"""What is to be minded of single ingredients: poisonous raw, not fit to eat in part, not for all."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from formulate.data import data_folder, read_rows
from formulate.errors import TableError
from formulate.ingredients import ingredient_table
from formulate.messages import Message, message
from formulate.recipes import RecipeIngredient

__all__ = ["IngredientNote", "ingredient_notes", "is_heated", "must_be_cooked", "notes_on"]

_HEATING = ("simmer", "reduce", "roast")
_MUST_COOK = "must_cook"
_HOT_C = 63.0  # °C at which an infusion counts as heated: the lowest of the quoted rules


@dataclass(frozen=True, slots=True)
class IngredientNote:
    """One row of ``ingredient_cautions.csv``.

    Attributes
    ----------
    word:
        A key of the table, or what stands in the name of an ingredient of one's own.
    code:
        What is to be minded: a code of the sentences without ``caution_``.
    only_if_prepared:
        Whether it is minded only where the recipe prepares the ingredient.
    source, seen:
        Where that stands, and whether the source was seen or recalled from memory.
    """

    word: str
    code: str
    only_if_prepared: bool
    source: str
    seen: str


@lru_cache(maxsize=1)
def ingredient_notes() -> tuple[IngredientNote, ...]:
    """Return all rows of ``ingredient_cautions.csv``, in its order.

    Raises
    ------
    TableError
        If the table is empty or a cell is none of those allowed.
    """
    rows = read_rows(data_folder() / "ingredient_cautions.csv")
    found = []
    for row in rows:
        place = f"ingredient_cautions.csv, {row['word']}"
        if not row["word"] or not row["code"] or row["only_if_prepared"] not in ("yes", "no"):
            raise TableError(f"{place}: a cell is empty or is neither yes nor no.")
        found.append(
            IngredientNote(
                row["word"],
                row["code"],
                row["only_if_prepared"] == "yes",
                row["source"],
                row["seen"],
            )
        )
    if not found:
        raise TableError("ingredient_cautions.csv: has no rows.")
    return tuple(found)


def notes_on(entries: Sequence[RecipeIngredient]) -> tuple[Message, ...]:
    """Return what is to be minded of the ingredients of a recipe, one message a kind of note.

    Parameters
    ----------
    entries:
        Those that are used; one's own are known by the words of their names.

    Returns
    -------
    tuple of Message
        ``caution_must_cook``, ``caution_honey`` and the like, each with the ``names`` it is about.

    Examples
    --------
    >>> [note.code for note in notes_on([RecipeIngredient("elderberry"), RecipeIngredient("honey")])]
    ['caution_must_cook', 'caution_honey']
    """
    found: dict[str, dict[str, None]] = {}
    for note in ingredient_notes():
        for entry in entries:
            if _is_about(note, entry) and (entry.steps or not note.only_if_prepared):
                found.setdefault(note.code, {})[_name(entry)] = None
    return tuple(message(f"caution_{code}", names=tuple(names)) for code, names in found.items())


def must_be_cooked(entry: RecipeIngredient) -> bool:
    """Say whether an ingredient must not be eaten raw and no step of the recipe heats it.

    Parameters
    ----------
    entry:
        An ingredient with its steps.

    Returns
    -------
    bool

    Examples
    --------
    >>> must_be_cooked(RecipeIngredient("elderberry")), must_be_cooked(RecipeIngredient("pear"))
    (True, False)
    """
    notes = (note for note in ingredient_notes() if note.code == _MUST_COOK)
    return not is_heated(entry) and any(_is_about(note, entry) for note in notes)


def is_heated(entry: RecipeIngredient) -> bool:
    """Say whether a step of the recipe heats an ingredient: simmered, reduced, roasted, infused hot."""
    return any(
        step.do in _HEATING or (step.do == "infuse" and _is_hot(step.get("hot"), step.get("at_c")))
        for step in entry.steps
    )


def _is_hot(hot: object, at_c: object) -> bool:
    """As the steps have it: hot unless the recipe says otherwise or gives a cool temperature."""
    if hot is not None:
        return bool(hot)
    return not isinstance(at_c, int | float) or at_c >= _HOT_C


def _is_about(note: IngredientNote, entry: RecipeIngredient) -> bool:
    if entry.key in ingredient_table() and entry.composition is None:
        return entry.key == note.word
    word = f"{note.word[:-1]}(y|ies)" if note.word.endswith("y") else f"{note.word}(s|es)?"
    own = re.sub(r"[^a-z]+", "_", entry.key.lower())
    return re.search(f"(^|_){word}(_|$)", own) is not None


def _name(entry: RecipeIngredient) -> str:
    known = ingredient_table().get(entry.key)
    return known.name if known is not None else entry.key.replace("_", " ").capitalize()
