"""A recipe from a style and what gives the dessert its name: usual companions, usual weights."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple, TypeAlias

from formulate.checks import positive_number
from formulate.errors import InputError, nearest
from formulate.ingredients import Ingredient, ingredient_table
from formulate.recipes.ingredient import RecipeIngredient
from formulate.recipes.model import Recipe
from formulate.recipes.roles import group_of
from formulate.recipes.steps import Step
from formulate.recipes.usual_styles import (
    MAIN,
    Style,
    UsualShare,
    kin_of,
    style,
    usual_share,
)

__all__ = ["DEFAULT_BATCH_G", "recipe_of_style"]

#: A batch where none is said [g]; common practice, no source.
DEFAULT_BATCH_G = 1000.0

#: Kinds that are steeped and strained out, and groups of them that are stirred in.
_STEEPED, _STIRRED_IN = ("herb", "spice"), ("vanilla_extract",)

#: What a guest used in bulk is started with [% of the mix], if its low end is not more; no source.
_GUEST = 10.0

#: What is left at least for what is not weighed, where the rest is [of its usual share]; no source.
_LEAST_PART = 0.2


#: What the cook names: the ingredient, its usual share, and grams where they are given.
_Given: TypeAlias = tuple[Ingredient, UsualShare, float | None]


class _Line(NamedTuple):
    """An ingredient, its usual share, how much of that is its, what the cook gave [g], if it names."""

    about: Ingredient
    share: UsualShare
    part: float = 1.0
    grams: float | None = None
    named: bool = False


def recipe_of_style(
    style_key: str,
    mains: Mapping[str, float | None],
    batch_g: float = DEFAULT_BATCH_G,
    name: str | None = None,
) -> Recipe:
    """Return a recipe of a style with these main ingredients and its usual companions, not yet balanced.

    Weights are the middles of the usual shares, what the cook gives is fixed, and every other weight is
    held within its usual share.  Herbs and spices are infused in the liquid and strained out.

    Parameters
    ----------
    style_key:
        One of :func:`styles`.
    mains:
        Keys of the ingredient table, with grams or ``None`` for the usual share; may be empty where a
        style needs none.
    batch_g:
        Finished mix [g], from 1.
    name:
        Name of the recipe; ``None`` for one made of the style and its first main ingredient.

    Returns
    -------
    Recipe

    Raises
    ------
    InputError
        If the style or an ingredient is not known, a weight is not above 0 and below the batch, the
        batch is none, or the style needs a main ingredient and has none.

    Examples
    --------
    >>> found = recipe_of_style("fruit_sorbet", {"damson": None}, 2000.0)
    >>> found.name, found.ingredients[0].key, found.ingredients[0].grams
    ('Fruit sorbet, damsons', 'damson', 760.0)
    """
    known, batch_g = style(style_key), positive_number(batch_g, "batch_g")
    lines = _lines(known, _mains(known, mains, batch_g))
    first = next(iter(mains), None)
    called = "" if first is None else f", {ingredient_table()[first].name.split(',')[0].lower()}"
    return Recipe(
        name=f"{known.name}{called}" if name is None else name,
        batch_g=batch_g,
        ingredients=_entries(lines, batch_g),
        targets={key: target.bounds for key, target in known.targets.items()},
        serving=known.serving,
        style=known.key,
    )


def _mains(known: Style, mains: Mapping[str, float | None], batch_g: float) -> list[_Line]:
    """The main ingredients; those of the style share one usual share."""
    found: list[_Given] = []
    for key, grams in mains.items():
        about = _checked(key, grams, batch_g)
        found.append((about, usual_share(known.key, key, about.kind), grams))
    kin = [kin_of(known.key, about.key, about.kind) for about, _, _ in found]
    asked = tuple(share.of for share in known.part("main"))
    if asked and MAIN not in kin:
        words = ", ".join(word.replace("_", " ") for word in asked)
        place, problem = f"style {known.key}", f"needs what gives it its name: {words}"
        remedy = "Give --with KEY, like --with damson."
        raise InputError(place, problem, remedy, field="with", value=tuple(mains), allowed=asked)
    return [
        _Line(about, share, _left(kin, found, batch_g)[own], grams, own == MAIN)
        for own, (about, share, grams) in zip(kin, found, strict=True)
    ]


def _checked(key: str, grams: float | None, batch_g: float) -> Ingredient:
    """The ingredient that the cook names, if there is one and so much of it can be."""
    table = ingredient_table()
    if key not in table:
        hint = nearest(key, table) or "`formulate ingredients WORD` searches the table."
        place, problem = f"--with {key}", "is not in the ingredient table"
        raise InputError(place, problem, hint, field="with", value=key)
    if grams is not None and not 0.0 < grams < batch_g:
        problem = f"is {grams:g} g, and must be above 0 and below the batch of {batch_g:g} g"
        place, remedy = f"--with {key}", "Give less of it, or a larger --batch."
        raise InputError(place, problem, remedy, field="grams", value=grams, allowed=(0.0, batch_g))
    return table[key]


def _left(kin: list[str], found: list[_Given], batch_g: float) -> dict[str, float]:
    """How much of its usual share each of those has that share one and are not weighed by the cook."""
    given, open_ = dict.fromkeys(kin, 0.0), dict.fromkeys(kin, 0)
    for own, (_, share, grams) in zip(kin, found, strict=True):
        if grams is None:
            open_[own] += 1
        else:
            given[own] += 100.0 * grams / batch_g / max(share.typical, 1e-9)
    return {own: max(1.0 - given[own], _LEAST_PART) / max(open_[own], 1) for own in given}


def _lines(known: Style, mains: list[_Line]) -> list[_Line]:
    """Main ingredients and companions, in the order of the style."""
    table = ingredient_table()
    given = {group_of(line.about.key, line.about.kind) for line in mains}
    companions = [
        _Line(table[share.of], share)
        for share in known.shares
        if share.part in ("with", "fill") and group_of(share.of, table[share.of].kind) not in given
    ]
    return [*mains, *companions]


def _entries(lines: list[_Line], batch_g: float) -> tuple[RecipeIngredient, ...]:
    """One entry for each line; the liquid of the style makes up the rest."""
    taken = sum(_usual(line, batch_g) for line in lines if line.share.part != "fill")
    liquids = [line for line in lines if not _is_steeped(line.about)]
    liquid = max(liquids, key=lambda line: (line.share.part == "fill", _water(line)), default=None)
    return tuple(
        _entry(line, 100.0 - taken, batch_g, "" if liquid is None else liquid.about.key)
        for line in lines
    )


def _entry(line: _Line, rest: float, batch_g: float, liquid: str) -> RecipeIngredient:
    """An ingredient with its usual weight and limits; what the cook weighs or steeps is fixed."""
    low = line.share.low * line.part if line.share.part else 0.0
    high = line.share.high * min(1.0, 2.0 * line.part)
    usual = _usual(line, batch_g)
    if line.share.part == "fill" and line.grams is None:
        usual = min(max(rest * line.part, low), high)
    steeped = _is_steeped(line.about) and bool(liquid)
    fixed = steeped or line.grams is not None
    return RecipeIngredient(
        line.about.key,
        grams=_grams(usual, batch_g) if line.grams is None else line.grams,
        min_g=None if fixed or low == 0.0 else _grams(low, batch_g),
        max_g=None if fixed else _grams(high, batch_g),
        fixed=fixed,
        steps=(Step("infuse", (("in", liquid), ("hot", True))),) if steeped else (),
        role="character" if line.named else None,
    )


def _usual(line: _Line, batch_g: float) -> float:
    """The share that a line is started with [% of the mix]."""
    if line.grams is not None:
        return 100.0 * line.grams / batch_g
    usual = line.share.typical
    if (
        not line.share.part
    ):  # a guest: what no row of the style tells of does not crowd out the rest
        usual = min(usual, max(line.share.low, _GUEST))
    return usual * line.part


def _is_steeped(about: Ingredient) -> bool:
    return about.kind in _STEEPED and group_of(about.key, about.kind) not in _STIRRED_IN


def _water(line: _Line) -> float:
    """Water that the usual share of an ingredient brings [% of the mix]."""
    return float(line.about.composition[0]) * line.share.typical / 100.0


def _grams(percent: float, batch_g: float) -> float:
    """Grams of a share, as finely as they are worth: three figures, from 100 g to a tenth."""
    grams = percent * batch_g / 100.0
    return round(grams, 1) if grams >= 100.0 else float(f"{grams:.3g}")
