"""The recipes and menus of an invented kitchen that come with the package, by name."""

from __future__ import annotations

from pathlib import Path

from formulate.data.tables import data_folder

__all__ = ["example_bytes", "example_names", "menu_bytes", "menu_names"]


def example_names() -> tuple[str, ...]:
    """Return the names of the example recipes, in alphabetical order.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> "damson_sorbet" in example_names()
    True
    """
    return _names(data_folder() / "examples")


def example_bytes(name: str) -> bytes:
    """Return the recipe file of an example; ``KeyError`` if there is none of that name.

    Parameters
    ----------
    name:
        One of :func:`example_names`.

    Returns
    -------
    bytes
        TOML, UTF-8.

    Raises
    ------
    KeyError
        If there is none of that name.

    Examples
    --------
    >>> b"damson" in example_bytes("damson_sorbet")
    True
    """
    return _bytes(data_folder() / "examples", name)


def menu_names() -> tuple[str, ...]:
    """Return the names of the example menus, in alphabetical order.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> menu_names()
    ('november_week',)
    """
    return _names(data_folder() / "examples" / "menus")


def menu_bytes(name: str) -> bytes:
    """Return the menu file of an example; ``KeyError`` if there is none of that name.

    Parameters
    ----------
    name:
        One of :func:`menu_names`.

    Returns
    -------
    bytes
        TOML, UTF-8.

    Raises
    ------
    KeyError
        If there is none of that name.

    Examples
    --------
    >>> b"damson" in menu_bytes("november_week")
    True
    """
    return _bytes(data_folder() / "examples" / "menus", name)


def _names(folder: Path) -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in folder.glob("*.toml")))


def _bytes(folder: Path, name: str) -> bytes:
    if name not in _names(folder):
        raise KeyError(name)
    return (folder / f"{name}.toml").read_bytes()
