"""What a command is, how it ends, and the parser of one command or of all."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from formulate.cli.outputs import print_out
from formulate.cli.temperatures import NEGATIVE
from formulate.errors import InputError, nearest

__all__ = [
    "BAD_INPUT",
    "DONE",
    "FAULT",
    "IMPOSSIBLE",
    "Command",
    "Group",
    "Parser",
    "add_recipe",
    "every_command",
    "parser_of",
    "require_known",
]

#: How a command ends: done, a fault, bad input or usage, no mix can do it.
DONE, FAULT, BAD_INPUT, IMPOSSIBLE = 0, 1, 2, 3


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are errors like those of files, and to which ``-18C`` is no option."""

    def __init__(self, *words: Any, **more: Any) -> None:
        super().__init__(*words, **more)
        self._negative_number_matcher = NEGATIVE

    def error(self, message: str) -> NoReturn:
        """Raise what is wrong with the words of a command.

        Raises
        ------
        InputError
            Always.
        """
        remedy = f"{self.prog} --help shows what there is."
        place = self.prog.removeprefix("formulate").strip() or "the command"
        raise InputError(place, message.removesuffix("."), remedy)


@dataclass(frozen=True, slots=True)
class Command:
    """One command.

    Attributes
    ----------
    name:
        Its word.
    about:
        What it does, in one line without a full stop.
    run:
        Does it, and returns how it ends.
    arguments:
        Adds what it takes to its parser.
    examples:
        Lines to show below its help.
    """

    name: str
    about: str
    run: Callable[[argparse.Namespace], int]
    arguments: Callable[[Parser], None] = lambda parser: None
    examples: str = ""

    def add_to(self, parser: Parser) -> None:
        """Add to a parser what this command takes, and what every command takes."""
        self.arguments(parser)
        parser.add_argument("--json", action="store_true", help="plain data instead of text")
        parser.set_defaults(run=self.run)


@dataclass(frozen=True, slots=True)
class Group:
    """Commands behind one word."""

    name: str
    about: str
    commands: tuple[Command, ...]
    examples: str = ""


def parser_of(
    parser: Parser, commands: Sequence[Command | Group], words: Sequence[str] = ()
) -> Parser:
    """Give a parser its commands, and return it.

    Where ``words`` begin with a command that one alone is added: making the parsers of all takes longer
    than importing half of what a command needs.
    """
    named = [command for command in commands if list(words[:1]) == [command.name]]
    parser.set_defaults(run=lambda _: _help(parser))  # a bare call
    places = parser.add_subparsers(metavar="COMMAND", title="commands", parser_class=Parser)
    for command in named or commands:
        made = places.add_parser(
            command.name,
            help=command.about.replace("%", "%%"),
            description=f"{command.about[:1].upper()}{command.about[1:]}.",
            epilog=command.examples or None,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        if isinstance(command, Group):
            parser_of(made, command.commands, words[1:])
        else:
            command.add_to(made)
    return parser


def _help(parser: Parser) -> int:
    print_out(parser.format_help().rstrip("\n"))
    return DONE


def every_command(commands: Sequence[Command | Group]) -> Iterator[tuple[str, ...]]:
    """Return the words of every command, those of groups too."""
    for command in commands:
        if isinstance(command, Group):
            yield from ((command.name, *words) for words in every_command(command.commands))
        else:
            yield (command.name,)


def require_known(words: Sequence[str], commands: Sequence[Command | Group]) -> None:
    """Refuse a first word that is no command, with a guess at what was meant.

    Raises
    ------
    InputError
        If it is none.
    """
    if not words or words[0].startswith("-"):
        return
    for command in commands:
        if command.name == words[0]:
            if isinstance(command, Group):
                require_known(words[1:], command.commands)
            return
    names = [command.name for command in commands]
    remedy = nearest(words[0], names) or f"There are {', '.join(names)}."
    raise InputError(words[0], "is not a command", remedy)


def add_recipe(parser: Parser) -> None:
    """Add the recipe that a command is about; a shell completes examples beside files."""
    action = parser.add_argument("recipe", help="recipe file, name of an example, or - for stdin")
    action.completer = _recipes  # type: ignore[attr-defined]


def _recipes(prefix: str, **_: object) -> list[str]:
    from argcomplete.completers import FilesCompleter

    from formulate.data import example_names

    return [*example_names(), *FilesCompleter(("toml",))(prefix)]
