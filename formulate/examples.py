"""The recipes of an invented kitchen that come with the package, by name."""

from __future__ import annotations

from formulate.tables import data_folder

__all__ = ["example_bytes", "example_names"]


def example_names() -> tuple[str, ...]:
    """Return the names of the example recipes, in alphabetical order."""
    return tuple(sorted(path.stem for path in (data_folder() / "examples").glob("*.toml")))


def example_bytes(name: str) -> bytes:
    """Return the recipe file of an example; ``KeyError`` if there is none of that name."""
    if name not in example_names():
        raise KeyError(name)
    return (data_folder() / "examples" / f"{name}.toml").read_bytes()
