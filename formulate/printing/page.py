"""Pages of HTML in one file that print on A4: nothing fetched, no script, all text escaped.

The pages stand in ``templates``.  Whatever text is put into one is escaped by Jinja and typeset here.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from formulate.data import made_with

__all__ = ["rendered", "typeset"]

_MINUS = re.compile(r"(?<![\w.,)-])-(?=\d)")
_UNIT = re.compile(r"(\d) (°C|°F|g|kg|L|%|min|h|s|oz)\b")


def rendered(template: str, **what: Any) -> str:
    """Return a page.

    Parameters
    ----------
    template:
        A file of ``templates``.
    what:
        What it shows, by the names that it uses; each must be given.

    Returns
    -------
    str
        HTML that stands alone, and names in its head what made it.
    """
    return _pages().get_template(template).render(made_with=made_with(), **what)


def typeset(text: str) -> str:
    """Return a text with true minus signs, and units that stay with their numbers.

    Parameters
    ----------
    text:
        Of one paragraph.

    Returns
    -------
    str
        The same words.

    Examples
    --------
    >>> typeset("at -12 °C")
    'at −12\\xa0°C'
    """
    return _UNIT.sub("\\1\u00a0\\2", _MINUS.sub("−", text))


@lru_cache(maxsize=1)
def _pages() -> Environment:
    return Environment(
        loader=PackageLoader("formulate.printing"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_finished,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def _finished(value: object) -> object:
    """Typeset what is text; numbers, and HTML that the templates have made, are as they should be."""
    return typeset(value) if isinstance(value, str) and not isinstance(value, Markup) else value
