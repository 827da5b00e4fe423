"""The guide that comes with the package: one page of Markdown a topic."""

from __future__ import annotations

from pathlib import Path

__all__ = ["guide_text", "guide_topics"]

_PAGES = Path(__file__).resolve().parents[1] / "guide"
_ORDER = ("start", "commands", "recipe", "menu", "python", "numbers")


def guide_topics() -> tuple[tuple[str, str], ...]:
    """Return the topics in the order of reading, each with its title.

    Returns
    -------
    tuple of tuple of str

    Examples
    --------
    >>> guide_topics()[0]
    ('start', 'A first dessert')
    """
    return tuple((topic, guide_text(topic).splitlines()[0].removeprefix("# ")) for topic in _ORDER)


def guide_text(topic: str) -> str:
    """Return a page of the guide; ``KeyError`` if there is none of that name.

    Parameters
    ----------
    topic:
        One of :func:`guide_topics`.

    Returns
    -------
    str

    Examples
    --------
    >>> guide_text("python").startswith("# In Python")
    True
    """
    if topic not in _ORDER:
        raise KeyError(topic)
    return (_PAGES / f"{topic}.md").read_text(encoding="utf-8")
