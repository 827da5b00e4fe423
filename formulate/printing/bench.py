"""What stands on the bench: each thing to weigh, when it comes in, and how it is prepared."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from formulate.arrays import Array
from formulate.ingredients import ingredient_table, properties
from formulate.messages import Message
from formulate.mix import Mixture, Part, preparation
from formulate.recipes import how_made
from formulate.report import grams_words, sentence, sentences
from formulate.safety import cautions_for, must_be_cooked

__all__ = ["Bench", "Line", "bench_of", "stage_of"]

_POWDER, _OIL = 13.5, 60.0  # % of water below which it mixes dry, of fat above which it melts
_WHIPS = 25.0  # % of milk fat from which cream is whipped
_DRY = "sugar syrup polyol fibre dairy egg stabiliser mineral protein coffee_tea own".split()
_COLD = "fruit puree juice vegetable herb".split()
_LATE = "acid spirit liqueur wine lemon_juice lime_juice yuzu_juice".split()
_CULTURED = "yogurt sour_cream creme_fraiche buttermilk cheese mascarpone ricotta".split()


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


class Bench(NamedTuple):
    """What stands on the bench: parts, lines by stage of work, words on preparing, cautions by key."""

    parts: list[Part]
    lines: dict[str, list[Line]]
    prepare: list[str]
    prepared: tuple[str, ...]
    infuse: list[str]
    cautions: dict[str, str]


def bench_of(mix: Mixture, grams: Array, composition: Array) -> Bench:
    """Return what stands on the bench for these weights at the scale [g] and what they make [%]."""
    entries, table, kinds = mix.recipe.ingredients, ingredient_table(), mix.kinds
    herbs = {e.key: step.get("in") for e in entries for step in e.steps if step.do == "infuse"}
    drawn = np.array([key in herbs or key in herbs.values() for key in mix.keys])
    prepared = preparation(mix, grams * np.array([key not in herbs for key in mix.keys]))
    infuse = [said for said in preparation(mix, grams * drawn) if said not in prepared]
    infuse = [said for said in infuse if not _as_bought(said)]
    bench = Bench([], {}, [], sentences(prepared), list(sentences(infuse)), {})
    whipped = mix.recipe.serving is not None and how_made(mix.recipe.serving.kind) == "whipped"
    used = [entry for entry, weight in zip(entries, grams, strict=True) if weight > 0.0]
    minded = {each.code: each for each in cautions_for(used, composition)}
    like_milk = minded.get("caution_like_milk", minded["caution_local"]).fields.get("names")
    is_flat = "caution_low_acid" in minded  # fruit of little acid is heated with the mix
    feeding = like_milk if isinstance(like_milk, tuple) else ()

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
        stage = "infuse" if drawn[at] else stage_of(part)
        if whipped and part.kind == "dairy" and part.of("milk_fat") >= _WHIPS:
            stage = "whip"
        elif must_be_cooked(entry):
            stage = "cook"
        elif stage == "cold" and (
            name in feeding or (is_flat and kinds[at] not in ("dairy", "herb"))
        ):
            stage = "pan"
        bench.lines.setdefault(stage, []).append(Line(name, weight, remark))
    bench.cautions.update({code: sentence(each) for code, each in minded.items()})
    return bench


def _as_bought(said: Message) -> bool:
    """Whether a herb is weighed as it was bought: the list of what to weigh says that."""
    if said.code != "herb_weighed":
        return False
    return grams_words(said.fields["bought_g"]) == grams_words(said.fields["weighed_g"])


def stage_of(part: Part) -> str:
    """Return when an ingredient is weighed, by its kind; one's own by what it contains."""
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
