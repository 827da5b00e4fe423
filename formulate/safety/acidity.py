"""How sour a mix is: its pH, estimated from its acids and their potassium, to be judged and measured.

Acids of fruit are in part neutralised, mostly by potassium.  The pH is the one at which charges balance:
acids lose their protons by the textbook's constants, and a share of the potassium stands for all that
neutralises.  Protein, phosphate and cocoa hold the pH up where acid is little; they are not counted, so
that an estimate above 6 says no more than that there is little acid.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from formulate.ingredients import position

__all__ = ["ACID_ENOUGH_PH", "Acidity", "estimated_acidity"]

#: At this pH and below a water ice was let off heat treatment in the UK (Ice-Cream (Heat Treatment, etc.)
#: Regulations 1959, from memory); 21 CFR 114.3 counts foods above 4.6 as low in acid.
ACID_ENOUGH_PH = 4.5

#: Molar mass [g/mol] and pKa at 25 °C: CRC Handbook of Chemistry and Physics, Dissociation constants of
#: organic acids (from memory).
_ACIDS: Mapping[str, tuple[float, tuple[float, ...]]] = MappingProxyType(
    {
        "citric_acid": (192.12, (3.13, 4.76, 6.40)),
        "malic_acid": (134.09, (3.40, 5.11)),
        "tartaric_acid": (150.09, (2.98, 4.34)),
        "lactic_acid": (90.08, (3.86,)),
        "acetic_acid": (60.05, (4.76,)),
    }
)
_POTASSIUM = 39.098  # g/mol
_NEUTRALISES = 0.8  # share of the potassium that acids are left with; chosen on fruit of known pH
_SOURED, _LITTLE = 0.5, 1.0  # one standard deviation of the estimate, below and above _TURNS
_TURNS = 4.5
_HIGHEST = 7.0


@dataclass(frozen=True, slots=True)
class Acidity:
    """An estimated pH with one standard deviation, and what it says of heating.

    Attributes
    ----------
    ph, plus_minus:
        The estimate, 1 to 7, and its standard deviation.
    """

    ph: float
    plus_minus: float

    @property
    def is_acid(self) -> bool | None:
        """Whether it is acid enough; ``None`` where the estimate does not tell."""
        if self.ph + self.plus_minus <= ACID_ENOUGH_PH:
            return True
        return False if self.ph - self.plus_minus > ACID_ENOUGH_PH else None


def estimated_acidity(composition: ArrayLike) -> Acidity:
    """Return the pH of a mix without milk, estimated from its composition.

    Parameters
    ----------
    composition:
        g per 100 g, shape (columns,).

    Returns
    -------
    Acidity

    Notes
    -----
    Source: charge balance with the constants of the CRC Handbook; held against the pH of fruit and
    juices as printed by food laboratories.

    Examples
    --------
    >>> from formulate.ingredients import ingredient_table
    >>> round(estimated_acidity(ingredient_table()["lemon_juice"].composition).ph, 1)
    2.3
    """
    parts = np.asarray(composition, dtype=float)
    litres = max(float(parts[position("water")]), 1e-6) / 1000.0
    moles = {key: float(parts[position(key)]) / mass / litres for key, (mass, _) in _ACIDS.items()}
    neutral = _NEUTRALISES * float(parts[position("plant_potassium")]) / _POTASSIUM / litres
    low, high = 1.0, _HIGHEST
    while high - low > 1e-4:
        ph = (low + high) / 2.0
        lost = sum(moles[key] * _protons_lost(ph, pka) for key, (_, pka) in _ACIDS.items())
        if 10.0**-ph + neutral > lost:
            low = ph
        else:
            high = ph
    return Acidity(high, _SOURED if high < _TURNS else _LITTLE)


def _protons_lost(ph: float, pka: tuple[float, ...]) -> float:
    """How many protons a molecule of an acid has lost on average."""
    terms = [1.0]
    for constant in pka:
        terms.append(terms[-1] * 10.0 ** (ph - constant))
    return sum(count * term for count, term in enumerate(terms)) / sum(terms)
