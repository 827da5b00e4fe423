"""The rows of a sweep on disk: blocks that are whole or not there, and the one file that they become.

Beside ``FILE`` stands a folder ``FILE.blocks`` while a sweep is worked on: a manifest that says of which
sweep, and one file for each finished block, written beside its place and moved there.  So whatever stops
a run, what is there is whole, and what is not there is worked on again; no row is lost or there twice.
At the end the blocks are put together in order, the file is moved to its place, and the folder goes.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import numpy as np

from formulate.data import write_whole
from formulate.errors import InputError
from formulate.recipes import to_toml
from formulate.sweeps.axes import Sweep
from formulate.sweeps.block import BALANCED, IMPOSSIBLE, REFUSED, block, value_columns
from formulate.sweeps.long_tables import told_of, whole_table, write_table

__all__ = ["STATUS", "Blocks", "Tally", "about_sweep", "block_bytes", "grams_column"]

#: What a row says of its point.
STATUS: Mapping[int, str] = {BALANCED: "balanced", IMPOSSIBLE: "impossible", REFUSED: "refused"}

_MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True)
class Tally:
    """How many rows a file has, and how many of its points came to what."""

    rows: int
    balanced: int
    impossible: int
    refused: int


def grams_column(key: str) -> str:
    """Return the name of the column of an ingredient's weight.

    Parameters
    ----------
    key:
        Key of an ingredient.

    Returns
    -------
    str

    Examples
    --------
    >>> grams_column("damson")
    'damson.grams'
    """
    return f"{key}.grams"


def about_sweep(sweep: Sweep) -> dict[str, Any]:
    """Return what a sweep is, with a hash of all that its rows follow from."""
    about: dict[str, Any] = {
        "recipe": to_toml(sweep.recipe),
        "vary": [asdict(axis) for axis in sweep.axes],
        "leave_out": list(sweep.left_out),
        "samples": sweep.samples,
        "seed": sweep.seed,
        "rows": sweep.points,
        "rows_per_block": sweep.block_points,
        "versions": dict(sweep.made_with),
    }
    text = json.dumps(about, sort_keys=True, ensure_ascii=False, allow_nan=False)
    return {**about, "sweep": hashlib.sha256(text.encode("utf-8")).hexdigest()}


def block_bytes(sweep: Sweep, number: int) -> bytes:
    """Return a block as the bytes of a Parquet file: what a worker sends back."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    found = block(sweep, number)
    columns: dict[str, Any] = {"point": found.points}
    columns |= {axis.path: found.varied[:, at] for at, axis in enumerate(sweep.axes)}
    if sweep.left_out:
        names = {each: ", ".join(sweep.keys_of(each)) for each in set(found.left_out.tolist())}
        columns["left_out"] = [names[each] for each in found.left_out.tolist()]
    columns["status"] = [STATUS[each] for each in found.status.tolist()]
    for at, entry in enumerate(sweep.recipe.ingredients):
        columns[grams_column(entry.key)] = found.weights[:, at]
    columns |= {key: found.values[key] for key in value_columns(sweep)}
    sink = pa.BufferOutputStream()
    pq.write_table(whole_table(columns), sink, compression="zstd")
    return bytes(sink.getvalue().to_pybytes())


