"""The version of the program, read when it is asked for."""

from __future__ import annotations

from formulate.data import versions

__all__ = ["__version__"]

#: Version of the installed program, ``checkout`` where it runs without being installed.
__version__: str = versions()["formulate"]
