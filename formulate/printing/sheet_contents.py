"""The batch sheet: a page for the bench, weights in order of work.  What it says, not how it looks.

All figures belong to the weights as printed: scaled to the batch and rounded to the kitchen's scale.
The order of work is common practice, without a source; what rules say is quoted from ``cautions``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, isfinite, log10

import numpy as np

from formulate.answers import Result, Which, scaling, warnings_of
from formulate.arrays import Array
from formulate.data import versions
from formulate.errors import InputError
from formulate.freezing import freezing_model
from formulate.ingredients import brix_of, properties
from formulate.labels import ALLERGENS, allergens_of
from formulate.messages import message
from formulate.mix import CURVE_TEMPERATURES, Mixture, mixture, target_values
from formulate.printing.bench import Bench, Line, bench_of, stage_of
from formulate.recipes import Recipe, Scale, digest, how_made, mass_of
from formulate.report import (
    PLUS_MINUS,
    cold_sentences,
    dissolve_words,
    last_work,
    late_words,
    sentences,
    which_mix,
)
from formulate.timing import mix_density

__all__ = ["Curve", "Fact", "Line", "Panel", "Sheet", "WorkStep", "sheet"]

_Texts = tuple[str, ...]

_BLIND = {"fat": 1.0, "milk_protein": 0.5, "egg_protein": 0.5, "ethanol": 0.5}  # %; no source
_STRAIN = "Strain, cool", "Into a wide pan in ice water."
_COARSE = 0.05  # of a weight, that rounding to the scale may move it without a word
_COLD_GUMS = "guar_gum xanthan_gum sodium_alginate cellulose_gum".split()


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step: a verb, how, what is weighed for it, boxes to write in, and what rules say."""

    verb: str
    how: str
    lines: tuple[Line, ...] = ()
    boxes: tuple[str, ...] = ()
    small: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fact:
    """A figure and what it is; ``box`` is the unit of a box to write one's own in, or ""."""

    label: str
    value: str
    box: str = ""


@dataclass(frozen=True, slots=True)
class Curve:
    """Temperature [°C], frozen water and its ± [%], from the first ice down; the serving window."""

    points: tuple[tuple[float, float, float], ...]
    window: tuple[float, float]
    serving_c: float

    @property
    def served(self) -> tuple[float, float, float]:
        """The point nearest to the serving temperature."""
        return min(self.points, key=lambda point: abs(point[0] - self.serving_c))


