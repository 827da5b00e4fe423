"""Which services of a recipe are churned at once, and in how many equal churns."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date as Date
from math import ceil, floor

from formulate.errors import InputError
from formulate.planning.menu import Serve, WeekMenu
from formulate.planning.orders import churns

__all__ = ["Churning", "churned", "churnings"]


@dataclass(frozen=True, slots=True)
class Churning:
    """One making of a recipe for one or more services.

    ``wanted_g`` is what is served, ``churn_g`` what goes into each of the equal ``churns`` [g].
    """

    day: Date
    recipe: str
    serves: tuple[Serve, ...]
    wanted_g: float
    churns: int
    churn_g: float

    @property
    def grams(self) -> float:
        """All that is churned [g]."""
        return round(self.churns * self.churn_g, 3)


def churned(wanted_g: float, menu: WeekMenu, step_g: float) -> tuple[int, float]:
    """Return how many equal churns give what is wanted, and the grams of each, on the scale's step.

    Each churn leaves in the machine what the menu says; rounding up to the scale adds less than a step.

    Raises
    ------
    InputError
        If a churn that the scale can weigh holds no more than stays in the machine.
    """
    most = floor(menu.churn_g / step_g + 1e-9) * step_g
    if most <= menu.left_in_machine_g:
        problem = f"takes {menu.churn_g:g} g, of which {menu.left_in_machine_g:g} g stay behind"
        raise InputError("churn_g", problem, "Weigh what one churn takes, and what stays.")
    number, each = churns(wanted_g, most - menu.left_in_machine_g)
    steps = ceil((each + menu.left_in_machine_g) / step_g - 1e-9)
    return number, round(steps * step_g, 6)


def churnings(menu: WeekMenu, recipe: str, step_g: float) -> tuple[Churning, ...]:
    """Return how a recipe is churned over the week: fewest churns, and of those the freshest.

    Each day by itself, unless the menu allows several days at once; then within the days for which a
    mix keeps, and only where that saves a churn.
    """
    own = sorted((serve for serve in menu.serves if serve.recipe == recipe), key=lambda s: s.day)
    days = sorted({serve.day for serve in own})
    keeps = menu.keeps_days if menu.together else 0
    Plan = tuple[int, float, tuple[Churning, ...]]
    best: list[Plan] = [(0, 0.0, ())]  # churns, gram-days of waiting and plan, up to each day
    for end in range(len(days)):
        tried: list[Plan] = []
        for start in range(end, -1, -1):
            if (days[end] - days[start]).days > keeps:
                break
            serves = tuple(serve for serve in own if days[start] <= serve.day <= days[end])
            wanted = sum(serve.grams for serve in serves)
            number, each = churned(wanted, menu, step_g)
            waits = sum(serve.grams * (serve.day - days[start]).days for serve in serves)
            one = Churning(days[start], recipe, serves, wanted, number, each)
            before = best[start]
            tried.append((before[0] + number, before[1] + waits, (*before[2], one)))
        best.append(min(tried, key=lambda plan: plan[:2]))
    return best[-1][2]
