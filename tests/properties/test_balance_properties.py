"""What must hold for every recipe: scale, order, loosening, rounding, conflicts, round trips."""

from dataclasses import replace

import numpy as np
import pulp
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from formulate.answers.balancing import balance, check
from formulate.answers.conflicts import demands, explain, restricted
from formulate.mix.assessment import assess
from formulate.mix.mixtures import mixture
from formulate.mix.programmes import programme
from formulate.recipes import Balance, Scale, usual_share
from formulate.recipes.file import parse, to_toml
from formulate.recipes.model import Range, Recipe, RecipeIngredient, Serving
from formulate.solver.certificates import Certificate, contradiction_g
from formulate.solver.objectives import best, is_possible, relative_change

FEW = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])

FRUIT = ("strawberry", "raspberry", "pear", "damson", "mango", "sour_cherry")
SUGARS = ("sucrose", "dextrose_monohydrate", "glucose_powder_de30", "trehalose", "honey")


@st.composite
def sorbets(draw, possible=True):
    """A fruit, two or three sugars, water and a gum; targets around what some mix of them gives."""
    fruit = draw(st.sampled_from(FRUIT))
    sugars = draw(st.lists(st.sampled_from(SUGARS), min_size=2, max_size=3, unique=True))
    weights = [draw(st.integers(350, 600))]
    weights += [draw(st.integers(30, 150)) for _ in sugars]
    weights += [draw(st.integers(100, 350)), draw(st.integers(2, 6))]
    keys = [fruit, *sugars, "water", "guar_gum"]
    entries = tuple(
        RecipeIngredient(key, grams=float(grams)) for key, grams in zip(keys, weights, strict=True)
    )
    brix = draw(st.one_of(st.none(), st.floats(9.0, 20.0)))
    entries = (replace(entries[0], brix=brix), *entries[1:])
    wish = {"total_solids": Range(), "sweetness": Range()}
    recipe = Recipe("sorbet", 1000.0, entries, wish, Serving(-12.0, Range(0.0, 99.0)))
    shaken = tuple(
        replace(entry, grams=entry.grams * draw(st.floats(0.7, 1.3))) for entry in entries
    )
    aim = check(replace(recipe, ingredients=shaken)).mix
    shift = 0.0 if possible else draw(st.floats(12.0, 25.0))
    solids = aim.properties["total_solids"]
    sweet = aim.properties["sweetness"] + shift
    frozen = aim.serving_frozen_water
    targets = {
        "total_solids": Range(solids - 1.0, solids + 1.0),
        "sweetness": Range(sweet - 1.0, sweet + 1.0),
    }
    window = Range(max(frozen - 1.5, 0.0), min(frozen + 1.5, 99.0))
    return replace(recipe, targets=targets, serving=Serving(-12.0, window))


@FEW
@given(sorbets())
def test_a_mix_that_is_there_is_found_and_keeps_its_targets_on_the_scale(recipe):
    result = balance(recipe)
    assert result.status == "balanced"
    grams = np.array([weight.grams for weight in result.mix.weights])
    assert grams.sum() == pytest.approx(1000.0, abs=0.5 + 1e-6)  # half a step of the scale
    assert result.mix.all_met
    if not result.messages:
        steps = np.where(np.array(result.exact_grams) < 20.0, 0.1, 1.0)
        assert np.allclose(grams / steps, np.round(grams / steps), atol=1e-6)


@FEW
@given(sorbets(), st.floats(0.05, 50.0))
def test_scaling_the_batch_scales_the_mix(recipe, factor):
    entries = tuple(replace(entry, grams=entry.grams * factor) for entry in recipe.ingredients)
    scale = Scale(*(getattr(recipe.scale, name) * factor for name in Scale.__dataclass_fields__))
    larger = replace(recipe, batch_g=1000.0 * factor, ingredients=entries, scale=scale)
    one, other = balance(recipe).exact_grams, balance(larger).exact_grams
    assert np.allclose(np.array(one) * factor, other, rtol=1e-6, atol=1e-4 * factor)


@FEW
@given(sorbets(), st.randoms(use_true_random=False))
def test_the_order_of_ingredients_does_not_matter(recipe, random):
    order = list(recipe.ingredients)
    random.shuffle(order)
    one, other = balance(recipe), balance(replace(recipe, ingredients=tuple(order)))
    first = dict(zip((weight.key for weight in one.mix.weights), one.exact_grams, strict=True))
    second = dict(zip((weight.key for weight in other.mix.weights), other.exact_grams, strict=True))
    for key, grams in first.items():
        assert second[key] == pytest.approx(grams, rel=1e-6, abs=1e-3)


@FEW
@given(sorbets(), st.floats(0.1, 3.0))
def test_loosening_a_target_never_asks_for_more_change(recipe, more):
    mix = mixture(recipe)
    tight = best(programme(mix), relative_change(programme(mix), mix.start))
    bounds = recipe.targets["sweetness"]
    wider = {**recipe.targets, "sweetness": Range(bounds.min - more, bounds.max + more)}
    loose_mix = mixture(replace(recipe, targets=wider))
    loose = best(programme(loose_mix), relative_change(programme(loose_mix), loose_mix.start))
    assert loose.objective <= tight.objective + 1e-7