@dataclass(frozen=True, slots=True)
class Panel:
    """Figures and notes under one title; one of them has the freezing curve."""

    title: str
    facts: tuple[Fact, ...] = ()
    notes: tuple[str, ...] = ()
    curve: Curve | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything on a batch sheet.

    ``size`` says what it makes and of which mix, ``notices`` what must be known first, warnings too;
    ``totals`` are the weights at the scale and, where that differs, what comes into the churn; ``foot``
    identifies recipe and tables.
    """

    name: str
    size: tuple[str, ...]
    notices: tuple[str, ...]
    steps: tuple[WorkStep, ...]
    totals: tuple[Line, ...]
    panels: tuple[Panel, ...]
    cautions: tuple[str, ...]
    foot: tuple[str, ...]
    large: bool
    us_weights: bool


def sheet(
    recipe: Recipe,
    result: Result,
    *,
    batch_g: float | None = None,
    portions: int | None = None,
    portion_g: float | None = None,
    large: bool = False,
    us_weights: bool = False,
) -> Sheet:
    """Return the batch sheet of a recipe and of what :mod:`formulate.answers.balancing` says of it.

    Parameters
    ----------
    recipe:
        What was asked.
    result:
        What balancing or checking says of it.
    batch_g:
        Mix that goes into the churn [g]; ``None``: as the recipe says.
    portions, portion_g:
        In place of ``batch_g``: so many portions of so much [g].  A portion alone is counted and priced.
    large, us_weights:
        In very large type; with pounds and ounces beside the grams.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a size cannot be, or the result belongs to another recipe.

    Examples
    --------
    >>> import formulate as fm
    >>> recipe = fm.load("damson_sorbet")
    >>> sheet(recipe, fm.balance(recipe)).name
    'Damson sorbet, fruit at 11 °Bx'
    """
    wanted = _wanted(result.batch_g, batch_g, portions, portion_g)
    if [weight.key for weight in result.mix.weights] != [e.key for e in recipe.ingredients]:
        raise InputError("sheet", "the result is of another recipe", "Balance this one first.")
    mix, serving = mixture(recipe), result.mix.serving
    exact = np.array([weight.grams for weight in result.mix.weights])
    scaled = exact * wanted / float(mix.reach @ exact)
    as_is = not scaling(mix) or result.which is Which.BALANCED
    as_is &= float(np.abs(scaled - exact).max()) < 1e-6
    grams = np.array([_rounded(float(weight), recipe.scale, as_is) for weight in scaled])
    made, total = float(mix.reach @ grams), float(grams.sum())
    composition = grams @ mix.compositions / made
    litres = made / 1000.0 / mix_density(composition)
    frozen = litres * (1.0 + serving.overrun_percent / 100.0)
    totals = [Line("Total at the scale", total)]
    if abs(made - total) > 1e-6:
        totals.append(Line("Into the churn", round(made, 0 if made >= 100.0 else 1)))
    size = [f"{totals[-1].weight} g of mix", f"{litres:.2f} L"]
    if serving.overrun_percent > 0.0:
        size.append(f"{frozen:.2f} L with {serving.overrun_percent:g} % overrun")
    if portion_g is not None:
        count = floor(made / portion_g + 1e-9) if portions is None else portions
        size.append(f"{int(count):,} portions of {portion_g:g} g")
    size.append(which_mix(result))
    bench = bench_of(mix, grams, composition)
    return Sheet(
        name=recipe.name,
        size=tuple(size),
        notices=_notices(mix, grams, result),
        steps=_steps(bench, result),
        totals=tuple(totals),
        panels=(*_panels(bench, composition, result), *_worth(mix, grams, made, frozen, portion_g)),
        cautions=(
            *bench.cautions.values(),
            *sentences(message("watch", what=risk) for risk in result.outlook.risks),
        ),
        foot=(
            recipe.name[:80],
            f"recipe {digest(recipe)}",
            *(f"{k} {v}" for k, v in versions().items()),
        ),
        large=large,
        us_weights=us_weights,
    )


def _wanted(usual: float, batch: float | None, count: int | None, portion: float | None) -> float:
    """The mix that is wanted [g]."""
    for place, value, most in (("batch_g", batch, 1e6), ("portion_g", portion, 1e4)):
        if value is not None and not (isfinite(value) and 0.0 < value <= most):
            problem = f"is {value:g}, and must be above 0 to {most:,.0f} g"
            raise InputError(place, problem, "Give the weight in grams.")
    if count is None:
        return usual if batch is None else batch
    if count not in range(1, 100_001):
        problem = f"is {count:g}, and must be a whole number from 1 to 100,000"
        raise InputError("portions", problem, "Give a count, like 40.")
    if batch is not None or portion is None:
        remedy = "Give the weight of one portion, like 60, and no batch."
        raise InputError("portions", "needs portion_g, and stands in place of batch_g", remedy)
    return _wanted(usual, count * portion, None, None)


def _step(grams: float, scale: Scale) -> float:
    return scale.fine_step_g if grams < scale.fine_below_g else scale.step_g


def _rounded(grams: float, scale: Scale, as_is: bool) -> float:
    """A weight on the kitchen's scale; what that would move too far keeps two digits."""
    step = _step(grams, scale)
    found = round(grams, 2) if as_is else round(round(grams / step) * step, 4)
    near = abs(found - grams) <= _COARSE * grams
    return found if near else round(grams, 1 - floor(log10(grams)))


def _notices(mix: Mixture, grams: Array, result: Result) -> tuple[str, ...]:
    """What is missed by the mix as answered and as rounded, what to mind, and what no scale shows."""
    missed = [target.name for target in result.mix.targets if not target.met]
    which = "No mix meets every target; this one" if result.status == "impossible" else "This mix"
    found = [f"{which} misses {', '.join(missed)}."] if missed else []
    for before, now in zip(result.mix.targets, target_values(mix, grams), strict=True):
        if before.met and not now.met:
            found.append(f"Rounded to your scale, {now.name} misses: {now.value:.3g} {now.unit}.")
    steps = [weight / _step(weight, mix.recipe.scale) for weight in grams]
    odd = [name for n, name in zip(steps, mix.names, strict=True) if abs(n - round(n)) > 1e-6]
    # At the bench the lots are weighed: what was not read is told where a mix is decided.
    found += sentences(each for each in warnings_of(result) if each.code != "unread_lot")
    return (*found, *([f"Finer than your scale shows: {', '.join(odd)}."] if odd else []))


