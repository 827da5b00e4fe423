"""The version of the program."""

from __future__ import annotations

from formulate.data import VERSION

__all__ = ["__version__"]

#: Version of the program, the same whether it is installed or run from a checkout.
__version__: str = VERSION
