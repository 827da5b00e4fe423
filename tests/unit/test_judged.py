"""What a mix is, against plain arithmetic: values, targets and where they begin to be missed."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import plain
import plain_freezing

from formulate.answers import balance
from formulate.errors import InputError, VerificationFault
from formulate.ingredients import COLUMNS
from formulate.mix import assess, mixture, target_values
from formulate.mix.assessment import CURVE_TEMPERATURES
from formulate.mix.many import made
from formulate.mix.verification import kept_demands, require_verified, verified
from formulate.recipes import Counts, Group, Range, Ratio, Recipe, RecipeIngredient, Serving, Step

ENTRIES = (
    RecipeIngredient("pear", grams=900, price_per_kg=3.0),
    RecipeIngredient("sucrose", grams=250, price_per_kg=1.2),
    RecipeIngredient("glucose_powder_de30", grams=150, price_per_kg=2.5),
    RecipeIngredient("whole_milk", grams=300, price_per_kg=0.9),
    RecipeIngredient("water", grams=400, price_per_kg=0.0),
)
WEIGHTS = np.array([900.0, 250.0, 150.0, 300.0, 400.0])
SUGAR, SYRUP, WATER = 1, 2, 4
NONE = Range()


def recipe(entries=ENTRIES, **more):
    return Recipe("Pear", 2000.0, entries, **more)


def judged(weights=WEIGHTS, entries=ENTRIES, **more):
    return assess(mixture(recipe(entries, **more)), np.array(weights, dtype=float))


def mean(weights=WEIGHTS, entries=ENTRIES):
    """g per 100 g of the mix, by the table; the power of syrups as what reduces."""
    found = {}
    for entry, grams in zip(entries, weights, strict=True):
        row = plain.composition(entry)
        power = row["glucose_syrup_solids"] * row["dextrose_equivalent"] / 100.0
        for part, value in {**row, "syrup_reducing_power": power}.items():
            found[part] = found.get(part, 0.0) + value * grams / sum(weights)
    return found


MEAN = mean()
SOLIDS = (
    sum(plain.value_of(e, "total_solids") * g for e, g in zip(ENTRIES, WEIGHTS, strict=True)) / 2e3
)
COST = (0.9 * 3.0 + 0.25 * 1.2 + 0.15 * 2.5 + 0.3 * 0.9) / 2.0
FROZEN = plain_freezing.frozen_water(MEAN, -12.0)
POINT = plain_freezing.freezing_point(MEAN)


# values


def test_the_composition_is_the_mean_by_mass():
    found = dict(zip(COLUMNS, judged().composition, strict=True))
    assert found == pytest.approx({key: MEAN.get(key, 0.0) for key in found}, abs=1e-9)


@pytest.mark.parametrize("key", ["total_solids", "fat", "msnf", "sugars", "sweetness", "acids"])
def test_properties_are_the_mean_by_mass(key):
    found = judged(targets={"acids": NONE} if key == "acids" else {}).properties
    expected = sum(plain.value_of(e, key) * g for e, g in zip(ENTRIES, WEIGHTS, strict=True)) / 2e3
    if key != "acids":
        assert found[key] == pytest.approx(expected, abs=1e-9)
    assert found["cost_per_kg"] == pytest.approx(COST, abs=1e-12)


def test_without_every_price_there_is_no_cost():
    free = (replace(ENTRIES[0], price_per_kg=None), *ENTRIES[1:])
    assert "cost_per_kg" not in judged(entries=free).properties


def test_how_a_mix_freezes():
    """The standard's ice line by another library; the project's is fitted to 0.1 mK of it."""
    found = judged(serving=Serving(-12.0, Range(60.0, 80.0)))
    assert found.initial_freezing_point_c == pytest.approx(POINT, abs=2e-3)
    assert found.serving_frozen_water == pytest.approx(FROZEN, abs=2e-3)
    middle = plain_freezing.freezing_point(MEAN, 70.0)
    assert found.serving_temperature_c == pytest.approx(middle, abs=2e-3)
    assert [celsius for celsius, _ in found.frozen_water] == [-float(n) for n in range(2, 25)]
    assert tuple(celsius for celsius, _ in found.frozen_water) == CURVE_TEMPERATURES
    for celsius, percent in found.frozen_water:
        expected = plain_freezing.frozen_water(MEAN, celsius)
        assert percent == pytest.approx(expected, abs=5e-3)


def test_the_usual_serving_stands_where_none_is_asked():
    found = judged()
    assert found.serving == Serving()
    assert found.targets == ()
    expected = plain_freezing.frozen_water(MEAN, -14.0)
    assert found.serving_frozen_water == pytest.approx(expected, abs=2e-3)


def test_a_freezing_point_is_shown_where_it_is_asked_for():
    asked = {"initial_freezing_point_c": Range(-4.0, -1.0)}
    assert judged(targets=asked).properties["initial_freezing_point_c"] == pytest.approx(
        POINT, abs=2e-3
    )
    assert "initial_freezing_point_c" not in judged().properties


def test_what_does_not_freeze():
    spirit = (
        RecipeIngredient("own", grams=1000, composition={"water": 30.0, "ethanol": 70.0}),
        RecipeIngredient("water", grams=1000),
    )
    asked = {"initial_freezing_point_c": Range(-30.0, None)}
    found = judged([1000.0, 0.0], spirit, targets=asked)
    assert found.initial_freezing_point_c is None and found.serving_temperature_c is None
    assert "initial_freezing_point_c" not in found.properties
    assert found.serving_frozen_water == 0.0 and found.verdict == "too soft"
    assert found.targets[0].value == -30.0 and found.all_met  # judged as freezing at the coldest
    dry = (RecipeIngredient("sucrose", grams=1000), RecipeIngredient("water", grams=1000))
    assert judged([2000.0, 0.0], dry).serving_frozen_water == 0.0


def test_weights_tell_what_was_before_and_what_they_take_from_the_shelf():
    trimmed = Step("peel and stone", (("waste_percent", 20.0),))
    blended = Step("blend", (("waste_percent", 10.0),))
    entries = (replace(ENTRIES[0], grams=1000.0, steps=(trimmed, blended)), *ENTRIES[1:])
    first, second, *_ = judged([1000.0, 250, 150, 300, 400], entries).weights
    assert (first.key, first.grams, first.before) == ("pear", 1000.0, 1000.0)
    assert first.bought == pytest.approx(1250.0) and first.reached == pytest.approx(900.0)
    assert first.start == pytest.approx(1000.0)
    assert (second.bought, second.reached, second.name) == (250.0, 250.0, "Sugar (sucrose)")
    unknown = (replace(ENTRIES[0], grams=None), *ENTRIES[1:])
    first, second, *_ = judged(WEIGHTS, unknown).weights
    assert (first.before, first.start, second.start) == (None, None, 250.0)
    bare = tuple(replace(entry, grams=None) for entry in ENTRIES)
    assert [w.start for w in judged(WEIGHTS, bare).weights] == [None] * 5


# where a target begins to be missed, from both sides


def met(weights=WEIGHTS, **more):
    (found,) = (t for t in judged(weights, **more).targets)
    return found.met


ARITHMETIC = 1e-7 * (1.0 + SOLIDS)


@pytest.mark.parametrize(
    ("least", "most", "holds"),
    [
        (SOLIDS, None, True),
        (SOLIDS + 0.9 * ARITHMETIC, None, True),
        (SOLIDS + 1.5 * ARITHMETIC, None, False),
        (None, SOLIDS - 0.9 * ARITHMETIC, True),
        (None, SOLIDS - 1.5 * ARITHMETIC, False),
        (SOLIDS + 0.01, SOLIDS + 1.0, False),
        (SOLIDS - 1.0, SOLIDS - 0.01, False),
        (None, None, True),
    ],
)
def test_a_range_is_kept_but_for_arithmetic(least, most, holds):
    assert met(targets={"total_solids": Range(least, most)}) is holds


@pytest.mark.parametrize(("off", "holds"), [(0.049, True), (0.051, False)])
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_an_exact_value_is_met_within_what_is_shown(off, sign, holds):
    value = SOLIDS + sign * off
    assert met(targets={"total_solids": Range(value, value)}) is holds


@pytest.mark.parametrize(("off", "holds"), [(0.0049, True), (0.0051, False)])
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_an_exact_cost_is_met_within_half_a_cent(off, sign, holds):
    value = COST + sign * off
    assert met(targets={"cost_per_kg": Range(value, value)}) is holds


@pytest.mark.parametrize(("off", "holds"), [(0.018, True), (0.022, False)])
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_an_exact_freezing_point_is_met_within_what_is_shown(off, sign, holds):
    value = POINT + sign * off
    assert met(targets={"initial_freezing_point_c": Range(value, value)}) is holds


@pytest.mark.parametrize(("off", "holds"), [(0.0, True), (0.005, False)])
def test_a_range_of_freezing_points_is_kept_but_for_its_curve(off, holds):
    known = judged().initial_freezing_point_c
    assert met(targets={"initial_freezing_point_c": Range(known + off, None)}) is holds
    assert met(targets={"initial_freezing_point_c": Range(None, known - off)}) is holds
    tight = {"initial_freezing_point_c": Range(known + 0.9e-3, known + 0.5)}
    assert met(targets=tight)


@pytest.mark.parametrize(
    ("window", "holds", "verdict"),
    [
        (Range(FROZEN - 1.0, FROZEN + 1.0), True, "scoopable"),
        (Range(FROZEN + 0.01, FROZEN + 1.0), False, "scoopable"),  # within what is shown
        (Range(FROZEN + 0.1, FROZEN + 1.0), False, "too soft"),
        (Range(FROZEN - 1.0, FROZEN - 0.01), False, "scoopable"),
        (Range(FROZEN - 1.0, FROZEN - 0.1), False, "too hard"),
        (Range(FROZEN + 0.04, FROZEN + 0.04), True, "scoopable"),
        (Range(FROZEN - 0.06, FROZEN - 0.06), False, "too hard"),
        (Range(FROZEN - 1.0, None), True, "scoopable"),
        (Range(None, FROZEN + 1.0), True, "scoopable"),
        (Range(FROZEN + 2.0, None), False, "too soft"),
        (Range(None, FROZEN - 2.0), False, "too hard"),
    ],
)
def test_a_serving_window(window, holds, verdict):
    found = judged(serving=Serving(-12.0, window))
    (target,) = found.targets
    assert (target.key, target.met, found.all_met) == ("frozen_water", holds, holds)
    assert found.verdict == verdict


def test_a_curve_is_held_to_a_thousandth():
    """What interpolation may lose, and no more: percent of the water, and degrees."""
    known = judged(serving=Serving(-12.0, Range(60.0, 80.0)))
    point, frozen = known.initial_freezing_point_c, known.serving_frozen_water
    for off, holds in ((0.9e-3, True), (1.2e-3, False)):
        assert met(targets={"initial_freezing_point_c": Range(point + off, None)}) is holds
        assert met(targets={"initial_freezing_point_c": Range(None, point - off)}) is holds
        assert met(serving=Serving(-12.0, Range(frozen + off, None))) is holds
        assert met(serving=Serving(-12.0, Range(None, frozen - off))) is holds


@pytest.mark.parametrize(("least", "holds"), [(0.9e-7, True), (1.2e-7, False)])
def test_nothing_is_nothing_but_for_arithmetic(least, holds):
    lean = (ENTRIES[SUGAR], ENTRIES[WATER])
    assert met([500.0, 1500.0], entries=lean, targets={"milk_fat": Range(least, None)}) is holds


def test_a_little_water_freezes_too():
    fat = {"water": 0.5, "milk_fat": 99.5}
    entries = (RecipeIngredient("own", grams=2000, composition=fat), ENTRIES[WATER])
    assert judged([2000.0, 0.0], entries).serving_frozen_water == 100.0


@pytest.mark.parametrize(
    ("frozen", "verdict"),
    [(76.05, "scoopable"), (76.0501, "too hard"), (69.95, "scoopable"), (69.9499, "too soft")],
)
def test_the_edge_of_the_window_is_within_it(frozen, verdict):
    found = judged(serving=Serving(-12.0, Range(70.0, 76.0)))
    assert replace(found, serving_frozen_water=frozen).verdict == verdict


def test_all_are_met_only_if_every_one_is():
    asked = {"fat": Range(0.1), "total_solids": Range(SOLIDS + 1.0, None)}
    found = judged(targets=asked)
    assert [target.met for target in found.targets] == [True, False]
    assert not found.all_met


def ratio(bounds):
    return (Ratio("sucrose", "glucose_powder_de30", bounds),)


def with_ratio(sugar, syrup, bounds):
    weights = WEIGHTS.copy()
    weights[[SUGAR, SYRUP]] = sugar, syrup
    (found,) = judged(weights, ratios=ratio(bounds)).targets
    return found.met, found.value


@pytest.mark.parametrize(
    ("sugar", "syrup", "bounds", "holds", "value"),
    [
        (250.0, 150.0, Range(1.6, 1.7), True, 5.0 / 3.0),
        (250.0, 150.0, Range(1.7, 1.8), False, 5.0 / 3.0),
        # an exact one may be off by a gram of either: (1 + 2) / 100 here
        (202.9, 100.0, Range(2.0, 2.0), True, 2.029),
        (203.1, 100.0, Range(2.0, 2.0), False, 2.031),
        (0.0, 0.0, Range(2.0, 3.0), True, 2.0),  # none of either keeps any ratio
        (0.0, 0.0, Range(None, 3.0), True, 3.0),
        (5.0, 0.0, Range(2.0, 3.0), False, 1e9),
        (5.0, 0.0, Range(2.0, None), True, 1e9),
        (0.0, 100.0, Range(None, 3.0), True, 0.0),
        (0.0, 100.0, Range(0.5, 3.0), False, 0.0),
        (0.5, 0.5, Range(1.0, 1.0), True, 1.0),
        (12.0, 4.0, Range(2.0, 2.0), True, 3.0),  # (1 + 3) / 4 off, to the last digit
        (12.0, 4.0, Range(4.0, 4.0), True, 3.0),
        (3.2, 0.5, Range(2.0, 2.0), True, 6.4),  # of half a gram, as of one
        (10.0, 0.5, Range(2.0, 2.0), True, 20.0),
    ],
)
def test_a_ratio(sugar, syrup, bounds, holds, value):
    assert with_ratio(sugar, syrup, bounds) == (holds, pytest.approx(value))


def test_a_ratio_and_a_group_are_shown_among_the_properties():
    blended = replace(ENTRIES[0], steps=(Step("blend", (("waste_percent", 10.0),)),))
    group = Group("fruit and sugar", ("pear", "sucrose"), Range(50.0, 60.0))
    asked = {"ratios": ratio(Range(1.0, 2.0)), "groups": (group,)}
    found = judged(WEIGHTS, (blended, *ENTRIES[1:]), **asked)
    share = 100.0 * (0.9 * 900.0 + 250.0) / (2000.0 - 90.0)
    assert found.properties["group fruit and sugar"] == pytest.approx(share)
    assert found.properties["ratio sucrose : glucose_powder_de30"] == pytest.approx(5.0 / 3.0)
    values = {target.key: target.value for target in found.targets}
    assert values["group fruit and sugar"] == pytest.approx(share)
    near = replace(group, bounds=Range(share + 0.04, share + 0.04))
    assert met(entries=(blended, *ENTRIES[1:]), groups=(near,))
    far = replace(group, bounds=Range(share + 0.06, share + 0.06))
    assert not met(entries=(blended, *ENTRIES[1:]), groups=(far,))


def test_the_part_is_what_the_whole_says():
    asked = recipe(
        targets={"fat": Range(1.0), "initial_freezing_point_c": Range(-3.0, -1.0)},
        serving=Serving(-12.0, Range(60.0, 80.0)),
        ratios=ratio(Range(1.0, 2.0)),
    )
    mix = mixture(asked)
    assert target_values(mix, WEIGHTS) == assess(mix, WEIGHTS).targets
    first = target_values(mix, WEIGHTS)[0]
    assert (first.key, first.name, first.unit, first.min, first.max) == (
        "fat",
        "Fat",
        "%",
        1.0,
        None,
    )


# what is refused


def test_a_mix_that_misses_is_a_fault_that_names_the_first():
    asked = recipe(targets={"fat": Range(0.1), "total_solids": Range(SOLIDS + 1.0, None)})
    with pytest.raises(VerificationFault, match="does not keep the target total_solids"):
        verified(mixture(asked), WEIGHTS)
    assert verified(mixture(recipe(targets={"fat": Range(0.1)})), WEIGHTS).all_met
    assert balance(recipe(targets={"fat": Range(0.1)})).mix.all_met


def not_kept(weights, entries=ENTRIES, **more):
    """Names of the demands that a proposed mix does not keep."""
    mix = mixture(recipe(entries, **more))
    found = kept_demands(mix, made(mix, np.array([weights], dtype=float)))
    return [name for name, kept in found.items() if not kept.all()]


def test_counts_are_judged():
    step = np.array([1.0, -1.0, 0.0, 0.0, 0.0])
    two = {"counts": Counts(most_changes=1)}
    assert not_kept(WEIGHTS, **two) == []
    assert not_kept(WEIGHTS + step, **two) == ["most changes"]
    four = {"counts": Counts(most_ingredients=4)}
    assert not_kept(WEIGHTS, **four) == ["most ingredients"]
    assert not_kept([900.0, 250.0, 149.999, 700.0, 1e-3], **four) == []  # a milligram is not used
    mix = mixture(recipe(**two))
    with pytest.raises(VerificationFault, match="most changes"):
        require_verified(mix, made(mix, (WEIGHTS + step)[None, :]))


def test_a_limit_is_kept_but_for_arithmetic_of_the_batch():
    entries = (replace(ENTRIES[0], max_g=900.0, min_g=900.0), *ENTRIES[1:])
    for off, found in ((1.9e-3, []), (2.1e-3, ["limits of pear"])):
        for sign in (-1.0, 1.0):
            moved = WEIGHTS + sign * off * np.array([1.0, 0.0, 0.0, 0.0, -1.0])
            assert not_kept(moved, entries) == found


@pytest.mark.parametrize(
    ("sugar", "syrup", "bounds", "holds"),
    [
        (202.9, 100.0, Range(2.0, 2.0), True),
        (230.0, 100.0, Range(2.0, 2.0), False),
        (0.0, 0.0, Range(2.0, 2.0), True),
        (0.5, 0.0, Range(None, 3.0), False),
        (0.0, 0.5, Range(0.5, None), False),
        (3.2, 0.5, Range(2.0, 2.0), True),
        (5.5, 0.5, Range(2.0, 2.0), True),
    ],
)
def test_a_ratio_is_judged_alike(sugar, syrup, bounds, holds):
    rest = 2000.0 - sugar - syrup - 1200.0
    found = not_kept([900.0, sugar, syrup, 300.0, rest], ratios=ratio(bounds))
    assert found == ([] if holds else ["target ratio sucrose : glucose_powder_de30"])


def test_a_group_is_judged_as_it_reaches_the_mix():
    blended = replace(ENTRIES[0], steps=(Step("blend", (("waste_percent", 10.0),)),))
    entries, weights = (blended, *ENTRIES[1:]), WEIGHTS + [0.0, 0.0, 0.0, 0.0, 90.0]
    share = 100.0 * 0.9 * 900.0 / 2000.0
    for off, found in ((0.049, []), (0.051, ["target group fruit"])):
        asked = Group("fruit", ("pear",), Range(share + off, share + off))
        assert not_kept(weights, entries, groups=(asked,)) == found


def drawn(kept):
    settings = (("in", "whole_milk"), ("grams_kept_per_gram", kept), ("solids_percent", 0.0))
    return (
        RecipeIngredient("bay_leaf", grams=100, steps=(Step("infuse", settings),)),
        RecipeIngredient("whole_milk", grams=100),
        RecipeIngredient("sucrose", grams=100),
    )


def test_nothing_is_left_after_straining():
    with pytest.raises(InputError, match="nothing is left after straining"):
        judged([100.0, 100.0, 50.0], drawn(2.0))
    with pytest.raises(InputError, match="nothing is left after straining"):
        judged([50.0, 100.0, 0.0], drawn(2.0))


def test_straining_takes_out_more_than_goes_in():
    with pytest.raises(InputError, match="straining takes out more water than goes in"):
        judged([100.0, 100.0, 200.0], drawn(2.0))
    assert judged([40.0, 100.0, 200.0], drawn(2.0)).composition.min() >= 0.0
