"""The notebook in words, as plain data, and as a page to print."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, is_dataclass
from datetime import date
from typing import Any

from formulate.answers import scaling
from formulate.ingredients import ingredient_table, lot_data
from formulate.mix import mixture
from formulate.notebook import (
    FIRMNESS,
    SWEETNESS,
    Backup,
    Batch,
    Comparison,
    Contents,
    Figures,
    Found,
    Interval,
    KeptVersion,
    Kitchen,
    LearnedWindow,
    Left,
    Moved,
    Verdict,
)
from formulate.recipes import Recipe
from formulate.report.phrases import enumerated
from formulate.report.wording import sentences

__all__ = [
    "PrintedBatch",
    "PrintedRecipe",
    "again_words",
    "batch_text",
    "comparison_text",
    "copies_text",
    "copy_words",
    "examination_text",
    "figures_words",
    "found_text",
    "kitchen_text",
    "lots_data",
    "lots_text",
    "plain_data",
    "printed_recipe",
    "recipe_text",
    "restored_text",
    "tally",
    "used_words",
    "verdict_words",
]

_STEPS = {
    "grams_kept_per_gram": ("keeps", "g of liquid per g of herb"),
    "waste_percent": ("loses", "%"),
    "steam_percent": ("loses as steam", "%"),
    "juice_percent": ("gives as juice", "%"),
}


def plain_data(what: Any) -> Any:
    """Return records of the notebook as plain data, ready for JSON.

    Parameters
    ----------
    what:
        Records, or lists and tables of them.

    Returns
    -------
    object
        Ready for JSON.

    Examples
    --------
    >>> from datetime import date
    >>> plain_data({"on": date(2026, 11, 25)})
    {'on': '2026-11-25'}
    """
    if is_dataclass(what) and not isinstance(what, type):
        return plain_data(asdict(what))
    if isinstance(what, Mapping):
        return {str(key): plain_data(value) for key, value in what.items()}
    if isinstance(what, list | tuple):
        return [plain_data(value) for value in what]
    return what.isoformat() if isinstance(what, date) else what


def found_text(found: Sequence[Found]) -> str:
    """Return the recipes of a search, one line each.

    Parameters
    ----------
    found:
        Recipes of a search.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, open_notebook
    >>> from formulate.notebook import search as search_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     len(found_text(search_notebook(notebook)).splitlines())
    1
    """
    if not found:
        return "Nothing in the notebook has these words."
    width = max(len(entry.newest.name) for entry in found)
    return "\n".join(
        f"{entry.newest.name:{width}}  {_count(entry.newest.number, 'version')}, "
        f"{_count(entry.batches, 'batch')}; newest of {_kept(entry.newest)}"
        for entry in found
    )


def recipe_text(versions: Sequence[KeptVersion], batches: Sequence[Batch]) -> str:
    """Return the history of one recipe: its versions, then its batches with their verdicts.

    Parameters
    ----------
    versions:
        Of the recipe.
    batches:
        Of the recipe.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import history, keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     recipe_text(history(notebook, "damson"), ()).splitlines()[0]
    'Damson sorbet, fruit at 11 °Bx'
    """
    lines = [versions[0].name, ""]
    for version in versions:
        note = f": {version.note}" if version.note else ""
        lines.append(f"Version {version.number}, {_kept(version)}{note}")
    for batch in batches:
        lines += ["", batch_text(batch)]
    return "\n".join(lines)


def batch_text(batch: Batch) -> str:
    """Return a batch: what was weighed, measured and said.

    Parameters
    ----------
    batch:
        The batch.

    Returns
    -------
    str

    Examples
    --------
    >>> from datetime import date
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, made, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     batch = made(notebook, "damson", {"sucrose": 305.0}, on=date(2026, 11, 25))
    ...     batch_text(batch).split(",")[0]
    'Batch 1 of 2026-11-25: Damson sorbet'
    """
    by = f" by {batch.cook}" if batch.cook else ""
    head = f"Batch {batch.number} of {batch.made.isoformat()}{by}: {batch.name}, version {batch.version}"
    lines = [head + (f" (STRUCK: {batch.struck})" if batch.struck else "")]
    width = max((len(_name(weight.key)) for weight in batch.weights), default=0)
    for weight in batch.weights:
        lot = f"  lot {weight.lot}" if weight.lot is not None else ""
        more = [each for each in batch.further if each.key == weight.key]
        lot += "".join(f" + {each.taken_g:,.0f} g of lot {each.lot}" for each in more)
        lines.append(f"  {_name(weight.key):{width}} {weight.grams:9,.1f} g{lot}")
    for weighing in batch.weighings:
        herb = f"{weighing.herb_g:g} g in " if weighing.herb_g is not None else ""
        lines.append(
            f"  {weighing.step} {_name(weighing.key)}: {herb}{weighing.before_g:g} g gave "
            f"{weighing.after_g:g} g"
        )
    measured = figures_words(batch.figures)
    lines += [f"  {measured}."] if measured else []
    lines += [f"  {batch.note}"] if batch.note else []
    lines += [f"  Verdict: {verdict_words(said)}." for said in batch.verdicts]
    lines += [f"  {_made_with(batch.made_with)}"] if batch.made_with else []
    return "\n".join(lines)


def used_words(batch: Batch, recipe: Recipe, otherwise: Collection[str]) -> str:
    """Return which weights a batch was noted with.

    Parameters
    ----------
    batch, recipe:
        As noted, and the version that it was made of.
    otherwise:
        Keys of what was weighed otherwise than the version says.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import keep, made, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     batch = made(notebook, "damson", {"water": 700.0})
    >>> used_words(batch, fm.load("damson_sorbet"), ["water"])
    'Of the weights as version 1 keeps them, but for Water.'
    """
    names = enumerated([_name(key) for key in otherwise])
    but = f", but for {names}" if names else ""
    size = ", scaled to its batch" if scaling(mixture(recipe)) else ""
    return f"Of the weights as version {batch.version} keeps them{size}{but}."


def again_words(number: int, grams: float | None) -> str:
    """Return which weights a recipe to make a batch again has.

    Parameters
    ----------
    number:
        Of the batch.
    grams:
        Mix that is wanted [g]; ``None``: as much as it was.

    Returns
    -------
    str

    Examples
    --------
    >>> again_words(3, 1000.0)
    'Of the weights of batch 3 as they were used, for 1,000 g.'
    """
    size = "" if grams is None else f", for {grams:,.0f} g"
    return f"Of the weights of batch {number} as they were used{size}."


def figures_words(figures: Figures) -> str:
    """Return what was read and measured, in words; "" for nothing.

    Parameters
    ----------
    figures:
        What was read of a batch.

    Returns
    -------
    str

    Examples
    --------
    >>> from formulate.notebook import Figures
    >>> figures_words(Figures(brix=24.5))
    'Reads 24.5 °Bx'
    """
    words = {
        "brix": "reads {:g} °Bx",
        "churn_minutes": "churned for {:g} min",
        "draw_c": "drawn at {:g} °C",
        "serving_c": "served at {:g} °C",
        "overrun_percent": "overrun {:g} %",
    }
    values = {name: getattr(figures, name) for name in words}
    found = [words[name].format(value) for name, value in values.items() if value is not None]
    text = ", ".join(found)
    return text[:1].upper() + text[1:]


def verdict_words(said: Verdict) -> str:
    """Return a verdict in words.

    Parameters
    ----------
    said:
        What a cook says.

    Returns
    -------
    str

    Examples
    --------
    >>> from formulate.notebook import Verdict
    >>> verdict_words(Verdict(-12.0, 1))
    'rather hard at -12 °C'
    """
    parts = []
    if said.firmness is not None:
        parts.append(f"{FIRMNESS[said.firmness]} at {said.at_c:g} °C")
    if said.sweetness is not None:
        word = SWEETNESS[said.sweetness]
        parts.append("sweetness just right" if said.sweetness == 0 else word)
    parts += ["sandy"] if said.sandy else []
    parts += ["icy"] if said.icy else []
    parts += [said.note] if said.note else []
    by = f" ({said.cook})" if said.cook else ""
    return ", ".join(parts) + by


def comparison_text(found: Comparison) -> str:
    """Return two versions side by side; what has moved is marked.

    Parameters
    ----------
    found:
        Two versions side by side.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import compare, keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     _ = keep(notebook, fm.load("damson_sorbet").with_weights({"sucrose": 290.0}), onto=1)
    ...     comparison_text(compare(notebook, "damson", 1, 2)).splitlines()[0]
    'Damson sorbet, fruit at 11 °Bx: version 1 and version 2'
    """
    head = (f"version {found.first}", f"version {found.second}")
    lines = [f"{found.name}: {head[0]} and {head[1]}", ""]
    for title, rows in ((f"g in {found.per_g:,.0f} g", found.weights), ("", found.properties)):
        width = max(len(_label(row)) for row in (*found.weights, *found.properties))
        lines.append(f"{title:{width}}  {head[0]:>10}  {head[1]:>10}       moved")
        lines += [_moved(row, width) for row in rows]
        lines.append("")
    lines += [
        f"{place}: {before or 'not given'} → {after or 'not given'}"
        for place, before, after in found.settings
    ]
    nothing = not found.settings and not any(
        row.has_moved for row in (*found.weights, *found.properties)
    )
    lines += ["Nothing has moved."] if nothing else []
    return "\n".join([*lines, *sentences(found.remarks)]).rstrip()


def kitchen_text(kitchen: Kitchen) -> str:
    """Return what was learned, one sentence each, with how sure it is.

    Parameters
    ----------
    kitchen:
        What was learned.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from formulate.notebook import kitchen_of, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     kitchen_text(kitchen_of(notebook)).splitlines()[0]
    'Nothing to learn from yet: note batches, verdicts, weighings and readings of lots.'
    """
    lines = [_window(kind, window) for kind, window in kitchen.windows.items()]
    for setting in kitchen.settings:
        verb, unit = _STEPS.get(setting.setting, (setting.setting, ""))
        value = setting.value
        lines.append(
            f"{_name(setting.key)}, {setting.step}: {verb} {value.value:.3g} {unit} (9 times in 10 from "
            f"{_span(value, '.3g')}; usual {setting.usual:g}), from "
            f"{_count(setting.weighings, 'weighing')}. In a recipe: {setting.setting} = "
            f"{value.value:.3g}, spread_percent = {min(setting.spread_percent, 95.0):.0f}"
        )
    for fruit in kitchen.lots:
        lines.append(
            f"{_name(fruit.key)}: lots read {fruit.mean.value:.1f} °Bx (9 times in 10 from "
            f"{_span(fruit.mean, '.1f')}; table {fruit.usual:.1f}) and differ by ± "
            f"{fruit.deviation.value:.1f} ({_span(fruit.deviation, '.1f')}; table "
            f"{fruit.usual_deviation:.1f}), from {_count(fruit.lots, 'lot')}."
        )
    for kind, served in kitchen.served.items():
        name = kind.replace("_", " ").capitalize() or "Without a kind"
        lines.append(
            f"{name}: comes out of your freezer at {served.mean.value:.1f} °C (9 times in 10 from "
            f"{_span(served.mean, '.1f')}; usual {served.usual:g}), now and then ± "
            f"{served.deviation.value:.1f}, from {_count(served.batches, 'batch')}."
        )
    if not lines:
        return "Nothing to learn from yet: note batches, verdicts, weighings and readings of lots."
    return "\n".join(lines)


def examination_text(found: Contents, place: str) -> str:
    """Return what an examination found.

    Parameters
    ----------
    found:
        What can be read of a notebook.
    place:
        Where it is.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import examine, keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     examination_text(examine(notebook.path), "n.sqlite3")
    'n.sqlite3 is whole: 1 version of recipes, 0 lots, 0 batches and 0 verdicts.'
    """
    if not found.faults:
        return f"{place} is whole: {tally(found)}."
    return "\n".join(
        [
            f"{place} is damaged. Still readable: {tally(found)}.",
            *(f"- {fault}" for fault in found.faults),
            "Save that with `formulate notebook export FOLDER --damaged`, move the file away, and "
            "begin a new one with `formulate notebook import FOLDER`.",
        ]
    )


def copies_text(found: Sequence[Backup]) -> str:
    """Return the copies of a notebook, one line each, the newest first.

    Parameters
    ----------
    found:
        Copies, the newest first.

    Returns
    -------
    str

    Examples
    --------
    >>> copies_text(())
    'There is no copy of the notebook yet: one is made before the first change of a day.'
    """
    if not found:
        return "There is no copy of the notebook yet: one is made before the first change of a day."
    lines = [f"{each.day.isoformat()}  {copy_words(each)}  {each.path}" for each in found]
    return "\n".join([*lines, "Bring one back with `formulate notebook restore DAY`, or its file."])


def restored_text(found: Contents, before: Backup | None) -> str:
    """Return what a copy brought back, and where that is whose place it took.

    Parameters
    ----------
    found:
        What the copy holds.
    before:
        The copy that was made of what it took the place of, ``None`` if there was nothing.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import examine, keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     "1 version" in restored_text(examine(notebook.path), None)
    True
    """
    there = f"Brought back: {tally(found)}."
    return there if before is None else f"{there} What was there before is kept as {before.path}."


def copy_words(found: Backup) -> str:
    """Return why a copy was made, in words.

    Parameters
    ----------
    found:
        A copy of a notebook.

    Returns
    -------
    str

    Examples
    --------
    >>> from datetime import date
    >>> from pathlib import Path
    >>> from formulate.notebook import Backup
    >>> copy_words(Backup(Path("copy.sqlite3"), date(2026, 11, 25), "101500", "asked", "a1"))
    'asked for'
    """
    words = {"": "before that day's changes", "asked": "asked for", "replaced": "before a restore"}
    return words.get(found.why, f"before its tables changed ({found.why.replace('-', ' ')})")


def tally(found: Contents) -> str:
    """Return how much there is, in words.

    Parameters
    ----------
    found:
        What a notebook holds.

    Returns
    -------
    str

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import examine, keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     tally(examine(notebook.path))
    '1 version of recipes, 0 lots, 0 batches and 0 verdicts'
    """
    return (
        f"{_count(len(found.versions), 'version')} of recipes, {_count(len(found.lots), 'lot')}, "
        f"{_count(len(found.batches), 'batch')} and {_count(found.verdicts, 'verdict')}"
    )


def lots_text(lots: Sequence[Left], on: date) -> str:
    """Return lots, one line each, with what is left of them and whether they are past their day.

    Parameters
    ----------
    lots:
        Lots with what is left of them.
    on:
        The day.

    Returns
    -------
    str

    Examples
    --------
    >>> from datetime import date
    >>> lots_text((), date(2026, 11, 25))
    'No lots are noted.'
    """
    lines = []
    for left in lots:
        known = [
            f"{key.replace('_', ' ')} {value}"
            for key, value in lot_data(left.lot).items()
            if value not in (None, "")
            and key not in ("key", "scale", "acidity_as", "temperature_c")
        ]
        line = f"Lot {left.number}: {_name(left.lot.key)}, {', '.join(known) or 'nothing noted'}"
        if left.grams is not None:
            line += f"; {left.grams:,.0f} g left" if left.grams > 0.0 else "; used up"
        if left.grams is not None and left.grams < -0.5:
            line += f" ({-left.grams:,.0f} g more was used than came in: weigh again)"
        past = left.is_there and left.lot.use_by is not None and left.lot.use_by < on
        lines.append(f"{line}; PAST ITS USE-BY" if past else line)
    return "\n".join(lines) or "No lots are noted."


def lots_data(lots: Sequence[Left]) -> list[dict[str, Any]]:
    """Return lots as plain data, with what is left of them.

    Parameters
    ----------
    lots:
        Lots with what is left of them.

    Returns
    -------
    list of dict
        Ready for JSON.

    Examples
    --------
    >>> lots_data(())
    []
    """
    return [{"lot": at.number} | lot_data(at.lot) | {"left_g": at.grams} for at in lots]


@dataclass(frozen=True, slots=True)
class PrintedBatch:
    """A batch as it is printed: its title, whether it was struck, its weights, and what was noted."""

    title: str
    struck: bool
    weights: tuple[tuple[str, str], ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PrintedRecipe:
    """A recipe as it is printed: its name, what is known of its newest version, weights and batches."""

    name: str
    kept: str
    weights: tuple[tuple[str, str], ...]
    batches: tuple[PrintedBatch, ...]


def printed_recipe(versions: Sequence[KeptVersion], batches: Sequence[Batch]) -> PrintedRecipe:
    """Return a recipe and its batches in the words of a page to print.

    Parameters
    ----------
    versions:
        Of one recipe, the newest last.
    batches:
        Those made of it.

    Returns
    -------
    PrintedRecipe
        All of it as text.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import formulate as fm
    >>> from formulate.notebook import history, keep, open_notebook
    >>> with TemporaryDirectory() as folder, open_notebook(Path(folder, "n.sqlite3")) as notebook:
    ...     _ = keep(notebook, fm.load("damson_sorbet"))
    ...     printed_recipe(history(notebook, "damson"), ()).name
    'Damson sorbet, fruit at 11 °Bx'
    """
    newest = versions[-1]
    kept = f"{_kept(newest, True)}. {_made_with(newest.made_with)}"
    weights = [(_name(e.key), e.grams) for e in newest.recipe.ingredients]
    return PrintedRecipe(newest.name, kept, _weighed(weights), tuple(map(_printed, batches)))


def _printed(batch: Batch) -> PrintedBatch:
    title, *_ = batch_text(batch).splitlines()
    words = [figures_words(batch.figures), batch.note, _made_with(batch.made_with)]
    words += [f"Verdict: {verdict_words(said)}" for said in batch.verdicts]
    weights = _weighed((_name(w.key), w.grams) for w in batch.weights)
    return PrintedBatch(title, bool(batch.struck), weights, tuple(text for text in words if text))


def _made_with(words: str) -> str:
    return f"Made with {words}." if words else ""


def _weighed(rows: Iterable[tuple[str, float | None]]) -> tuple[tuple[str, str], ...]:
    return tuple((name, "" if grams is None else f"{grams:,.1f} g") for name, grams in rows)


def _window(kind: str, found: LearnedWindow) -> str:
    name = kind.replace("_", " ").capitalize() or "Without a kind"
    window, usual = found.window, found.usual
    return (
        f"{name}: this kitchen calls {window.min:.1f} to {window.max:.1f} % frozen water just right, "
        f"from {_count(found.verdicts, 'verdict')} on {_count(found.mixes, 'mix')}. Its middle lies 9 "
        f"times in 10 from {_span(found.middle, '.1f')}, its width from {_span(found.width, '.1f')}; "
        f"usual is {usual.min:g} to {usual.max:g}. In a recipe: frozen_water = {{ min = "
        f"{window.min:.1f}, max = {window.max:.1f} }}"
    )


def _label(row: Moved) -> str:
    return row.name if row.unit in ("g", "") else f"{row.name}, {row.unit}"


def _moved(row: Moved, width: int) -> str:
    before, after = (
        "-" if value is None else f"{value + 0.0:,.{row.digits}f}"
        for value in (row.before, row.after)
    )
    line = f"{_label(row):{width}}  {before:>10}  {after:>10}"
    if not row.has_moved:
        return line
    if row.before is None or row.after is None:
        return f"{line}  {'new' if row.before is None else 'gone':>10}"
    return f"{line}  {row.after - row.before:>+10,.{row.digits}f}"


def _kept(version: KeptVersion, numbered: bool = False) -> str:
    by = f" by {version.cook}" if version.cook else ""
    number = f"Version {version.number}, " if numbered else ""
    return f"{number}{version.kept[:16].replace('T', ' ')} UTC{by}"


def _name(key: str) -> str:
    about = ingredient_table().get(key)
    return about.name if about is not None else key.replace("_", " ").capitalize()


def _span(interval: Interval, digits: str) -> str:
    return f"{interval.low:{digits}} to {interval.high:{digits}}"


def _count(count: int, word: str) -> str:
    plural = f"{word}es" if word.endswith(("x", "ch")) else f"{word}s"
    return f"{count:,} {word if count == 1 else plural}"
