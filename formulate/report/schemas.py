"""JSON Schema of each file that is read, made from the same fields by which the files are read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date as Date
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from formulate.errors import InputError, nearest
from formulate.ingredients import OWN_KEYS, Lot
from formulate.labels import label_fields
from formulate.planning import MENU_FIELDS, SERVE_FIELDS, SHELF_FIELDS
from formulate.recipes import (
    OBJECTIVES,
    ROLES,
    VERBS,
    Balance,
    Counts,
    Exclude,
    Range,
    RecipeIngredient,
    Scale,
    Serving,
    Step,
    serving_kinds,
    styles,
    target_keys,
)
from formulate.report.answer_schema import answer_schema

__all__ = ["SCHEMAS", "schema"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_Schema = dict[str, Any]

#: What there is a schema of.
SCHEMAS: tuple[str, ...] = ("recipe", "menu", "pack", "base", "result")

_NUMBER: _Schema = {"type": "number"}
_TEXT: _Schema = {"type": "string"}
_PLAIN: Mapping[Any, _Schema] = {
    float: _NUMBER,
    int: {"type": "integer"},
    str: _TEXT,
    bool: {"type": "boolean"},
    Date: {"type": "string", "format": "date"},
}
_RANGE: _Schema = {
    "description": "a number is exactly that value; either bound may be left out",
    "anyOf": [
        _NUMBER,
        {
            "type": "object",
            "properties": {"min": _NUMBER, "max": _NUMBER},
            "additionalProperties": False,
        },
    ],
}


def schema(what: str) -> dict[str, Any]:
    """Return the JSON Schema of a file, or of what ``balance`` and ``check`` answer with ``--json``.

    Dates of a TOML file count as their text.

    Parameters
    ----------
    what:
        One of :data:`SCHEMAS`; ``menu`` is that of a week, ``base`` that of a shared base.

    Returns
    -------
    dict
        Draft 2020-12.

    Raises
    ------
    InputError
        If there is none of that.

    Notes
    -----
    Source: JSON Schema, draft 2020-12, json-schema.org.

    Examples
    --------
    >>> sorted(schema("recipe")["required"])
    ['batch_g', 'ingredient', 'name']
    """
    made = {
        "recipe": _recipe,
        "menu": _menu,
        "pack": _pack,
        "base": _base,
        "result": answer_schema,
    }
    if what not in made:
        remedy = nearest(what, SCHEMAS) or f"There are {', '.join(SCHEMAS)}."
        problem = "is nothing that there is a schema of"
        raise InputError("schema", f'"{what}" {problem}', remedy, value=what, allowed=SCHEMAS)
    return {"$schema": _DRAFT, "title": f"formulate: {what}", **made[what]()}


def _recipe() -> _Schema:
    bounds = dict.fromkeys(sorted(target_keys()), _RANGE)
    return _table(
        {
            "name": _TEXT,
            "batch_g": {"type": "number", "minimum": 1, "description": "finished mix wanted, g"},
            "style": {"enum": sorted(styles())},
            "ingredient": _list(_ingredient(), least=1),
            "target": _table(bounds),
            "serving": _part(Serving, kind={"enum": sorted(serving_kinds())}),
            "scale": _part(Scale),
            "ratio": _list(_table({"of": _TEXT, "to": _TEXT, "value": _RANGE}, ("of", "to"))),
            "group": _list(
                _table({"name": _TEXT, "keys": _list(_TEXT), "percent": _RANGE}, ("name", "keys"))
            ),
            "limits": _part(Counts),
            "exclude": _part(Exclude),
            "balance": _part(Balance, objective={"enum": list(OBJECTIVES)}),
        },
        ("name", "batch_g", "ingredient"),
    )


def _ingredient() -> _Schema:
    own = dict.fromkeys(sorted(OWN_KEYS), _NUMBER)
    lot = _part(Lot)
    del lot["properties"]["key"]
    lot["required"] = []
    return _part(RecipeIngredient, composition=_table(own), lot=lot, role={"enum": sorted(ROLES)})


def _base() -> _Schema:
    mix = _recipe()
    mix["properties"]["base_g"] = {"type": "number", "description": "base that the mix takes, g"}
    mix["required"] = ["name", "batch_g", "base_g"]
    tables = {"name": _TEXT, "base": _list(_ingredient(), least=1), "mix": _list(mix, least=1)}
    return _table(tables, ("base", "mix"))


def _menu() -> _Schema:
    day = {
        "type": "string",
        "description": "a date, or a weekday where the menu says when it begins",
    }
    more = {"brix": _NUMBER, "plus_minus": _NUMBER}
    lot = _part(Lot)["properties"] | more
    serve = {"day": day, "service": _TEXT, "recipe": _TEXT, "portions": {"type": "integer"}}
    top = {
        "name": _TEXT,
        "begins": _PLAIN[Date],
        "keeps_days": {"type": "integer"},
        "together": {"type": "boolean"},
        "serve": _list(_named(SERVE_FIELDS, serve, ("day", "recipe")), least=1),
        "lot": _list(_named(SHELF_FIELDS, lot, ("key", "name"))),
    }
    return _named(MENU_FIELDS, top, ("name", "churn_g", "serve"))


def _pack() -> _Schema:
    figures, choices = label_fields()
    figure = {"type": ["number", "string"], "description": "as printed, like 0.2 or <0.5"}
    found: _Schema = dict.fromkeys(figures, figure)
    found |= {key: {"enum": list(words)} for key, words in choices.items()}
    return _table(found | {"ingredients": _list(_TEXT)})


def _part(kind: type, /, **instead: _Schema) -> _Schema:
    """A table of which a dataclass holds the fields; what has no default must be there."""
    hints = get_type_hints(kind)
    found = {each.name: instead.get(each.name, _of(hints[each.name])) for each in fields(kind)}
    return _table(found, _needed(kind))


def _needed(kind: type) -> tuple[str, ...]:
    from dataclasses import MISSING

    free = (MISSING, MISSING)
    return tuple(each.name for each in fields(kind) if (each.default, each.default_factory) == free)


def _of(hint: Any) -> _Schema:
    """The schema of a type, as a file writes it."""
    if hint in _PLAIN:
        return _PLAIN[hint]
    if hint is Range:
        return _RANGE
    if hint is Step:
        words = {"do": {"enum": list(VERBS)}}
        settings = {"type": ["number", "boolean", "string"]}
        return {**_table(words, ("do",)), "additionalProperties": settings}
    inner = [each for each in get_args(hint) if each not in (type(None), Ellipsis)]
    if get_origin(hint) in (Union, UnionType):
        return _of(inner[0])
    if get_origin(hint) is tuple:
        return _list(_of(inner[0]))
    if is_dataclass(hint) and isinstance(hint, type):
        return _part(hint)
    return {"type": "object"}


def _named(names: Iterable[str], known: Mapping[str, Any], needed: tuple[str, ...]) -> _Schema:
    """A table of these fields, numbers but for what is known otherwise."""
    return _table({name: known.get(name, _NUMBER) for name in names}, needed)


def _table(found: Mapping[str, Any], needed: Iterable[str] = ()) -> _Schema:
    return {
        "type": "object",
        "properties": dict(found),
        "required": list(needed),
        "additionalProperties": False,
    }


def _list(each: _Schema, least: int = 0) -> _Schema:
    return {"type": "array", "items": each} | ({"minItems": least} if least else {})
