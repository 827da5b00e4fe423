"""A cell of a sheet: numbers as they are, and text that no spreadsheet takes for a formula."""

from __future__ import annotations

__all__ = ["FORMULA", "cell"]

#: What text must not begin with, or a spreadsheet may run it; the apostrophe so that what has been
#: put before such text can be taken away again.
FORMULA = tuple("=+-@\t\r\n＝＋－＠'")


def cell(value: object) -> str:
    """Return what stands in a cell; text that could be a formula begins with an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(FORMULA) else value
    return repr(int(value) if isinstance(value, bool) else value)
