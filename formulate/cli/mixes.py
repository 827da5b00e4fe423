"""Commands that answer about one recipe: balance, check, curve; and the ingredient table."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING

from formulate.cli.command import DONE, IMPOSSIBLE, Command, Parser, add_recipe
from formulate.cli.inputs import recipe_from
from formulate.cli.notebook import add_learned, learned_recipe
from formulate.cli.outputs import STDOUT, add_force, form_of, print_out, write_out
from formulate.errors import InputError

if TYPE_CHECKING:
    from formulate.recipes import Recipe

__all__ = ["COMMANDS"]


def _balance_takes(parser: Parser) -> None:
    add_recipe(parser)
    add_learned(parser)
    parser.add_argument(
        "--confidence",
        type=float,
        help="probability with which each target must hold though lots vary, like 0.9",
    )
    parser.add_argument("--export", metavar="FILE", help="write the programme: .lp or .json")
    add_force(parser)


def _check_takes(parser: Parser) -> None:
    add_recipe(parser)
    add_learned(parser)


def _ingredients_takes(parser: Parser) -> None:
    parser.add_argument("word", nargs="?", default="", help="part of a key, name or kind")


def _balance(options: argparse.Namespace) -> int:
    from formulate.face import balance
    from formulate.report import mix_data, mix_text

    recipe, said = learned_recipe(options)
    if options.export is not None:
        _export(recipe, options.export, options.force)
        if options.export == STDOUT:
            return DONE
    result = balance(recipe, confidence=options.confidence)
    result = replace(result, messages=(*said, *result.messages))
    print_out(mix_data(result) if options.json else mix_text(result))
    return IMPOSSIBLE if result.status == "impossible" else DONE


def _export(recipe: Recipe, where: str, force: bool) -> None:
    """Write the programme of a recipe to a file."""
    from formulate.answers import as_lp, programme_data

    if form_of(where, (".lp", ".json"), "--export", "mix.lp") == ".lp":
        text = as_lp(recipe)
    else:
        import json

        text = json.dumps(programme_data(recipe), indent=1, allow_nan=False)
    write_out(where, text, "--export", force)


def _check(options: argparse.Namespace) -> int:
    from formulate.face import check
    from formulate.report import mix_data, mix_text

    recipe, said = learned_recipe(options)
    result = check(recipe)
    result = replace(result, messages=(*said, *result.messages))
    print_out(mix_data(result) if options.json else mix_text(result))
    return DONE


def _curve(options: argparse.Namespace) -> int:
    from formulate.face import shown
    from formulate.report import curve_text, mix_data

    result = shown(recipe_from(options.recipe))
    if not options.json:
        print_out(curve_text(result))
        return DONE
    data = mix_data(result)
    wanted = (
        "name",
        "initial_freezing_point_c",
        "frozen_water",
        "serving_temperature_c",
        "cold",
        "messages",
        "versions",
    )
    print_out({key: data[key] for key in wanted})
    return DONE


def _ingredients(options: argparse.Namespace) -> int:
    from formulate.report import ingredients_data, ingredients_text, search

    found = search(options.word)
    if not found:
        raise InputError(
            f"ingredients {options.word}",
            "nothing in the table has this word",
            "Try a shorter word.",
        )
    print_out(ingredients_data(found) if options.json else ingredients_text(found))
    return DONE


COMMANDS = (
    Command("balance", "find the weights that meet every target", _balance, _balance_takes),
    Command("check", "judge the present weights, without solving", _check, _check_takes),
    Command(
        "curve",
        "show the freezing curve of the present weights, or of the balanced mix if there are none",
        _curve,
        add_recipe,
    ),
    Command("ingredients", "search the ingredient table", _ingredients, _ingredients_takes),
)
