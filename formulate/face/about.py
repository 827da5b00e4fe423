"""The version of the program."""

from __future__ import annotations

from formulate.data import VERSION

__all__ = ["__version__"]

__version__: str = VERSION
