"""A recipe read as this kitchen does it: what was learned stands in wherever the cook gave nothing.

What a recipe says itself always wins, so that the same file with the same notebook gives the same mix.
"""

from __future__ import annotations

from dataclasses import replace

from formulate.ingredients import ingredient_table
from formulate.messages import Message, message
from formulate.notebook.batch_records import batches, made_recipe
from formulate.notebook.deliveries import lots
from formulate.notebook.learning import Kitchen, LearnedSetting, learn_kitchen
from formulate.notebook.store import Notebook
from formulate.recipes import VERBS, Range, Recipe, RecipeIngredient, Serving, Step, serving_kinds

__all__ = ["as_learned", "kitchen_of"]

_MOST_SPREAD = 95.0  # as much as a recipe may give [%]


def kitchen_of(notebook: Notebook) -> Kitchen:
    """Return what the batches, verdicts, weighings and lots of a notebook teach.

    Parameters
    ----------
    notebook:
        The notebook, open.

    Returns
    -------
    Kitchen

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     kitchen_of(notebook).windows
    {}
    """
    teaching = [batch for batch in batches(notebook) if not batch.struck]
    recipes = {batch.number: made_recipe(notebook, batch.number) for batch in teaching}
    return learn_kitchen(teaching, recipes, lots(notebook))


def as_learned(recipe: Recipe, kitchen: Kitchen) -> tuple[Recipe, tuple[Message, ...]]:
    """Return the recipe with what the kitchen has learned, and what was changed.

    The serving window and temperature, where the recipe leaves them to the kind of dessert; settings of
    steps that it leaves to the usual ones; and the reading of an ingredient whose lot was not read.

    Parameters
    ----------
    recipe:
        The recipe.
    kitchen:
        What was learned, from :func:`kitchen_of`.

    Returns
    -------
    tuple of Recipe and tuple

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     as_learned(fm.load("damson_sorbet"), kitchen_of(notebook))[1]
    ()
    """
    entries: list[RecipeIngredient] = []
    said: list[Message] = []
    for entry in recipe.ingredients:
        changed, told = _entry(entry, kitchen)
        entries.append(changed)
        said += told
    serving, told = _serving(recipe.serving, kitchen)
    said += told
    return replace(recipe, ingredients=tuple(entries), serving=serving), tuple(said)


def _serving(serving: Serving | None, kitchen: Kitchen) -> tuple[Serving | None, list[Message]]:
    if serving is None:
        return serving, []
    serving, said = _served(serving, kitchen)
    if serving.kind not in kitchen.windows:
        return serving, said
    usual = serving_kinds().get(serving.kind, Serving()).frozen_water
    learned = kitchen.windows[serving.kind]
    if serving.frozen_water != usual or not learned.verdicts:
        return serving, said
    low, high = round(learned.window.min or 0.0, 1), round(learned.window.max or 100.0, 1)
    told = message(
        "learned_window",
        low=low,
        high=high,
        usual_low=usual.min,
        usual_high=usual.max,
        verdicts=learned.verdicts,
    )
    return replace(serving, frozen_water=Range(low, high)), [*said, told]


def _served(serving: Serving, kitchen: Kitchen) -> tuple[Serving, list[Message]]:
    """At what it is really served here, where the recipe has the usual temperature of its kind."""
    usual = serving_kinds().get(serving.kind, Serving()).temperature_c
    learned = kitchen.served.get(serving.kind)
    if learned is None or serving.temperature_c != usual:
        return serving, []
    there = min(max(round(learned.mean.value, 1), -30.0), -1.0)
    if there == usual:
        return serving, []
    told = message(
        "learned_serving_temperature",
        value=there,
        plus_minus=learned.deviation.value,
        usual=usual,
        batches=learned.batches,
    )
    return replace(serving, temperature_c=there), [told]


def _entry(entry: RecipeIngredient, kitchen: Kitchen) -> tuple[RecipeIngredient, list[Message]]:
    table = ingredient_table()
    name = table[entry.key].name if entry.key in table else entry.key
    said: list[Message] = []
    steps = list(entry.steps)
    for learned in kitchen.settings:
        for index, step in enumerate(steps):
            if learned.key == entry.key and step.do == learned.step and _is_open(step, learned):
                steps[index] = _with(step, learned)
                said.append(
                    message(
                        "learned_setting",
                        key=entry.key,
                        name=name,
                        step=step.do,
                        setting=learned.setting,
                        value=learned.value.value,
                        usual=learned.usual,
                        weighings=learned.weighings,
                    )
                )
    entry = replace(entry, steps=tuple(steps))
    unread = entry.brix is None and (entry.lot is None or entry.lot.reading is None)
    for fruit in kitchen.lots:
        if fruit.key == entry.key and entry.composition is None and unread:
            brix, deviation = round(fruit.mean.value, 1), round(fruit.deviation.value, 1)
            entry = replace(entry, brix=brix, brix_plus_minus=max(deviation, 0.1))
            said.append(
                message(
                    "learned_reading",
                    key=entry.key,
                    name=name,
                    value=brix,
                    plus_minus=deviation,
                    usual=fruit.usual,
                    lots=fruit.lots,
                )
            )
    return entry, said


def _is_open(step: Step, learned: LearnedSetting) -> bool:
    """Whether the cook has said nothing that decides this setting."""
    own = {name for name, _ in step.settings}
    return not own & {learned.setting, *VERBS[step.do].ends}


def _with(step: Step, learned: LearnedSetting) -> Step:
    settings = [pair for pair in step.settings if pair[0] != "spread_percent"]
    settings.append((learned.setting, round(learned.value.value, 3)))
    settings.append(("spread_percent", round(min(learned.spread_percent, _MOST_SPREAD), 1)))
    return Step(step.do, tuple(settings))