class Blocks:
    """The folder of a sweep that is being worked on."""

    def __init__(self, sweep: Sweep, output: Path) -> None:
        """Open the folder, or begin it.

        Raises
        ------
        InputError
            If the file is there and another's, the folder is of another sweep, or neither can be written.
        """
        self.sweep, self.output = sweep, output
        self.folder = output.with_name(f"{output.name}.blocks")
        self._about = about_sweep(sweep)
        self._tally = _tally_of(told_of(output), self._about["sweep"])
        if self._tally is not None:
            return
        if output.exists():
            problem = f"{output} is there, and is not the file of this sweep"
            raise InputError("-o", problem, "Name another file, or move that one away.")
        manifest = self.folder / _MANIFEST
        with _writing(self.folder):
            self.folder.mkdir(exist_ok=True)
            if not manifest.exists() and not any(self.folder.glob("*.parquet")):
                text = json.dumps(self._about, indent=1, ensure_ascii=False)
                write_whole(manifest, text.encode("utf-8"))
        if _sweep_of(manifest) != self._about["sweep"]:
            problem = "belongs to another sweep: recipe, values, tables or versions differ"
            remedy = "Go on with that one, name another file, or delete the folder."
            raise InputError(str(self.folder), problem, remedy)

    def waiting(self) -> list[int]:
        """Return the blocks that are not there yet; none where the file is finished."""
        if self._tally is not None:
            return []
        there = {path.name for path in self.folder.glob("*.parquet")}
        return [number for number in range(self.sweep.blocks) if _name(number) not in there]

    def rows(self, number: int) -> int:
        """Return how many rows a block has."""
        return len(self.sweep.numbers(number))

    def keep(self, number: int, data: bytes) -> None:
        """Write a block, whole or not at all; a second time it makes no difference."""
        with self._unless_finished(), _writing(self.folder):
            write_whole(self.folder / _name(number), data)

    def join(self) -> Tally:
        """Put all blocks together in order, move the file to its place, and take the folder away.

        Raises
        ------
        InputError
            If a block is damaged, or the file cannot be written.
        """
        if self._tally is None:
            with self._unless_finished():
                tally = self._count()
                about = {**self._about, "tally": asdict(tally)}
                with _writing(self.output):
                    part = self.folder / f"{uuid4().hex}.part"
                    write_table(self.output, self._tables(), about, part)
                self._tally = tally
        assert self._tally is not None
        self._remove()
        return self._tally

    @contextmanager
    def _unless_finished(self) -> Iterator[None]:
        """Let what goes wrong here pass where another process has put the file into its place."""
        try:
            yield
        except InputError:
            self._tally = _tally_of(told_of(self.output), self._about["sweep"])
            if self._tally is None:
                raise

    def _count(self) -> Tally:
        counts = dict.fromkeys(STATUS.values(), 0)
        for table in self._tables():
            found = table["status"].to_pylist()
            for word in counts:
                counts[word] += found.count(word)
        return Tally(sum(counts.values()), *counts.values())

    def _tables(self) -> Iterator[Any]:
        """Every block in order, each looked at: are these the points that it must have?"""
        import pyarrow as pa
        import pyarrow.parquet as pq

        for number in range(self.sweep.blocks):
            path = self.folder / _name(number)
            try:
                table = pq.read_table(path)
                whole = np.array_equal(table["point"].to_numpy(), self.sweep.numbers(number))
            except (OSError, KeyError, pa.ArrowException):
                whole = False
            if not whole:
                remedy = "Delete that file and give the same command again: it alone is made anew."
                raise InputError(str(path), "is damaged", remedy)
            yield table

    def _remove(self) -> None:
        """Take the folder away, its manifest last, so that what is left still says what it is."""
        with suppress(OSError):  # another process may take it away as well
            for path in sorted(self.folder.iterdir(), key=lambda path: path.name == _MANIFEST):
                path.unlink(missing_ok=True)
            self.folder.rmdir()


def _name(number: int) -> str:
    return f"{number:08d}.parquet"


def _sweep_of(manifest: Path) -> str | None:
    try:
        return str(json.loads(manifest.read_text(encoding="utf-8"))["sweep"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _tally_of(told: Mapping[str, Any], sweep: str) -> Tally | None:
    """What a finished file of this sweep says that its points came to."""
    return Tally(**told["tally"]) if told.get("sweep") == sweep else None


@contextmanager
def _writing(place: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        problem = f"{place} cannot be written ({error.strerror or error})"
        raise InputError("-o", problem, "Name another place, or make room.") from None