@FEW
@given(sorbets())
def test_another_solver_finds_the_same_least_change(recipe):
    mix = mixture(recipe)
    rows = programme(mix)
    found = best(rows, relative_change(rows, mix.start))
    base = np.maximum(mix.start, 0.02 * rows.batch_g)
    model = pulp.LpProblem("mix", pulp.LpMinimize)
    index = range(len(rows.keys))
    weights = [pulp.LpVariable(f"w{i}", rows.lower[i], rows.upper[i]) for i in index]
    away = [pulp.LpVariable(f"d{i}", 0.0) for i in index]
    model += pulp.lpSum(away[i] / base[i] for i in index)
    model += pulp.lpSum(weights) == rows.batch_g
    for i in index:
        model += weights[i] - mix.start[i] <= away[i]
        model += mix.start[i] - weights[i] <= away[i]
    for row in rows.rows:
        value = pulp.lpSum(row.coefficients[i] * weights[i] for i in index)
        if np.isfinite(row.lower):
            model += value >= row.lower
        if np.isfinite(row.upper):
            model += value <= row.upper
    model.solve(pulp.HiGHS(msg=False))
    assert model.status == pulp.LpStatusOptimal
    assert found.objective == pytest.approx(pulp.value(model.objective), rel=1e-4, abs=1e-5)


@FEW
@given(sorbets(possible=False))
def test_a_conflict_is_impossible_and_minimal(recipe):
    result = balance(recipe)
    assume(result.status == "impossible")
    mix = mixture(recipe)
    rows = programme(mix)
    explanation = explain(mix, rows)
    found = list(explanation.conflict)
    assert set(found) <= set(demands(mix, rows))
    assert not is_possible(restricted(rows, found))
    for demand in found:
        rest = [other for other in found if other is not demand]
        assert is_possible(restricted(rows, rest))


@FEW
@given(sorbets(possible=False))
def test_every_proposal_makes_a_mix_possible(recipe):
    result = balance(recipe)
    assume(result.status == "impossible")
    assert result.contradiction > 0.0
    for proposal in result.proposals:
        met = assess(mixture(proposal.recipe), np.array(proposal.weights))
        assert met.all_met, proposal.text
        assert balance(proposal.recipe).status == "balanced"


@FEW
@given(sorbets(), st.data())
def test_multipliers_prove_nothing_about_a_mix_that_can_be(recipe, data):
    """The check of a proof has no false positives: no multipliers contradict a possible programme."""
    rows = programme(mixture(recipe))
    signs = [data.draw(st.floats(-1.0, 1.0)) for _ in rows.rows]
    multipliers = np.array(signs)
    multipliers[(multipliers > 0.0) & ~np.isfinite(rows.row_lower)] = 0.0
    multipliers[(multipliers < 0.0) & ~np.isfinite(rows.row_upper)] = 0.0
    proof = Certificate(multipliers, data.draw(st.floats(-1.0, 1.0)))
    assert contradiction_g(rows, proof) <= 1e-6


@FEW
@given(sorbets())
def test_a_recipe_file_comes_back_the_same(recipe):
    assert parse(to_toml(recipe).encode(), "again") == recipe


@FEW
@given(sorbets(), st.floats(0.0, 1.0))
def test_properties_of_two_mixes_together_are_their_mean(recipe, share):
    other = balance(recipe).mix
    now = check(recipe).mix
    first, second = (sum(w.grams for w in mix.weights) / 1000.0 for mix in (now, other))
    blend = tuple(
        replace(entry, grams=share * one.grams / first + (1.0 - share) * two.grams / second)
        for entry, one, two in zip(recipe.ingredients, now.weights, other.weights, strict=True)
    )
    both = check(replace(recipe, ingredients=blend)).mix.properties
    for key, value in both.items():
        mean = share * now.properties[key] + (1.0 - share) * other.properties[key]
        assert value == pytest.approx(mean, rel=1e-9, abs=1e-9)


def test_without_weights_the_mix_is_what_is_usual():
    """Nothing beyond the usual, no fruit sorbet without fruit; more of what is more usual."""
    keys = ("pear", "sucrose", "trehalose", "locust_bean_gum", "water")
    entries = tuple(RecipeIngredient(key) for key in keys)
    targets = {"total_solids": Range(28.0, 30.0)}
    recipe = Recipe("from nothing", 1000.0, entries, targets, style="fruit_sorbet")
    result = balance(recipe)
    grams = {weight.key: weight.grams for weight in result.mix.weights}
    assert result.status == "balanced"
    for key, kind in zip(keys, result.mixture.kinds, strict=True):
        usual = usual_share("fruit_sorbet", key, kind)
        assert grams[key] <= 10.0 * usual.high + 1.0, key
    assert grams["pear"] >= 10.0 * usual_share("fruit_sorbet", "pear", "fruit").low - 1.0
    assert grams["sucrose"] > grams["trehalose"]


def test_with_prices_the_cheapest_mix_wins():
    entries = (
        RecipeIngredient("water", price_per_kg=0.0),
        RecipeIngredient("sucrose", max_g=1000.0, price_per_kg=1.0),
        RecipeIngredient("trehalose", price_per_kg=8.0),
    )
    targets = {"total_solids": Range(30.0, 32.0)}
    as_it_is = Balance(margin=0.0, objective="cost")
    result = balance(Recipe("cheap", 1000.0, entries, targets, balance=as_it_is))
    grams = {weight.key: weight.grams for weight in result.mix.weights}
    assert grams == pytest.approx({"water": 700.0, "sucrose": 300.0, "trehalose": 0.0})
    assert result.mix.properties["cost_per_kg"] == pytest.approx(0.30)
