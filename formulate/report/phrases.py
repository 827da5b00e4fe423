"""Parts of sentences: fields filled into a template, and several things joined."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeAlias

from formulate.report.figures import FIGURES

__all__ = ["Template", "commas", "enumerated", "fill", "lowered", "raised"]

#: How a code is put into words: a template, or a function of the fields where grammar asks for one.
Template: TypeAlias = str | Callable[[Mapping[str, Any]], str]


def commas(parts: Sequence[str]) -> str:
    """Return several things with commas between them."""
    return ", ".join(parts)


def enumerated(parts: Sequence[str]) -> str:
    """Return several things as a sentence names them.

    Examples
    --------
    >>> enumerated(["milk", "egg", "sugar"])
    'milk, egg and sugar'
    """
    return " and ".join([part for part in (commas(parts[:-1]), *parts[-1:]) if part])


def lowered(text: str) -> str:
    """Return a text as it stands within a sentence.

    Parameters
    ----------
    text:
        Words.

    Returns
    -------
    str

    Examples
    --------
    >>> lowered("Total solids")
    'total solids'
    """
    return f"{text[:1].lower()}{text[1:]}"


def raised(text: str) -> str:
    """Return a text as it stands at the start of a sentence.

    Parameters
    ----------
    text:
        Words.

    Returns
    -------
    str

    Examples
    --------
    >>> raised("the weight of sugar")
    'The weight of sugar'
    """
    return f"{text[:1].upper()}{text[1:]}"


def fill(template: str, fields: Mapping[str, Any]) -> str:
    """Return a template with its fields filled in.

    Parameters
    ----------
    template:
        ``{name}`` shows a field, ``{weight:grams}`` shows it by one of
        :data:`formulate.report.figures.FIGURES`; ``commas``, ``enumerated``, ``lowered`` and
        ``raised`` are the functions of this module, and ``within`` is a name in small letters; any
        other word behind a colon is a number's usual format.
    fields:
        By name.

    Examples
    --------
    >>> fill("{name}: {weight:grams} g", {"name": "Sugar", "weight": 7.52})
    'Sugar: 7.5 g'
    """
    return template.format_map({name: _Shown(value) for name, value in fields.items()})


_FORMS: Mapping[str, Callable[[Any], str]] = MappingProxyType(
    {
        **FIGURES,
        "commas": commas,
        "enumerated": enumerated,
        "lowered": lowered,
        "raised": raised,
        "within": str.lower,
    }
)


class _Shown:
    """A field that knows the words behind a colon."""

    __slots__ = ("_value",)

    def __init__(self, value: Any) -> None:
        self._value = value

    def __format__(self, form: str) -> str:
        return _FORMS[form](self._value) if form in _FORMS else format(self._value, form)
