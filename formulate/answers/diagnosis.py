"""What happened to a pot that reads or weighs otherwise than planned: stories, likeliest first.

Each story of :mod:`formulate.answers.mishaps` foretells what the pot weighs, reads and tastes of, with
the doubts that lots and weighing leave.  What was measured makes some likelier and others less so (Bayes'
rule).  Where two are left, the measurement is named whose outcomes under them lie furthest apart.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from formulate.answers import mishaps as told
from formulate.answers.likelihoods import (
    ACID,
    READING,
    SWEETNESS,
    WEIGHT,
    Against,
    Evidence,
    Foretelling,
    against,
    foretell,
    pot_deviation_g,
    seen_of,
)
from formulate.answers.pots import Correction, correct, held_in
from formulate.arrays import Array
from formulate.errors import InputError
from formulate.ingredients import brix_of, properties
from formulate.messages import Message, message
from formulate.mix import Mixture, mixture
from formulate.recipes import Recipe

__all__ = [
    "Diagnosis",
    "Foretold",
    "Measurement",
    "Repair",
    "Story",
    "diagnose",
    "diagnosis_of",
    "foretellings",
    "noted_in",
    "put_right",
]


#: Two stories whose chances are nearer than this cannot be told apart.
_RATIO = 3.0
#: A measurement decides nothing whose outcomes lie nearer than this [standard deviations].
_LEAST_APART, _MOST_APART = 1.0, 4.0
#: How well a pot is tasted [of what there is], and the acid that is tasted at all [g per 100 g]; common
#: practice, no source.
_TASTED, _LEAST_ACID = 0.15, 0.2
#: Of fat, protein or alcohol that a reading still bears [%]; no source.
_CLOUDY = 0.5
#: Further from what the best story foretells [standard deviations], and no single story explains it.
_FAR = 3.5


@dataclass(frozen=True, slots=True)
class Story:
    """One thing that may have happened.

    Attributes
    ----------
    mishap:
        Key of ``mishaps.csv``.
    what:
        What happened, with its amount where it has one.
    keys:
        Ingredients that it is about.
    prior, probability:
        Before and after what was measured, 0 to 1; those of all stories add up to 1.
    amount, plus_minus:
        Grams of a tare or of steam, reading of a lot or error of a reading [°Bx]; 0 where it has none.
    grams:
        What is in the pot if it is so [g], in the order of the recipe; of steam without what it lost.
    weighs_g, reads_brix:
        What the pot weighs and reads if it is so.
    off:
        How far what was measured lies from that [standard deviations].
    """

    mishap: str
    what: Message
    keys: tuple[str, ...]
    prior: float
    probability: float
    amount: float
    plus_minus: float
    grams: tuple[float, ...]
    weighs_g: float
    reads_brix: float
    off: float


@dataclass(frozen=True, slots=True)
class Foretold:
    """What a measurement would show if a story is true, with one standard deviation."""

    what: Message
    value: float
    plus_minus: float


@dataclass(frozen=True, slots=True)
class Measurement:
    """A cheap measurement that decides between stories.

    Attributes
    ----------
    how:
        ``weigh``, ``read``, ``read_again``, ``taste_sweetness`` or ``taste_acid``.
    unit:
        Of its outcomes.
    planned:
        What it would show of a pot on plan.
    apart:
        How far they lie apart [standard deviations].
    foretold:
        Of each story that cannot be told apart, likeliest first.
    """

    how: str
    unit: str
    planned: float
    apart: float
    foretold: tuple[Foretold, ...]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What was measured of a pot, and the stories of it.

    Attributes
    ----------
    evidence:
        What was measured.
    planned_g, planned_brix:
        What the pot should weigh and read.
    unusual:
        How far what was measured lies from that [standard deviations]; above 2 it is hardly chance.
    stories:
        Every one, likeliest first.
    leaders:
        How many of the first cannot be told apart; 1 where the likeliest stands alone.
    measure:
        What would tell the leaders apart, ``None`` where none needs to or none of the cheap ones does.
    cloudy:
        Whether it was read with fat, protein or alcohol in it: less surely than the instrument says.
    """

    evidence: Evidence
    planned_g: float
    planned_brix: float
    unusual: float
    stories: tuple[Story, ...]
    leaders: int
    measure: Measurement | None
    cloudy: bool

    @property
    def told_apart(self) -> bool:
        """Whether the likeliest story is three times as likely as any other."""
        return self.leaders == 1

    @property
    def explained(self) -> bool:
        """Whether what was measured is near what the likeliest story foretells."""
        return self.stories[0].off <= _FAR

    def story(self, number: int) -> Story:
        """Return a story by its number, the likeliest being 1; no such story is an InputError."""
        if not 1 <= number <= len(self.stories):
            problem = f"is {number}, and there are {len(self.stories)}"
            raise InputError("story", problem, "Give 1 for the likeliest, 2 for the next.")
        return self.stories[number - 1]


