"""The batch sheet: a page for the bench, weights in order of work.  What it says, not how it looks.

All figures belong to the weights as printed: scaled to the batch and rounded to the kitchen's scale.
The order of work is common practice, without a source; what rules say is quoted from ``cautions``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, isfinite, log10
from typing import NamedTuple

import numpy as np

from formulate.answers import Result
from formulate.arrays import Array
from formulate.data import versions
from formulate.errors import InputError
from formulate.freezing import freezing_model
from formulate.ingredients import brix_of, ingredient_table, properties
from formulate.labels import ALLERGENS, allergens_of
from formulate.messages import Message
from formulate.mix import CURVE_TEMPERATURES, Mixture, Part, mixture, preparation, target_values
from formulate.recipes import Recipe, Scale, digest, mass_of
from formulate.report import PLUS_MINUS, cold_sentences, grams_words, sentence, sentences
from formulate.safety import cautions_for
from formulate.timing import cup_weight, mix_density

__all__ = ["Curve", "Fact", "Line", "Panel", "Sheet", "WorkStep", "sheet"]

_Texts = tuple[str, ...]

_BLIND = {"fat": 1.0, "milk_protein": 0.5, "egg_protein": 0.5, "ethanol": 0.5}  # %; no source
_POWDER, _OIL = 13.5, 60.0  # % of water below which it mixes dry, of fat above which it melts
_COARSE = 0.05  # of a weight, that rounding to the scale may move it without a word
_DRY = "sugar syrup polyol fibre dairy egg stabiliser mineral protein coffee_tea own".split()
_COLD = "fruit puree juice vegetable herb".split()
_LATE = "acid spirit liqueur wine lemon_juice lime_juice yuzu_juice".split()
_CULTURED = "yogurt sour_cream creme_fraiche buttermilk cheese mascarpone ricotta".split()
_COLD_GUMS = "guar_gum xanthan_gum sodium_alginate cellulose_gum".split()


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to weigh: its name, its weight [g] and a remark."""

    name: str
    grams: float
    remark: str = ""

    @property
    def weight(self) -> str:
        """The weight as it is printed, without its unit."""
        return grams_words(self.grams, exact=True, decimals=4)


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

    ``size`` says what it makes, ``notices`` what must be known first; ``totals`` are the weights at the
    scale and, where that differs, what comes into the churn; ``foot`` identifies recipe and tables.
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
    as_is = result.status == "balanced" and float(np.abs(scaled - exact).max()) < 1e-6
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
    bench = _bench(mix, grams, composition)
    return Sheet(
        name=recipe.name,
        size=tuple(size),
        notices=_notices(mix, grams, result),
        steps=_steps(bench, result),
        totals=tuple(totals),
        panels=(*_panels(bench, composition, result), *_worth(mix, grams, made, frozen, portion_g)),
        cautions=(
            *bench.cautions.values(),
            *(f"Watch: {words}" for words in sentences(result.outlook.risks)),
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
    """What is missed by the mix as answered and as rounded, and what no scale here shows."""
    missed = [target.name for target in result.mix.targets if not target.met]
    which = "No mix meets every target; this one" if result.status == "impossible" else "This mix"
    found = [f"{which} misses {', '.join(missed)}."] if missed else []
    for before, now in zip(result.mix.targets, target_values(mix, grams), strict=True):
        if before.met and not now.met:
            found.append(f"Rounded to your scale, {now.name} misses: {now.value:.3g} {now.unit}.")
    steps = [weight / _step(weight, mix.recipe.scale) for weight in grams]
    odd = [name for n, name in zip(steps, mix.names, strict=True) if abs(n - round(n)) > 1e-6]
    return (*found, *([f"Finer than your scale shows: {', '.join(odd)}."] if odd else []))


class _Bench(NamedTuple):
    """What stands on the bench: parts, lines by stage of work, words on preparing, cautions by key."""

    parts: list[Part]
    lines: dict[str, list[Line]]
    prepare: list[str]
    prepared: tuple[str, ...]
    infuse: list[str]
    cautions: dict[str, str]


def _bench(mix: Mixture, grams: Array, composition: Array) -> _Bench:
    entries, table, kinds = mix.recipe.ingredients, ingredient_table(), mix.kinds
    herbs = {e.key: step.get("in") for e in entries for step in e.steps if step.do == "infuse"}
    drawn = np.array([key in herbs or key in herbs.values() for key in mix.keys])
    prepared = preparation(mix, grams * np.array([key not in herbs for key in mix.keys]))
    infuse = [said for said in preparation(mix, grams * drawn) if said not in prepared]
    infuse = [said for said in infuse if not _as_bought(said)]
    bench = _Bench([], {}, [], sentences(prepared), list(sentences(infuse)), {})

    def place(at: int) -> tuple[bool, bool, float]:
        return kinds[at] == "stabiliser", mix.keys[at] in herbs, -float(grams[at])

    for at in sorted(np.flatnonzero(grams > 0.0).tolist(), key=place):
        entry, done, name, weight = entries[at], mix.prepared[at], mix.names[at], float(grams[at])
        allergens = None if kinds[at] == "own" else table[entry.key].allergens
        part = Part(entry.key, name, kinds[at], "", allergens, None, weight, mix.raw[at])
        bench.parts.append(part)
        if done is not None and entry.key not in herbs:
            bench.prepare.append(f"{name}: {', '.join(step.do for step in entry.steps)}")
        bought = weight * (1.0 if done is None else done.buy_per_weighed)
        remark = f"buy {bought:,.0f} g" if bought - weight >= 0.5 else ""
        stage = "infuse" if drawn[at] else _stage(part)
        bench.lines.setdefault(stage, []).append(Line(name, weight, remark))
    keys = [part.table_key for part in bench.parts if part.table_key and part.key not in herbs]
    bench.cautions.update({c.code: sentence(c) for c in cautions_for(keys, composition)})
    return bench


def _as_bought(said: Message) -> bool:
    """Whether a herb is weighed as it was bought: the list of what to weigh says that."""
    if said.code != "herb_weighed":
        return False
    return grams_words(said.fields["bought_g"]) == grams_words(said.fields["weighed_g"])


def _stage(part: Part) -> str:
    """When an ingredient is weighed, by its kind; of one's own by what it contains."""
    fat, acid = (float(part.composition @ properties()[key].weights) for key in ("fat", "acids"))
    key, own = part.table_key, part.kind == "own"
    if part.kind in _LATE or key in _LATE or part.of("ethanol") > 1.0 or (own and acid > 20.0):
        return "late"
    dry = part.kind in _DRY and part.of("water") < _POWDER and fat < _OIL
    if (dry and key not in ("glycerol", "gelatine")) or key.startswith("cocoa_powder"):
        return "dry"
    if part.kind == "egg" or (own and part.of("egg_protein", "egg_fat") > 1.0):
        return "egg"
    cultured = part.kind == "dairy" and any(word in key for word in _CULTURED)
    plant = own and acid + part.of("fibre") > 0.2
    return "cold" if part.kind in _COLD or cultured or plant else "pan"


def _steps(bench: _Bench, result: Result) -> tuple[WorkStep, ...]:
    """The steps in order; cautions that belong to one are taken from the bench."""
    said, serving, staged = bench.cautions, result.mix.serving, bench.lines
    gums = [part for part in bench.parts if part.kind == "stabiliser"]
    hot = ", ".join(part.name for part in gums if part.key not in _COLD_GUMS)
    swells = (f"{hot}: swells fully only when hot; see its pack.",) if hot else ()
    pan = bool({"pan", "infuse", "egg"} & set(staged))
    heated = pan and not said.keys().isdisjoint({"caution_heat", "caution_like_milk"})
    dry = "with the dry mix" if "dry" in staged else ""
    cold = [p.name for p in bench.parts if p.kind == "dairy" and _stage(p) == "cold"]
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
    add("Infuse", "".join(bench.infuse[:1]), "infuse", "from, to", small=tuple(bench.infuse[1:]))
    add("Mix dry", "gums into the sugar" if gums else "", "dry")
    infused = " and ".join(["with the infusion"] + ["dry mix"] * ("dry" in staged))
    add("Warm", infused if bench.infuse else dry, "pan")
    add("Eggs", "with some warm mix", "egg")
    if heated:
        how = "Stir, and probe. Your local rules say how hot, how long."
        add("Heat, hold", how, "", "°C, min", "heat like_milk raw_egg custard", swells)
    elif gums and pan:
        add("Hydrate", "Heat, stirring." if hot else "Blend hard.", "", "°C, min", small=swells)
    if pan:
        add("Strain, cool", "Into a wide pan in ice water.", "", "from, to, °C", "cooling")
    raw = (f"{', '.join(cold)}: not heated with the rest; ask your local rules.",) * bool(cold)
    how = "once the mix is cold" if pan else dry
    add("Stir in cold", how, "cold", "", "added_cold", raw * heated)
    if "caution_ageing" in said:
        add("Age", "Covered, in the coldest part of the fridge.", "", "from, to", "ageing")
    else:
        how = "Covered, in the fridge, until the gum has swollen." if gums else "In the fridge."
        add("Chill", how, "", "°C")
    add("Add last", "just before churning, into the cold mix", "late", "", "alcohol")
    air, freezer, place = serving.overrun_percent, serving.freezer_c, serving.temperature_c
    how = f"{air:g} % overrun: a cup of 100 g comes out at {cup_weight(100.0, air):.0f} g."
    how = how if air > 0.0 else "Weigh a full cup of mix, and of what comes out."
    add("Churn", how, "", "°C, min, g a cup")
    cool = result.outlook.scoops_between_c[1]
    if serving.kind != "soft_serving":
        add("Harden", f"Covered and shallow, at {freezer:g} °C or colder.", "", "from, to")
    if serving.kind != "soft_serving" and cool is not None and freezer < cool:
        add("Temper, serve", f"Let it warm from {freezer:g} to {place:g} °C.", "", "from, to, °C")
    else:
        add("Serve", f"At {place:g} °C.", "", "°C")
    return tuple(found)


def _panels(bench: _Bench, composition: Array, result: Result) -> list[Panel]:
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
    allergens = Panel("Allergens", (Fact(told or "none known", ""),), (check,))
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
