"""Sentences for what the engine has to say: the one place where a message becomes words.

A catalogue has one entry a code: a template with the message's fields by name (see
:func:`formulate.report.phrases.fill`), or a function of these where grammar asks for one.  A message
within a message is put into words first.

Another language is a package beside :mod:`formulate.report.english` with the same codes, and a line in
``_LANGUAGES``; a code that it lacks is said in English.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from importlib import import_module
from typing import Any

from formulate.messages import Message
from formulate.report.english import SENTENCES
from formulate.report.phrases import Template, fill

__all__ = ["basis", "remedy", "sentence", "sentences", "warning_data"]

#: Where the catalogue of each language stands.
_LANGUAGES: Mapping[str, str] = {"en": "formulate.report.english"}


def sentence(message: Message, language: str = "en") -> str:
    """Return a message in words.

    Parameters
    ----------
    message:
        As the engine gave it.
    language:
        ``en``; :mod:`formulate.report.wording` says how others come in.

    Returns
    -------
    str

    Raises
    ------
    KeyError
        If there is no such language, or the code has no words in any.

    Examples
    --------
    >>> from formulate.messages import message
    >>> sentence(message("at_overrun", overrun_percent=30.0))
    'At 30 % overrun.'
    """
    catalogue = import_module(_LANGUAGES[language]).SENTENCES
    template: Template = catalogue.get(message.code) or SENTENCES[message.code]
    words = {name: _inner(value, language) for name, value in message.fields.items()}
    return fill(template, words) if isinstance(template, str) else template(words)


def basis(message: Message, language: str = "en") -> str:
    """Return what a message rests on, a source or common practice; "" where nothing is said of that.

    Parameters
    ----------
    message:
        What is said.
    language:
        Of the words.

    Returns
    -------
    str

    Examples
    --------
    >>> from formulate.messages import message
    >>> basis(message("caution_cooling")).split("; ")[1]
    'Food Code 3-501.14'
    """
    return _beside(message, "basis", language)


def remedy(message: Message, language: str = "en") -> str:
    """Return what helps against what a message tells; "" where nothing is known to.

    Parameters
    ----------
    message:
        What is said.
    language:
        Of the words.

    Returns
    -------
    str

    Examples
    --------
    >>> from formulate.messages import message
    >>> remedy(message("caution_cooling"))
    ''
    """
    return _beside(message, "remedy", language)


def warning_data(message: Message, language: str = "en") -> dict[str, Any]:
    """Return a warning as plain data: its code, what it is about, and its sentence.

    Parameters
    ----------
    message:
        A warning.
    language:
        Of the words.

    Returns
    -------
    dict
        Ready for JSON.

    Examples
    --------
    >>> from formulate.messages import message
    >>> warning_data(message("with_sweeteners"))["code"]
    'with_sweeteners'
    """
    about = {name: message.fields.get(name) for name in ("key", "value", "limit")}
    return {"code": message.code, **about, "text": sentence(message, language)}


def sentences(messages: Iterable[Message], language: str = "en") -> tuple[str, ...]:
    """Return several messages in words, one each.

    Parameters
    ----------
    messages:
        What is said.
    language:
        Of the words.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> from formulate.messages import message
    >>> len(sentences([message("caution_cooling"), message("caution_cooling")]))
    2
    """
    return tuple(sentence(each, language) for each in messages)


def _beside(message: Message, what: str, language: str) -> str:
    code = f"{message.code}_{what}"
    return sentence(Message(code, message.fields), language) if code in SENTENCES else ""


def _inner(value: Any, language: str) -> Any:
    if isinstance(value, Message):
        return sentence(value, language)
    return tuple(_inner(each, language) for each in value) if isinstance(value, tuple) else value
