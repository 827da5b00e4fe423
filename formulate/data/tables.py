"""Finding and reading the tables that the package ships.

The tables live in the folder ``reference-data``.  An installed package carries a copy of it; in a
checkout it is the sibling folder.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from operator import itemgetter
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formulate.errors import TableError

__all__ = ["data_folder", "number", "numbers", "numbers_plain", "page_folder", "read_rows"]

_PACKAGE = Path(__file__).resolve().parents[1]


def _shipped(installed: str, sibling: str) -> Path:
    inside = _PACKAGE / installed
    return inside if inside.is_dir() else _PACKAGE.parent / sibling


def data_folder() -> Path:
    """Return the folder of reference data.

    Returns
    -------
    Path

    Examples
    --------
    >>> (data_folder() / "composition.csv").is_file()
    True
    """
    return _shipped("_reference_data", "reference-data")


def page_folder() -> Path:
    """Return the folder of the front end.

    Returns
    -------
    Path

    Examples
    --------
    >>> (page_folder() / "app.py").is_file()
    True
    """
    return _shipped("_ui", "ui")


def read_rows(path: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV table with a header line.

    Parameters
    ----------
    path:
        The file, UTF-8.

    Returns
    -------
    list of dict
        Cells by column, as text.

    Raises
    ------
    TableError
        If the file is missing, or a row has more or fewer cells than the header.

    Examples
    --------
    >>> read_rows(data_folder() / "serving.csv")[0]["kind"]
    'sorbet'
    """
    try:
        with path.open(encoding="utf-8", newline="") as file:
            header, *rows = [row for row in csv.reader(file) if row] or [[]]
    except OSError as error:
        raise TableError(f"{path.name}: cannot be read ({error.strerror}).") from error
    for line, row in enumerate(rows, start=2):
        if len(row) != len(header):
            raise TableError(f"{path.name}, line {line}: has not as many cells as the header.")
    return [dict(zip(header, row, strict=True)) for row in rows]


def number(row: dict[str, str], column: str, where: str) -> float:
    """Return a cell as a finite number; an empty cell is an error, never a zero.

    Parameters
    ----------
    row:
        Cells by column.
    column:
        The column.
    where:
        Where the row stands, for messages.

    Returns
    -------
    float

    Raises
    ------
    TableError
        If the cell is missing, empty, not a number, or not finite.

    Examples
    --------
    >>> number({"water": "88.5"}, "water", "composition.csv, pear")
    88.5
    """
    text = row.get(column, "").strip()
    if not text:
        raise TableError(f"{where}: {column} is missing.")
    try:
        value = float(text)
    except ValueError:
        raise TableError(f'{where}: {column} is "{text}", not a number.') from None
    if not abs(value) < float("inf"):
        raise TableError(f"{where}: {column} is not a finite number.")
    return value


def numbers(
    rows: Sequence[dict[str, str]], columns: Sequence[str], where: Sequence[str]
) -> NDArray[np.float64]:
    """Return what :func:`number` does for many cells at once, shape (rows, two or more columns).

    Parameters
    ----------
    rows:
        Rows, each of cells by column.
    columns:
        Two columns or more.
    where:
        Where each row stands, for messages.

    Returns
    -------
    ndarray

    Raises
    ------
    TableError
        As :func:`number` does, for the first cell that is no number.

    Examples
    --------
    >>> numbers([{"min": "1", "max": "2"}], ("min", "max"), ["row 1"]).tolist()
    [[1.0, 2.0]]
    """
    of_row = itemgetter(*columns)
    try:
        found = np.array([[float(cell) for cell in of_row(row)] for row in rows])
    except (KeyError, ValueError):
        found = np.array([np.nan])
    if not np.isfinite(found).all():
        return numbers_plain(rows, columns, where)
    return found


def numbers_plain(
    rows: Sequence[dict[str, str]], columns: Sequence[str], where: Sequence[str]
) -> NDArray[np.float64]:
    """Return what :func:`numbers` does, cell by cell."""
    return np.array(
        [
            [number(row, column, place) for column in columns]
            for row, place in zip(rows, where, strict=True)
        ]
    )
