"""Styles in words and as plain data, and a recipe of a style with the reason for every line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Any

from formulate.data import versions
from formulate.ingredients import ingredient_table, properties
from formulate.recipes import (
    Range,
    Recipe,
    RecipeIngredient,
    Style,
    UsualShare,
    group_of,
    how_made,
    role_of,
    to_toml,
    usual_share,
)

__all__ = ["commented_recipe", "style_text", "styles_data", "styles_text"]

_WIDE = 100

_MADE = {
    "churned": "churned",
    "scraped": "frozen at rest and scraped",
    "whipped": "whipped, frozen at rest in a mould",
    "moulded": "frozen at rest in a mould and cut",
}

#: What an ingredient does, by group, else by role.
_DOES = {
    "sugar": "sweetens, and keeps it soft",
    "dextrose": "softens more than sugar and sweetens less",
    "fructose": "sweetens and softens most",
    "trehalose": "gives solids with half the sweetness",
    "glucose_powder": "gives body with little sweetness",
    "glucose_syrup": "gives body with little sweetness",
    "polyol": "softens without sugar",
    "soluble_fibre": "gives body without sweetness",
    "milk": "the milk",
    "cream": "brings the fat",
    "milk_powder": "brings milk solids: body, and less ice",
    "milk_protein": "brings protein without lactose",
    "yolk": "thickens, and ties fat and water",
    "gum": "holds the water, so that the ice stays fine",
    "gelatine": "sets it, so that the ice stays fine",
    "lecithin": "ties the fat to the water",
    "salt": "rounds the taste",
    "sour_juice": "sharpens",
    "oil": "brings the fat",
    "water": "dissolves the sugars",
}
_DOES_BY_ROLE = {
    "character": "comes in beside it",
    "sweetener": "sweetens",
    "liquid": "the liquid",
    "dairy": "from milk",
    "egg": "from eggs",
    "fat": "brings fat",
    "texture": "for the texture",
    "acid": "sharpens",
    "seasoning": "for the taste",
}


def styles_data(found: Sequence[Style]) -> list[dict[str, Any]]:
    """Return styles as plain data, each figure with its basis.

    Parameters
    ----------
    found:
        The styles.

    Returns
    -------
    list of dict

    Examples
    --------
    >>> from formulate.recipes import style
    >>> styles_data([style("granita")])[0]["serving"]["made"]
    'scraped'
    """
    return [
        {
            "key": style.key,
            "name": style.name,
            "says": style.says,
            "targets": {
                key: _ends(target.bounds) | {"basis": target.basis}
                for key, target in style.targets.items()
            },
            "serving": {
                "kind": style.serving.kind,
                "made": how_made(style.serving.kind),
                "temperature_c": style.serving.temperature_c,
                "frozen_water": _ends(style.serving.frozen_water),
                "overrun_percent": style.serving.overrun_percent,
            },
            "roles": [
                {
                    "of": share.of,
                    "role": _role(share),
                    "part": share.part,
                    "low": share.low,
                    "usual": share.typical,
                    "high": share.high,
                    "basis": share.basis,
                }
                for share in style.shares
            ],
            "basis": style.basis,
            "versions": versions(),
        }
        for style in found
    ]


def styles_text(found: Sequence[Style]) -> str:
    """Return styles as text, a few lines each.

    Parameters
    ----------
    found:
        The styles.

    Returns
    -------
    str

    Examples
    --------
    >>> from formulate.recipes import style
    >>> print(styles_text([style("herb_custard")]).splitlines()[0])
    herb_custard: Herb custard: custard with an infused herb or spice
    """
    parts = []
    for style in found:
        lines = [f"{style.key}: {style.name}: {style.says}", f"  {_served(style)}"]
        asked = [
            f"{properties()[key].name.lower()} {_span(target.bounds)}"
            for key, target in style.targets.items()
        ]
        lines.append(f"  Asked: {', '.join(asked)}.")
        for part, words in (("main", "Of one of"), ("with", "With"), ("fill", "Made up with")):
            shares = [f"{_called(share)} {share.typical:g} %" for share in style.part(part)]
            if shares:
                lines.append(f"  {words}: {', '.join(shares)}.")
        parts.append("\n".join(lines))
    last = (
        "`formulate styles STYLE` says what each figure rests on; `formulate new STYLE --with KEY` "
    )
    return "\n\n".join([*parts, f"{last}makes a recipe."])


def style_text(style: Style) -> str:
    """Return one style as text, each figure with its basis.

    Parameters
    ----------
    style:
        The style.

    Returns
    -------
    str

    Examples
    --------
    >>> from formulate.recipes import style
    >>> print(style_text(style("parfait")).splitlines()[5])
    Fat 12 to 26 %
    """
    lines = [f"{style.key}: {style.name}: {style.says}", "", _served(style), f"  {style.basis}", ""]
    for key, target in style.targets.items():
        about = properties()[key]
        lines.append(f"{about.name} {_span(target.bounds)} {about.unit}")
        lines.append(f"  {target.basis}")
    lines.append("")
    for share in style.shares:
        lines.append(
            f"{_called(share).capitalize()} {share.low:g} to {share.high:g} % of the mix, "
            f"usually {share.typical:g}"
        )
        lines.append(f"  {share.basis}")
    return "\n".join(lines)


def commented_recipe(recipe: Recipe, style: Style) -> str:
    """Return the recipe file of a balanced recipe of a style, every line of it explained.

    Comments say what each thing does, how much of it is usual and what that rests on;
    :func:`formulate.recipes.parse` reads the recipe back.

    Parameters
    ----------
    recipe:
        A recipe of the style, of ingredients of the table.
    style:
        The style.

    Returns
    -------
    str

    Examples
    --------
    >>> from formulate.recipes import recipe_of_style, style
    >>> text = commented_recipe(recipe_of_style("granita", {"espresso": None}), style("granita"))
    >>> print(text.splitlines()[0])
    # Granita: fruit, juice, coffee or wine with sugar; frozen at rest and scraped.
    """
    entries = iter(recipe.ingredients)
    found = [f"# {style.name}: {style.says}; {_MADE[how_made(style.serving.kind)]}."]
    for line in to_toml(recipe).splitlines():
        indent = line[: len(line) - len(line.lstrip())]
        for words in _why(line, style, entries, recipe.batch_g):
            found += wrap(
                words, _WIDE, initial_indent=f"{indent}# ", subsequent_indent=f"{indent}#   "
            )
        found.append(line)
    return "\n".join(found) + "\n"


def _why(
    line: str, style: Style, entries: Iterator[RecipeIngredient], batch_g: float
) -> Sequence[str]:
    """What is said above a line: of an ingredient where it begins, of a target, of the serving."""
    words = line.strip()
    if words == "[[ingredient]]" or words.startswith("{ key = "):
        return _reasons(next(entries), batch_g, style)
    if words == "[serving]":
        return (_served(style), style.basis)
    target = words.removeprefix("[target.").removesuffix("]")
    return (style.targets[target].basis,) if words.startswith("[target.") else ()


def _reasons(entry: RecipeIngredient, batch_g: float, style: Style) -> list[str]:
    """What an ingredient does here, how much is usual, and what that rests on."""
    about = ingredient_table()[entry.key]
    group, share = group_of(about.key, about.kind), usual_share(style.key, about.key, about.kind)
    named = {main.of for main in style.part("main")} & {about.key, group}
    role = role_of(None, about.key, about.kind)
    does = "gives it its name" if named else _DOES.get(group) or _DOES_BY_ROLE[role]
    does += ", and makes up the rest" if share.part == "fill" else ""
    known = 0.0 if entry.grams is None else 100.0 * entry.grams / batch_g
    size = f" {_percent(known)} % of the mix;" if known else ""
    said = f"{about.name}: {does}.{size} {share.low:g} to {share.high:g} % is usual."
    if entry.fixed and entry.steps:
        said += " Infused and strained out; its weight stays, by taste."
    elif entry.fixed:
        said += " Your weight: it stays."
    if share.source == "practice" and not share.note:
        return [f"{said} {share.basis}."]
    return [said, share.basis]


def _served(style: Style) -> str:
    serving = style.serving
    air = f", {serving.overrun_percent:g} % overrun" if serving.overrun_percent else ""
    made = _MADE[how_made(serving.kind)].capitalize()
    window = _span(serving.frozen_water)
    return (
        f"{made}{air}; served at {serving.temperature_c:g} °C with {window} % of its water frozen."
    )


def _called(share: UsualShare) -> str:
    """What a row of the table is told of, in words."""
    known = ingredient_table().get(share.of)
    name = share.of.replace("_", " ") if known is None else known.name
    return f"{name[0].lower()}{name[1:]}"


def _role(share: UsualShare) -> str:
    """The role of what a share is told of; what gives a style its name is its character."""
    known = ingredient_table().get(share.of)
    usual = role_of(None, share.of, "own" if known is None else known.kind)
    return "character" if share.part == "main" else usual


def _ends(bounds: Range) -> dict[str, float | None]:
    return {"min": bounds.min, "max": bounds.max}


def _span(bounds: Range) -> str:
    if bounds.min is None:
        return f"at most {bounds.max:g}"
    return f"at least {bounds.min:g}" if bounds.max is None else f"{bounds.min:g} to {bounds.max:g}"


def _percent(value: float) -> str:
    return f"{value:.1f}" if value >= 1.0 else f"{value:.2g}"
