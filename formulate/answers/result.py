"""The answer to a recipe: a status, the mix that is shown, and what is known around it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from formulate.messages import Message
from formulate.mix import (
    Assessment,
    Chance,
    Mixture,
    Outlook,
    TargetValue,
    assess,
    chance_of,
    outlook,
)

if TYPE_CHECKING:  # checking a mix needs none of what explains an impossible one
    from formulate.answers.conflicts import Demand, Reach
    from formulate.answers.proposals import Proposal

__all__ = ["Certainty", "Result", "Which"]


#: Least chances that a mix scoops and that every target holds together; our own words for them.
_SURE, _LIKELY = (0.9, 0.8), (0.7, 0.5)


class Certainty(StrEnum):
    """How sure it is that a mix is what is asked, by chance and targets together."""

    SURE = "sure"
    LIKELY = "likely"
    TOSS_UP = "toss_up"
    MISSES = "misses"


class Which(StrEnum):
    """Which mix of a recipe a result is of: its weights as they stand, or those that were found."""

    AS_IT_STANDS = "as_it_stands"
    BALANCED = "balanced"


@dataclass(frozen=True)
class Result:
    """The answer to a command: a status, the mix that is shown, and what there is to say.

    Attributes
    ----------
    status:
        ``balanced``, ``impossible``, ``meets`` or ``misses``.
    mix:
        The mix; where none is possible, the one that misses least.
    mixture:
        The recipe met with the tables.
    present:
        What the present weights make of every target, if the recipe gives weights.
    conflict:
        Where none is possible: targets and limits that cannot hold together.
    contradiction:
        Where none is possible: by how much the demands contradict each other, the verified proof.
    reach:
        Where none is possible: what each disputed or missed target can reach.
    proposals:
        Where none is possible: ways out, each solved.
    margin:
        Least distance of any uncertain target from its bounds, in its own standard deviations; ``None``
        where nothing is uncertain, or no mix was chosen.
    preparation:
        What to do with ingredients that have steps.
    messages:
        What else a cook should know of the answer.
    exact_grams:
        Weights before rounding to the scale [g].
    """

    name: str
    batch_g: float
    status: str
    mix: Assessment
    mixture: Mixture = field(repr=False, compare=False)
    present: tuple[TargetValue, ...] | None = None
    conflict: tuple[Demand, ...] = ()
    contradiction: float = 0.0
    reach: tuple[Reach, ...] = ()
    proposals: tuple[Proposal, ...] = ()
    margin: float | None = None
    preparation: tuple[Message, ...] = ()
    messages: tuple[Message, ...] = ()
    exact_grams: tuple[float, ...] = ()

    @property
    def which(self) -> Which:
        """Which mix of the recipe this is."""
        as_it_stands = self.status in ("meets", "misses")
        return Which.AS_IT_STANDS if as_it_stands else Which.BALANCED

    @cached_property
    def chance(self) -> Chance:
        """How likely the mix holds what it must and scoops; worked out when it is first asked for."""
        return chance_of(self.mixture, np.array([weight.grams for weight in self.mix.weights]))

    @property
    def certainty(self) -> Certainty:
        """How sure the mix is: a target that is missed, or a mix that does not scoop, is no chance."""
        if not self.mix.all_met or self.mix.verdict != "scoopable":
            return Certainty.MISSES
        chance = (self.chance.scoopable, self.chance.all_targets)
        for least, found in ((_SURE, Certainty.SURE), (_LIKELY, Certainty.LIKELY)):
            if chance[0] >= least[0] and chance[1] >= least[1]:
                return found
        return Certainty.TOSS_UP

    @cached_property
    def present_scoops_at_c(self) -> float | None:
        """The serving temperature at which the recipe as it stands would be right [°C], if known."""
        present = self.mixture.present
        return None if present is None else assess(self.mixture, present).serving_temperature_c

    @cached_property
    def outlook(self) -> Outlook:
        """What to expect of the mix in the cold; worked out when it is first asked for."""
        return outlook(self.mixture, self.mix)
