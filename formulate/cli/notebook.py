"""Commands of the notebook: keep and compare recipes, note batches and verdicts, export and import."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from formulate.cli.command import DONE, FAULT, Command, Group, Parser
from formulate.cli.copies import COMMANDS as COPIES
from formulate.cli.inputs import add_notebook, notebook_of, recipe_from
from formulate.cli.lots import COMMANDS as LOTS
from formulate.cli.meant import add_meant_recipe, mix_meant, print_mix
from formulate.cli.outputs import STDOUT, add_force, add_output, print_out, write_out
from formulate.errors import InputError
from formulate.messages import Message, message

if TYPE_CHECKING:
    from formulate.notebook import FurtherLot, Weighing
    from formulate.recipes import Recipe

__all__ = ["COMMANDS", "add_learned", "learned_recipe"]


def _keep_takes(parser: Parser) -> None:
    add_meant_recipe(parser)
    parser.add_argument("--onto", type=int, help="the version that it was made from")
    _signed(parser)


def _history_takes(parser: Parser) -> None:
    parser.add_argument("words", nargs="*", help="words of a name, a note or an ingredient")
    add_notebook(parser)


def _recall_takes(parser: Parser) -> None:
    parser.add_argument("name")
    parser.add_argument("--version", type=int, help="default: the newest")
    add_output(parser, "file to write it to, instead of printing it")
    add_notebook(parser)


def _compare_takes(parser: Parser) -> None:
    parser.add_argument("name")
    parser.add_argument("first", type=int)
    parser.add_argument("second", type=int)
    add_notebook(parser)


def _made_takes(parser: Parser) -> None:
    parser.add_argument("name")
    parser.add_argument("--version", type=int, help="of the recipe (default: the newest)")
    parser.add_argument(
        "--weights", nargs="*", default=[], metavar="KEY=GRAMS", help="those that were otherwise"
    )
    parser.add_argument(
        "--lots",
        nargs="*",
        default=[],
        metavar="KEY=NUMBER",
        help="lots that were used; damson=7+8:334 is lot 7 with 334 g, as bought, of lot 8 blended in",
    )
    parser.add_argument(
        "--weighed",
        nargs="*",
        default=[],
        metavar="KEY:STEP=…",
        help="plum:sieve=1180:1030 (before, after), bay_leaf:infuse=12:1700:1652 (herb, milk, strained)",
    )
    for name, words in (
        ("reads", "reading of the mix, °Bx at 20 °C"),
        ("churned", "minutes in the churn"),
        ("drawn", "temperature as drawn, °C"),
        ("served", "temperature as served, °C"),
        ("overrun", "overrun measured, %%"),
    ):
        parser.add_argument(f"--{name}", type=float, help=words)
    parser.add_argument("--on", help="day, like 2026-11-25 (default: today)")
    parser.add_argument("--yes", action="store_true", help="the days are right, be they unlikely")
    _signed(parser)


def _verdict_takes(parser: Parser) -> None:
    parser.add_argument("batch", type=int)
    steps = "too soft -2, just right 0, too hard 2"
    parser.add_argument("--firmness", type=int, metavar="-2..2", help=steps)
    parser.add_argument("--at", type=float, help="temperature, °C (default: as it was served)")
    parser.add_argument("--sweetness", type=int, metavar="-2..2", help="too sweet is 2")
    parser.add_argument("--sandy", action="store_true")
    parser.add_argument("--icy", action="store_true")
    _signed(parser)


def _repeat_takes(parser: Parser) -> None:
    parser.add_argument("batch", type=int)
    parser.add_argument("--grams", type=float, help="mix wanted (default: as much as it was)")
    add_notebook(parser)


def _export_takes(parser: Parser) -> None:
    parser.add_argument("folder")
    parser.add_argument(
        "--damaged", action="store_true", help="save what can be read of a damaged notebook"
    )
    add_notebook(parser)


def _import_takes(parser: Parser) -> None:
    parser.add_argument("folder")
    add_notebook(parser)


def _print_takes(parser: Parser) -> None:
    parser.add_argument("file", help="page to write; - prints it")
    add_force(parser)
    add_notebook(parser)


def _strike_takes(parser: Parser) -> None:
    parser.add_argument("batch", type=int)
    parser.add_argument("--why", required=True)
    add_notebook(parser)


def _signed(parser: Parser) -> None:
    parser.add_argument("--cook", default="", help="who")
    parser.add_argument("--note", default="", help="in your own words")
    add_notebook(parser)


def _keep(options: argparse.Namespace) -> int:
    from formulate.answers import Which
    from formulate.notebook import keep
    from formulate.report import meant_data, plain_data, which_words

    result = mix_meant(options)
    if result.status == "impossible":
        return print_mix(result, options)
    balanced = result.which is Which.BALANCED
    recipe = result.recipe if balanced else result.mixture.recipe  # as it stands in the same words
    with notebook_of(options, create=True) as notebook:
        kept = keep(notebook, recipe, onto=options.onto, cook=options.cook, note=options.note)
    if options.json:
        print_out({**plain_data(kept), **meant_data(result)})
    else:
        print_out(f"{kept.name}: kept as version {kept.number}.\n{which_words(result)}")
    return DONE


def _history(options: argparse.Namespace) -> int:
    from formulate.notebook import batches, history, search
    from formulate.report import found_text, plain_data, recipe_text

    with notebook_of(options) as notebook:
        found = search(notebook, " ".join(options.words))
        if len(found) != 1:
            print_out({"recipes": plain_data(found)} if options.json else found_text(found))
            return DONE
        name = found[0].newest.name
        versions, made = history(notebook, name), batches(notebook, name)
    text = recipe_text(versions, made)
    print_out(plain_data({"recipe_versions": versions, "batches": made}) if options.json else text)
    return DONE


def _recall(options: argparse.Namespace) -> int:
    from formulate.notebook import kept_version
    from formulate.report import plain_data

    with notebook_of(options) as notebook:
        kept = kept_version(notebook, options.name, options.version)
    if options.output is not None:
        write_out(options.output, kept.toml, "-o", options.force)
        if options.output != STDOUT:
            written = f"{options.output} is written."
            print_out({"written": options.output} if options.json else written)
        return DONE
    print_out(plain_data(kept) if options.json else kept.toml.rstrip("\n"))
    return DONE


def _compare(options: argparse.Namespace) -> int:
    from formulate.notebook import compare
    from formulate.report import comparison_text, plain_data

    with notebook_of(options) as notebook:
        found = compare(notebook, options.name, options.first, options.second)
    print_out(plain_data(found) if options.json else comparison_text(found))
    return DONE


def _learned(options: argparse.Namespace) -> int:
    from formulate.notebook import kitchen_of
    from formulate.report import kitchen_text, plain_data

    with notebook_of(options) as notebook:
        found = kitchen_of(notebook)
    print_out(plain_data(found) if options.json else kitchen_text(found))
    return DONE


def learned_recipe(options: argparse.Namespace) -> tuple[Recipe, tuple[Message, ...]]:
    """Return the recipe of a command, ``--learned`` as this kitchen does it, and what changed."""
    recipe = recipe_from(options.recipe)
    if not options.learned:
        return recipe, ()
    from formulate.notebook import as_learned, kitchen_of

    with notebook_of(options) as notebook:
        found, said = as_learned(recipe, kitchen_of(notebook))
    return found, said or (message("learned_nothing"),)


def add_learned(parser: Parser) -> None:
    """Add the options that :func:`learned_recipe` reads."""
    parser.add_argument(
        "--learned",
        action="store_true",
        help="with this kitchen's serving window, losses and lots, as the notebook shows them",
    )
    add_notebook(parser)


def _made(options: argparse.Namespace) -> int:
    from formulate.face import weights_of
    from formulate.notebook import Figures, day, kept_version, made
    from formulate.report import batch_text, plain_data, used_words

    weights = {key: _number(text, key) for key, text in _pairs(options.weights, "--weights")}
    lots, further = {}, []
    for key, text in _pairs(options.lots, "--lots"):
        first, *more = text.split("+")
        lots[key] = int(_number(first, key))
        further += [_further(key, word) for word in more]
    with notebook_of(options) as notebook:
        recipe = kept_version(notebook, options.name, options.version).recipe
        batch = made(
            notebook,
            options.name,
            {**weights_of(recipe), **weights},
            version=options.version,
            lots_used=lots,
            further=tuple(further),
            figures=Figures(
                options.reads, options.churned, options.drawn, options.served, options.overrun
            ),
            weighings=tuple(_weighing(*pair) for pair in _pairs(options.weighed, "--weighed")),
            on=None if options.on is None else day(options.on, "--on"),
            cook=options.cook,
            note=options.note,
            sure=options.yes,
        )
    if options.json:
        print_out({**plain_data(batch), "which": "as_kept"})
    else:
        print_out(f"{batch_text(batch)}\n{used_words(batch, recipe, weights)}")
    return DONE


def _verdict(options: argparse.Namespace) -> int:
    from formulate.notebook import Verdict, batch, verdict
    from formulate.report import batch_text, plain_data

    with notebook_of(options) as notebook:
        at_c = options.at
        if at_c is None:
            at_c = batch(notebook, options.batch).figures.serving_c
        found = verdict(
            notebook,
            options.batch,
            Verdict(
                at_c,
                options.firmness,
                options.sweetness,
                options.sandy,
                options.icy,
                options.note,
                options.cook,
            ),
        )
    print_out(plain_data(found) if options.json else batch_text(found))
    return DONE


def _repeat(options: argparse.Namespace) -> int:
    from formulate.notebook import made_recipe
    from formulate.recipes import to_toml
    from formulate.report import again_words

    with notebook_of(options) as notebook:
        text = to_toml(made_recipe(notebook, options.batch, options.grams))
    if options.json:
        print_out({"toml": text, "which": "as_used"})
    else:
        print_out(f"# {again_words(options.batch, options.grams)}\n{text.rstrip()}")
    return DONE


def _export(options: argparse.Namespace) -> int:
    from formulate.notebook import default_path, export_notebook, rescue
    from formulate.report import examination_text, plain_data, tally

    folder = Path(options.folder)
    if options.damaged:
        place = options.notebook or default_path()
        found = rescue(place, folder)
        text = f"{examination_text(found, str(place))}\nSaved to {folder}."
    else:
        with notebook_of(options) as notebook:
            found = export_notebook(notebook, folder)
        text = f"Exported to {folder}: {tally(found)}."
    print_out(plain_data({"folder": str(folder), "faults": found.faults}) if options.json else text)
    return DONE


def _import(options: argparse.Namespace) -> int:
    from formulate.notebook import import_notebook
    from formulate.report import plain_data

    with notebook_of(options, create=True) as notebook:
        found = import_notebook(notebook, Path(options.folder))
    new = {
        "recipe_versions": len(found.versions),
        "batches": [batch.number for batch in found.batches],
    }
    text = (
        f"Taken in as new: versions of recipes {len(found.versions)}, batches {len(found.batches)}."
    )
    print_out(plain_data(new) if options.json else text)
    return DONE


def _check(options: argparse.Namespace) -> int:
    from formulate.notebook import default_path, examine
    from formulate.report import examination_text, plain_data

    place = options.notebook or default_path()
    found = examine(place)
    data = plain_data({"faults": found.faults, "recipe_versions": len(found.versions)})
    print_out(data if options.json else examination_text(found, str(place)))
    return FAULT if found.faults else DONE


def _print(options: argparse.Namespace) -> int:
    from formulate.notebook import batches, history, search
    from formulate.printing import notebook_html
    from formulate.report import printed_recipe

    with notebook_of(options) as notebook:
        names = [found.newest.name for found in search(notebook)]
        page = notebook_html(
            printed_recipe(history(notebook, name), batches(notebook, name)) for name in names
        )
    write_out(options.file, page, "file", options.force)
    if options.file != STDOUT:
        print_out({"file": options.file} if options.json else f"Written to {options.file}.")
    return DONE


def _strike(options: argparse.Namespace) -> int:
    from formulate.notebook import strike
    from formulate.report import batch_text, plain_data

    with notebook_of(options) as notebook:
        found = strike(notebook, options.batch, options.why)
    print_out(plain_data(found) if options.json else batch_text(found))
    return DONE


def _pairs(words: list[str], place: str) -> list[tuple[str, str]]:
    found = [word.partition("=") for word in words]
    for word, (key, _, value) in zip(words, found, strict=True):
        if not key or not value:
            raise InputError(place, f'"{word}" is not KEY=VALUE', "Write sucrose=300, for example.")
    keys = [key for key, _, _ in found]
    for key in keys:
        if place != "--weighed" and keys.count(key) > 1:
            raise InputError(place, f"{key} is given twice", "Give it once.")
    return [(key, value) for key, _, value in found]


def _number(text: str, key: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise InputError(key, f'"{text}" is not a number', "Write 300, for example.") from None


def _further(key: str, word: str) -> FurtherLot:
    from formulate.notebook import FurtherLot

    number, _, grams = word.partition(":")
    if not grams:
        problem = f'"{word}" does not say how much of that lot'
        raise InputError(f"--lots, {key}", problem, f"Write {key}=7+8:334, for example.")
    return FurtherLot(key, int(_number(number, key)), _number(grams, key))


def _weighing(where: str, weights: str) -> Weighing:
    from formulate.notebook import Weighing

    key, _, step = where.partition(":")
    grams = [_number(part, key) for part in weights.split(":")]
    if len(grams) == 2:
        return Weighing(key, step, *grams)
    if len(grams) == 3:
        return Weighing(key, step, grams[1], grams[2], grams[0])
    problem = f'"{weights}" is neither BEFORE:AFTER nor HERB:LIQUID:STRAINED'
    raise InputError("--weighed", problem, "Write plum:sieve=1180:1030, for example.")


COMMANDS = (
    Command("keep", "keep a recipe in the notebook as a new version", _keep, _keep_takes),
    Command(
        "history", "find recipes, their versions, batches and verdicts", _history, _history_takes
    ),
    Command("recall", "print a kept recipe as a recipe file", _recall, _recall_takes),
    Command("compare", "two versions side by side: what has moved", _compare, _compare_takes),
    Command(
        "learned",
        "what verdicts, weighings and readings teach of this kitchen",
        _learned,
        add_notebook,
    ),
    Command("made", "note a batch: weights really used, readings", _made, _made_takes),
    Command("verdict", "note what the cook says of a batch", _verdict, _verdict_takes),
    Command(
        "repeat", "print a batch as a recipe, with its weights and lots", _repeat, _repeat_takes
    ),
    Group(
        "notebook",
        "export, import, check, print or copy the notebook; its lots",
        (
            Command("export", "write everything as TOML and CSV", _export, _export_takes),
            Command("import", "take in an exported folder", _import, _import_takes),
            Command("check", "look for damage, to the last page", _check, add_notebook),
            Command(
                "print", "write all recipes and batches to a page to print", _print, _print_takes
            ),
            Command("strike", "strike a batch that was noted by mistake", _strike, _strike_takes),
            *LOTS,
            *COPIES,
        ),
    ),
)
