"""Numbers as a cook reads them.  Wherever a number is put into words, it is done here."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

__all__ = ["FIGURES", "degrees", "grams", "money", "percent"]

_FINE_G = 20.0  # below this a kitchen weighs to 0.1 g
_FINEST = 4  # decimals of the finest scale


def grams(value: float, *, exact: bool = False) -> str:
    """Return a weight without its unit.

    Parameters
    ----------
    value:
        [g]
    exact:
        Whether it is shown as it stands, with as many decimals as the kitchen's scale gave it, else to
        1 g, below 20 g to 0.1 g.

    Examples
    --------
    >>> grams(1240.4), grams(7.52), grams(8.0)
    ('1,240', '7.5', '8')
    >>> grams(1240.25, exact=True), grams(1.0 / 3.0, exact=True)
    ('1,240.25', '0.33')
    """
    value = value if abs(value) > 1e-9 else 0.0
    if not exact:
        value = round(value, 1 if abs(value) < _FINE_G else 0) + 0.0  # never minus nought
        return f"{value:,.1f}" if value % 1 else f"{value:,.0f}"
    for decimals in range(_FINEST + 1):
        if abs(value - round(value, decimals)) < 1e-6:
            return f"{value:,.{decimals}f}"
    if abs(value - round(value)) < 0.005:
        return f"{value:,.0f}"
    tenths = abs(value) >= _FINE_G or abs(value - round(value, 1)) < 0.005
    return f"{value:,.1f}" if tenths else f"{value:,.2f}"


def percent(value: float) -> str:
    """Return a share without its sign, to a tenth.

    Examples
    --------
    >>> percent(12.34)
    '12.3'
    """
    return f"{value:.1f}"


def degrees(value: float) -> str:
    """Return a temperature that somebody has set, without its unit.

    Examples
    --------
    >>> degrees(-14.0), degrees(-13.5)
    ('-14', '-13.5')
    """
    return f"{value:g}"


def money(value: float) -> str:
    """Return an amount in the money of the kitchen's prices.

    Examples
    --------
    >>> money(1234.5)
    '1,234.50'
    """
    return f"{value:,.2f}"


def _exact_grams(value: float) -> str:
    return grams(value, exact=True)


def _whole(value: float) -> str:
    return f"{value:,.0f}"


#: How the fields of a sentence are shown, by the word behind the colon: ``{weight:grams}``.
FIGURES: Mapping[str, Callable[[float], str]] = MappingProxyType(
    {
        "grams": grams,
        "exact_grams": _exact_grams,
        "percent": percent,
        "degrees": degrees,
        "money": money,
        "whole": _whole,
    }
)
