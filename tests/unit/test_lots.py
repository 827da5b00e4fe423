"""Lots: readings on every scale, titration, prices and dates."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formulate.errors import InputError
from formulate.ingredients.components import COMPONENTS, position
from formulate.ingredients.instruments import (
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
from formulate.ingredients.lots import (
    EQUIVALENTS,
    Lot,
    lot_data,
    lot_from_data,
    lot_remarks,
    reading_at_20_c,
    titratable_acidity,
    with_acidity,
    with_lot,
)
from formulate.ingredients.readings import at_20_c, brix_of
from formulate.ingredients.table import ingredient_table, own_composition
from formulate.report.wording import sentence, sentences

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
    assert "pH 3.2 is noted and changes nothing" in sentence(lot_remarks(damson, noted)[-1])


def test_a_lot_without_figures_is_the_table():
    damson = TABLE["damson"].composition
    bought = Lot("damson", "Quay Fruit", date(2026, 9, 3), 3.4)
    assert with_lot(damson, bought) is damson
    assert reading_at_20_c(bought) is None
    assert lot_remarks(damson, bought) == ()


def test_remarks_say_what_was_converted_and_what_acid_hides():
    lemon = TABLE["lemon_juice"].composition
    lot = Lot("lemon_juice", reading=9.0, temperature_c=24.0)
    converted, hidden = sentences(lot_remarks(lemon, lot))
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
        ({"key": "damson", "reading": 99.0}, ["lot 2, reading: is 99 °Bx"]),
    ],
)
def test_a_faulty_lot_from_a_file_is_refused(data, words):
    with pytest.raises(InputError) as refused:
        lot_from_data(data, "lot 2")
    for word in words:
        assert word in str(refused.value)


def test_a_good_lot_passes_its_check():
    assert Lot("damson", reading=14, ph=3.0, acidity=2.1).reading == 14.0
