"""Lots: readings on every scale, titration, prices and dates; and the cautions of a mix."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formulate.components import COMPONENTS, position
from formulate.composition import ingredient_table, own_composition
from formulate.errors import InputError
from formulate.instruments import (
    SCALES,
    baume_of_brix,
    brix_at_20_c,
    brix_of_baume,
    brix_of_density,
    brix_of_refractive_index,
    brix_of_specific_gravity,
    density_of_brix,
    refractive_index_of_brix,
    specific_gravity_of_brix,
)
from formulate.lots import (
    EQUIVALENTS,
    Lot,
    check_lot,
    lot_data,
    lot_from_data,
    lot_remarks,
    reading_at_20_c,
    titratable_acidity,
    with_acidity,
    with_lot,
)
from formulate.readings import at_20_c, brix_of
from formulate.safety import (
    DEFER,
    LETHALITY_CAUTION,
    CoolingLeg,
    cautions_for,
    cooling_data,
    cooling_sentences,
    cooling_verdicts,
    heat_data,
    heat_sentences,
    heat_verdicts,
    implied_z,
    lethality,
    lethality_sentences,
)

TABLE = ingredient_table()
ACIDS = [position(key) for key in EQUIVALENTS]
FRUIT = ("damson", "gooseberry", "blackcurrant", "strawberry", "mango", "lemon_juice", "grape")


def total(composition):
    """Sum of the components, without the two columns that describe some of them again."""
    return composition[: len(COMPONENTS)].sum()


@st.composite
def juices(draw):
    """Sugar, acids, minerals and fibre in water, 100 g in all."""
    key = st.floats(0.0, 3.0).map(lambda value: round(value, 4))
    parts = {
        name: draw(key) for name in ("citric_acid", "malic_acid", "tartaric_acid", "lactic_acid")
    }
    sugars = {
        name: draw(st.floats(0.5, 12.0).map(lambda value: round(value, 4)))
        for name in ("sucrose", "glucose", "fructose")
    }
    parts |= sugars | {"fibre": draw(key), "plant_potassium": draw(key) / 10.0}
    return own_composition(parts | {"water": 100.0 - sum(parts.values())}, "juice")


# Readings -------------------------------------------------------------------------------------------


@given(juices(), st.floats(14.0, 60.0))
def test_a_lot_reads_what_was_read_and_its_mass_stays(juice, brix):
    lot = with_lot(juice, Lot("juice", reading=brix))
    assert brix_of(lot) == pytest.approx(brix, abs=1e-9)
    assert total(lot) == pytest.approx(100.0, abs=1e-9)
    assert lot[ACIDS].tolist() == juice[ACIDS].tolist()


@given(juices(), st.floats(18.0, 60.0), st.floats(0.1, 5.0), st.sampled_from(list(EQUIVALENTS)))
def test_a_lot_shows_reading_and_acidity_at_once(juice, brix, acidity, acid):
    lot = with_lot(juice, Lot("juice", reading=brix, acidity=acidity, acidity_as=acid))
    assert brix_of(lot) == pytest.approx(brix, abs=1e-9)
    assert titratable_acidity(lot, acid) == pytest.approx(acidity, abs=1e-9)
    assert total(lot) == pytest.approx(100.0, abs=1e-9)
    assert lot.min() >= 0.0


@given(juices(), st.floats(0.05, 5.0), st.sampled_from(list(EQUIVALENTS)))
def test_acids_there_and_back(juice, acidity, acid):
    assume(juice[ACIDS].sum() > 0.01)
    there = with_acidity(juice, acidity, acid)
    back = with_acidity(there, titratable_acidity(juice, acid), acid)
    assert back == pytest.approx(juice, abs=1e-9)
    assert total(there) == pytest.approx(100.0, abs=1e-9)


@given(st.floats(0.0, 85.0))
def test_every_scale_there_and_back(brix):
    assert brix_of_density(density_of_brix(brix)) == pytest.approx(brix, abs=1e-9)
    assert brix_of_specific_gravity(specific_gravity_of_brix(brix)) == pytest.approx(brix, abs=1e-9)
    assert brix_of_baume(baume_of_brix(brix)) == pytest.approx(brix, abs=1e-9)
    # The fit has coefficients of 400,000, so that 1e-8 is what is left of double precision.
    assert brix_of_refractive_index(refractive_index_of_brix(brix)) == pytest.approx(brix, abs=1e-8)


@given(st.floats(0.0, 84.0), st.floats(0.01, 1.0))
def test_every_scale_rises_with_brix(brix, more):
    for function in (density_of_brix, baume_of_brix, refractive_index_of_brix):
        assert function(brix + more) > function(brix)


@pytest.mark.parametrize("key", FRUIT)
def test_one_juice_reads_the_same_on_every_scale(key):
    table = TABLE[key].composition
    brix = 14.0
    readings = {
        "brix": brix,
        "brix_hydrometer": brix,
        "baume": baume_of_brix(brix),
        "density": density_of_brix(brix),
        "specific_gravity": specific_gravity_of_brix(brix),
        "refractive_index": refractive_index_of_brix(brix),
    }
    assert set(readings) == set(SCALES)
    for scale, reading in readings.items():
        lot = with_lot(table, Lot(key, reading=reading, scale=scale))
        assert brix_of(lot) == pytest.approx(brix, abs=1e-6), scale


@pytest.mark.parametrize("scale", ["brix", "refractive_index"])
def test_refractometers_are_corrected_by_the_table(scale):
    # OIV Table I: 20 °Bx read at 15 °C loses 0.34
    reading = 20.0 if scale == "brix" else refractive_index_of_brix(20.0)
    assert brix_at_20_c(reading, scale, 15.0) == pytest.approx(19.66, abs=1e-3)
    assert at_20_c(20.0, 15.0) == pytest.approx(19.66)


@pytest.mark.parametrize("scale", ["brix_hydrometer", "baume", "density", "specific_gravity"])
def test_hydrometers_read_low_in_warm_juice_and_high_in_cold(scale):
    reading = {
        "brix_hydrometer": 20.0,
        "baume": baume_of_brix(20.0),
        "density": density_of_brix(20.0),
        "specific_gravity": specific_gravity_of_brix(20.0),
    }[scale]
    cold, even, warm = (brix_at_20_c(reading, scale, c) for c in (15.0, 20.0, 25.0))
    assert cold < even < warm
    assert even == pytest.approx(20.0, abs=1e-6)


# Titration ------------------------------------------------------------------------------------------


def test_every_acid_of_a_composition_can_be_titrated():
    assert {part.key for part in COMPONENTS if part.family == "acid"} == set(EQUIVALENTS)


@pytest.mark.parametrize(("acid", "ratio"), [("malic_acid", 1.047), ("tartaric_acid", 1.172)])
def test_equivalents_of_a_juice_merchant(acid, ratio):
    """geraldmcdonald.com, fruit juice acids, grams of each for one gram of citric acid anhydrous."""
    assert EQUIVALENTS[acid] / EQUIVALENTS["citric_acid"] == pytest.approx(ratio, abs=0.0005)


def test_titration_by_hand():
    # 1 % citric acid (192.124 / 3) and 1 % malic acid (134.087 / 2), as citric acid
    juice = own_composition(
        {"citric_acid": 1, "malic_acid": 1, "sucrose": 8, "water": 90}, "by hand"
    )
    assert titratable_acidity(juice) == pytest.approx(1 + 64.0413 / 67.0435, abs=1e-5)
    doubled = with_acidity(juice, 2 * titratable_acidity(juice))
    assert doubled[position("citric_acid")] == pytest.approx(2.0)
    assert doubled[position("malic_acid")] == pytest.approx(2.0)
    assert doubled[position("water")] == pytest.approx(88.0)


def test_acid_where_the_table_has_none_counts_as_the_one_named():
    peach = TABLE["peach"].composition
    assert peach[ACIDS].sum() == 0.0
    lot = with_acidity(peach, 0.6, "malic_acid")
    assert lot[position("malic_acid")] == 0.6
    assert lot[position("water")] == pytest.approx(peach[position("water")] - 0.6)


# Refusals -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "fields", "words"),
    [
        (
            "damson",
            {"ph": 3.2},
            ["lot of damson, ph: pH 3.2 alone does not give the amount of acid", "titrated"],
        ),
        ("damson", {"reading": 14, "scale": "brx"}, ['"brx" is not one of brix', "Did you mean"]),
        ("damson", {"reading": 95.0}, ["reading: is 95 °Bx, and must be from 0 to 85 °Bx"]),
        ("damson", {"reading": 14, "temperature_c": 45}, ["read at 45 °C", "5 to 30 °C"]),
        ("damson", {"reading": 8, "scale": "baume", "temperature_c": 60}, ["10 to 30 °C only"]),
        ("damson", {"reading": 1045, "scale": "density"}, ["1045 g/mL", "1.045 for example"]),
        ("damson", {"reading": 45, "scale": "specific_gravity"}, ["is 45", "Water shows 1.000"]),
        ("damson", {"reading": 1.2, "scale": "refractive_index"}, ["is 1.2", "1.333"]),
        ("damson", {"reading": 0.0}, ["reading: is 0, and must be above 0"]),
        ("damson", {"reading": float("nan")}, ["is nan"]),
        ("damson", {"reading": 14, "price_per_kg": -2}, ["price_per_kg: is -2"]),
        ("damson", {"reading": 14, "ph": 32}, ["ph: is 32, and must be from 0 to 14"]),
        ("damson", {"acidity": 60}, ["acidity: is 60, and must be from 0 to 50 g per 100 g"]),
        ("damson", {"acidity": 1, "acidity_as": "citric"}, ['"citric"', '"citric_acid"']),
        ("lemon_juice", {"reading": 2.0}, ["2 °Bx cannot be", "reads from"]),
        ("raisin", {"acidity": 30}, ["leaves no water in an ingredient that has"]),
        ("whole_milk", {"reading": 12}, ["3.1 % milk or egg protein", "off the label"]),
        ("yogurt", {"acidity": 0.9}, ["take up alkali too"]),
        ("lemon_liqueur", {"reading": 30}, ["20.6 % alcohol"]),
        ("sucrose", {"reading": 80}, ["a reading needs an ingredient with sugar and water"]),
    ],
)
def test_refusals_name_the_place_the_value_and_what_to_do(key, fields, words):
    with pytest.raises(InputError) as refused:
        with_lot(TABLE[key].composition, Lot(key, **fields))
    for word in words:
        assert word in str(refused.value)
    assert str(refused.value).startswith(f"lot of {key}, ")


def test_a_ph_beside_a_reading_is_kept_and_said_to_change_nothing():
    damson = TABLE["damson"].composition
    noted = Lot("damson", reading=14.0, ph=3.2)
    assert (with_lot(damson, noted) == with_lot(damson, Lot("damson", reading=14.0))).all()
    assert "pH 3.2 is noted and changes nothing" in lot_remarks(damson, noted)[-1]


def test_a_lot_without_figures_is_the_table():
    damson = TABLE["damson"].composition
    bought = Lot("damson", "Quay Fruit", date(2026, 9, 3), 3.4)
    assert with_lot(damson, bought) is damson
    assert reading_at_20_c(bought) is None
    assert lot_remarks(damson, bought) == ()


def test_remarks_say_what_was_converted_and_what_acid_hides():
    lemon = TABLE["lemon_juice"].composition
    lot = Lot("lemon_juice", reading=9.0, temperature_c=24.0)
    converted, hidden = lot_remarks(lemon, lot)
    # International Table of 1936: 0.32 at 25 °C, four fifths of it at 24 °C
    assert converted == "Brix, refractometer: 9 °Bx at 24 °C is 9.3 °Bx at 20 °C."
    # trade table: 4.0 % acid, 0.78 °Bx; lemon juice of the table has 4.08 %
    assert "about 0.8 °Bx too little" in hidden


# Plain data -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "lot",
    [
        Lot("damson"),
        Lot(
            "damson",
            "Quay Fruit",
            date(2026, 9, 3),
            3.4,
            8.1,
            "baume",
            18.0,
            3.1,
            2.0,
            "malic_acid",
        ),
    ],
)
def test_plain_data_there_and_back(lot):
    assert lot_from_data(lot_data(lot)) == lot


def test_a_lot_from_a_file():
    given = {"key": "damson", "date": date(2026, 9, 3), "reading": 14, "price_per_kg": 3}
    lot = lot_from_data(given)
    assert lot == Lot("damson", date=date(2026, 9, 3), price_per_kg=3.0, reading=14.0)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({}, ["lot 2, key: is missing"]),
        ({"key": "damson", "redding": 14}, ["lot 2, redding: is not a field", '"reading"']),
        ({"key": "damson", "reading": "14"}, ["reading: is '14', not a number"]),
        ({"key": "damson", "reading": True}, ["reading: is True, not a number"]),
        ({"key": 7}, ["key: is 7, not text"]),
        ({"key": "damson", "date": "3 September"}, ["not a date", "2026-05-14"]),
        ({"key": "damson", "reading": 99.0}, ["lot of damson, reading: is 99 °Bx"]),
    ],
)
def test_a_faulty_lot_from_a_file_is_refused(data, words):
    with pytest.raises(InputError) as refused:
        lot_from_data(data, "lot 2")
    for word in words:
        assert word in str(refused.value)


def test_a_good_lot_passes_its_check():
    assert check_lot(Lot("damson", reading=14.0, ph=3.0, acidity=2.1)) is None


# Heat, cold and cautions ----------------------------------------------------------------------------


def verdicts_by_rule(temperature_c, seconds):
    return {
        (verdict.jurisdiction, verdict.rule.split(",")[0]): verdict
        for verdict in heat_verdicts(temperature_c, seconds)
    }


def test_a_kitchen_at_85_c_for_15_s_is_told_which_rules_it_meets():
    found = heat_verdicts(85.0, 15.0)
    met = {verdict.jurisdiction: verdict.met is not None for verdict in found}
    # 83 °C 15 s (US pattern), 79.4 °C 15 s (UK 1995); Connecticut has no row of 15 s
    assert met["UK"] and not met["Connecticut"]
    words = heat_sentences(found)
    assert words[0].endswith("meets 180 °F (83 °C) for 15 s.")
    assert any("not met. Nearest: 175 °F for 25 s; 10 s longer." in word for word in words)
    assert words[-1] == DEFER
    data = heat_data(found)
    assert data[0]["met"] is True
    assert data[0]["more_seconds"] == 0.0
    assert all(row["source"] for row in data)


def test_what_is_missing_to_the_nearest_row():
    # 80 °C for 20 s: 5 s short of 80 °C 25 s, 3 °C short of 83 °C 15 s
    verdict = heat_verdicts(80.0, 20.0)[0]
    assert verdict.met is None
    assert (verdict.nearest.temperature_c, verdict.more_c, verdict.more_seconds) == (80.0, 0.0, 5.0)
    # 82.5 °C for 16 s: half a degree short of 83 °C 15 s
    verdict = heat_verdicts(82.5, 16.0)[0]
    assert (verdict.nearest.temperature_c, verdict.more_c, verdict.more_seconds) == (83.0, 0.5, 0.0)


@given(st.floats(40.0, 110.0), st.floats(0.0, 7200.0), st.floats(0.0, 20.0), st.floats(0.0, 3600.0))
def test_hotter_and_longer_never_loses_a_rule(temperature_c, seconds, more_c, more_seconds):
    less = heat_verdicts(temperature_c, seconds)
    more = heat_verdicts(temperature_c + more_c, seconds + more_seconds)
    for before, after in zip(less, more, strict=True):
        assert before.met is None or after.met is not None
        short = before.more_c > 0.0 or before.more_seconds > 0.0
        assert short == (before.met is None)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: heat_verdicts(20.0, 60.0), ["20 °C is not from 40 to 160 °C"]),
        (lambda: heat_verdicts(80.0, -1.0), ["-1 s is not from 0 s to a day"]),
        (lambda: heat_verdicts(float("nan"), 1.0), ["nan °C"]),
        (lambda: heat_verdicts(80.0, 25.0, "mixx"), ['"mixx" is not one of mix', '"mix"']),
        (lambda: lethality(50.0, 60.0), ["50 °C is colder", "52.2 to 79.4 °C"]),
        (lambda: lethality(60.0, 60.0, "listeria"), ['"listeria" is not one of']),
        (lambda: lethality(58.0, 60.0, "salmonella_yolk"), ["60 to 62.2 °C"]),
        (lambda: implied_z((70.0, 10.0), (80.0, 20.0)), ["a hotter row must have a shorter time"]),
        (lambda: cooling_verdicts([]), ["has no readings"]),
        (
            lambda: cooling_verdicts([CoolingLeg(20.0, 30.0, 5.0)]),
            ["from 20 to 30 °C is no cooling"],
        ),
        (lambda: cooling_verdicts([CoolingLeg(80.0, 30.0, 0.0)]), ["takes 0 minutes"]),
        (
            lambda: cooling_verdicts([CoolingLeg(80.0, 30.0, 9.0), CoolingLeg(40.0, 4.0, 9.0)]),
            ["stretch 2: starts at 40 °C, where the one before ended at 30"],
        ),
    ],
)
def test_what_is_out_of_range_is_refused(call, words):
    with pytest.raises(InputError) as refused:
        call()
    for word in words:
        assert word in str(refused.value)


def test_lethality_is_told_as_advice_with_its_limits():
    words = lethality_sentences(lethality(85.0, 10.0))
    assert "more than 12 tenfold reductions of Listeria monocytogenes" in words[0]
    assert "Nothing hotter than 79.4 °C was measured" in words[1]
    assert words[-1] == LETHALITY_CAUTION
    # Palumbo 1995, abstract: 0.44 min in plain yolk, 30.7 min with 10 % salt and 5 % sugar
    assert "0.44 min" in LETHALITY_CAUTION and "30.7 min" in LETHALITY_CAUTION
    assert LETHALITY_CAUTION.startswith("This is advice, not a rule")


@pytest.mark.parametrize(
    ("legs", "uk", "us"),
    [  # UK 1995: 7.2 °C in 90 min; US Food Code: 57 to 21 °C in 120 min, to 5 °C in 360 min
        ([(85, 4, 80)], "yes", "yes"),
        ([(85, 7.2, 90)], "yes", "uncertain"),
        ([(85, 8, 90)], "no", "uncertain"),
        ([(85, 57, 20), (57, 21, 120), (21, 5, 240)], "no", "yes"),
        ([(85, 57, 20), (57, 21, 121), (21, 5, 100)], "no", "no"),
        ([(85, 56, 20), (56, 22, 121), (22, 5, 100)], "no", "no"),
        ([(85, 57, 20), (57, 20, 60), (20, 6, 320)], "uncertain", "no"),
        ([(85, 20, 60), (20, 4, 60)], "uncertain", "yes"),
        ([(70, 40, 30)], "uncertain", "uncertain"),
        ([(20, 4, 30)], "yes", "yes"),
    ],
)
def test_cooling_against_both_rules(legs, uk, us):
    found = cooling_verdicts([CoolingLeg(*leg) for leg in legs])
    assert [verdict.kept for verdict in found] == [uk, us]
    assert [row["kept"] for row in cooling_data(found)] == [uk, us]
    assert cooling_sentences(found)[-1] == DEFER


def test_unfinished_cooling_says_what_is_left():
    uk, us = cooling_verdicts([CoolingLeg(70.0, 40.0, 30.0)])
    assert (uk.minutes_left, uk.waiting_for_c) == (60.0, 7.2)
    assert (us.minutes_left, us.waiting_for_c) == (90.0, 21.0)
    assert "60 min are surely left to reach 7.2 °C" in cooling_sentences((uk, us))[0]


@given(
    st.floats(0.02, 0.2),
    st.lists(st.floats(5.0, 400.0), min_size=1, max_size=5, unique=True),
)
def test_readings_of_an_even_course_never_belie_it(rate, marks):
    """A mix that cools from 85 °C towards 2 °C by Newton's law, read now and then."""
    times = [0.0, *sorted(marks)]
    assume(min(np.diff(times)) > 0.5)
    temperatures = [2.0 + 83.0 * np.exp(-rate * time) for time in times]
    assume(all(warm - cold > 1e-6 for warm, cold in pairwise(temperatures)))

    def passes(c):
        return np.log(83.0 / (c - 2.0)) / rate

    truly_uk = passes(7.2) <= 90.0
    truly_us = passes(21.0) - passes(57.0) <= 120.0 and passes(5.0) - passes(57.0) <= 360.0
    legs = [
        CoolingLeg(start, end, later - sooner)
        for (start, end), (sooner, later) in zip(
            pairwise(temperatures), pairwise(times), strict=True
        )
    ]
    for verdict, truly in zip(cooling_verdicts(legs), (truly_uk, truly_us), strict=True):
        assert verdict.kept in ("uncertain", "yes" if truly else "no")


