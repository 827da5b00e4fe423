"""The cold side of a mix as facts: where it scoops, what the freezer does, doubts, a second opinion."""

from __future__ import annotations

from desk.hand.units import degrees, temperature, temperature_unit
from desk.pictures.plain import block, heading, paragraphs, table, text
from formulate import Result
from formulate.report import (
    PLUS_MINUS,
    chance_words,
    raised,
    remedy,
    second_opinion_sentences,
    sentence,
)

__all__ = ["cold_facts", "curve_table", "doubts_html", "opinion_html", "watch_html"]


def cold_facts(mixes: dict[str, Result]) -> str:
    """One row per question, one column per mix."""
    rows = [
        ["Scoops best at", *(_best(result) for result in mixes.values())],
        ["In its serving window", *(_window(result) for result in mixes.values())],
        ["Frozen when served", *(_frozen(result) for result in mixes.values())],
        ["Will scoop", *(_chance(result) for result in mixes.values())],
        ["Frozen in the freezer", *(_freezer(result) for result in mixes.values())],
        ["First ice", *(_first_ice(result) for result in mixes.values())],
    ]
    if any(result.mix.serving.overrun_percent > 0.0 for result in mixes.values()):
        shares = (f"{result.outlook.ice_volume_percent:.0f} %" for result in mixes.values())
        rows.append(["Ice when served, by volume with the air", *shares])
    heads = ["~Question", *(name.capitalize() for name in mixes)]
    cells = [[text(row[0]), *(text(cell) for cell in row[1:])] for row in rows]
    numbers = tuple(range(1, len(heads)))
    return table("What to expect of each mix", heads, cells, kind="expect", numbers=numbers)


def watch_html(mixes: dict[str, Result]) -> str:
    """What may go wrong, once for each sentence."""
    found: dict[str, list[str]] = {}
    for name, result in mixes.items():
        for risk in result.outlook.risks:
            found.setdefault(sentence(risk), []).append(name)
    if not found:
        return ""
    items = "".join(
        f"<li>{text(words)}{_only(names, mixes)}</li>" for words, names in found.items()
    )
    return block("note watch", f'<h3 class="head">Watch out</h3><ul>{items}</ul>')


def doubts_html(result: Result) -> str:
    """What makes the prediction uncertain, largest first, and what would help."""
    causes = result.outlook.causes
    helps = any(remedy(cause.what) for cause in causes)
    rows = [
        [text(raised(sentence(cause.what))), f"{cause.share_percent:.0f} %"]
        + ([text(remedy(cause.what))] if helps else [])
        for cause in causes
    ]
    heads = ["Where the ± comes from", "Share", *(["What helps"] if helps else [])]
    return heading("How sure that is", PLUS_MINUS) + table(
        "What makes the frozen water uncertain", heads, rows, numbers=(1,)
    )


def opinion_html(result: Result) -> str:
    """The classical method beside this one, and why they differ."""
    opinion, mix = result.outlook.second_opinion, result.mix
    unit = temperature_unit()
    frozen = "–" if opinion.frozen_water is None else f"{opinion.frozen_water:.0f} %"
    rows = [
        [
            "First ice",
            text(temperature(mix.initial_freezing_point_c, digits=2)),
            text(temperature(opinion.initial_freezing_point_c, digits=2))
            if opinion.initial_freezing_point_c is not None
            else "–",
        ],
        ["Frozen when served", f"{mix.serving_frozen_water:.0f} %", frozen],
    ]
    rows += [
        [f"Lowered by {text(reason.group)}"]
        + [f"{degrees(each):.2f} {unit}" for each in (reason.here, reason.classical)]
        for reason in opinion.reasons[:3]
    ]
    return (
        heading("A second opinion", "Sucrose equivalents, the method of the textbooks.")
        + table("Two methods", ["~Figure", "Here", "Classical"], rows, numbers=(1, 2))
        + paragraphs(second_opinion_sentences(result), "under")
    )


def curve_table(mixes: dict[str, Result]) -> str:
    """The curve as numbers."""
    first = next(iter(mixes.values()))
    rows = []
    for place, (celsius, _) in enumerate(first.mix.frozen_water):
        cells = [
            f"{result.mix.frozen_water[place][1]:.1f} ± "
            f"{result.outlook.frozen_water_deviation[place]:.1f} %"
            for result in mixes.values()
        ]
        rows.append([text(temperature(celsius, digits=0)), *cells])
    heads = ["Temperature", *(f"Frozen water, {name}" for name in mixes)]
    return table("The freezing curve", heads, rows, numbers=tuple(range(1, len(heads))))


def _best(result: Result) -> str:
    return temperature(
        result.mix.serving_temperature_c, result.outlook.serving_temperature_deviation
    )


def _window(result: Result) -> str:
    warm, cold = result.outlook.scoops_between_c
    if warm is None and cold is None:
        return "never above " + temperature(-30.0, digits=0)
    if warm is None or cold is None:
        return f"from {temperature(warm if cold is None else cold)}"
    return f"{temperature(warm)} to {temperature(cold)}"


def _frozen(result: Result) -> str:
    spread = result.outlook.serving_frozen_water_deviation
    served = temperature(result.mix.serving.temperature_c)
    return f"{result.mix.serving_frozen_water:.1f} ± {spread:.1f} % at {served}"


def _chance(result: Result) -> str:
    return chance_words(result.chance.scoopable)


def _freezer(result: Result) -> str:
    serving, frozen = result.mix.serving, result.outlook.freezer_frozen_water
    _, cold = result.outlook.scoops_between_c
    words = f"{frozen:.0f} % at {temperature(serving.freezer_c)}"
    return f"{words}: temper it first" if cold is not None and serving.freezer_c < cold else words


def _first_ice(result: Result) -> str:
    return temperature(
        result.mix.initial_freezing_point_c,
        result.outlook.initial_freezing_point_deviation,
        digits=2,
    )


def _only(names: list[str], mixes: dict[str, Result]) -> str:
    return "" if len(names) == len(mixes) else f" <small>({text(names[0])} only)</small>"
