"""JSON Schema of the answer of ``balance`` and ``check``, every field with what it says."""

from __future__ import annotations

from typing import Any

from formulate.answers import Certainty, Which

__all__ = ["answer_schema"]

_Schema = dict[str, Any]

_CHANCE = {"type": "number", "minimum": 0, "maximum": 1}
_NUMBER = {"type": "number"}
_MAYBE = {"type": ["number", "null"]}
_TEXT = {"type": "string"}


def _said(says: str, about: _Schema) -> _Schema:
    return {**about, "description": says}


def _rows(**found: _Schema) -> _Schema:
    return {"type": "array", "items": _table(**found)}


def _table(**found: _Schema) -> _Schema:
    return {"type": "object", "properties": found, "required": list(found)}


_MIX: _Schema = {
    "type": "array",
    "items": {
        "type": "object",
        "properties": {
            "key": _TEXT,
            "grams": _NUMBER,
            "before": _said("present weight, null where none is given", _MAYBE),
            "bought_g": _said("as bought, where there are steps", _NUMBER),
            "reached_g": _said("what of it reaches the mix, where there are steps", _NUMBER),
        },
        "required": ["key", "grams"],
        "additionalProperties": False,
    },
}
_ALWAYS: _Schema = {
    "name": _TEXT,
    "batch_g": _said("finished mix, g", _NUMBER),
    "status": {"enum": ["balanced", "impossible", "meets", "misses"]},
    "which": _said(
        "which mix this is: the weights as they stand, or the balanced mix",
        {"enum": [str(each) for each in Which]},
    ),
    "mix": _said("weights, g; where none is possible those that miss least", _MIX),
    "properties": {"type": "object", "additionalProperties": _NUMBER},
    "initial_freezing_point_c": _MAYBE,
    "frozen_water": _rows(
        temperature_c=_NUMBER,
        percent=_said("of all water", _NUMBER),
        plus_minus=_said("one standard deviation, % of all water", _NUMBER),
    ),
    "serving_temperature_c": _said("where frozen water is in the middle of the window", _MAYBE),
    "serving_frozen_water_percent": _NUMBER,
    "verdict": _TEXT,
    "cold": _said("what to expect in the cold, and what makes it uncertain", {"type": "object"}),
    "targets": _rows(
        key=_TEXT,
        name=_TEXT,
        unit=_TEXT,
        min=_MAYBE,
        max=_MAYBE,
        value=_NUMBER,
        met={"type": "boolean"},
    ),
    "messages": {"type": "array", "items": _TEXT},
    "cautions": {"type": "array", "items": _TEXT},
    "chance": _table(
        all_targets=_said("that every target holds together", _CHANCE),
        scoopable=_said("that frozen water is in the window at the stated temperature", _CHANCE),
        in_service=_said("the same with the cabinet's swing", _CHANCE),
        error=_said("standard error of these", _NUMBER),
        targets=_rows(key=_TEXT, chance=_CHANCE),
    ),
    "certainty": _said(
        "sure: scoopable at least 0.9 and all_targets at least 0.8; likely: 0.7 and 0.5; toss_up: "
        "below; misses: a target is missed, or it does not scoop",
        {"enum": [str(each) for each in Certainty]},
    ),
    "margin": _said(
        "least distance of an uncertain target from its bounds, in its standard deviations; null "
        "where nothing is uncertain, or no mix was chosen",
        _MAYBE,
    ),
    "warnings": _said(
        "what must be known first, the gravest first; code is stable, text is for people",
        _rows(
            code=_TEXT,
            key={"type": ["string", "null"]},
            value=_MAYBE,
            limit=_MAYBE,
            text=_TEXT,
        ),
    ),
    "present_scoops_at_c": _said(
        "serving temperature at which the recipe as it stands would be right, null where unknown",
        _MAYBE,
    ),
    "versions": {"type": "object", "additionalProperties": _TEXT},
}
_DEMAND = _table(kind=_TEXT, key=_TEXT, side=_TEXT, bound=_NUMBER, field=_TEXT, text=_TEXT)
_SOMETIMES: _Schema = {
    "exact_grams": _said(
        "weights before rounding to the scale, g", {"type": "array", "items": _NUMBER}
    ),
    "recipe": _said("the balanced recipe as TOML, where it was asked for", _TEXT),
    "conflict": _said(
        "where none is possible: the smallest set that cannot hold together",
        {"type": "array", "items": _DEMAND},
    ),
    "contradiction_g": _NUMBER,
    "proposals": _said(
        "ways out, each solved: serve, relax, together, add, or of counts",
        _rows(kind=_TEXT, text=_TEXT, mix=_MIX),
    ),
    "nearest": _MIX,
    "reach": _rows(key=_TEXT, min=_MAYBE, max=_MAYBE, given={"enum": ["others", "limits", "none"]}),
}
_IMPOSSIBLE = ("conflict", "contradiction_g", "proposals", "nearest", "reach")


def answer_schema() -> dict[str, Any]:
    """Return the schema of one answer, without its head."""
    return {
        "type": "object",
        "properties": {**_ALWAYS, **_SOMETIMES},
        "required": list(_ALWAYS),
        "additionalProperties": False,
        "if": {"properties": {"status": {"const": "impossible"}}},
        "then": {"required": list(_IMPOSSIBLE)},
    }
