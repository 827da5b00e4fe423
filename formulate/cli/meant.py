"""Which mix a command means, as it stands or balanced, and by what a mix is chosen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from formulate.cli.command import DONE, IMPOSSIBLE, add_recipe
from formulate.cli.inputs import recipe_from
from formulate.cli.outputs import print_out

if TYPE_CHECKING:
    import argparse

    from formulate.answers import Result as PlainResult
    from formulate.cli.command import Parser
    from formulate.face import Result
    from formulate.recipes import Recipe

__all__ = [
    "add_asked_recipe",
    "add_choice",
    "add_meant",
    "add_meant_recipe",
    "mix_meant",
    "print_mix",
    "recipe_asked",
]


def add_choice(parser: Parser) -> None:
    """Add by what a mix is chosen, in place of what the recipe says of that."""
    parser.add_argument(
        "--margin",
        type=float,
        metavar="M",
        help="standard deviations to keep inside every uncertain target, 0 to 10 (default: the "
        "recipe's, 1 if unsaid)",
    )
    parser.add_argument(
        "--objective",
        metavar="WORD",
        help="change, cost or typical: what is made least (default: the recipe's)",
    )


def add_meant(parser: Parser) -> None:
    """Add which mix is meant, and by what it is chosen if it is the balanced one."""
    parser.add_argument(
        "--balanced",
        action="store_true",
        help="the balanced mix (default: the weights as they stand, if every one is given)",
    )
    add_choice(parser)


def add_asked_recipe(parser: Parser) -> None:
    """Add a recipe of which a mix is proposed."""
    add_recipe(parser)
    add_choice(parser)


def add_meant_recipe(parser: Parser) -> None:
    """Add a recipe of which one mix is meant."""
    add_recipe(parser)
    add_meant(parser)


def recipe_asked(options: argparse.Namespace, where: str | None = None) -> Recipe:
    """Return the recipe of a command, or another, with the choice of its mix as the command says."""
    recipe = recipe_from(options.recipe if where is None else where)
    return recipe.with_balance(options.margin, options.objective)


def mix_meant(options: argparse.Namespace) -> Result:
    """Return the mix that a command means, which may be impossible."""
    from formulate.face import shown

    return shown(recipe_asked(options), options.balanced)


def print_mix(result: PlainResult, options: argparse.Namespace) -> int:
    """Print a result whole, and return how its command ends."""
    from formulate.report import mix_data, mix_text

    print_out(mix_data(result) if options.json else mix_text(result))
    return IMPOSSIBLE if result.status == "impossible" else DONE
