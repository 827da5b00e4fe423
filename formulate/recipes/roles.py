"""What an ingredient does in a mix: its group, its role, and how readily a cook moves it.

A group is finer than a kind of the ingredient table: lemon juice sharpens where orange juice is the
dessert, a dark chocolate is not a cocoa powder.  Every ingredient has one, own ingredients too.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from formulate.data import data_folder, number, read_rows
from formulate.errors import InputError, nearest

__all__ = ["ROLES", "group_of", "role_of", "willingness"]

#: Every role that an ingredient may have.
ROLES: tuple[str, ...] = (
    *("character", "sweetener", "liquid", "dairy", "egg", "fat"),
    *("texture", "acid", "seasoning"),
)

_OWN = "own"
_ROLES_FILE, _WILLING_FILE = "roles.csv", "willingness.csv"

#: What a composition must have at least for a role [%], asked in this order; common practice, no source.
_BY_COMPOSITION: tuple[tuple[str, tuple[str, ...], float], ...] = (
    ("texture", ("stabiliser", "emulsifier"), 20.0),
    ("acid", ("citric_acid", "malic_acid", "tartaric_acid", "lactic_acid"), 20.0),
    ("egg", ("egg_yolk_solids", "egg_fat", "egg_protein"), 8.0),
    ("dairy", ("milk_fat", "msnf", "milk_protein"), 3.0),
    (
        "sweetener",
        (
            *("sucrose", "glucose", "fructose", "maltose", "trehalose", "glucose_syrup_solids"),
            *("sorbitol", "xylitol", "erythritol", "maltitol", "isomalt"),
        ),
        50.0,
    ),
    ("fat", ("other_fat", "cocoa_fat"), 90.0),
    ("liquid", ("water",), 99.0),
)


def group_of(key: str, kind: str) -> str:
    """Return the group of an ingredient: by its key, else by its kind; ``own`` if both are unknown.

    Parameters
    ----------
    key, kind:
        As the ingredient table has them; the kind of an own ingredient is ``own``.

    Returns
    -------
    str

    Examples
    --------
    >>> group_of("lemon_juice", "juice"), group_of("apple_juice", "juice")
    ('sour_juice', 'juice')
    >>> group_of("aunt_mays_jam", "own")
    'own'
    """
    known = _groups()
    return (known.get(key) or known.get(kind) or known[_OWN])[0]


def role_of(
    role: str | None, key: str, kind: str, composition: Mapping[str, float] | None = None
) -> str:
    """Return the role of an ingredient: the recipe's own word, else by key, kind or composition.

    Parameters
    ----------
    role:
        What the recipe says, ``None`` where it is silent.
    key, kind:
        As the ingredient table has them; the kind of an own ingredient is ``own``.
    composition:
        Of an own ingredient [%], by trade names; ``None`` for one of the table.  An own ingredient of
        which nothing else can be told is taken for what gives the dessert its name: it stays.

    Returns
    -------
    str
        One of :data:`ROLES`.

    Raises
    ------
    InputError
        If the recipe gives a role that is not in :data:`ROLES`.

    Examples
    --------
    >>> role_of(None, "skim_milk_powder", "dairy"), role_of("texture", "skim_milk_powder", "dairy")
    ('dairy', 'texture')
    >>> role_of(None, "blend_no_2", "own", {"sucrose": 60, "stabiliser": 40})
    'texture'
    """
    if role is not None:
        if role not in ROLES:
            hint = nearest(role, ROLES) or f"Known roles: {', '.join(ROLES)}."
            place, problem = f"ingredient {key}, role", f'is "{role}", not a known role'
            raise InputError(place, problem, hint, field="role", value=role, allowed=ROLES)
        return role
    known = _groups()
    if composition is not None and key not in known:
        return _by_composition(composition)
    return (known.get(key) or known.get(kind) or known[_OWN])[1]


def willingness(role: str) -> float:
    """Return how readily a cook moves an ingredient of a role, milk and cream being 1.

    A change counts the less the greater this is: dividing a change by it puts the roles in the order in
    which a cook moves them.

    Parameters
    ----------
    role:
        One of :data:`ROLES`.

    Returns
    -------
    float
        Above 0.

    Examples
    --------
    >>> willingness("liquid") > willingness("sweetener") > willingness("dairy")
    True
    >>> willingness("character") <= willingness("texture")
    True
    """
    return _willing()[role]


def _by_composition(composition: Mapping[str, float]) -> str:
    for role, parts, least in _BY_COMPOSITION:
        if sum(composition.get(part, 0.0) for part in parts) >= least:
            return role
    return _groups()[_OWN][1]


@lru_cache(maxsize=1)
def _groups() -> Mapping[str, tuple[str, str]]:
    """Group and role by key, by kind and by the group itself."""
    found: dict[str, tuple[str, str]] = {}
    rows = read_rows(data_folder() / _ROLES_FILE)
    for row in rows:
        found.setdefault(row["group"], (row["group"], row["role"]))
    found |= {row["of"]: (row["group"], row["role"]) for row in rows}
    return MappingProxyType(found)


@lru_cache(maxsize=1)
def _willing() -> Mapping[str, float]:
    rows = read_rows(data_folder() / _WILLING_FILE)
    return MappingProxyType(
        {row["role"]: number(row, "willingness", _WILLING_FILE) for row in rows}
    )
