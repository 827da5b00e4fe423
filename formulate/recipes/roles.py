"""What an ingredient is there for: its role in a mix, by its kind unless a recipe says otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from formulate.data import data_folder, read_rows

__all__ = ["ROLES", "usual_role"]

#: Every role that an ingredient may have; ``texture`` is gums, emulsifiers and fibre.
ROLES: tuple[str, ...] = (
    "character",
    "sweetener",
    "liquid",
    "dairy",
    "egg",
    "fat",
    "texture",
    "acid",
    "seasoning",
)


def usual_role(kind: str) -> str:
    """Return the role that a kind of ingredient usually has, as ``roles.csv`` says.

    Parameters
    ----------
    kind:
        As the ingredient table has it, or ``own``.

    Examples
    --------
    >>> usual_role("fruit"), usual_role("syrup"), usual_role("own")
    ('character', 'sweetener', 'character')
    """
    return _usual()[kind]


@lru_cache(maxsize=1)
def _usual() -> Mapping[str, str]:
    rows = read_rows(data_folder() / "roles.csv")
    return MappingProxyType({row["kind"]: row["role"] for row in rows})
