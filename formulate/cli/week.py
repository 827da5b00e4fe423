"""The command that plans a week: a menu, its recipes and the shelf in; plan, order and page out."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from formulate.cli.command import DONE, IMPOSSIBLE, Command, Parser
from formulate.cli.inputs import file_bytes
from formulate.cli.meant import add_choice
from formulate.cli.outputs import STDOUT, add_output, form_of, print_out, write_out

if TYPE_CHECKING:
    from formulate.notebook import Notebook
    from formulate.planning import WeekMenu
    from formulate.recipes import Recipe

__all__ = ["COMMANDS"]


def _takes(parser: Parser) -> None:
    parser.add_argument("menu", help="menu file, name of an example, or - for stdin")
    add_output(parser, "file to write: .html to print, or .csv; - prints the page")
    parser.add_argument(
        "--notebook",
        nargs="?",
        const="",
        metavar="PATH",
        help="with the notebook's lots and recipes (no path: your own notebook)",
    )
    add_choice(parser)


def _week(options: argparse.Namespace) -> int:
    from formulate.notebook import Left, open_notebook, stock
    from formulate.planning import parse_menu, shelf, week
    from formulate.printing import week_html
    from formulate.report import week_csv, week_data, week_text

    where = options.output
    form = None if where is None else form_of(where, (".html", ".csv"), "-o", "week.html")
    menu = parse_menu(*file_bytes(options.menu, "menu"))
    folder = Path(options.menu).parent
    noted: tuple[Left, ...] = ()
    if options.notebook is None:
        recipes = _recipes(menu, folder, None, options)
    else:
        with open_notebook(
            Path(options.notebook) if options.notebook else None, create=False
        ) as own:
            recipes, noted = _recipes(menu, folder, own, options), stock(own)
    found = week(menu, recipes, shelf(menu.lots, noted, recipes.values()))
    if where is not None:
        page = week_html(found) if form == ".html" else week_csv(found).encode("utf-8-sig")
        write_out(where, page, "-o", options.force)
    done = DONE if found.is_possible else IMPOSSIBLE
    if where == STDOUT:
        return done
    if options.json:
        print_out(week_data(found) | ({} if where is None else {"written": where}))
    else:
        print_out(week_text(found) if where is None else f"{where} is written.")
    if where is not None and not options.json and not found.is_possible:
        print_out("A mix cannot be made from these lots; the page says why.")
    return done


def _recipes(
    menu: WeekMenu, folder: Path, notebook: Notebook | None, options: argparse.Namespace
) -> dict[str, Recipe]:
    words = dict.fromkeys(serve.recipe for serve in menu.serves)
    return {word: _recipe(word, folder, notebook, options) for word in words}


def _recipe(
    word: str, folder: Path, notebook: Notebook | None, options: argparse.Namespace
) -> Recipe:
    """A recipe by its path from the menu, the name of an example, or a name kept in the notebook."""
    from formulate.face import load

    recipe = load(word, notebook=notebook, folder=folder)
    return recipe.with_balance(options.margin, options.objective)


COMMANDS = (
    Command(
        "week",
        "a week's menu: mixes, churns, lots to use first, what to order, what expires",
        _week,
        _takes,
    ),
)
