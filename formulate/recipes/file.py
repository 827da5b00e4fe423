"""The recipe file: TOML in, a frozen recipe out, and back again.

Nothing is ignored: an unknown field is an error that names it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from formulate.checks import number, standing_at
from formulate.errors import InputError
from formulate.ingredients import Lot, lot_data, lot_from_data
from formulate.recipes.fields import (
    known_fields,
    table_in,
    tables_in,
    text_in,
    toml_tables,
    words_in,
)
from formulate.recipes.ingredient import RecipeIngredient
from formulate.recipes.model import Recipe
from formulate.recipes.rules import Balance, Counts, Exclude, Group, Ratio, Scale
from formulate.recipes.serving import Range, Serving, serving_kinds
from formulate.recipes.steps import steps_from_data, steps_to_data
from formulate.recipes.usual_styles import with_style

__all__ = ["digest", "from_mapping", "parse", "to_toml"]

_TOP = (
    *"name batch_g style ingredient target serving scale ratio group limits exclude".split(),
    "balance",
)
_INGREDIENT = tuple(RecipeIngredient.__dataclass_fields__)
_SERVING = tuple(Serving.__dataclass_fields__)
_SCALE = tuple(Scale.__dataclass_fields__)

_Part = TypeVar("_Part")


def parse(data: bytes, name: str) -> Recipe:
    r"""Return the recipe in the bytes of a TOML file.

    Parameters
    ----------
    data:
        The file, UTF-8, at most 1 MB.
    name:
        What it is called in messages.

    Returns
    -------
    Recipe

    Raises
    ------
    InputError
        If the bytes are not a recipe: too many, empty, not UTF-8, not TOML, or with a field that is
        unknown, missing, of the wrong kind or out of range.

    Examples
    --------
    >>> parse(b'name = "Syrup"\nbatch_g = 300\n[[ingredient]]\nkey = "water"', "syrup.toml").name
    'Syrup'
    """
    tables = toml_tables(data, name, "recipe", "formulate check damson_sorbet")
    return from_mapping(tables, name)


def from_mapping(tables: Mapping[str, Any], place: str) -> Recipe:
    """Return the recipe in the tables of a recipe file, its style filled in; raises as :func:`parse`.

    Parameters
    ----------
    tables:
        What a recipe file holds.
    place:
        Where the tables stand, for messages.

    Returns
    -------
    Recipe

    Raises
    ------
    InputError
        If a field is unknown, missing, of the wrong kind or out of range.

    Examples
    --------
    >>> tables = {"name": "Syrup", "batch_g": 300, "ingredient": [{"key": "water", "grams": 300}]}
    >>> from_mapping(tables, "syrup").ingredients[0].grams
    300.0
    """
    known_fields(tables, _TOP, place)
    rows = tables_in(tables, "ingredient", place)
    parts: dict[str, Any] = {
        "ingredients": tuple(
            _ingredient(row, f"{place}, ingredient {count}")
            for count, row in enumerate(rows, start=1)
        ),
        "targets": _targets(table_in(tables, "target", place), f"{place}, target"),
        "ratios": _each(tables_in(tables, "ratio", place), _ratio, f"{place}, ratio"),
        "groups": _each(tables_in(tables, "group", place), _group, f"{place}, group"),
        "exclude": _exclude(table_in(tables, "exclude", place), f"{place}, exclude"),
    }
    if "serving" in tables:
        parts["serving"] = _serving(table_in(tables, "serving", place), f"{place}, serving")
    for field, key, kind in (
        ("scale", "scale", Scale),
        ("counts", "limits", Counts),
        ("balance", "balance", Balance),
    ):
        parts[field] = _plain(table_in(tables, key, place), kind, key, f"{place}, {key}")
    for key in ("name", "batch_g"):
        if key not in tables:
            remedy = 'Write name = "…".' if key == "name" else "Write batch_g = 1000, for example."
            raise InputError(f"{place}, {key}", "is missing", remedy, field=key)
        parts[key] = tables[key]
    if "style" in tables:
        parts["style"] = text_in(tables, "style", place)
    with standing_at("recipe", place):
        return with_style(Recipe(**parts))


def to_toml(recipe: Recipe) -> str:
    """Return the recipe as the text of a recipe file; :func:`parse` gives the same recipe back.

    Parameters
    ----------
    recipe:
        The recipe.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> parse(to_toml(recipe).encode(), "again") == recipe
    True
    """
    tables: dict[str, Any] = {"name": recipe.name, "batch_g": recipe.batch_g}
    if recipe.style:
        tables["style"] = recipe.style
    tables["ingredient"] = [_row(entry) for entry in recipe.ingredients]
    if recipe.targets:
        tables["target"] = {key: _bounds(bounds) for key, bounds in recipe.targets.items()}
    if recipe.serving is not None:
        tables["serving"] = _serving_row(recipe.serving)
    if recipe.scale != Scale():
        tables["scale"] = {key: getattr(recipe.scale, key) for key in _SCALE}
    for ratio in recipe.ratios:
        row: dict[str, Any] = {"of": ratio.of, "to": ratio.to, "value": _bounds(ratio.bounds)}
        tables.setdefault("ratio", []).append(row)
    for group in recipe.groups:
        row = {"name": group.name, "keys": list(group.keys), "percent": _bounds(group.bounds)}
        tables.setdefault("group", []).append(row)
    for key, part in (
        ("limits", recipe.counts),
        ("exclude", recipe.exclude),
        ("balance", recipe.balance),
    ):
        if changed := _changed(part):
            tables[key] = changed
    import tomli_w  # only writing needs it

    return tomli_w.dumps(tables)


def digest(recipe: Recipe) -> str:
    """Return ten letters by which the very same recipe is known again, for the foot of a sheet.

    Parameters
    ----------
    recipe:
        The recipe.

    Returns
    -------
    str
        Hexadecimal.

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> len(digest(recipe)), digest(recipe) == digest(recipe.with_reading("damson", 12.0))
    (10, False)
    """
    import hashlib  # takes long to import

    return hashlib.sha256(to_toml(recipe).encode()).hexdigest()[:10]


def _changed(value: Counts | Exclude | Balance | Serving) -> dict[str, Any]:
    """The fields that differ from their default."""
    found = {}
    for key, about in value.__dataclass_fields__.items():
        part = getattr(value, key)
        if part != about.default:
            found[key] = list(part) if isinstance(part, tuple) else part
    return found


def _row(entry: RecipeIngredient) -> dict[str, Any]:
    row: dict[str, Any] = {}
    for key, about in RecipeIngredient.__dataclass_fields__.items():
        value = getattr(entry, key)
        if value == about.default:
            continue
        if key == "composition":
            value = dict(value)
        elif key == "lot":
            value = {
                name: part
                for name, part in lot_data(value).items()
                if name != "key" and part is not None and (name, part) != ("name", "")
            }
        elif key == "steps":
            value = steps_to_data(value)
        row[key] = value
    return row


def _serving_row(serving: Serving) -> dict[str, Any]:
    changed = {"temperature_c": serving.temperature_c, "frozen_water": None} | _changed(serving)
    return changed | {"frozen_water": _bounds(serving.frozen_water)}


def _bounds(bounds: Range) -> dict[str, float] | float:
    if bounds.min is not None and bounds.min == bounds.max:
        return bounds.min
    found = {"min": bounds.min, "max": bounds.max}
    return {key: value for key, value in found.items() if value is not None}


def _each(
    rows: Sequence[Mapping[str, Any]], read: Callable[[Mapping[str, Any], str], _Part], place: str
) -> tuple[_Part, ...]:
    return tuple(read(row, f"{place} {count}") for count, row in enumerate(rows, start=1))


def _ratio(row: Mapping[str, Any], where: str) -> Ratio:
    known_fields(row, ("of", "to", "value"), where)
    bounds = _range(row.get("value"), f"{where}, value")
    with standing_at("ratio", where):
        return Ratio(text_in(row, "of", where), text_in(row, "to", where), bounds)


def _group(row: Mapping[str, Any], where: str) -> Group:
    known_fields(row, ("name", "keys", "percent"), where)
    bounds = _range(row.get("percent"), f"{where}, percent")
    with standing_at("group", where):
        return Group(text_in(row, "name", where), words_in(row, "keys", where), bounds)


def _plain(table: Mapping[str, Any], kind: type[_Part], head: str, where: str) -> _Part:
    """A part of which the table has the fields as they are."""
    known_fields(table, tuple(kind.__dataclass_fields__), where)  # type: ignore[attr-defined]
    with standing_at(head, where):
        return kind(**table)


def _exclude(table: Mapping[str, Any], where: str) -> Exclude:
    lists = ("allergens", "keys", "only")
    return _plain(
        {key: words_in(table, key, where) if key in lists else table[key] for key in table},
        Exclude,
        "exclude",
        where,
    )


def _ingredient(row: Mapping[str, Any], where: str) -> RecipeIngredient:
    key = text_in(row, "key", where)
    where = f"{where} ({key})"
    known_fields(row, _INGREDIENT, where)
    given = dict(row)
    if "lot" in row:
        given["lot"] = _lot(row, where)
    if "steps" in row:
        given["steps"] = steps_from_data(row["steps"], f"{where}, steps")
    with standing_at(f"ingredient {key}", where):
        return RecipeIngredient(**given)


def _lot(row: Mapping[str, Any], where: str) -> Lot:
    """The delivery that this ingredient comes from."""
    table = row["lot"]
    if not isinstance(table, dict):
        problem = "must be a table of what is known of the delivery"
        remedy = "Write { supplier = …, reading = … }."
        raise InputError(f"{where}, lot", problem, remedy, field="lot", value=table)
    return lot_from_data({**table, "key": row["key"]}, f"{where}, lot")


def _targets(table: Mapping[str, Any], place: str) -> dict[str, Range]:
    return {key: _range(value, f"{place}, {key}") for key, value in table.items()}


def _serving(table: Mapping[str, Any], where: str) -> Serving:
    known_fields(table, _SERVING, where)
    given = dict(table)
    if "frozen_water" in table:
        given["frozen_water"] = _range(table["frozen_water"], f"{where}, frozen_water")
    with standing_at("serving", where):
        kind = Serving(kind=table.get("kind", "")).kind
        return replace(serving_kinds()[kind] if kind else Serving(), **given)


def _range(value: Any, where: str) -> Range:
    with standing_at("range", where):
        if isinstance(value, dict):
            known_fields(value, ("min", "max"), where)
            return Range(**value)
        exact = number(value, where)
        return Range(exact, exact)
