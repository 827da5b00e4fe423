"""Everything in a notebook as a page of HTML to print, each recipe begun on a new sheet."""

from __future__ import annotations

from collections.abc import Iterable

from formulate.printing.page import rendered
from formulate.report import PrintedRecipe

__all__ = ["notebook_html"]


def notebook_html(recipes: Iterable[PrintedRecipe]) -> str:
    """Return recipes with their batches as a page of HTML in one file.

    Parameters
    ----------
    recipes:
        As :func:`formulate.report.printed_recipe` makes them.

    Returns
    -------
    str
        The page.

    Examples
    --------
    >>> "<title>Notebook</title>" in notebook_html([])
    True
    """
    return rendered("notebook.html", title="Notebook", recipes=tuple(recipes))
