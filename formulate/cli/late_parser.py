"""The parser of a command, made when it is that command that is asked for.

Making the parsers of all commands takes longer than judging a mix.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import cached_property
from typing import Any

from formulate.cli.temperatures import NEGATIVE

__all__ = ["LateParser"]


class LateParser:
    """Notes what it is told, as an ``ArgumentParser`` would take it, and does it when it has to parse.

    ``add_subparsers(parser_class=LateParser)`` asks of a command's parser no more than this.
    """

    def __init__(self, **about: Any) -> None:
        self._about = about
        self._told: list[Callable[[argparse.ArgumentParser], object]] = []

    def add_argument(self, *names: str, **about: Any) -> None:
        """Note an argument."""
        self._told.append(lambda parser: parser.add_argument(*names, **about))

    def set_defaults(self, **defaults: Any) -> None:
        """Note what the command sets."""
        self._told.append(lambda parser: parser.set_defaults(**defaults))

    def add_subparsers(self, **about: Any) -> Any:
        """Return what adds commands of its own, late ones again."""
        return self._parser.add_subparsers(parser_class=LateParser, **about)

    def parse_known_args(self, *given: Any, **more: Any) -> Any:
        """Parse as an ``ArgumentParser`` does."""
        return self._parser.parse_known_args(*given, **more)

    @cached_property
    def _parser(self) -> argparse.ArgumentParser:
        parser = argparse.ArgumentParser(**self._about)
        parser._negative_number_matcher = NEGATIVE  # "-18C" is no option
        for tell in self._told:
            tell(parser)
        return parser
