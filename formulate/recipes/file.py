"""The recipe file: TOML in, a frozen recipe out, and back again.

Nothing is ignored: an unknown field is an error that names it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from formulate.errors import InputError, nearest
from formulate.ingredients import Lot, lot_data, lot_from_data
from formulate.recipes.fields import (
    known_fields,
    not_negative,
    number,
    optional,
    optional_number,
    positive,
    table_in,
    tables_in,
    text_in,
    toml_tables,
    words_in,
)
from formulate.recipes.model import (
    Counts,
    Exclude,
    Group,
    Range,
    Ratio,
    Recipe,
    RecipeIngredient,
    Scale,
    Serving,
)
from formulate.recipes.serving import serving_kinds
from formulate.recipes.steps import steps_from_data, steps_to_data

__all__ = ["digest", "from_mapping", "parse", "to_toml"]

_SMALLEST_BATCH_G = 1.0

_TOP = tuple("name batch_g ingredient target serving scale ratio group limits exclude".split())
_INGREDIENT = tuple(RecipeIngredient.__dataclass_fields__)
_WEIGHTS = ("grams", "min_g", "max_g", "stock_g", "least_use_g")
_SERVING = tuple(Serving.__dataclass_fields__)
_SCALE = tuple(Scale.__dataclass_fields__)


def parse(data: bytes, name: str) -> Recipe:
    """Return the recipe in the bytes of a TOML file.

    Raises
    ------
    InputError
        If the bytes are not a recipe: too many, empty, not UTF-8, not TOML, or with a field that is
        unknown, missing, of the wrong kind or out of range.
    """
    tables = toml_tables(data, name, "recipe", "formulate check damson_sorbet")
    return from_mapping(tables, name)


def from_mapping(tables: Mapping[str, Any], place: str) -> Recipe:
    """Return the recipe in the tables of a recipe file; raises as :func:`parse` does."""
    known_fields(tables, _TOP, place)
    rows = tables_in(tables, "ingredient", place)
    if not rows:
        raise InputError(place, "has no ingredients", "Add an [[ingredient]] table for each.")
    ingredients = _ingredients(rows, place)
    keys = [entry.key for entry in ingredients]
    return Recipe(
        name=text_in(tables, "name", place),
        batch_g=_batch(tables, place),
        ingredients=ingredients,
        targets=_targets(table_in(tables, "target", place), f"{place}, target"),
        serving=_serving(tables, place),
        scale=_scale(table_in(tables, "scale", place), f"{place}, scale"),
        ratios=_ratios(tables_in(tables, "ratio", place), keys, f"{place}, ratio"),
        groups=_groups(tables_in(tables, "group", place), keys, f"{place}, group"),
        counts=_counts(table_in(tables, "limits", place), f"{place}, limits"),
        exclude=_exclude(table_in(tables, "exclude", place), f"{place}, exclude"),
    )


def to_toml(recipe: Recipe) -> str:
    """Return the recipe as the text of a recipe file; :func:`parse` gives the same recipe back."""
    tables: dict[str, Any] = {"name": recipe.name, "batch_g": recipe.batch_g}
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
    limits = _changed(recipe.counts)
    if limits:
        tables["limits"] = limits
    exclude = _changed(recipe.exclude)
    if exclude:
        tables["exclude"] = exclude
    import tomli_w  # only writing needs it

    return tomli_w.dumps(tables)


def digest(recipe: Recipe) -> str:
    """Return ten letters by which the very same recipe is known again, for the foot of a sheet."""
    import hashlib  # takes long to import

    return hashlib.sha256(to_toml(recipe).encode()).hexdigest()[:10]


def _changed(value: Counts | Exclude) -> dict[str, Any]:
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
    row: dict[str, Any] = {
        "temperature_c": serving.temperature_c,
        "frozen_water": _bounds(serving.frozen_water),
    }
    for key in ("kind", "freezer_c", "overrun_percent"):
        if getattr(serving, key) != getattr(Serving(), key):
            row[key] = getattr(serving, key)
    return row


def _bounds(bounds: Range) -> dict[str, float] | float:
    if bounds.min is not None and bounds.min == bounds.max:
        return bounds.min
    found = {"min": bounds.min, "max": bounds.max}
    return {key: value for key, value in found.items() if value is not None}


def _batch(tables: Mapping[str, Any], place: str) -> float:
    batch = positive(tables, "batch_g", place)
    if batch < _SMALLEST_BATCH_G:
        problem = f"is {batch:g}, and must be at least {_SMALLEST_BATCH_G:g} g"
        raise InputError(f"{place}, batch_g", problem, "Give the finished mix in grams, like 2000.")
    return batch


def _ratios(rows: Sequence[Mapping[str, Any]], keys: list[str], place: str) -> tuple[Ratio, ...]:
    found = []
    for count, row in enumerate(rows, start=1):
        where = f"{place} {count}"
        known_fields(row, ("of", "to", "value"), where)
        of, to = (_key_of(row, name, keys, where) for name in ("of", "to"))
        if of == to:
            raise InputError(where, f"compares {of} with itself", "Name two ingredients.")
        bounds = _range(row.get("value"), f"{where}, value")
        if bounds.min is not None and bounds.min < 0.0:
            raise InputError(f"{where}, value", "is below zero", "Give grams per gram, above 0.")
        found.append(Ratio(of, to, bounds))
    return tuple(found)


def _groups(rows: Sequence[Mapping[str, Any]], keys: list[str], place: str) -> tuple[Group, ...]:
    found: list[Group] = []
    for count, row in enumerate(rows, start=1):
        where = f"{place} {count}"
        known_fields(row, ("name", "keys", "percent"), where)
        members = words_in(row, "keys", where)
        for key in members:
            _member(key, keys, f"{where}, keys")
        if not members:
            raise InputError(f"{where}, keys", "is empty", "Name the ingredients of the group.")
        name = text_in(row, "name", where)
        if any(name == other.name for other in found):
            raise InputError(where, f'the name "{name}" is given twice', "Give another name.")
        found.append(Group(name, members, _range(row.get("percent"), f"{where}, percent")))
    return tuple(found)


def _key_of(row: Mapping[str, Any], name: str, keys: list[str], where: str) -> str:
    key = text_in(row, name, where)
    _member(key, keys, f"{where}, {name}")
    return key


def _member(key: str, keys: list[str], place: str) -> None:
    if key not in keys:
        hint = nearest(key, keys) or f"Ingredients here: {', '.join(keys)}."
        raise InputError(place, f'"{key}" is not an ingredient of this recipe', hint)


def _counts(table: Mapping[str, Any], where: str) -> Counts:
    fields = tuple(Counts.__dataclass_fields__)
    known_fields(table, fields, where)
    for key, value in table.items():
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 1000:
            problem = f"is {value!r}, and must be a whole number from 0"
            raise InputError(f"{where}, {key}", problem, "Give a count, like 3.")
    return Counts(**table)


def _exclude(table: Mapping[str, Any], where: str) -> Exclude:
    known_fields(table, tuple(Exclude.__dataclass_fields__), where)
    for key in ("animal", "alcohol"):
        if not isinstance(table.get(key, False), bool):
            raise InputError(f"{where}, {key}", "must be true or false", f"Write {key} = true.")
    return Exclude(
        allergens=words_in(table, "allergens", where),
        animal=table.get("animal", False),
        alcohol=table.get("alcohol", False),
        keys=words_in(table, "keys", where),
        only=words_in(table, "only", where),
    )


def _ingredients(rows: list[dict[str, Any]], place: str) -> tuple[RecipeIngredient, ...]:
    found: list[RecipeIngredient] = []
    for count, row in enumerate(rows, start=1):
        where = f"{place}, ingredient {count}"
        entry = _one_ingredient(row, where)
        if any(entry.key == other.key for other in found):
            raise InputError(f"{where} ({entry.key})", "is given twice", "Make it one entry.")
        found.append(entry)
    return tuple(found)


def _one_ingredient(row: Mapping[str, Any], where: str) -> RecipeIngredient:
    key = text_in(row, "key", where)
    where = f"{where} ({key})"
    known_fields(row, _INGREDIENT, where)
    weights = {name: optional(row, name, where) for name in _WEIGHTS}
    price = optional(row, "price_per_kg", where)
    brix = optional(row, "brix", where)
    if brix is not None and not 0.0 < brix <= 85.0:
        raise InputError(
            f"{where}, brix", f"is {brix:g}, and must be above 0 to 85 °Bx", "Read again."
        )
    fixed = row.get("fixed", False)
    if not isinstance(fixed, bool):
        raise InputError(f"{where}, fixed", "must be true or false", "Write fixed = true.")
    if fixed and weights["grams"] is None:
        raise InputError(where, "is fixed but has no grams", "Give its weight as grams.")
    low, high = weights["min_g"], weights["max_g"]
    if low is not None and high is not None and low > high:
        raise InputError(where, f"min_g {low:g} is above max_g {high:g}", "Exchange or widen them.")
    composition = row.get("composition")
    return RecipeIngredient(
        key=key,
        fixed=fixed,
        brix=brix,
        brix_temperature_c=number(
            row.get("brix_temperature_c", 20.0), f"{where}, brix_temperature_c"
        ),
        brix_plus_minus=positive(row, "brix_plus_minus", where, 0.2),
        lot=_lot(row, where),
        steps=steps_from_data(row.get("steps", []), f"{where}, steps"),
        composition=None if composition is None else _parts(composition, f"{where}, composition"),
        price_per_kg=price,
        **weights,
    )


def _lot(row: Mapping[str, Any], where: str) -> Lot | None:
    """The delivery that this ingredient comes from."""
    if "lot" not in row:
        return None
    table = row["lot"]
    if not isinstance(table, dict):
        problem = "must be a table of what is known of the delivery"
        raise InputError(f"{where}, lot", problem, "Write { supplier = …, reading = … }.")
    if "brix" in row and "reading" in table:
        problem = "is given beside the lot's own reading"
        raise InputError(f"{where}, brix", problem, "Keep one of the two.")
    return lot_from_data({**table, "key": row["key"]}, f"{where}, lot")


def _parts(parts: Any, where: str) -> dict[str, float]:
    if not isinstance(parts, dict):
        raise InputError(where, "must be a table of % by mass", "Write { water = 63.7, … }.")
    return {key: not_negative(value, f"{where}, {key}") for key, value in parts.items()}


def _targets(table: Mapping[str, Any], place: str) -> dict[str, Range]:
    return {key: _range(value, f"{place}, {key}") for key, value in table.items()}


def _serving(tables: Mapping[str, Any], place: str) -> Serving | None:
    if "serving" not in tables:
        return None
    table = table_in(tables, "serving", place)
    where = f"{place}, serving"
    known_fields(table, _SERVING, where)
    kind = table.get("kind", "")
    if kind not in ("", *serving_kinds()):
        hint = f"Known kinds: {', '.join(serving_kinds())}."
        raise InputError(f"{where}, kind", f"is {kind!r}, not a kind that is known here", hint)
    default = serving_kinds()[kind] if kind else Serving()
    window = default.frozen_water
    if "frozen_water" in table:
        window = _range(table["frozen_water"], f"{where}, frozen_water")
    for bound in (window.min, window.max):
        if bound is not None and not 0.0 <= bound < 100.0:
            problem = f"{bound:g} is not from 0 to below 100 %"
            raise InputError(f"{where}, frozen_water", problem, "Give % of water.")
    overrun = not_negative(table.get("overrun_percent", 0.0), f"{where}, overrun_percent")
    if overrun > 300.0:
        problem = f"is {overrun:g}, and must be from 0 to 300 %"
        raise InputError(f"{where}, overrun_percent", problem, "30 is usual in a small churn.")
    return Serving(
        temperature_c=_cold(table, "temperature_c", default.temperature_c, where),
        frozen_water=window,
        kind=kind,
        freezer_c=_cold(table, "freezer_c", default.freezer_c, where),
        overrun_percent=overrun,
    )


def _cold(table: Mapping[str, Any], key: str, default: float, where: str) -> float:
    """A temperature at which mixes are frozen [°C]."""
    value = number(table.get(key, default), f"{where}, {key}")
    if not -30.0 <= value < 0.0:
        problem = f"is {value:g}, and must be from -30 to below 0 °C"
        raise InputError(f"{where}, {key}", problem, "Give the temperature in °C, like -14.")
    return value


def _scale(table: Mapping[str, Any], where: str) -> Scale:
    known_fields(table, _SCALE, where)
    values = {key: positive(table, key, where) for key in table}
    return Scale(**values)


def _range(value: Any, where: str) -> Range:
    if isinstance(value, dict):
        known_fields(value, ("min", "max"), where)
        low, high = optional_number(value, "min", where), optional_number(value, "max", where)
        if low is not None and high is not None and low > high:
            raise InputError(where, f"min {low:g} is above max {high:g}", "Exchange or widen them.")
        return Range(low, high)
    exact = number(value, where)
    return Range(exact, exact)