@dataclass(frozen=True, slots=True)
class Repair:
    """What to do if a story is true: water to give back [g], then what to add; nothing on plan."""

    story: Story
    water_g: float
    corrections: tuple[Correction, ...]


def diagnose(
    recipe: Recipe, evidence: Evidence, pot: Mapping[str, float] | None = None
) -> Diagnosis:
    """Return what may have happened to a pot, likeliest first.

    Parameters
    ----------
    recipe:
        The recipe.  A mix with fat or much protein reads less surely than the instrument says.
    evidence:
        What was measured of the whole pot.
    pot:
        What is thought to be in it [g], by key; ``None``: all of the recipe.

    Returns
    -------
    Diagnosis

    Raises
    ------
    InputError
        If no weights are known, or the pot holds what is not in the recipe.

    Examples
    --------
    >>> from formulate.recipes import Recipe, RecipeIngredient
    >>> entries = RecipeIngredient("sucrose", grams=250), RecipeIngredient("water", grams=750)
    >>> found = diagnose(Recipe("Syrup", 1000, entries), Evidence((0.1,), weighs_g=751.0))
    >>> found.stories[0].mishap, found.stories[0].keys
    ('forgotten', ('sucrose',))
    """
    mix = mixture(recipe)
    return diagnosis_of(mix, evidence, foretellings(mix, noted_in(mix, pot)))


def foretellings(mix: Mixture, noted: Array) -> tuple[Foretelling, ...]:
    """Return what every story foretells of a pot of which these weights were noted [g]."""
    doubted = told.doubted(mix, noted)
    return tuple(foretell(each, doubted) for each in told.possibles(mix, noted))


def put_right(recipe: Recipe, story: Story, pot: Mapping[str, float] | None = None) -> Repair:
    """Return what puts a pot right if a story is true, by :func:`formulate.answers.correct`.

    Parameters
    ----------
    recipe, pot:
        As of :func:`diagnose`.
    story:
        One of its stories.

    Returns
    -------
    Repair

    Examples
    --------
    >>> import formulate as fm
    >>> from formulate.answers import Evidence
    >>> recipe = fm.load("damson_sorbet")
    >>> found = diagnose(recipe, Evidence((26.0,)))
    >>> put_right(recipe, found.stories[0]).story == found.stories[0]
    True
    """
    water = story.amount if story.mishap == told.BOILED else 0.0
    if story.mishap in (told.PLANNED, told.MISREAD, told.BOILED) and pot is None:
        return Repair(story, water, ())  # all of the recipe is in it, as it was written
    if story.mishap == told.LOT:
        recipe = _with_lot(recipe, story)
    keys = [entry.key for entry in recipe.ingredients]
    held = {key: grams for key, grams in zip(keys, story.grams, strict=True) if grams > 0.0}
    return Repair(story, water, correct(recipe, held))


def _with_lot(recipe: Recipe, story: Story) -> Recipe:
    """The recipe with the lot as it must be for a story to be true."""
    entries = [
        replace(
            entry,
            brix=story.amount,
            brix_temperature_c=20.0,
            lot=None if entry.lot is None else replace(entry.lot, reading=None),
        )
        if entry.key in story.keys
        else entry
        for entry in recipe.ingredients
    ]
    return replace(recipe, ingredients=tuple(entries))


def noted_in(mix: Mixture, pot: Mapping[str, float] | None) -> Array:
    """Return the weights that are thought to be in a pot [g], shape (ingredients,)."""
    if pot is not None:
        return held_in(mix, pot)
    if any(grams is None for grams in mix.before):
        raise InputError(
            mix.recipe.name, "does not give every weight", "Give what went into the pot."
        )
    return np.array(mix.before, dtype=float)


def diagnosis_of(mix: Mixture, evidence: Evidence, foretold: tuple[Foretelling, ...]) -> Diagnosis:
    """Return the diagnosis of a pot of which it is known already what every story foretells."""
    seen = seen_of(evidence)
    possible = [each.possible for each in foretold]
    weighed = [against(each, seen) for each in foretold]
    logs = np.array([each.log_chance for each in weighed])
    chances = np.exp(logs - logs.max())
    chances /= chances.sum()
    order = np.argsort(-chances, kind="stable")
    stories = tuple(_story(mix, possible[i], weighed[i], float(chances[i])) for i in order)
    leaders = sum(each.probability * _RATIO > stories[0].probability for each in stories)
    ahead = [weighed[i] for i in order[:leaders]]
    planned = next(i for i, each in enumerate(possible) if each.mishap == told.PLANNED)
    of_plan = weighed[planned]
    return Diagnosis(
        evidence=evidence,
        planned_g=float(of_plan.foretold[0, WEIGHT]),
        planned_brix=float(of_plan.foretold[0, READING]),
        unusual=float(of_plan.off),
        stories=stories,
        leaders=leaders,
        measure=_deciding(evidence, stories[:leaders], ahead, of_plan) if leaders > 1 else None,
        cloudy=bool(evidence.reads) and _is_cloudy(mix, possible[planned].grams[0]),
    )


