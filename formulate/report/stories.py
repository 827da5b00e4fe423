"""What may have happened to a pot, in words and as plain data."""

from __future__ import annotations

from typing import Any

from formulate.answers import Diagnosis, Measurement, Repair, Story
from formulate.messages import message
from formulate.report.questions import correction_data, correction_lines, plain
from formulate.report.wording import sentence

__all__ = ["diagnosis_data", "diagnosis_text", "repair_data", "repair_text"]

_UNUSUAL = 2.0
_SHOWN, _LEAST_SHOWN = 5, 0.005


def diagnosis_text(name: str, found: Diagnosis) -> str:
    """Return what may have happened to a pot as sentences, likeliest first.

    Parameters
    ----------
    name:
        Of the recipe.
    found:
        What may have happened.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import Evidence, diagnose
    >>> "26.0" in diagnosis_text("Damson", diagnose(fm.load("damson_sorbet"), Evidence((26.0,))))
    True
    """
    lines = [f"{name}: what happened to the pot?", "", *_measured(found)]
    if found.unusual < _UNUSUAL:
        lines.append(sentence(message("pot_as_usual")))
    else:
        lines.append(sentence(message("pot_unusual", unusual=found.unusual)))
    if found.cloudy:
        lines.append(sentence(message("pot_cloudy")))
    if not found.explained:
        lines.append(sentence(message("pot_unexplained", what=found.stories[0].what)))
        return "\n".join(lines)
    lines += ["", *(_story(each) for each in _shown(found)), ""]
    if found.told_apart:
        lines.append(sentence(message("told_apart", what=found.stories[0].what)))
    else:
        lines.append(sentence(message("not_told_apart", count=float(found.leaders))))
        lines.append(
            sentence(message("none_decides")) if found.measure is None else _tells(found.measure)
        )
    lines.append(sentence(message("pot_chances")))
    return "\n".join(lines)


def repair_text(found: Repair) -> str:
    """Return what puts a pot right if a story is true.

    Parameters
    ----------
    found:
        What puts the pot right.

    Returns
    -------
    str

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import Evidence, diagnose, put_right
    >>> recipe = fm.load("damson_sorbet")
    >>> repair_text(put_right(recipe, diagnose(recipe, Evidence((26.0,))).stories[0])) != ""
    True
    """
    lines = [sentence(message("if_so", what=found.story.what))]
    if found.water_g > 0.0:
        lines.append(sentence(message("water_back", grams=found.water_g)))
    lines += correction_lines(found.corrections)
    return "\n".join(lines if len(lines) > 1 else [*lines, sentence(message("on_plan"))])


def diagnosis_data(found: Diagnosis) -> dict[str, Any]:
    """Return what may have happened to a pot as plain data.

    Parameters
    ----------
    found:
        What may have happened.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import Evidence, diagnose
    >>> "stories" in diagnosis_data(diagnose(fm.load("damson_sorbet"), Evidence((26.0,))))
    True
    """
    return {
        "reads": list(found.evidence.reads),
        "weighs_g": found.evidence.weighs_g,
        "planned_brix": found.planned_brix,
        "planned_g": found.planned_g,
        "unusual": found.unusual,
        "explained": found.explained,
        "cloudy": found.cloudy,
        "told_apart": found.told_apart,
        "leaders": found.leaders,
        "stories": [_story_data(each) for each in found.stories],
        "measure": None if found.measure is None else _measure_data(found.measure),
    }


def repair_data(found: Repair) -> dict[str, Any]:
    """Return what puts a pot right if a story is true as plain data.

    Parameters
    ----------
    found:
        What puts the pot right.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import Evidence, diagnose, put_right
    >>> recipe = fm.load("damson_sorbet")
    >>> repair_data(put_right(recipe, diagnose(recipe, Evidence((26.0,))).stories[0])) != {}
    True
    """
    return {
        "story": _story_data(found.story),
        "water_g": found.water_g,
        "corrections": [correction_data(each) for each in found.corrections],
    }


def _measured(found: Diagnosis) -> list[str]:
    lines = []
    seen = found.evidence
    if seen.reads:
        reads = ", ".join(f"{each:.1f}" for each in seen.reads)
        lines.append(sentence(message("pot_reads", reads=reads, planned_brix=found.planned_brix)))
    if seen.weighs_g is not None:
        lines.append(
            sentence(message("pot_weighs", weighs=seen.weighs_g, planned_g=found.planned_g))
        )
    return lines


def _shown(found: Diagnosis) -> list[Story]:
    """The leaders that fit on a card, and the next ones that have any chance."""
    return [each for each in found.stories[:_SHOWN] if each.probability >= _LEAST_SHOWN]


def _story(story: Story) -> str:
    said = message(
        "story",
        percent=100.0 * story.probability,
        what=story.what,
        weighs_g=story.weighs_g,
        reads_brix=story.reads_brix,
    )
    return f"- {sentence(said)}"


def _tells(measure: Measurement) -> str:
    outcomes = [
        sentence(
            message(
                f"shows_{measure.how}",
                value=each.value,
                plus_minus=each.plus_minus,
                planned=measure.planned,
                what=each.what,
            )
        )
        for each in measure.foretold[:_SHOWN]
    ]
    return f"{sentence(message(f'measure_{measure.how}'))}: {'; '.join(outcomes)}."


def _story_data(story: Story) -> dict[str, Any]:
    return plain(story) | {"what": sentence(story.what)}


def _measure_data(measure: Measurement) -> dict[str, Any]:
    foretold = [plain(each) | {"what": sentence(each.what)} for each in measure.foretold]
    return plain(measure) | {"foretold": foretold}