#: Cautions that ask for the mix to be heated, where no milk and no yolk does.
_HEATED = frozenset({"caution_heat", "caution_like_milk", "caution_low_acid"})


def _steps(bench: Bench, result: Result) -> tuple[WorkStep, ...]:
    """The steps in order; cautions that belong to one are taken from the bench."""
    said, serving, staged = bench.cautions, result.mix.serving, bench.lines
    gums = [part for part in bench.parts if part.kind == "stabiliser"]
    hot = ", ".join(part.name for part in gums if part.key not in _COLD_GUMS)
    swells = (f"{hot}: swells fully only when hot; see its pack.",) if hot else ()
    whipped = how_made(serving.kind) == "whipped"
    infused = "infuse" in staged and not whipped  # what is whipped is drawn cold, or cooled apart
    pan = infused or bool({"pan", "egg"} & set(staged))
    heated = pan and not said.keys().isdisjoint(_HEATED)
    dry = dissolve_words(late=False) if "dry" in staged else ""
    if dry and infused:
        staged.setdefault("pan", [])  # the infusion is what is warmed
    cold = [p.name for p in bench.parts if p.kind == "dairy" and stage_of(p) == "cold"]
    found: list[WorkStep] = []

    def add(
        verb: str, how: str, stage: str = "", boxes: str = "", rules: str = "", small: _Texts = ()
    ) -> None:
        if not stage or stage in staged:
            codes = [f"caution_{rule}" for rule in rules.split()]
            small = (*small, *(said.pop(code) for code in codes if code in said))
            places = tuple(boxes.split(", ")) if boxes else ()
            found.append(WorkStep(verb, how, tuple(staged.get(stage, ())), places, small))

    if bench.prepare:
        add("Prepare", f"{'; '.join(bench.prepare)}.", small=bench.prepared)
    add("Cook first", "Boil through, then let it cool: never raw.", "cook", "°C", "must_cook")
    add("Infuse", "".join(bench.infuse[:1]), "infuse", "from, to", small=tuple(bench.infuse[1:]))
    powders = any(stage_of(part) == "dry" for part in gums)
    add("Mix dry", "gums into the sugar" if powders else "", "dry")
    warm = " and ".join(["with the infusion"] + ["dry mix"] * ("dry" in staged))
    add("Warm", warm if infused else dry, "pan")
    add("Eggs", "whisked in until thick" if whipped else "with some warm mix", "egg")
    if heated:
        how = "Stir, and probe. Your local rules say how hot, how long."
        add("Heat, hold", how, "", "°C, min", "heat like_milk low_acid raw_egg custard", swells)
    elif gums and pan:
        add("Hydrate", "Heat, stirring." if hot else "Blend hard.", "", "°C, min", small=swells)
    if pan:
        verb, how = ("Whisk cold", "In ice water, until it holds a ribbon.") if whipped else _STRAIN
        add(verb, how, "", "from, to, °C", "cooling")
    raw = (f"{', '.join(cold)}: not heated with the rest; ask your local rules.",) * bool(cold)
    how = "once the mix is cold" if pan else dry
    add("Stir in cold", how, "cold", "", "added_cold", raw * heated)
    if whipped:
        said.pop("caution_ageing", None)  # a foam is folded and frozen at once
    elif "caution_ageing" in said:
        add("Age", "Covered, in the coldest part of the fridge.", "", "from, to", "ageing")
    else:
        how = "Covered, in the fridge, until the gum has swollen." if gums else "In the fridge."
        add("Chill", how, "", "°C")
    how = late_words(serving.kind) if pan or "cold" in staged else dissolve_words(late=True)
    add("Add last", how, "late", "", "alcohol")
    add("Whip", "The cold cream, to soft peaks.", "whip")
    cool = result.outlook.scoops_between_c[1]
    tempers = cool is not None and serving.freezer_c < cool
    for verb, how, boxes in last_work(serving, tempers=tempers):
        add(verb, how, "", boxes)
    return tuple(found)


