"""Long tables on disk, as Parquet or CSV, which say what made them.

Written a part at a time beside their place and moved there when whole.  A Parquet file says what it is in
its metadata, under ``formulate``; a CSV file in a second file, ``FILE.about.json``, with its own hash.

pyarrow is imported when it is first needed: that takes longer than a small table.
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np

from formulate.data import cell, write_whole
from formulate.errors import InputError

__all__ = ["told_of", "two_forms", "whole_table", "write_table"]

_ABOUT = b"formulate"  # the key of the metadata in a Parquet file
_FORMS = (".parquet", ".csv")
_GROUP_ROWS = 65_536


def two_forms(output: Path) -> None:
    """Refuse a name that ends in neither .parquet nor .csv.

    Parameters
    ----------
    output:
        A file to be written.

    Raises
    ------
    InputError
        If it does.

    Examples
    --------
    >>> two_forms(Path("mixes.csv"))
    """
    if output.suffix not in _FORMS:
        problem = f'"{output}" is neither .parquet nor .csv'
        raise InputError("-o", problem, "Name it sweep.parquet.")


def whole_table(columns: Mapping[str, Any]) -> Any:
    """Return columns as a table of pyarrow; where a number is NaN the cell is empty.

    Parameters
    ----------
    columns:
        Values of equal length by name.

    Returns
    -------
    pyarrow.Table

    Examples
    --------
    >>> whole_table({"brix": np.array([9.0, np.nan])}).column("brix").null_count
    1
    """
    import pyarrow as pa

    arrays = {}
    for name, column in columns.items():
        if isinstance(column, np.ndarray):
            arrays[name] = pa.array(column, from_pandas=True)
        else:
            arrays[name] = pa.array(column, pa.string())
    return pa.table(arrays)


def write_table(output: Path, tables: Iterable[Any], about: Mapping[str, Any], part: Path) -> int:
    """Write tables one after the other into one file and move it to its place; return its rows.

    Holds about 65,000 rows at a time.

    Parameters
    ----------
    output:
        ``.parquet`` or ``.csv``.
    tables:
        Of pyarrow, all with the same columns.
    about:
        What the file says of itself, ready for JSON.
    part:
        Where it is written until it is whole, on the same disk.

    Returns
    -------
    int

    Raises
    ------
    OSError
        If it cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     output = Path(folder, "readings.csv")
    ...     table = whole_table({"brix": np.array([9.0, 9.5])})
    ...     write_table(output, [table], {}, output.with_suffix(".part"))
    2
    """
    try:
        write = _write_csv if output.suffix == ".csv" else _write_parquet
        rows = write(part, tables, about)
        if output.suffix == ".csv":
            told = json.dumps({**about, "sha256": _hash_of(part)}, indent=1, ensure_ascii=False)
            write_whole(_beside(output), told.encode("utf-8"))
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        os.replace(part, output)
    finally:
        part.unlink(missing_ok=True)
    return rows


def told_of(output: Path) -> Mapping[str, Any]:
    """Return what a file says of itself; nothing if it is not there, not ours, or a changed CSV."""
    found: Any = None
    if output.suffix == ".csv":
        with suppress(OSError, ValueError):
            found = json.loads(_beside(output).read_text(encoding="utf-8"))
            found = found if found["sha256"] == _hash_of(output) else None
    elif output.exists():
        import pyarrow as pa
        import pyarrow.parquet as pq

        with suppress(OSError, ValueError, KeyError, pa.ArrowException):
            found = json.loads((pq.read_schema(output).metadata or {})[_ABOUT])
    return found if isinstance(found, dict) else {}


def _write_parquet(path: Path, tables: Iterable[Any], about: Mapping[str, Any]) -> int:
    import pyarrow as pa
    import pyarrow.parquet as pq

    metadata = {_ABOUT: json.dumps(about, ensure_ascii=False)}
    rows, held, writer = 0, [], None
    try:
        for table in tables:
            if writer is None:
                schema = table.schema.with_metadata(metadata)
                writer = pq.ParquetWriter(path, schema, compression="zstd")
            held.append(table.replace_schema_metadata(metadata))
            rows += table.num_rows
            if sum(each.num_rows for each in held) >= _GROUP_ROWS:
                writer.write_table(pa.concat_tables(held))
                held = []
        if writer is not None and held:
            writer.write_table(pa.concat_tables(held))
    finally:
        if writer is not None:
            writer.close()
    return rows


def _write_csv(path: Path, tables: Iterable[Any], _: Mapping[str, Any]) -> int:
    rows = 0
    with path.open("w", encoding="utf-8-sig", newline="") as sheet:
        writer = csv.writer(sheet)
        for table in tables:
            if rows == 0:
                writer.writerow([cell(name) for name in table.column_names])
            columns = [[cell(value) for value in column.to_pylist()] for column in table.columns]
            writer.writerows(zip(*columns, strict=True))
            rows += table.num_rows
    return rows


def _beside(output: Path) -> Path:
    return output.with_name(f"{output.name}.about.json")


def _hash_of(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
