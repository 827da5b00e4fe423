"""The sources that tables name by a short word: ``sources.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from formulate.data.tables import data_folder
from formulate.errors import TableError

__all__ = ["basis_words", "source_words"]

_FILE = "sources.toml"
_NOBODY = ("none", "this project")


def source_words(key: str) -> str:
    """Return the title of a source and who published it.

    Parameters
    ----------
    key:
        A table of ``sources.toml``.

    Returns
    -------
    str

    Raises
    ------
    TableError
        If there is no such source.

    Examples
    --------
    >>> source_words("practice")
    'Common practice, no source'
    """
    try:
        source = _sources()[key]
    except KeyError:
        raise TableError(f'{_FILE}: has no source "{key}".') from None
    title, publisher = source["title"], source["publisher"]
    return title if publisher in _NOBODY else f"{title} ({publisher})"


def basis_words(source: str, note: str) -> str:
    """Return what a figure rests on: what the source says of it, and the source.

    Parameters
    ----------
    source:
        A table of ``sources.toml``.
    note:
        What the source says of the figure, or "".

    Returns
    -------
    str

    Examples
    --------
    >>> basis_words("practice", "0.26 % in a published sorbet")
    'Common practice, no source; 0.26 % in a published sorbet'
    """
    words = source_words(source)
    if not note:
        return words
    return f"{words}: {note}" if words.endswith(")") else f"{words}; {note}"


@lru_cache(maxsize=1)
def _sources() -> Mapping[str, Mapping[str, str]]:
    return MappingProxyType(tomllib.loads((data_folder() / _FILE).read_text(encoding="utf-8")))
