"""Commands that answer about one recipe: balance, check, curve; and the ingredient table."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING

from formulate.cli.command import DONE, Command, Parser, add_recipe
from formulate.cli.meant import add_asked_recipe, add_meant_recipe, mix_meant, print_mix
from formulate.cli.notebook import add_learned, learned_recipe
from formulate.cli.outputs import STDOUT, add_output, form_of, print_out, write_out
from formulate.errors import InputError

if TYPE_CHECKING:
    from formulate.recipes import Recipe

__all__ = ["COMMANDS"]


def _balance_takes(parser: Parser) -> None:
    add_asked_recipe(parser)
    add_learned(parser)
    parser.add_argument(
        "--confidence",
        type=float,
        help="probability with which each target must hold though lots vary, like 0.9",
    )
    parser.add_argument("--export", metavar="FILE", help="write the programme: .lp or .json")
    add_output(parser, "also write the balanced recipe to this .toml file; - prints it alone")


def _check_takes(parser: Parser) -> None:
    add_recipe(parser)
    add_learned(parser)


def _ingredients_takes(parser: Parser) -> None:
    parser.add_argument("word", nargs="?", default="", help="part of a key, name or kind")


def _balance(options: argparse.Namespace) -> int:
    from formulate.face import balance
    from formulate.recipes import to_toml
    from formulate.report import mix_data, mix_text

    where = options.output
    if where is not None:
        form_of(where, (".toml",), "-o", "balanced.toml")
    recipe, said = learned_recipe(options)
    recipe = recipe.with_balance(options.margin, options.objective)
    if options.export is not None:
        _export(recipe, options.export, options.force)
        if options.export == STDOUT:
            return DONE
    result = balance(recipe, confidence=options.confidence)
    result = replace(result, messages=(*said, *result.messages))
    if where is None or result.status == "impossible":
        return print_mix(result, options)
    text = to_toml(result.recipe)
    if where != STDOUT:
        write_out(where, text, "-o", options.force)
    if options.json:
        print_out({**mix_data(result), "recipe": text})
    elif where == STDOUT:
        print_out(text.rstrip("\n"))
    else:
        print_out(f"{mix_text(result)}\n\n{where} is written.")
    return DONE


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

    recipe, said = learned_recipe(options)
    result = check(recipe)
    return print_mix(replace(result, messages=(*said, *result.messages)), options)


def _curve(options: argparse.Namespace) -> int:
    from formulate.report import curve_text, mix_data

    result = mix_meant(options)
    if result.status == "impossible":
        return print_mix(result, options)
    if not options.json:
        print_out(curve_text(result))
        return DONE
    data = mix_data(result)
    wanted = (
        "name",
        "which",
        "mix",
        "warnings",
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
        "show the freezing curve",
        _curve,
        add_meant_recipe,
    ),
    Command("ingredients", "search the ingredient table", _ingredients, _ingredients_takes),
)