def cautions(*keys, own=None):
    rows = [TABLE[key].composition for key in keys] + ([] if own is None else [own])
    names = [*keys] + ([] if own is None else ["own_mix"])
    return {caution.key: caution for caution in cautions_for(names, np.mean(rows, axis=0))}


def test_custard_ice_cream_is_heated_cooled_and_aged():
    found = cautions("whole_milk", "cream_35", "egg_yolk", "sucrose")
    assert list(found) == [
        *["heat", "raw_egg", "custard", "cooling", "ageing", "refreezing", "local"]
    ]
    assert "milk and egg" in found["heat"].text
    assert "155 °F (69 °C) for 30 min" in found["heat"].text
    assert "79.4 °C for 15 s" in found["heat"].text
    assert found["raw_egg"].text.startswith("Egg yolk: raw egg may carry Salmonella")
    assert "local rules" in found["local"].text


def test_pasteurised_yolk_is_not_called_raw():
    found = cautions("whole_milk", "egg_yolk_pasteurised", "sucrose")
    assert "raw_egg" not in found
    assert "custard" in found


def test_fruit_and_sugar_are_a_water_ice():
    found = cautions("pear", "sucrose", "water")
    assert list(found) == ["water_ice", "refreezing", "local"]
    assert "21 CFR 135.160" in found["water_ice"].basis


