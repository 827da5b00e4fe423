"""What must hold of every chain of steps: nothing is lost or made, and twice in is twice out."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, reject
from hypothesis import strategies as st

from formulate.errors import InputError
from formulate.ingredients.components import COLUMNS, COMPONENT_KEYS, position
from formulate.ingredients.readings import brix_of
from formulate.ingredients.table import ingredient_table
from formulate.recipes.splits import Infusion, mass_of, retained_from_weighing
from formulate.recipes.steps import (
    apply,
    infusion,
    learned,
    prepare,
    steps_from_data,
    steps_to_data,
)

TABLE = ingredient_table()
LIQUIDS = {key: TABLE[key].composition for key in ("whole_milk", "cream_35", "water")}
CLOSE = 1e-9


def percent(low, high):
    return st.floats(low, high).map(lambda value: round(value, 3))


@st.composite
def compositions(draw):
    """Any composition with water in it, g per 100 g, attributes included."""
    row = np.zeros(len(COLUMNS))
    names = draw(st.lists(st.sampled_from(COMPONENT_KEYS), min_size=1, max_size=8, unique=True))
    for name in names:
        row[position(name)] = draw(percent(0.1, 10.0))
    row[position("water")] = draw(percent(20.0, 90.0))
    row *= 100.0 / row[: len(COMPONENT_KEYS)].sum()
    row[position("egg_yolk_solids")] = draw(percent(0.0, 5.0))
    row[position("syrup_reducing_power")] = row[position("glucose_syrup_solids")] * 0.4
    return row


def rows_of(do, **settings):
    return st.fixed_dictionaries({"do": st.just(do)}, optional=settings)


PARTING = st.one_of(
    rows_of("blend", waste_percent=percent(0.0, 10.0)),
    rows_of("sieve", waste_percent=percent(0.0, 40.0), fibre_percent=percent(0.0, 100.0)),
    rows_of("drain", juice_percent=percent(0.0, 30.0)),
    rows_of("press", juice_percent=percent(30.0, 90.0), pulp_percent=percent(0.0, 20.0)),
    rows_of("clarify", waste_percent=percent(0.0, 20.0)),
    rows_of("simmer", steam_percent=percent(0.0, 15.0), alcohol_kept_percent=percent(0.0, 100.0)),
    rows_of("roast", steam_percent=percent(0.0, 15.0)),
    st.fixed_dictionaries({"do": st.just("reduce"), "to_brix": percent(5.0, 80.0)}),
    st.fixed_dictionaries({"do": st.just("concentrate"), "to_percent": percent(40.0, 100.0)}),
    st.fixed_dictionaries({"do": st.just("dry"), "to_moisture_percent": percent(1.0, 60.0)}),
    rows_of("bloom", grams_taken_per_gram=percent(0.0, 6.0)),
    rows_of("hydrate", waste_percent=percent(0.0, 2.0)),
)
PEELING = rows_of("peel and stone", waste_percent=percent(0.0, 60.0))
INFUSING = st.fixed_dictionaries(
    {"do": st.just("infuse"), "in": st.sampled_from(sorted(LIQUIDS))},
    optional={
        "grams_kept_per_gram": percent(0.0, 6.0),
        "solids_percent": percent(0.0, 100.0),
        "water_percent": percent(0.0, 100.0),
        "hot": st.booleans(),
        "like": st.sampled_from(["fresh herb", "dried herb", "spice", "tea", "coffee"]),
    },
)


@st.composite
def chains(draw):
    """Up to six steps in an order that a file may hold."""
    rows = draw(st.lists(PARTING, max_size=4))
    if draw(st.booleans()):
        rows.insert(0, draw(PEELING))
    if draw(st.booleans()):
        rows.insert(draw(st.integers(0, len(rows))), {"do": "weigh"})
    if draw(st.booleans()):
        rows.append(draw(INFUSING))
    return steps_from_data(rows)


def prepared(composition, steps, **more):
    """Prepare, or try another example where the steps cannot be done."""
    try:
        return prepare(composition, steps, liquids=LIQUIDS, **more)
    except InputError:
        reject()


@given(compositions(), chains())
def test_every_component_is_accounted_for(composition, steps):
    found = prepared(composition, steps)
    after = found.contribution + sum(found.losses.values())
    assert np.abs(after - found.weighed).max() < CLOSE
    before = found.weighed + sum(found.trimmings.values())
    bought = composition / 100.0 * found.buy_per_weighed
    assert np.abs(before - bought).max() < CLOSE * max(1.0, found.buy_per_weighed)
    assert mass_of(found.weighed) == pytest.approx(1.0, abs=CLOSE)


@given(compositions(), chains())
def test_nothing_is_below_zero_but_liquid_and_soaking_water(composition, steps):
    found = prepared(composition, steps)
    if not found.liquids:
        assert found.contribution.min() >= -1e-12
    for where, lost in [*found.losses.items(), *found.trimmings.items()]:
        assert where == "soaking water" or lost.min() >= -1e-12


@given(compositions(), chains(), st.floats(0.01, 5000.0))
def test_twice_in_is_twice_out(composition, steps, factor):
    for step in steps:
        try:
            kept, lost = apply(step, composition, liquids=LIQUIDS)
        except InputError:
            reject()
        more, more_lost = apply(step, composition * factor, liquids=LIQUIDS)
        assert more == pytest.approx(kept * factor, rel=1e-9, abs=1e-9 * factor)
        for where, part in lost.items():
            assert more_lost[where] == pytest.approx(part * factor, rel=1e-9, abs=1e-9 * factor)


@given(compositions(), compositions(), st.one_of(PEELING, INFUSING, rows_of("bloom")))
def test_steps_of_fixed_shares_work_on_each_part_by_itself(one, other, row):
    """Peeling, soaking and steeping act on a mixture as on its parts: exactly linear."""
    (step,) = steps_from_data([row])
    parts = [apply(step, part, liquids=LIQUIDS)[0] for part in (one, other)]
    whole, _ = apply(step, one + other, liquids=LIQUIDS)
    assert whole == pytest.approx(parts[0] + parts[1], abs=1e-9)


@given(compositions(), st.floats(1.0, 90.0))
def test_a_reduction_reads_what_was_asked(composition, brix):
    found = prepared(composition, steps_from_data([{"do": "reduce", "to_brix": brix}]))
    assert brix_of(found.contribution) == pytest.approx(brix, abs=1e-6)
    solids = np.ones(len(COLUMNS), dtype=bool)
    solids[[position("water"), position("ethanol")]] = False
    assert found.contribution[solids] == pytest.approx(composition[solids] / 100.0, abs=1e-15)


@given(compositions(), percent(0.0, 6.0), percent(0.0, 100.0), percent(0.0, 100.0))
def test_an_infusion_loses_the_weight_that_was_given(herb, kept, solids, water):
    drawn = infusion(herb, LIQUIDS["cream_35"], Infusion(kept, solids, water))
    assert drawn.yield_share == pytest.approx(-kept, abs=1e-9)
    pulp = [position(name) for name in ("fibre", "starch", "other_protein")]
    assert drawn.contribution[pulp].max() <= 1e-12


@given(st.floats(100.0, 5000.0), st.floats(1.0, 90.0), st.floats(0.0, 6.0))
def test_what_a_herb_keeps_is_learnt_back(liquid_g, herb_g, kept):
    strained_g = liquid_g - kept * herb_g
    if strained_g <= 0.0:
        reject()
    assert retained_from_weighing(liquid_g, herb_g, strained_g) == pytest.approx(kept, abs=1e-9)


@given(
    compositions(),
    st.sampled_from(["peel and stone", "blend", "sieve", "clarify", "simmer", "roast", "dry"]),
    st.floats(0.8, 1.0),
)
def test_a_yield_is_learnt_back(composition, do, share):
    taught = learned(steps_from_data([{"do": do}])[0], 700.0, 700.0 * share)
    found = prepared(composition, (*steps_from_data([{"do": "weigh"}]), taught))
    assert found.yield_share == pytest.approx(share, abs=1e-9)


@given(chains())
def test_plain_data_there_and_back(steps):
    assert steps_from_data(steps_to_data(steps)) == steps


@given(compositions(), chains())
def test_doubts_are_finite_and_close_too(composition, steps):
    found = prepared(composition, steps)
    assert np.isfinite(found.spread) and found.spread >= 0.0
    for change in found.doubts.values():
        assert np.isfinite(change).all()
        assert np.abs(change).max() > 0.0


@given(st.sampled_from(sorted(TABLE)), PARTING)
def test_ingredients_of_the_table_keep_their_mass(key, row):
    about = TABLE[key]
    more = {"kind": about.kind, "edible_percent": about.edible_percent}
    found = prepared(about.composition, steps_from_data([row]), **more)
    after = found.contribution + sum(found.losses.values())
    assert np.abs(after - found.weighed).max() < CLOSE
    assert found.buy_per_weighed == pytest.approx(100.0 / about.edible_percent)
