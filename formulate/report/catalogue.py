"""Looking into the ingredient table: search, and every number with its source."""

from __future__ import annotations

from typing import Any

from formulate.data import data_folder, read_rows
from formulate.ingredients import COMPONENT_KEYS, Ingredient, ingredient_table, position

__all__ = ["ingredients_data", "ingredients_text", "search"]


def search(word: str) -> tuple[Ingredient, ...]:
    """Return the ingredients whose key, name or kind contains ``word``; all for an empty word.

    Parameters
    ----------
    word:
        Part of a key, name or kind, in any case.

    Returns
    -------
    tuple of Ingredient

    Examples
    --------
    >>> [entry.key for entry in search("damson")]
    ['damson', 'damson_puree_10']
    """
    wanted = word.strip().lower().replace(" ", "_")
    return tuple(
        entry
        for entry in ingredient_table().values()
        if any(
            wanted in text.lower().replace(" ", "_") for text in (entry.key, entry.name, entry.kind)
        )
    )


def ingredients_data(found: tuple[Ingredient, ...]) -> list[dict[str, Any]]:
    """Return ingredients as plain data, each number of a composition with its basis and source.

    Parameters
    ----------
    found:
        Ingredients of the table.

    Returns
    -------
    list of dict
        Ready for JSON.

    Examples
    --------
    >>> ingredients_data(search("sucrose"))[0]["composition"]
    {'sucrose': 100.0}
    """
    sources: dict[str, list[dict[str, str]]] = {}
    for row in read_rows(data_folder() / "provenance.csv"):
        sources.setdefault(row["key"], []).append(
            {name: cell for name, cell in row.items() if name != "key" and cell}
        )
    return [
        {
            "key": entry.key,
            "name": entry.name,
            "kind": entry.kind,
            "composition": _parts(entry),
            "edible_percent": entry.edible_percent,
            "allergens": list(entry.allergens),
            "usual": entry.usual,
            "sources": sources.get(entry.key, []),
        }
        for entry in found
    ]


def ingredients_text(found: tuple[Ingredient, ...]) -> str:
    """Return ingredients as text, one line each; a single one with its sources.

    Parameters
    ----------
    found:
        Ingredients of the table.

    Returns
    -------
    str

    Examples
    --------
    >>> ingredients_text(search("sucrose")).splitlines()[0].split()[0]
    'sucrose'
    """
    lines = []
    for entry in found:
        parts = ", ".join(f"{name} {value:.1f}" for name, value in _largest(entry))
        lines.append(f"{entry.key:28} {entry.name}: {parts} % …")
    if len(found) == 1:
        lines.append("")
        for row in ingredients_data(found)[0]["sources"]:
            value = row.get("grams_per_100g", "")
            lines.append(
                f"  {row['component']:22} {value:>8}  {row['basis']:13} {row.get('source', '')}"
                f" {row.get('source_row', '')}"
            )
    return "\n".join(lines)


def _parts(entry: Ingredient) -> dict[str, float]:
    values = {key: float(entry.composition[position(key)]) for key in COMPONENT_KEYS}
    parts = {key: value for key, value in values.items() if value > 0.0}
    power = float(entry.composition[position("syrup_reducing_power")])
    if values["glucose_syrup_solids"] > 0.0:
        parts["dextrose_equivalent"] = round(100.0 * power / values["glucose_syrup_solids"], 2)
    return parts


def _largest(entry: Ingredient) -> list[tuple[str, float]]:
    values = [(key, float(entry.composition[position(key)])) for key in COMPONENT_KEYS]
    return sorted(values, key=lambda pair: -pair[1])[:3]
