"""Numbers as a cook reads them.  Wherever a number is put into words, it is done here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

__all__ = ["FIGURES", "degrees_words", "grams_words", "money_words", "percent_words", "time_words"]

_FINE_G = 20.0  # below this a kitchen weighs to 0.1 g


def grams_words(value: float, *, exact: bool = False, decimals: int | None = None) -> str:
    """Return a weight without its unit.

    Parameters
    ----------
    value:
        [g]
    exact:
        Whether it is shown as it stands, else to 1 g, below 20 g to 0.1 g.
    decimals:
        Where it is exact: as many as may be shown; ``None``: 1, below 20 g 2.  Noughts that say nothing
        are left out.

    Returns
    -------
    str

    Examples
    --------
    >>> grams_words(1240.4), grams_words(7.52), grams_words(8.0)
    ('1,240', '7.5', '8')
    >>> grams_words(1240.25, exact=True, decimals=4), grams_words(1.0 / 3.0, exact=True)
    ('1,240.25', '0.33')
    """
    value = value if abs(value) > 1e-9 else 0.0
    fine = abs(value) < _FINE_G
    if not exact:
        value = round(value, 1 if fine else 0) + 0.0  # never minus nought
        return f"{value:,.1f}" if value % 1 else f"{value:,.0f}"
    most = (2 if fine else 1) if decimals is None else decimals
    near = 0.5 * 10.0 ** -max(most, 2)
    shown = next((n for n in range(most) if abs(value - round(value, n)) < near), most)
    return f"{value:,.{shown}f}"


def percent_words(value: float) -> str:
    """Return a share without its sign, to a tenth.

    Parameters
    ----------
    value:
        [%].

    Returns
    -------
    str

    Examples
    --------
    >>> percent_words(12.34)
    '12.3'
    """
    return f"{value:.1f}"


def degrees_words(value: float) -> str:
    """Return a temperature that somebody has set, without its unit.

    Parameters
    ----------
    value:
        [°C].

    Returns
    -------
    str

    Examples
    --------
    >>> degrees_words(-14.0), degrees_words(-13.5)
    ('-14', '-13.5')
    """
    return f"{value:g}"


def money_words(value: float) -> str:
    """Return an amount in the money of the kitchen's prices.

    Parameters
    ----------
    value:
        In the kitchen's money.

    Returns
    -------
    str

    Examples
    --------
    >>> money_words(1234.5)
    '1,234.50'
    """
    return f"{value:,.2f}"


def time_words(minutes: float) -> str:
    """Return how long a cook waits: minutes, from two hours on in hours.

    Parameters
    ----------
    minutes:
        [min].

    Returns
    -------
    str

    Examples
    --------
    >>> time_words(45.0), time_words(600.0)
    ('45 minutes', '10 hours')
    """
    return f"{minutes / 60.0:.3g} hours" if minutes >= 120.0 else f"{minutes:g} minutes"


def _exact_grams(value: float) -> str:
    return grams_words(value, exact=True)


def _whole(value: float) -> str:
    return f"{value:,.0f}"


#: How the fields of a sentence are shown, by the word behind the colon: ``{weight:grams}``.
FIGURES: Mapping[str, Callable[[float], str]] = MappingProxyType(
    {
        "grams": grams_words,
        "exact_grams": _exact_grams,
        "percent": percent_words,
        "degrees": degrees_words,
        "money": money_words,
        "time": time_words,
        "whole": _whole,
    }
)
