"""Which table and which model an answer was made with, so that it can be made again."""

from __future__ import annotations

from functools import lru_cache

from formulate.data.tables import data_folder

__all__ = ["made_with", "versions"]

_TABLE = ("composition.csv", "ingredients.csv", "spread.csv", "sweetness.csv")
_MODEL = (
    "freezing/solutes.csv",
    "freezing/dissolved.csv",
    "freezing/doubt.csv",
    "freezing/sucrose_table.csv",
    "freezing/textbook.csv",
)
_DISTRIBUTION = "formulate-frozen-dessert"


@lru_cache(maxsize=1)
def versions() -> dict[str, str]:
    """Return the version of the program, and short hashes of the ingredient table and the model."""
    from importlib.metadata import PackageNotFoundError, version  # takes long to import

    try:
        program = version(_DISTRIBUTION)
    except PackageNotFoundError:  # run from a checkout that is not installed
        program = "checkout"
    return {"formulate": program, "table": _hash(_TABLE), "model": _hash(_MODEL)}


def made_with() -> str:
    """Return the versions in one line, for the foot of whatever is kept or printed."""
    return " ".join(f"{what} {version}" for what, version in versions().items())


def _hash(names: tuple[str, ...]) -> str:
    import hashlib  # takes long to import

    found = hashlib.sha256()
    for name in names:
        found.update((data_folder() / name).read_bytes())
    return found.hexdigest()[:12]
