"""Ranges, ladders, corrections, trade-offs and shared bases in words and as plain data."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from formulate.answers import (
    BaseAnswer,
    Correction,
    Different,
    Frontier,
    Ladder,
    Price,
    Ranges,
    Span,
)
from formulate.data import made_with, versions
from formulate.mix import Assessment, fine
from formulate.recipes import Recipe
from formulate.report.figures import grams_words
from formulate.report.mixes import demand_data, demand_words, target_lines
from formulate.report.wording import sentence

__all__ = [
    "band_sentences",
    "base_data",
    "base_text",
    "correction_data",
    "correction_lines",
    "correction_text",
    "different_data",
    "different_text",
    "frontier_data",
    "frontier_text",
    "ladder_data",
    "ladder_text",
    "mix_data",
    "plain",
    "ranges_data",
    "ranges_text",
]

_INTERPOLATE_G = 1.0


def plain(value: Any) -> dict[str, Any]:
    """Return a dataclass as plain data.

    Parameters
    ----------
    value:
        A dataclass.

    Returns
    -------
    dict

    Examples
    --------
    >>> import formulate as fm
    >>> plain(fm.Range(max=27.0))
    {'min': None, 'max': 27.0}
    """
    return dict(asdict(value))


def mix_data(mix: Assessment) -> dict[str, Any]:
    """Return the weights, targets and verdict of a mix."""
    return {
        "mix": [{"key": weight.key, "grams": weight.grams} for weight in mix.weights],
        "targets": [
            {"key": target.key, "value": target.value, "met": target.met} for target in mix.targets
        ],
        "initial_freezing_point_c": mix.initial_freezing_point_c,
        "serving_frozen_water_percent": mix.serving_frozen_water,
        "verdict": mix.verdict,
    }


def ranges_text(name: str, found: Ranges) -> str:
    """Return ranges as a table, prices and newcomers as sentences.

    Parameters
    ----------
    name:
        Of the recipe.
    found:
        How far ingredients and targets can move.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> "Damsons" in ranges_text("Damson", fm.ranges(fm.load("damson_sorbet")))
    True
    """
    lines = [f"{name}: ranges, for {sentence(found.near)}", ""]
    lines += _spans([*found.ingredients, *found.targets])
    lines.append("")
    lines += [_price(price) for price in found.prices]
    for newcomer in found.newcomers:
        if newcomer.below_price is None:
            lines.append(f"{newcomer.name} would come in: the change would be smaller with it.")
        else:
            lines.append(f"{newcomer.name} would come in below {newcomer.below_price:.2f} per kg.")
    return "\n".join(lines).rstrip()


def _spans(spans: list[Span]) -> list[str]:
    width = max(len(span.name) for span in spans)
    lines = [f"{'':{width}}  {'least':>9} {'now best':>9} {'most':>9}"]
    for span in spans:
        digits = 2 if fine(span.key, (span.value,)) else (0 if span.unit == "g" else 1)
        if span.unit == "g" and span.value < 20.0:
            digits = 1
        values = " ".join(f"{value:9,.{digits}f}" for value in (span.low, span.value, span.high))
        lines.append(f"{span.name:{width}}  {values} {span.unit}")
    return lines


def _price(price: Price) -> str:
    demand = price.demand
    side = {"min": "At least", "max": "At most", "exact": "Exactly"}[demand.side]
    words = f"{side} {demand.bound:g} {demand.unit} {demand.name.lower()}"
    between = f"(so from {price.holds_from:.2f} to {price.holds_to:.2f})"
    if price.grams_per_unit is not None:
        return f"{words}: each unit of it moves {price.grams_per_unit:.0f} g {between}."
    assert price.cost_per_unit is not None
    return f"{words}: each unit of it costs {price.cost_per_unit:.3f} per kg {between}."


def ranges_data(found: Ranges) -> dict[str, Any]:
    """Return ranges as plain data.

    Parameters
    ----------
    found:
        How far ingredients and targets can move.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> ranges_data(fm.ranges(fm.load("damson_sorbet")))["ingredients"][0]["key"]
    'damson'
    """
    return {
        "slack": found.slack,
        "slack_words": sentence(found.near),
        "optimum": mix_data(found.optimum),
        "ingredients": [plain(span) for span in found.ingredients],
        "targets": [plain(span) for span in found.targets],
        "prices": [
            {**plain(price), "demand": plain(price.demand), "text": _price(price)}
            for price in found.prices
        ],
        "newcomers": [plain(newcomer) for newcomer in found.newcomers],
        "versions": versions(),
    }


def ladder_text(found: Ladder, recipe: Recipe) -> str:
    """Return a ladder as a table to pin on the wall.

    Parameters
    ----------
    found:
        One balanced mix for each reading.
    recipe:
        What was asked.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> ladder_text(fm.ladder(recipe, "damson", [11, 12]), recipe).splitlines()[0]
    'Damson sorbet, fruit at 11 °Bx: grams for 2,000 g, by the reading of damson'
    """
    heads = [name if len(name) <= 14 else f"{name[:13]}…" for name in found.names]
    lines = [f"{recipe.name}: grams for {recipe.batch_g:,.0f} g, by the reading of {found.key}", ""]
    lines.append(f"{'°Bx':>6}  " + "  ".join(f"{head:>14}" for head in heads))
    for rung in found.rungs:
        if rung.grams is None:
            lines.append(f"{rung.brix:6.2f}  no mix can do it")
        else:
            cells = "  ".join(f"{grams_words(each):>14}" for each in rung.grams)
            lines.append(f"{rung.brix:6.2f}  {cells}")
    lines.append("")
    return "\n".join([*lines, *band_sentences(found), f"Made with {made_with()}."])


def band_sentences(found: Ladder) -> list[str]:
    """Return what changes within each band of readings, and whether means may be taken in it.

    Parameters
    ----------
    found:
        One balanced mix for each reading.

    Returns
    -------
    list of str

    Examples
    --------
    >>> import formulate as fm
    >>> band_sentences(fm.ladder(fm.load("damson_sorbet"), "damson", [11, 12]))[0][:22]
    'From 11.00 to 12.00 °B'
    """
    said = []
    for band in found.bands:
        words = ", ".join(band.changing) or "nothing"
        careful = (
            f"between the rows the mean of two is within {max(band.off_by_g, 0.05):.1f} g"
            if band.off_by_g <= _INTERPOLATE_G
            else "do not take means between its rows; ask for finer steps"
        )
        said.append(f"From {band.low:.2f} to {band.high:.2f} °Bx {words} change; {careful}.")
    return said


def ladder_data(found: Ladder, recipe: Recipe) -> dict[str, Any]:
    """Return a ladder as plain data.

    Parameters
    ----------
    found:
        One balanced mix for each reading.
    recipe:
        What was asked.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> ladder_data(fm.ladder(recipe, "damson", [11, 12]), recipe)["ingredient"]
    'damson'
    """
    keys = [entry.key for entry in recipe.ingredients]
    return {
        "name": recipe.name,
        "ingredient": found.key,
        "rungs": [
            {
                "brix": rung.brix,
                "mix": None
                if rung.grams is None
                else [
                    {"key": key, "grams": each} for key, each in zip(keys, rung.grams, strict=True)
                ],
            }
            for rung in found.rungs
        ],
        "bands": [plain(band) for band in found.bands],
        "versions": versions(),
    }


def correction_text(name: str, found: tuple[Correction, ...]) -> str:
    """Return corrections as sentences.

    Parameters
    ----------
    name:
        Of the recipe.
    found:
        Ways to put a pot right.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> correction_text("Damson", fm.correct(recipe, {"damson": 1000, "sucrose": 250})).splitlines()[0]
    'Damson: putting the pot right'
    """
    return "\n".join([f"{name}: putting the pot right", "", *correction_lines(found)])


def correction_lines(found: tuple[Correction, ...]) -> list[str]:
    """Return corrections as sentences, without a heading."""
    lines = []
    for each in found:
        total = sum(weight.grams for weight in each.mix.weights)
        parts = [
            f"{grams_words(added)} g {weight.name}"
            for added, weight in zip(each.additions, each.mix.weights, strict=True)
            if grams_words(added) != "0"
        ]
        what = ", ".join(parts) or "nothing"
        head = {
            "smallest": "Smallest addition",
            "finish": "To the planned batch",
            "nearest": "No addition can put it right; nearest",
        }[each.aim]
        lines.append(f"{head}: add {what}. The pot then holds {total:,.0f} g.")
        if each.aim == "nearest":
            missed = [target.name for target in each.mix.targets if not target.met]
            lines.append(f"Still missed: {', '.join(missed)}.")
        spread = each.outlook.serving_frozen_water_deviation
        lines.append(
            f"At {each.mix.serving.temperature_c:g} °C {each.mix.serving_frozen_water:.1f} ± "
            f"{spread:.1f} % of the water is frozen: {each.mix.verdict}."
        )
    return lines


def correction_data(found: Correction) -> dict[str, Any]:
    """Return one correction as plain data.

    Parameters
    ----------
    found:
        One way to put a pot right.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> found = fm.correct(fm.load("damson_sorbet"), {"damson": 1000, "sucrose": 250})
    >>> correction_data(found[0])["aim"]
    'smallest'
    """
    return {
        "aim": found.aim,
        "additions": [
            {"key": weight.key, "grams": added}
            for weight, added in zip(found.mix.weights, found.additions, strict=True)
        ],
        **mix_data(found.mix),
        "versions": versions(),
    }


def frontier_text(name: str, found: Frontier) -> str:
    """Return a frontier as a table.

    Parameters
    ----------
    name:
        Of the recipe.
    found:
        The best trade-offs between two wishes.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> found = fm.tradeoff(fm.load("damson_sorbet"), "change", "sweetness")
    >>> frontier_text("Damson", found).splitlines()[0]
    'Damson: change against sweetness'
    """
    lines = [f"{name}: {found.first} against {found.second}", ""]
    lines.append(f"{found.first:>14}  {found.second:>14}   mix, g")
    for corner in found.corners:
        mix = ", ".join(
            f"{weight.name} {grams_words(weight.grams)}" for weight in corner.mix.weights
        )
        lines.append(f"{corner.first:14.3f}  {corner.second:14.3f}   {mix}")
    lines.append("")
    lines.append("Between two neighbouring rows, blending them gives every trade-off in between.")
    return "\n".join(lines)


def frontier_data(found: Frontier) -> dict[str, Any]:
    """Return a frontier as plain data.

    Parameters
    ----------
    found:
        The best trade-offs between two wishes.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> frontier_data(fm.tradeoff(fm.load("damson_sorbet"), "change", "sweetness"))["second"]
    'sweetness'
    """
    return {
        "first": found.first,
        "second": found.second,
        "corners": [
            {"first": corner.first, "second": corner.second, **mix_data(corner.mix)}
            for corner in found.corners
        ],
        "versions": versions(),
    }


def different_text(name: str, found: tuple[Different, ...]) -> str:
    """Return alternatives as a list, each with the way in which it differs.

    Parameters
    ----------
    name:
        Of the recipe.
    found:
        Mixes of different sets of ingredients.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import different_mixes
    >>> different_text("Damson", different_mixes(fm.load("damson_sorbet"), 1)).splitlines()[0]
    'Damson: really different mixes'
    """
    if not found:
        return f"{name}: no really different mix meets the targets within the usual."
    lines = [f"{name}: really different mixes", ""]
    for count, each in enumerate(found, start=1):
        parts = [
            f"{weight.name} {grams_words(weight.grams)} g"
            for weight in each.mix.weights
            if weight.grams > 1e-6
        ]
        lines.append(f"{count}. {sentence(each.way)}: {', '.join(parts)}; {each.mix.verdict}.")
    return "\n".join(lines)


def different_data(found: tuple[Different, ...]) -> dict[str, Any]:
    """Return alternatives as plain data.

    Parameters
    ----------
    found:
        Mixes of different sets of ingredients.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import different_mixes
    >>> list(different_data(different_mixes(fm.load("damson_sorbet"), 1)))
    ['mixes', 'versions']
    """
    mixes = [
        {"way": each.way.code, "text": sentence(each.way), **mix_data(each.mix)} for each in found
    ]
    return {"mixes": mixes, "versions": versions()}


def base_text(name: str, found: BaseAnswer) -> str:
    """Return a shared base and its mixes with their targets, or why no base serves all.

    Parameters
    ----------
    name:
        What the mixes are called together.
    found:
        The base and its mixes.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import menu_from_mapping
    >>> tables = {
    ...     "base": [{"key": "whole_milk", "grams": 700}, {"key": "sucrose", "grams": 180}],
    ...     "mix": [{"name": "Plain", "batch_g": 1000, "base_g": 1000, "target": {}}],
    ... }
    >>> found = fm.base(menu_from_mapping(tables, "milk base"))
    >>> base_text("milk base", found).splitlines()[0]
    'milk base: one base for 1 mix'
    """
    if found.status == "impossible":
        lines = [f"{name}: no base serves all of these mixes.", "These cannot hold together:"]
        lines += [
            f"- {clash.mix or 'base'}: {demand_words(clash.demand)}" for clash in found.conflict
        ]
        return "\n".join(lines)
    mixes = "1 mix" if len(found.mixes) == 1 else f"{len(found.mixes)} mixes"
    lines = [f"{name}: one base for {mixes}", ""]
    width = max(len(each) for each in found.names)
    for each, weight in zip(found.names, found.base, strict=True):
        lines.append(f"{each:{width}}  {grams_words(weight):>9} g")
    for flavour, mix in zip(found.flavours, found.mixes, strict=True):
        parts = [f"{weight.name} {grams_words(weight.grams)} g" for weight in mix.weights]
        lines += ["", f"{flavour}: {mix.verdict} at {mix.serving.temperature_c:g} °C."]
        lines += [", ".join(parts), *target_lines(mix)]
    return "\n".join(lines)


def base_data(name: str, found: BaseAnswer) -> dict[str, Any]:
    """Return a shared base and its mixes as plain data, or why no base serves all.

    Parameters
    ----------
    name:
        What the mixes are called together.
    found:
        The base and its mixes.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import menu_from_mapping
    >>> tables = {
    ...     "base": [{"key": "whole_milk", "grams": 700}, {"key": "sucrose", "grams": 180}],
    ...     "mix": [{"name": "Plain", "batch_g": 1000, "base_g": 1000, "target": {}}],
    ... }
    >>> found = fm.base(menu_from_mapping(tables, "milk base"))
    >>> base_data("milk base", found)["name"]
    'milk base'
    """
    data: dict[str, Any] = {"name": name, "status": found.status}
    if found.status == "impossible":
        data["conflict"] = [
            {"mix": clash.mix, **demand_data(clash.demand)} for clash in found.conflict
        ]
        data["messages"] = base_text(name, found).splitlines()
        return data | {"versions": versions()}
    data["base"] = [
        {"key": key, "name": each, "grams": weight}
        for key, each, weight in zip(found.keys, found.names, found.base, strict=True)
    ]
    data["mixes"] = [
        {"name": flavour, **mix_data(mix)}
        for flavour, mix in zip(found.flavours, found.mixes, strict=True)
    ]
    return data | {"change": found.change, "versions": versions()}
