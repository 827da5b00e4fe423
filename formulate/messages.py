"""What the engine has to say, as data: a code and named fields, of which the report makes a sentence."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias, Union

__all__ = ["Fields", "Message", "Value", "message"]

#: What a field may hold; whatever it is, it can be compared, hashed and pickled.
Value: TypeAlias = Union[str, float, bool, "Message", tuple["Value", ...], None]

_CODE = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")


class Fields(Mapping[str, Any]):
    """Named values that cannot be changed, in the order in which they were given."""

    __slots__ = ("_values",)

    def __init__(self, values: Mapping[str, Value]) -> None:
        self._values = dict(values)

    def __getitem__(self, name: str) -> Any:
        return self._values[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def __hash__(self) -> int:
        return hash(frozenset(self._values.items()))

    def __repr__(self) -> str:
        return repr(self._values)


@dataclass(frozen=True, slots=True)
class Message:
    """One thing to say: what it is, and the names and numbers that belong to it.

    Parameters
    ----------
    code:
        What is said, in small words joined by underscores.  Codes are stable: whoever reads messages by
        machine may compare them.
    fields:
        Names, numbers, messages within this one, and tuples of these.  What a warning is about stands
        in ``key`` (of an ingredient or target), ``value`` and ``limit``.

    Raises
    ------
    ValueError
        If the code is not written so.

    Examples
    --------
    >>> said = Message("above_usual", {"key": "salt", "value": 3.0, "limit": 0.5})
    >>> said.fields["key"], said == message("above_usual", key="salt", value=3.0, limit=0.5)
    ('salt', True)
    """

    code: str
    fields: Mapping[str, Any] = field(default_factory=lambda: Fields({}))

    def __post_init__(self) -> None:
        if _CODE.fullmatch(self.code) is None:
            raise ValueError(f'"{self.code}" is no code: write small words joined by underscores.')
        object.__setattr__(self, "fields", Fields(self.fields))


def message(code: str, /, **fields: Value) -> Message:
    """Return a :class:`Message` of a code and its fields.

    Examples
    --------
    >>> message("scaled_to_batch", grams=900.0, batch_g=1000.0).code
    'scaled_to_batch'
    """
    return Message(code, fields)
