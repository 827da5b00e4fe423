"""The answer to a recipe: a status, the mix that is shown, and what is known around it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from formulate.messages import Message
from formulate.mix import Assessment, Mixture, Outlook, TargetValue, outlook

if TYPE_CHECKING:  # checking a mix needs none of what explains an impossible one
    from formulate.answers.conflicts import Demand, Reach
    from formulate.answers.proposals import Proposal
    from formulate.solver import Chance

__all__ = ["Result"]


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
    chances:
        Where a confidence was asked for: probability that each target holds.
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
    chances: tuple[Chance, ...] = ()
    preparation: tuple[Message, ...] = ()
    messages: tuple[Message, ...] = ()
    exact_grams: tuple[float, ...] = ()

    @cached_property
    def outlook(self) -> Outlook:
        """What to expect of the mix in the cold; worked out when it is first asked for."""
        return outlook(self.mixture, self.mix)
