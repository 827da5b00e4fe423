"""What a dessert of a name is made of: targets, usual shares, serving, how it is made.

The tables say each with its basis: ``styles.csv``, ``style_targets.csv``, ``typical.csv``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

from formulate.data import basis_words, data_folder, number, read_rows
from formulate.errors import InputError, nearest
from formulate.ingredients import ingredient_table
from formulate.recipes.model import Recipe
from formulate.recipes.roles import group_of, role_of
from formulate.recipes.serving import Range, Serving

__all__ = [
    "MAIN",
    "Style",
    "StyleTarget",
    "UsualShare",
    "kin_of",
    "style",
    "styles",
    "usual_share",
    "usual_shares",
    "with_style",
]

_STYLES, _TARGETS, _TYPICAL = "styles.csv", "style_targets.csv", "typical.csv"
_ANY = ""

#: The part of what gives a style its name.
MAIN = "main"

#: From where on something is used in bulk [% of the mix]; no source.
_BULK = 10.0


@dataclass(frozen=True, slots=True)
class UsualShare:
    """What a mix usually has of an ingredient [% of the mix]: a low end, the middle, a high end.

    Attributes
    ----------
    of:
        Key or group that the share is told of.  Ingredients that share one group share one usual share.
    part:
        In a style: ``main`` for what gives it its name, ``with`` for what usually goes with it, ``fill``
        for the liquid that makes up the rest, ``may`` for what may come in; "" of any style.
    source, note:
        A source of ``sources.toml``, and what it says.
    """

    low: float
    typical: float
    high: float
    of: str
    part: str
    source: str
    note: str = ""

    @property
    def basis(self) -> str:
        """What the share rests on, in words."""
        return basis_words(self.source, self.note)


@dataclass(frozen=True, slots=True)
class StyleTarget:
    """The range of one target in a style, in the unit of the target."""

    bounds: Range
    source: str
    note: str = ""

    @property
    def basis(self) -> str:
        """What the range rests on, in words."""
        return basis_words(self.source, self.note)


@dataclass(frozen=True, slots=True)
class Style:
    """A style: what a dessert of its name is made of, and how it is served.

    Attributes
    ----------
    key, name, says:
        Key in files, name on a page, what it is in a few words.
    targets:
        Its usual targets by key.
    serving:
        Temperature, window, kind and overrun; ``serving.csv`` says how its kind is made.
    shares:
        Usual share of each key or group that belongs to it, in order of weighing.
    """

    key: str
    name: str
    says: str
    targets: Mapping[str, StyleTarget]
    serving: Serving
    shares: tuple[UsualShare, ...]
    source: str
    note: str = ""

    @property
    def basis(self) -> str:
        """What its serving rests on, in words."""
        return basis_words(self.source, self.note)

    def part(self, name: str) -> tuple[UsualShare, ...]:
        """Return the shares of one part: ``main``, ``with``, ``fill`` or ``may``."""
        return tuple(share for share in self.shares if share.part == name)


def styles() -> Mapping[str, Style]:
    """Return every style by key, in the order of the table.

    Returns
    -------
    Mapping
        Read-only.

    Examples
    --------
    >>> styles()["granita"].serving.temperature_c
    -4.0
    """
    return _styles()


def style(key: str) -> Style:
    """Return a style.

    Parameters
    ----------
    key:
        One of :func:`styles`.

    Returns
    -------
    Style

    Raises
    ------
    InputError
        If no style has this key.

    Examples
    --------
    >>> style("fruit_sorbet").targets["stabiliser"].bounds
    Range(min=0.2, max=0.5)
    """
    found = styles().get(key)
    if found is None:
        hint = nearest(key, styles()) or f"The styles are: {', '.join(styles())}."
        problem = f'is "{key}", not a style that is known here'
        raise InputError("style", problem, hint, field="style", value=key, allowed=tuple(styles()))
    return found


def usual_share(style_key: str | None, key: str, kind: str) -> UsualShare:
    """Return the usual share of an ingredient: in the style, else in any; every ingredient has one.

    Parameters
    ----------
    style_key:
        A style, ``None`` without one.
    key, kind:
        As the ingredient table has them; the kind of an own ingredient is ``own``.

    Returns
    -------
    UsualShare
        Percent of the mix.

    Raises
    ------
    InputError
        If no style has this key.

    Examples
    --------
    >>> share = usual_share("fruit_sorbet", "raspberry", "fruit")
    >>> share.low, share.typical, share.high
    (30.0, 50.0, 65.0)
    >>> usual_share(None, "xanthan_gum", "stabiliser").high
    0.2
    """
    group, anywhere = group_of(key, kind), _anywhere()
    mine = style(style_key).shares if style_key else ()
    by_name = {share.of: share for share in mine}
    for found in (by_name.get(key), anywhere.get(key), by_name.get(group)):
        if found is not None:
            return found
    kin = next((share for share in mine if _group(share.of) == group), None)
    return kin or anywhere.get(group) or anywhere["own"]


def usual_shares(
    style_key: str | None, ingredients: Sequence[tuple[str, str]]
) -> tuple[UsualShare, ...]:
    """Return the usual shares of ingredients that are used together.

    What gives a dessert its name shares one usual share, and so do ingredients of one group: of two
    fruits each has half of the low end and of the middle; one alone may still be all of it.

    Parameters
    ----------
    style_key:
        A style, ``None`` without one.
    ingredients:
        Key and kind of each, as for :func:`usual_share`.

    Returns
    -------
    tuple of UsualShare

    Raises
    ------
    InputError
        If no style has this key.

    Examples
    --------
    >>> two = usual_shares("fruit_sorbet", [("strawberry", "fruit"), ("rhubarb", "fruit")])
    >>> [(share.low, share.typical, share.high) for share in two]
    [(15.0, 25.0, 65.0), (9.0, 19.0, 65.0)]
    """
    kin = [kin_of(style_key, key, kind) for key, kind in ingredients]
    found = []
    for own, (key, kind) in zip(kin, ingredients, strict=True):
        share, count = usual_share(style_key, key, kind), kin.count(own)
        found.append(replace(share, low=share.low / count, typical=share.typical / count))
    return tuple(found)


def kin_of(style_key: str | None, key: str, kind: str) -> str:
    """Return with what an ingredient shares one usual share: what gives the name, or its group.

    Gums that stand in one blend have each their own share, so that they are no kin; without a style
    what is used in bulk and tasted gives the name.
    """
    group, share = group_of(key, kind), usual_share(style_key, key, kind)
    if style_key:
        named = {main.of for main in style(style_key).part(MAIN)}
        if named & {key, group}:
            return MAIN
    elif role_of(None, key, kind) == "character" and share.typical >= _BULK:
        return MAIN
    blended = share.of == key and role_of(None, key, kind) == "texture"
    return key if blended else group


def _group(of: str) -> str:
    """The group that a row of the table is told of, by its key or itself a group."""
    known = ingredient_table().get(of)
    return of if known is None else group_of(of, known.kind)


def with_style(recipe: Recipe) -> Recipe:
    """Return the recipe with the usual targets and serving of its style wherever it is silent.

    A target that the recipe names is the cook's, also where it asks for nothing; so is a serving.
    Without a style the recipe comes back as it is.

    Parameters
    ----------
    recipe:
        The recipe.

    Returns
    -------
    Recipe

    Raises
    ------
    InputError
        If no style has the key that the recipe names.

    Examples
    --------
    >>> from formulate.recipes import RecipeIngredient
    >>> pear = RecipeIngredient("pear", grams=1000.0)
    >>> found = with_style(Recipe("Pear", 1000.0, (pear,), style="granita"))
    >>> found.serving.kind, found.targets["sweetness"]
    ('granita', Range(min=9.0, max=22.0))
    """
    if not recipe.style:
        return recipe
    found = style(recipe.style)
    usual = {key: target.bounds for key, target in found.targets.items()}
    return replace(
        recipe,
        targets={**usual, **recipe.targets},
        serving=found.serving if recipe.serving is None else recipe.serving,
    )


@lru_cache(maxsize=1)
def _styles() -> Mapping[str, Style]:
    targets: dict[str, dict[str, StyleTarget]] = {}
    for row in read_rows(data_folder() / _TARGETS):
        where = f"{_TARGETS}, {row['style']} {row['target']}"
        low, high = (number(row, end, where) if row[end] else None for end in ("min", "max"))
        about = StyleTarget(Range(low, high), row["source"], row["note"])
        targets.setdefault(row["style"], {})[row["target"]] = about
    found = {}
    for row in read_rows(data_folder() / _STYLES):
        key, where = row["style"], f"{_STYLES}, {row['style']}"
        window = Range(number(row, "frozen_min", where), number(row, "frozen_max", where))
        found[key] = Style(
            key=key,
            name=row["name"],
            says=row["says"],
            targets=MappingProxyType(targets[key]),
            serving=Serving(
                temperature_c=number(row, "temperature_c", where),
                frozen_water=window,
                kind=row["kind"],
                overrun_percent=number(row, "overrun_percent", where),
            ),
            shares=tuple(share for at, share in _shares() if at == key),
            source=row["source"],
            note=row["note"],
        )
    return MappingProxyType(found)


@lru_cache(maxsize=1)
def _shares() -> tuple[tuple[str, UsualShare], ...]:
    """Style ("" for any) and share, row by row."""
    found = []
    for row in read_rows(data_folder() / _TYPICAL):
        where = f"{_TYPICAL}, {row['style']} {row['of']}"
        low, usual, high = (number(row, column, where) for column in ("low", "usual", "high"))
        share = UsualShare(low, usual, high, row["of"], row["part"], row["source"], row["note"])
        found.append((row["style"], share))
    return tuple(found)


@lru_cache(maxsize=1)
def _anywhere() -> Mapping[str, UsualShare]:
    return MappingProxyType({share.of: share for at, share in _shares() if at == _ANY})
