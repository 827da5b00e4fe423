"""Cells of a CSV sheet: text that no spreadsheet takes for a formula, numbers as they are."""

from __future__ import annotations

__all__ = ["FORMULA", "cell"]

#: What text must not begin with, or a spreadsheet may run it; the apostrophe so that what has been
#: put before such text can be taken away again.
FORMULA = tuple("=+-@\t\r\n＝＋－＠'")


def cell(value: object) -> str:
    """Return a cell: numbers as they are, text so that no spreadsheet takes it for a formula.

    Text that might be one begins with an apostrophe, which spreadsheets show as text; ``None`` is empty.

    Parameters
    ----------
    value:
        Text, a number, a truth or ``None``.

    Returns
    -------
    str

    Examples
    --------
    >>> cell(12.5), cell("=1+1"), cell(None)
    ('12.5', "'=1+1", '')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(FORMULA) else value
    return repr(int(value) if isinstance(value, bool) else value)
