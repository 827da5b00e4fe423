"""The one judgement of every proposed mix: each demand by itself, broken and kept."""

from dataclasses import replace

import numpy as np
import pytest

from formulate.answers import balance
from formulate.data import example_bytes
from formulate.errors import VerificationFault
from formulate.mix import kept_demands, made, mixture, verified
from formulate.recipes import Counts, Group, Range, Ratio, parse


def recipe(name="damson_sorbet", **changes):
    return replace(parse(example_bytes(name), name), **changes)


def with_entry(known, key, **changes):
    entries = (
        replace(entry, **changes) if entry.key == key else entry for entry in known.ingredients
    )
    return replace(known, ingredients=tuple(entries))


def shown(known):
    return {weight.key: weight.grams for weight in balance(known).mix.weights}


def broken(known, grams, **options):
    """Demands that weights do not keep, by name."""
    mix = mixture(known)
    weights = np.array([[grams[key] for key in mix.keys]])
    kept = kept_demands(mix, made(mix, weights), **options)
    return {demand for demand, each in kept.items() if not each.all()}


def test_what_balance_shows_keeps_everything():
    assert broken(recipe(), shown(recipe())) == set()


def test_the_total_is_good_to_half_a_step_and_no_more():
    grams = shown(recipe())
    assert broken(recipe(), {**grams, "water": grams["water"] + 0.4}) == set()
    assert broken(recipe(), {**grams, "water": grams["water"] + 0.6}) == {"total"}
    assert "total" in broken(recipe(), {**grams, "water": grams["water"] - 20.0})


@pytest.mark.parametrize(
    "limit", [{"max_g": 980.0}, {"min_g": 1010.0, "max_g": None}, {"stock_g": 990.0}]
)
def test_limits_and_stock_are_judged(limit):
    grams = {**shown(recipe()), "damson": 1000.0}
    assert "limits of damson" in broken(with_entry(recipe(), "damson", **limit), grams)


def test_a_fixed_weight_is_that_weight():
    grams = shown(recipe())
    held = with_entry(recipe(), "dextrose_monohydrate", fixed=True, grams=60.0)
    assert grams["dextrose_monohydrate"] != 60.0
    assert "limits of dextrose_monohydrate" in broken(held, grams)


def test_a_least_use_is_none_or_enough():
    known = with_entry(recipe(), "locust_bean_gum", least_use_g=8.0)
    grams = {**shown(recipe()), "locust_bean_gum": 5.0}
    assert "least use of locust_bean_gum" in broken(known, grams)
    assert "least use of locust_bean_gum" not in broken(known, grams, counted=False)
    grams["locust_bean_gum"] = 0.0
    assert "least use of locust_bean_gum" not in broken(known, grams)


def test_counts_are_judged():
    grams = shown(recipe())
    assert "most changes" in broken(recipe(counts=Counts(most_changes=1)), grams)
    assert "most ingredients" in broken(recipe(counts=Counts(most_ingredients=3)), grams)
    assert broken(recipe(counts=Counts(most_changes=6, most_ingredients=6)), grams) == set()


def test_ratios_and_groups_are_judged():
    grams = shown(recipe())
    ratio = Ratio("sucrose", "dextrose_monohydrate", Range(10.0, None))
    assert broken(recipe(ratios=(ratio,)), grams) == {f"target {ratio.key}"}
    group = Group("fruit", ("damson",), Range(60.0, None))
    assert broken(recipe(groups=(group,)), grams) == {f"target {group.key}"}


def test_the_cost_is_judged():
    known = recipe()
    for entry in known.ingredients:
        known = with_entry(known, entry.key, price_per_kg=2.0)
    dear = replace(known, targets={**known.targets, "cost_per_kg": Range(None, 1.0)})
    assert broken(dear, shown(known)) == {"target cost_per_kg"}


@pytest.mark.parametrize("key", ["total_solids", "sweetness", "stabiliser"])
def test_every_target_is_judged_by_itself(key):
    known = recipe()
    values = balance(known).mix.properties
    beyond = Range(values[key] * 1.01, values[key] * 1.02)
    asked = replace(known, targets={**known.targets, key: beyond})
    assert broken(asked, shown(known)) == {f"target {key}"}


def test_frozen_water_and_freezing_point_are_judged_from_the_exact_curve():
    known = recipe()
    result = balance(known)
    harder = replace(
        known.serving, frozen_water=Range(result.mix.serving_frozen_water + 0.01, 99.0)
    )
    assert broken(replace(known, serving=harder), shown(known)) == {"target frozen_water"}
    point = result.mix.initial_freezing_point_c
    warmer = {**known.targets, "initial_freezing_point_c": Range(point + 0.01, None)}
    assert broken(replace(known, targets=warmer), shown(known)) == {
        "target initial_freezing_point_c"
    }


def test_an_exact_target_is_met_within_half_of_the_last_digit_shown():
    known = recipe()
    solids = balance(known).mix.properties["total_solids"]
    near, far = Range(solids + 0.04, solids + 0.04), Range(solids + 0.06, solids + 0.06)
    for bounds, expected in ((near, set()), (far, {"target total_solids"})):
        asked = replace(known, targets={**known.targets, "total_solids": bounds})
        assert broken(asked, shown(known)) == expected


def test_a_mix_that_fails_is_a_fault_and_names_what_it_does_not_keep():
    mix = mixture(recipe())
    with pytest.raises(VerificationFault, match="does not keep the target sweetness"):
        verified(mix, mix.start)
