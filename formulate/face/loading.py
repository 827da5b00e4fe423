"""Recipes and menus from where they are, and what was made into a file.

There is one order of looking for a recipe: a file, then an example, then the notebook.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from formulate.errors import InputError, nearest
from formulate.face.files import file_bytes, write_file
from formulate.recipes import Recipe, parse, to_toml, toml_tables

if TYPE_CHECKING:
    from formulate.answers import Menu
    from formulate.notebook import Notebook
    from formulate.printing import Sheet

__all__ = ["load", "load_menu", "recipe_named", "save"]


def load(
    where: str | Path, *, notebook: Notebook | None = None, folder: str | Path = "."
) -> Recipe:
    """Return a recipe: that of a file, else the example, else the newest of the notebook.

    Parameters
    ----------
    where:
        Path of a recipe file (TOML, at most 1 MB), name of an example, or name of a kept recipe.
    notebook:
        The notebook to look into; ``None``: the usual one, if there is one.
    folder:
        Where a relative path begins.

    Returns
    -------
    Recipe

    Raises
    ------
    InputError
        If there is neither, or it is no recipe; the message says which and what to do.

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> recipe.name, recipe.batch_g
    ('Damson sorbet, fruit at 11 °Bx', 2000.0)
    >>> fm.load("damson_sorbett")
    Traceback (most recent call last):
    ...
    formulate.errors.InputError: damson_sorbett: there is no such file, example or recipe of the ...
    """
    found = file_bytes(where, folder)
    return recipe_named(str(where), notebook) if found is None else parse(*found)


def recipe_named(name: str, notebook: Notebook | None = None) -> Recipe:
    """Return the example of that name, else the newest version of that recipe in the notebook.

    For names from elsewhere: no file is looked at but the examples and the notebook.

    Parameters
    ----------
    name:
        Name of an example or of a kept recipe.
    notebook:
        The notebook to look into; ``None``: the usual one, if there is one.

    Returns
    -------
    Recipe

    Raises
    ------
    InputError
        If there is neither.

    Examples
    --------
    >>> recipe_named("damson_sorbet").ingredients[0].key
    'damson'
    """
    from formulate.data import example_bytes, example_names

    if name in example_names():
        return parse(example_bytes(name), name)
    kept, known = _kept(name, notebook)
    if kept is not None:
        return kept
    remedy = nearest(name, (*example_names(), *known))
    problem = "there is no such file, example or recipe of the notebook"
    raise InputError(name, problem, remedy or f"The examples are: {', '.join(example_names())}.")


def load_menu(where: str | Path) -> Menu:
    """Return the menu of a file with ``[[base]]`` and ``[[mix]]`` tables.

    Parameters
    ----------
    where:
        Path of the file (TOML, at most 1 MB).

    Returns
    -------
    Menu

    Raises
    ------
    InputError
        If there is no such file, or it is no menu.

    Examples
    --------
    >>> load_menu("no_such_menu.toml")
    Traceback (most recent call last):
    ...
    formulate.errors.InputError: no_such_menu.toml: there is no such file. Give a menu file.
    """
    from formulate.answers import menu_from_mapping

    found = file_bytes(where)
    if found is None:
        raise InputError(str(where), "there is no such file", "Give a menu file.")
    return menu_from_mapping(toml_tables(*found, "menu", "formulate base --help"), found[1])


def save(what: Recipe | Sheet, where: str | Path, *, force: bool = False) -> Path:
    """Write a recipe or a batch sheet to a file, whole or not at all.

    Parameters
    ----------
    what:
        A recipe goes to ``.toml``, a sheet to ``.html`` or ``.pdf``.
    where:
        The file.  What this program did not write is not written over,
    force:
        unless this says so; a recipe or a notebook never.

    Returns
    -------
    Path
        Where it stands now.

    Raises
    ------
    InputError
        If the name has another ending, something else is there already, or it cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = save(load("damson_sorbet"), f"{folder}/tuesday.toml")
    ...     load(path).batch_g
    2000.0
    """
    path = Path(where)
    endings = (".toml",) if isinstance(what, Recipe) else (".html", ".pdf")
    if path.suffix not in endings:
        problem = f'"{path.name}" does not end in {" or ".join(endings)}'
        raise InputError("save", problem, f"Name it {path.stem or 'mix'}{endings[0]}.")
    if isinstance(what, Recipe):
        data = to_toml(what).encode("utf-8")
    else:
        from formulate.printing import sheet_html, sheet_pdf

        data = sheet_pdf(what) if path.suffix == ".pdf" else sheet_html(what).encode("utf-8")
    return write_file(path, data, "save", force)


def _kept(name: str, notebook: Notebook | None) -> tuple[Recipe | None, tuple[str, ...]]:
    """The newest version of a kept recipe; where there is none, the names of all that are kept."""
    from formulate.notebook import default_path, folded, kept_version, open_notebook, search

    if notebook is None:
        if not default_path().exists():
            return None, ()
        with open_notebook(create=False) as usual:
            return _kept(name, usual)
    try:
        return kept_version(notebook, name).recipe, ()
    except InputError:
        known = tuple(found.newest.name for found in search(notebook))
        if any(folded(name) in folded(each) for each in known):
            raise  # there is one, or more than one, and it says what is wrong with that
        return None, known
