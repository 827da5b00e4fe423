"""Commands on styles: what there is, and a new recipe from one."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from formulate.cli.command import DONE, IMPOSSIBLE, Command, Parser
from formulate.cli.outputs import STDOUT, add_output, print_out, write_out
from formulate.errors import InputError

__all__ = ["COMMANDS"]


def _styles_takes(parser: Parser) -> None:
    parser.add_argument("style", nargs="?", help="one style, with what each figure rests on")


def _new_takes(parser: Parser) -> None:
    parser.add_argument("style", help="a style, as `formulate styles` lists them")
    parser.add_argument(
        "--with",
        dest="mains",
        nargs="+",
        action="extend",
        default=[],
        metavar="KEY[=GRAMS]",
        help="what gives it its name, like damson or damson=900",
    )
    parser.add_argument("--batch", type=float, help="grams of finished mix (default 1000)")
    parser.add_argument("--name", help="name of the recipe")
    add_output(parser, "recipe file to write, or - to print (default)")


def _styles(options: argparse.Namespace) -> int:
    from formulate.recipes import style, styles
    from formulate.report import style_text, styles_data, styles_text

    found = tuple(styles().values()) if options.style is None else (style(options.style),)
    if options.json:
        print_out(styles_data(found))
    else:
        print_out(styles_text(found) if options.style is None else style_text(found[0]))
    return DONE


def _new(options: argparse.Namespace) -> int:
    from formulate.face import balance
    from formulate.recipes import DEFAULT_BATCH_G, recipe_of_style, style
    from formulate.report import commented_recipe, mix_data, mix_text

    batch = DEFAULT_BATCH_G if options.batch is None else options.batch
    recipe = recipe_of_style(options.style, _mains(options.mains), batch, options.name)
    result = balance(recipe)
    if result.status == "impossible":
        print_out(mix_data(result) if options.json else mix_text(result))
        return IMPOSSIBLE
    weights = {weight.key: weight.grams for weight in result.mix.weights}
    text = commented_recipe(recipe.with_weights(weights), style(options.style))
    written = options.output not in (None, STDOUT)
    if written:
        write_out(options.output, text, "-o", options.force)
    if options.json:
        print_out({**mix_data(result), "recipe": text})
    else:
        print_out(mix_text(result) if written else text.rstrip("\n"))
    return DONE


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


COMMANDS = (
    Command(
        "styles",
        "what desserts of each name are made of: targets, usual shares, serving",
        _styles,
        _styles_takes,
    ),
    Command(
        "new", "a complete recipe of a style, balanced, every line explained", _new, _new_takes
    ),
)