def _is_cloudy(mix: Mixture, grams: Array) -> bool:
    total = grams @ mix.compositions / float(mix.reach @ grams)
    known = properties()
    return any(float(total @ known[key].weights) > _CLOUDY for key in ("fat", "protein", "ethanol"))


def _story(mix: Mixture, possible: told.Possible, weighed: Against, probability: float) -> Story:
    amount = float(weighed.cells @ possible.amounts)
    spread = float(np.sqrt(weighed.cells @ (possible.amounts - amount) ** 2))
    grams = possible.grams[0] + weighed.cells @ (possible.grams - possible.grams[0])
    foretold = weighed.cells @ weighed.foretold
    return Story(
        mishap=possible.mishap,
        what=_what(mix, possible, amount),
        keys=tuple(mix.keys[index] for index in possible.about),
        prior=possible.prior,
        probability=probability,
        amount=amount,
        plus_minus=spread,
        grams=tuple(float(each) for each in grams),
        weighs_g=float(foretold[WEIGHT]),
        reads_brix=float(foretold[READING]),
        off=weighed.off,
    )


def _what(mix: Mixture, possible: told.Possible, amount: float) -> Message:
    """What happened, with the ingredients that it is about, its amount, and what a lot was to read."""
    about = possible.about
    names = [*(mix.names[index] for index in about), "", ""]
    planned = brix_of(mix.raw[about[0]]) if possible.mishap == told.LOT else 0.0
    code = f"mishap_{possible.mishap}"
    return message(code, name=names[0], other=names[1], amount=amount, planned_brix=planned)


def _deciding(
    evidence: Evidence, stories: tuple[Story, ...], ahead: list[Against], of_plan: Against
) -> Measurement | None:
    """The measurement whose outcomes under the likeliest story and the others lie furthest apart."""
    found = [
        _measurement(how, unit, of, plus_minus, stories, ahead, of_plan)
        for how, unit, of, plus_minus in _measurements(evidence, ahead[0])
    ]
    best = max(found, key=lambda each: each.apart)
    return best if best.apart >= _LEAST_APART else None


def _measurements(evidence: Evidence, first: Against) -> list[tuple[str, str, int, float]]:
    """Those not yet made: how, unit, of what, and one standard deviation of the instrument."""
    weight, _, sweetness, acid, _ = (float(each) for each in first.cells @ first.then)
    read = "read_again" if evidence.reads else "read"
    found = [(read, "°Bx", READING, evidence.reads_plus_minus)]
    if evidence.weighs_g is None:
        found.insert(
            0, ("weigh", "g", WEIGHT, evidence.weighs_plus_minus_g or pot_deviation_g(weight))
        )
    found.append(("taste_sweetness", "g sucrose/100 g", SWEETNESS, max(_TASTED * sweetness, 1.0)))
    if acid >= _LEAST_ACID:
        found.append(("taste_acid", "g acid/100 g", ACID, _TASTED * acid))
    return found


def _measurement(
    how: str,
    unit: str,
    of: int,
    plus_minus: float,
    stories: tuple[Story, ...],
    ahead: list[Against],
    of_plan: Against,
) -> Measurement:
    foretold = []
    for story, weighed in zip(stories, ahead, strict=True):
        value = float(weighed.cells @ weighed.then[:, of])
        variance = weighed.cells @ (weighed.spread[:, of, of] + (weighed.then[:, of] - value) ** 2)
        foretold.append(Foretold(story.what, value, float(np.sqrt(variance + plus_minus**2))))
    likeliest, *others = foretold
    apart = [
        min(
            abs(o.value - likeliest.value) / np.hypot(o.plus_minus, likeliest.plus_minus),
            _MOST_APART,
        )
        for o in others
    ]
    weights = [story.probability for story in stories[1:]]
    return Measurement(
        how=how,
        unit=unit,
        planned=float(of_plan.foretold[0, of]),
        apart=float(np.average(apart, weights=weights)),
        foretold=tuple(foretold),
    )
