"""A mapping that cannot be changed, and so can be hashed, pickled and shared."""

from __future__ import annotations

from collections.abc import ItemsView, Iterator, Mapping
from typing import TypeVar

__all__ = ["FrozenMapping"]

_Value = TypeVar("_Value")


class FrozenMapping(Mapping[str, _Value]):
    """Words and their values, in order, for good.

    Parameters
    ----------
    values:
        Copied.

    Examples
    --------
    >>> targets = FrozenMapping({"fat": 8.0})
    >>> targets["fat"], targets == {"fat": 8.0}, hash(targets) == hash(FrozenMapping(fat=8.0))
    (8.0, True, True)
    """

    __slots__ = ("_values",)
    _values: dict[str, _Value]

    def __init__(self, values: Mapping[str, _Value] | None = None, **more: _Value) -> None:
        object.__setattr__(self, "_values", {**(values or {}), **more})

    def __getitem__(self, key: str) -> _Value:
        """Return a value by its word."""
        return self._values[key]

    def __iter__(self) -> Iterator[str]:
        """Go through the words in order."""
        return iter(self._values)

    def __len__(self) -> int:
        """Count the words."""
        return len(self._values)

    def items(self) -> ItemsView[str, _Value]:
        """Return words with their values."""
        return self._values.items()

    def __setattr__(self, name: str, value: object) -> None:
        """Refuse."""
        raise AttributeError("this mapping cannot be changed")

    def __delattr__(self, name: str) -> None:
        """Refuse."""
        raise AttributeError("this mapping cannot be changed")

    def __hash__(self) -> int:
        """Equal mappings have equal hashes, whatever their order."""
        return hash(frozenset(self._values.items()))

    def __repr__(self) -> str:
        """Read like the mapping that it was made of."""
        return repr(self._values)

    def __reduce__(self) -> tuple[type[FrozenMapping[_Value]], tuple[dict[str, _Value]]]:
        """Say how it is made again in another process."""
        return type(self), (self._values,)
