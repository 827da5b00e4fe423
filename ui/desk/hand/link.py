"""A recipe as a word in the address of the page, and back: what a reload or a second tab reads."""

from __future__ import annotations

import base64
import binascii
import zlib

from formulate.errors import InputError
from formulate.recipes import LARGEST_FILE, Recipe, parse, to_toml

__all__ = ["LONGEST_LINK", "recipe_of", "word_of"]

#: Longest word that is put into the address; servers and browsers take at least twice as much.
LONGEST_LINK = 30_000

_PLACE = "the link"


def word_of(recipe: Recipe) -> str | None:
    """Return the recipe as a word for the address, ``None`` where it would be too long."""
    packed = zlib.compress(to_toml(recipe).encode(), 9)
    word = base64.urlsafe_b64encode(packed).decode().rstrip("=")
    return word if len(word) <= LONGEST_LINK else None


def recipe_of(word: str) -> Recipe:
    """Return the recipe of such a word.

    Raises
    ------
    InputError
        If it is not one: cut short, mistyped, or something else altogether.
    """
    try:
        packed = base64.b64decode(word + "=" * (-len(word) % 4), altchars=b"-_", validate=True)
        unpacker = zlib.decompressobj()
        text = unpacker.decompress(packed, LARGEST_FILE + 1)
    except (binascii.Error, ValueError, zlib.error):
        raise _broken() from None
    if not unpacker.eof and len(text) <= LARGEST_FILE:  # cut short: it may still read as a recipe
        raise _broken()
    return parse(text, _PLACE)


def _broken() -> InputError:
    remedy = "Copy it once more, or open the recipe file."
    return InputError(_PLACE, "does not hold a whole recipe", remedy)
