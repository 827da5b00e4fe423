"""Commands that argue about a recipe: ranges, ladder, correct, trade-offs, alternatives, shared bases."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Any

from formulate.cli.inputs import file_bytes, print_out, recipe_from
from formulate.errors import InputError

__all__ = ["add_commands"]

_DONE, _IMPOSSIBLE = 0, 3


def add_commands(commands: Any, finish: Any) -> None:
    """Add the commands to a parser; ``finish`` adds what every command has."""
    command = _with_recipe(
        commands, "ranges", "how far ingredients and targets can move, and what each target costs"
    )
    command.add_argument(
        "--slack",
        type=float,
        default=0.1,
        help="how much worse than the optimum a mix may be (default 0.1: a tenth of one weight)",
    )
    finish(command, _ranges)
    command = _with_recipe(commands, "ladder", "one balanced mix for each reading of a fruit")
    command.add_argument("--ingredient", required=True, help="key of what is read")
    command.add_argument("--brix", required=True, help="readings, from:to:step, like 9:15:0.5")
    finish(command, _ladder)
    command = _with_recipe(commands, "correct", "smallest additions that put a half-made pot right")
    command.add_argument(
        "--in-pot", nargs="*", default=[], metavar="KEY=GRAMS", help="what the pot holds already"
    )
    command.add_argument("--reads", type=float, help="reading of the whole mix, °Bx at 20 °C")
    command.add_argument(
        "--plus-minus", type=float, default=0.2, help="how far that reading may be off (0.2)"
    )
    finish(command, _correct)
    command = _with_recipe(commands, "tradeoff", "the exact frontier between two wishes")
    command.add_argument("first", help="change, cost_per_kg, hardness, or a property")
    command.add_argument("second", help="the same; a minus before a property means: more is better")
    finish(command, _tradeoff)
    command = _with_recipe(commands, "alternatives", "mixes of different sets of ingredients")
    command.add_argument("--count", type=int, default=3, help="how many (default 3)")
    finish(command, _alternatives)
    command = _with_recipe(commands, "without", "the best mix without one ingredient")
    command.add_argument("key", help="what is out of stock, not wanted, or too dear")
    finish(command, _without)
    command = commands.add_parser("base", help="one base for several mixes, and their additions")
    command.add_argument("menu", help="file with [[base]] and [[mix]] tables, or - for stdin")
    finish(command, _base)


def _with_recipe(commands: Any, name: str, words: str) -> Any:
    command = commands.add_parser(name, help=words, description=words.capitalize() + ".")
    command.add_argument("recipe", help="recipe file, name of an example, or - for stdin")
    return command


def _ranges(options: argparse.Namespace) -> int:
    from formulate.answers import ranges
    from formulate.report import ranges_data, ranges_text

    recipe = recipe_from(options.recipe)
    found = ranges(recipe, options.slack)
    if found is None:
        return _no_mix(recipe, options)
    print_out(ranges_data(found) if options.json else ranges_text(recipe.name, found))
    return _DONE


def _ladder(options: argparse.Namespace) -> int:
    from formulate.answers import ladder, readings_of
    from formulate.report import ladder_data, ladder_text

    recipe = recipe_from(options.recipe)
    found = ladder(recipe, options.ingredient, readings_of(options.brix))
    print_out(ladder_data(found, recipe) if options.json else ladder_text(found, recipe))
    possible = any(rung.grams is not None for rung in found.rungs)
    return _DONE if possible else _IMPOSSIBLE


def _correct(options: argparse.Namespace) -> int:
    from formulate.answers import correct, infer
    from formulate.report import correction_data, correction_text, inference_data, inference_text

    recipe = recipe_from(options.recipe)
    if not options.in_pot and options.reads is None:
        problem = "needs what is in the pot, or what the mix reads"
        raise InputError("correct", problem, "Give --in-pot sucrose=300 … or --reads 26.5.")
    data: dict[str, Any] = {"name": recipe.name}
    lines: list[str] = []
    code = _DONE
    if options.reads is not None:
        inference = infer(recipe, options.reads, options.plus_minus)
        data["inference"] = inference_data(inference)
        lines.append(inference_text(inference))
    if options.in_pot:
        corrections = correct(recipe, _pot(options.in_pot))
        data["corrections"] = [correction_data(each) for each in corrections]
        lines.append(correction_text(recipe.name, corrections))
        code = _IMPOSSIBLE if corrections[0].aim == "nearest" else _DONE
    print_out(data if options.json else "\n\n".join(lines))
    return code


def _pot(words: list[str]) -> dict[str, float]:
    """Read ``sucrose=300`` as key and grams."""
    found: dict[str, float] = {}
    for word in words:
        key, _, grams = word.partition("=")
        try:
            value = float(grams.replace(",", "."))
        except ValueError:
            problem = f'"{word}" is not KEY=GRAMS'
            raise InputError("--in-pot", problem, "Write sucrose=300, for example.") from None
        if key in found:
            raise InputError("--in-pot", f"{key} is given twice", "Add the two up.")
        found[key] = value
    return found


def _tradeoff(options: argparse.Namespace) -> int:
    from formulate.answers import frontier
    from formulate.report import frontier_data, frontier_text

    recipe = recipe_from(options.recipe)
    found = frontier(recipe, options.first, options.second)
    if found is None:
        return _no_mix(recipe, options)
    print_out(frontier_data(found) if options.json else frontier_text(recipe.name, found))
    return _DONE


def _alternatives(options: argparse.Namespace) -> int:
    from formulate.answers import different_mixes
    from formulate.report import different_data, different_text

    recipe = recipe_from(options.recipe)
    found = different_mixes(recipe, options.count)
    if not found:
        return _no_mix(recipe, options)
    print_out(different_data(found) if options.json else different_text(recipe.name, found))
    return _DONE


def _without(options: argparse.Namespace) -> int:
    from formulate.recipes import without

    recipe = without(recipe_from(options.recipe), options.key)
    name = f"{recipe.name}, without {options.key.replace('_', ' ')}"
    never = replace(recipe.exclude, keys=(*recipe.exclude.keys, options.key))
    return _answer(replace(recipe, name=name, exclude=never), options)


def _base(options: argparse.Namespace) -> int:
    from formulate.answers import menu_from_mapping, shared_base
    from formulate.recipes import toml_tables
    from formulate.report import base_data, base_text

    data, name = file_bytes(options.menu)
    menu = menu_from_mapping(toml_tables(data, name, "menu", "formulate base --help"), name)
    found = shared_base(menu)
    print_out(base_data(menu.name, found) if options.json else base_text(menu.name, found))
    return _IMPOSSIBLE if found.status == "impossible" else _DONE


def _no_mix(recipe: Any, options: argparse.Namespace) -> int:
    """Nothing can be said around an optimum that is not there: say why."""
    return _answer(recipe, options)


def _answer(recipe: Any, options: argparse.Namespace) -> int:
    from formulate.answers import balance
    from formulate.report import mix_data, mix_text

    result = balance(recipe)
    print_out(mix_data(result) if options.json else mix_text(result))
    return _IMPOSSIBLE if result.status == "impossible" else _DONE