def test_raw_white_in_a_water_ice_is_named():
    assert list(cautions("pear", "sucrose", "egg_white"))[:2] == ["water_ice", "raw_egg"]


@pytest.mark.parametrize("key", ["oat_drink", "almond_drink", "soya_drink"])
def test_a_plant_drink_is_treated_like_milk(key):
    found = cautions(key, "sucrose")
    assert list(found) == ["like_milk", "cooling", "ageing", "refreezing", "local"]


def test_alcohol_and_fresh_herbs_are_named():
    found = cautions("whole_milk", "sucrose", "lemon_verbena", "rum")
    assert "Lemon verbena, fresh: what is stirred in after heating" in found["added_cold"].text
    assert "8.3 % alcohol does not stand in for heat treatment" in found["alcohol"].text


def test_an_ingredient_of_ones_own_is_judged_by_its_composition():
    own = own_composition({"water": 60, "egg_yolk_solids": 20, "sucrose": 20}, "own")
    found = cautions("pear", own=own)
    assert "heat" in found
    assert "not said to be pasteurised" in found["raw_egg"].text
    milk = own_composition({"water": 90, "msnf": 10}, "own")
    assert "It contains milk:" in cautions("pear", own=milk)["heat"].text


def test_every_caution_is_a_sentence_with_a_basis():
    everything = ("whole_milk", "egg_yolk", "pear", "thyme", "oat_drink", "rum")
    for caution in cautions(*everything).values():
        assert caution.text.endswith(".")
        assert caution.basis or caution.key == "local"
