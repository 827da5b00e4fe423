"""Commands that argue about a recipe: ranges, ladder, correct, trade-offs, alternatives, shared bases."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from formulate.cli.command import DONE, IMPOSSIBLE, Command, Parser
from formulate.cli.inputs import file_bytes
from formulate.cli.meant import add_asked_recipe, print_mix, recipe_asked
from formulate.cli.outputs import print_out
from formulate.errors import InputError

if TYPE_CHECKING:
    from formulate.recipes import Recipe

__all__ = ["COMMANDS", "say_why_none"]


def _ranges_takes(parser: Parser) -> None:
    add_asked_recipe(parser)
    parser.add_argument(
        "--slack",
        type=float,
        default=0.1,
        help="how much worse than the optimum a mix may be (default 0.1: a tenth of one weight)",
    )


def _ladder_takes(parser: Parser) -> None:
    add_asked_recipe(parser)
    parser.add_argument("--ingredient", required=True, help="key of what is read")
    parser.add_argument("--brix", required=True, help="readings, from:to:step, like 9:15:0.5")


def _correct_takes(parser: Parser) -> None:
    add_asked_recipe(parser)
    parser.add_argument(
        "--in-pot", nargs="*", default=[], metavar="KEY=GRAMS", help="what the pot holds already"
    )
    parser.add_argument("--reads", type=float, help="reading of the whole mix, °Bx at 20 °C")
    parser.add_argument(
        "--reads-again", type=float, nargs="+", default=[], help="readings after stirring"
    )
    parser.add_argument(
        "--plus-minus", type=float, default=0.2, help="how far a reading may be off (0.2)"
    )
    parser.add_argument("--weighs", type=float, help="the whole mix without its pot, grams")
    parser.add_argument(
        "--weighs-plus-minus",
        type=float,
        help="how far that weight may be off (the more of 5 g and 0.5 percent)",
    )
    parser.add_argument(
        "--story", type=int, help="number of the story that is put right (the likeliest)"
    )


def _tradeoff_takes(parser: Parser) -> None:
    add_asked_recipe(parser)
    parser.add_argument("first", help="change, cost_per_kg, hardness, or a property")
    parser.add_argument("second", help="the same; a minus before a property means: more is better")


def _alternatives_takes(parser: Parser) -> None:
    add_asked_recipe(parser)
    parser.add_argument("--count", type=int, default=3, help="how many (default 3)")


def _without_takes(parser: Parser) -> None:
    add_asked_recipe(parser)
    parser.add_argument("key", help="what is out of stock, not wanted, or too dear")


def _base_takes(parser: Parser) -> None:
    parser.add_argument("menu", help="file with [[base]] and [[mix]] tables, or - for stdin")


def _ranges(options: argparse.Namespace) -> int:
    from formulate.face import ranges
    from formulate.report import ranges_data, ranges_text

    recipe = recipe_asked(options)
    found = ranges(recipe, options.slack)
    if found is None:
        return say_why_none(recipe, options)
    print_out(ranges_data(found) if options.json else ranges_text(recipe.name, found))
    return DONE


def _ladder(options: argparse.Namespace) -> int:
    from formulate.answers import readings_of
    from formulate.face import ladder
    from formulate.report import ladder_data, ladder_text

    recipe = recipe_asked(options)
    found = ladder(recipe, options.ingredient, readings_of(options.brix))
    print_out(ladder_data(found, recipe) if options.json else ladder_text(found, recipe))
    possible = any(rung.grams is not None for rung in found.rungs)
    return DONE if possible else IMPOSSIBLE


def _correct(options: argparse.Namespace) -> int:
    if options.reads is not None or options.weighs is not None:
        return _diagnose(options)
    from formulate.face import correct
    from formulate.report import correction_data, correction_text

    if not options.in_pot:
        problem = "needs what is in the pot, or what the mix reads or weighs"
        raise InputError("correct", problem, "Give --in-pot sucrose=300 … or --reads 26.5.")
    if options.reads_again:
        problem = "is given without the first reading"
        raise InputError("reads_again", problem, "Give the first as --reads.")
    recipe = recipe_asked(options)
    corrections = correct(recipe, _pot(options.in_pot))
    data = {"name": recipe.name, "corrections": [correction_data(each) for each in corrections]}
    print_out(data if options.json else correction_text(recipe.name, corrections))
    return IMPOSSIBLE if corrections[0].aim == "nearest" else DONE


def _diagnose(options: argparse.Namespace) -> int:
    from formulate.answers import Evidence, diagnose, put_right
    from formulate.report import diagnosis_data, diagnosis_text, repair_data, repair_text

    recipe = recipe_asked(options)
    pot = _pot(options.in_pot) if options.in_pot else None
    first = [] if options.reads is None else [options.reads]
    reads = (*first, *options.reads_again)
    evidence = Evidence(reads, options.weighs, options.plus_minus, options.weighs_plus_minus)
    found = diagnose(recipe, evidence, pot)
    repair = None
    if options.story is not None or found.explained:
        repair = put_right(recipe, found.story(1 if options.story is None else options.story), pot)
    if options.json:
        data = {"name": recipe.name, "diagnosis": diagnosis_data(found)}
        print_out(data | {"repair": None if repair is None else repair_data(repair)})
    else:
        words = [diagnosis_text(recipe.name, found)]
        print_out("\n\n".join(words if repair is None else [*words, repair_text(repair)]))
    missed = repair is not None and any(each.aim == "nearest" for each in repair.corrections)
    return IMPOSSIBLE if missed else DONE


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
    from formulate.face import tradeoff
    from formulate.report import frontier_data, frontier_text

    recipe = recipe_asked(options)
    found = tradeoff(recipe, options.first, options.second)
    if found is None:
        return say_why_none(recipe, options)
    print_out(frontier_data(found) if options.json else frontier_text(recipe.name, found))
    return DONE


def _alternatives(options: argparse.Namespace) -> int:
    from formulate.answers import balance, different_mixes
    from formulate.report import different_data, different_text

    recipe = recipe_asked(options)
    found = different_mixes(recipe, options.count)
    if not found and balance(recipe).status == "impossible":
        return say_why_none(recipe, options)
    print_out(different_data(found) if options.json else different_text(recipe.name, found))
    return DONE


def _without(options: argparse.Namespace) -> int:
    from formulate.face import without

    return print_mix(without(recipe_asked(options), options.key), options)


def _base(options: argparse.Namespace) -> int:
    from formulate.answers import menu_from_mapping, shared_base
    from formulate.recipes import toml_tables
    from formulate.report import base_data, base_text

    data, name = file_bytes(options.menu)
    menu = menu_from_mapping(toml_tables(data, name, "menu", "formulate base --help"), name)
    found = shared_base(menu)
    print_out(base_data(menu.name, found) if options.json else base_text(menu.name, found))
    return IMPOSSIBLE if found.status == "impossible" else DONE


def say_why_none(recipe: Recipe, options: argparse.Namespace) -> int:
    """Print why no mix can be, where nothing can be said around an optimum that is not there."""
    from formulate.face import balance

    return print_mix(balance(recipe), options)


COMMANDS = (
    Command(
        "ranges",
        "how far ingredients and targets can move, and what each target costs",
        _ranges,
        _ranges_takes,
    ),
    Command("ladder", "one balanced mix for each reading of a fruit", _ladder, _ladder_takes),
    Command(
        "correct", "smallest additions that put a half-made pot right", _correct, _correct_takes
    ),
    Command("tradeoff", "the exact frontier between two wishes", _tradeoff, _tradeoff_takes),
    Command(
        "alternatives",
        "really different mixes: other sugars, more fruit, without egg, lighter",
        _alternatives,
        _alternatives_takes,
    ),
    Command("without", "the best mix without one ingredient", _without, _without_takes),
    Command("base", "one base for several mixes, and their additions", _base, _base_takes),
)
