"""How much of an ingredient a mix usually takes at most: beyond it a word is due.

What is strained out may be more than what is left in, each gum has its own limit, and some styles take
more than others: ``usual_use.csv``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from formulate.data import basis_words, data_folder, number, read_rows
from formulate.recipes.roles import group_of

__all__ = ["UsualUse", "basis_of", "most_share", "usual_use"]

_FILE = "usual_use.csv"
_ANY = ""

#: Kinds of which a little is enough: the others are held by the targets.
_SPARING = frozenset(
    "acid mineral stabiliser emulsifier spice herb coffee_tea polyol fibre spirit liqueur wine "
    "protein".split()
)


@dataclass(frozen=True, slots=True)
class UsualUse:
    """The least and the most of an ingredient that is usual [% of the mix], and what that rests on.

    ``most`` is 100 where nothing but the targets holds it.  What is infused is counted as it is weighed,
    everything else as it reaches the mix.
    """

    low: float
    most: float
    source: str
    note: str = ""

    @property
    def basis(self) -> str:
        """What the limits rest on, in words."""
        return basis_words(self.source, self.note)


def usual_use(key: str, kind: str, style_key: str | None = None, infused: bool = False) -> UsualUse:
    """Return the usual limits of an ingredient; every ingredient has some, own ones too.

    Parameters
    ----------
    key, kind:
        As the ingredient table has them; the kind of an own ingredient is ``own``.
    style_key:
        Style of the recipe, ``None`` without one.
    infused:
        Whether it is strained out.

    Returns
    -------
    UsualUse
        Percent of the mix.

    Examples
    --------
    >>> usual_use("peppermint", "herb", infused=True).most
    12.0
    >>> usual_use("thyme", "herb", infused=True).most
    2.0
    >>> usual_use("salt", "mineral").most, usual_use("salt", "mineral", "chocolate_sorbet").most
    (0.3, 0.6)
    """
    group, known = group_of(key, kind), _limits()
    styles = (style_key, _ANY) if style_key else (_ANY,)
    ways = ("yes", "no") if infused else ("no",)
    for style in styles:
        for of in (key, group):
            for way in ways:
                if (of, style, way) in known:
                    return known[of, style, way]
    return known["own", _ANY, "no"]


def most_share(kind: str) -> float:
    """Return the most of a kind of ingredient that is usual, per gram of the mix; 1 for what is bulk.

    Parameters
    ----------
    kind:
        Kind of ingredient, as the table has it.

    Returns
    -------
    float
        From 0 to 1.

    Examples
    --------
    >>> most_share("no such kind")
    1.0
    """
    return usual_use("", kind).most / 100.0 if kind in _SPARING else 1.0


def basis_of(kind: str) -> str:
    """Return what :func:`most_share` rests on.

    Parameters
    ----------
    kind:
        Kind of ingredient, as the table has it.

    Returns
    -------
    str

    Examples
    --------
    >>> basis_of("no such kind").split(";")[0]
    'Nothing is known'
    """
    return usual_use("", kind).basis


@lru_cache(maxsize=1)
def _limits() -> Mapping[tuple[str, str, str], UsualUse]:
    """Limits by key or group, style ("" for any), and whether infused."""
    found = {}
    for row in read_rows(data_folder() / _FILE):
        where = f"{_FILE}, {row['of']}"
        found[row["of"], row["style"], row["infused"]] = UsualUse(
            number(row, "low", where), number(row, "most", where), row["source"], row["note"]
        )
    return MappingProxyType(found)
