"""Commands on styles: what there is, and a new recipe from one."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from formulate.cli.inputs import print_out, write_whole
from formulate.errors import InputError

__all__ = ["add_commands"]

_DONE, _IMPOSSIBLE = 0, 3
_STDOUT = "-"


def add_commands(commands: Any, finish: Any) -> None:
    """Add the commands to a parser; ``finish`` adds what every command has."""
    words = "what desserts of each name are made of: targets, usual shares, serving"
    command = commands.add_parser("styles", help=words, description=f"{words.capitalize()}.")
    command.add_argument("style", nargs="?", help="one style, with what each figure rests on")
    finish(command, _styles)
    words = "a complete recipe of a style, balanced, every line explained"
    command = commands.add_parser("new", help=words, description=f"{words.capitalize()}.")
    command.add_argument("style", help="a style, as `formulate styles` lists them")
    command.add_argument(
        "--with",
        dest="mains",
        nargs="+",
        action="extend",
        default=[],
        metavar="KEY[=GRAMS]",
        help="what gives it its name, like damson or damson=900",
    )
    command.add_argument("--batch", type=float, help="grams of finished mix (default 1000)")
    command.add_argument("--name", help="name of the recipe")
    command.add_argument(
        "-o", "--output", default=_STDOUT, help="recipe file to write, or - to print (default)"
    )
    finish(command, _new)


def _styles(options: argparse.Namespace) -> int:
    from formulate.recipes import style, styles
    from formulate.report import style_text, styles_data, styles_text

    found = tuple(styles().values()) if options.style is None else (style(options.style),)
    if options.json:
        print_out(styles_data(found))
    else:
        print_out(styles_text(found) if options.style is None else style_text(found[0]))
    return _DONE


def _new(options: argparse.Namespace) -> int:
    from formulate.answers import balance
    from formulate.recipes import DEFAULT_BATCH_G, recipe_of_style, style
    from formulate.report import commented_recipe, mix_data, mix_text

    where = options.output
    if where != _STDOUT and Path(where).exists():
        raise InputError("-o", f"{where!r} is there already", "Name another file.")
    batch = DEFAULT_BATCH_G if options.batch is None else options.batch
    recipe = recipe_of_style(options.style, _mains(options.mains), batch, options.name)
    result = balance(recipe)
    if result.status == "impossible":
        print_out(mix_data(result) if options.json else mix_text(result))
        return _IMPOSSIBLE
    weights = {weight.key: weight.grams for weight in result.mix.weights}
    text = commented_recipe(recipe.with_weights(weights), style(options.style))
    if where != _STDOUT:
        write_whole(where, text.encode("utf-8"), "-o")
    if options.json:
        print_out({**mix_data(result), "recipe": text})
    else:
        print_out(text.rstrip("\n") if where == _STDOUT else mix_text(result))
    return _DONE


def _mains(words: Sequence[str]) -> dict[str, float | None]:
    """Read ``damson`` and ``damson=900`` as key and grams."""
    found: dict[str, float | None] = {}
    for word in words:
        key, equals, grams = word.partition("=")
        if key in found:
            raise InputError("--with", f"{key} is given twice", "Add the two up.")
        try:
            found[key] = float(grams.replace(",", ".")) if equals else None
        except ValueError:
            problem = f'"{word}" is not KEY or KEY=GRAMS'
            raise InputError("--with", problem, "Write damson, or damson=900.") from None
    return found