def _panels(bench: Bench, composition: Array, result: Result) -> list[Panel]:
    """What it contains, what the mix reads and weighs, and how it serves."""
    shown, outlook, known = result.mix, result.outlook, properties()
    named = {word for part in bench.parts for word in allergens_of(part, "eu")}
    told = ", ".join(word for key, word in ALLERGENS["eu"].items() if key in named)
    own = ", ".join(part.name for part in bench.parts if not part.table_key)
    check = f"Not known, read the packs: {own}." if own else "By the table; check your packs."
    much = [key for key, most in _BLIND.items() if composition @ known[key].weights > most]
    blind = ", ".join(known[key].name.lower() for key in much)
    facts = [Fact("1 L, no air", f"{1000.0 * mix_density(composition):,.0f} g", "g")]
    note = f"No reading: its {blind} would mislead a refractometer."
    if not blind:
        note = "Read it at 20 °C."
        facts.insert(0, Fact("Reads", f"{brix_of(composition):.1f} °Bx", "°Bx"))
    unnamed = "not known" if own else "none known"
    allergens = Panel("Allergens", (Fact(told or unnamed, ""),), (check,))
    finished = Panel("Finished mix", tuple(facts), (note,))
    point, spread = shown.initial_freezing_point_c, outlook.initial_freezing_point_deviation
    about = "" if spread is None else f" ± {max(spread, 0.1):.1f}"
    facts = [Fact("First ice", "none above -30 °C" if point is None else f"{point:.1f}{about} °C")]
    warm, cool = outlook.scoops_between_c
    if warm is not None and cool is not None:
        facts.append(Fact("Scoops", f"{warm:.1f} to {cool:.1f} °C"))
    low, high = shown.serving.frozen_water.min, shown.serving.frozen_water.max
    start = min(-0.1 if point is None else point, -0.1)
    at = np.append(start, np.arange(np.floor(2.0 * start - 1e-9) / 2.0, -24.1, -0.5))
    frozen = freezing_model().frozen_water(composition, at)[0]
    spreads = np.interp(-at, -np.array(CURVE_TEMPERATURES), outlook.frozen_water_deviation)
    points = tuple(zip(at.tolist(), frozen.tolist(), spreads.tolist(), strict=True))
    window = (0.0 if low is None else low, 100.0 if high is None else high)
    curve = Curve(points, window, shown.serving.temperature_c)
    said = (cold_sentences(result)[0], PLUS_MINUS)
    return [allergens, finished, Panel("Serving", tuple(facts), said, curve)]


def _worth(
    mix: Mixture, grams: Array, made: float, frozen: float, portion: float | None
) -> list[Panel]:
    """What it costs, where every price is known, and what is lost by where."""
    found, missing = [], [e.price_per_kg is None for e in mix.recipe.ingredients]
    if mix.prices is not None:
        paid = float(mix.prices @ grams) / 1000.0
        each = {"Batch": paid, "1 kg of mix": 1000.0 * paid / made, "1 L as served": paid / frozen}
        each |= {} if portion is None else {"Portion": paid * portion / made}
        facts = tuple(Fact(label, f"{value:,.2f}") for label, value in each.items())
        found.append(Panel("Cost", facts, ("In the money of your prices.",)))
    elif not all(missing):
        names = ", ".join(name for name, no in zip(mix.names, missing, strict=True) if no)
        found.append(Panel("Cost", (), (f"Not known: no price for {names}.",)))
    lost: dict[str, float] = {}
    for done, weight in zip(mix.prepared, grams, strict=True):
        sides = () if done is None else (*done.trimmings.items(), *done.losses.items())
        for where, part in sides:
            lost[where] = lost.get(where, 0.0) + mass_of(part) * float(weight)
    facts = tuple(Fact(k.capitalize(), f"{g:,.0f} g") for k, g in lost.items() if abs(g) >= 0.5)
    return found + ([Panel("Lost on the way", facts)] if facts else [])
