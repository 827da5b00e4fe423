"""Heat treatment, lethality, cooling and the cautions of a mix: verdicts and their words."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formulate.cli.temperatures import celsius, celsius_with_unit
from formulate.errors import InputError, TableError
from formulate.ingredients.components import position
from formulate.ingredients.table import ingredient_table, own_composition
from formulate.recipes import RecipeIngredient, Step
from formulate.report.safety import (
    DEFER,
    LETHALITY_CAUTION,
    cooling_data,
    cooling_sentences,
    heat_data,
    heat_sentences,
    lethality_sentences,
)
from formulate.report.wording import basis, sentence
from formulate.safety.acidity import estimated_acidity
from formulate.safety.cautions import cautions_for
from formulate.safety.cooling_rules import CoolingLeg, cooling_verdicts
from formulate.safety.heat import heat_rows, heat_verdicts
from formulate.safety.inactivation import implied_z, lethality
from formulate.safety.ingredient_notes import must_be_cooked, notes_on

TABLE = ingredient_table()


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
    assert words[-1] == sentence(DEFER)
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
    ("legs", "uk", "fr", "us"),
    [  # UK 1995: 7.2 °C in 90 min; France: 63 to 10 °C in 120 min; US Food Code: 57 to 21 °C in 120 min
        # and to 5 °C in 360 min
        ([(85, 4, 80)], "yes", "yes", "yes"),
        ([(85, 7.2, 90)], "yes", "yes", "uncertain"),
        ([(85, 8, 90)], "no", "yes", "uncertain"),
        ([(85, 57, 20), (57, 21, 120), (21, 5, 240)], "no", "no", "yes"),
        ([(85, 57, 20), (57, 21, 121), (21, 5, 100)], "no", "no", "no"),
        ([(85, 56, 20), (56, 22, 121), (22, 5, 100)], "no", "no", "no"),
        ([(85, 57, 20), (57, 20, 60), (20, 6, 320)], "uncertain", "uncertain", "no"),
        ([(85, 20, 60), (20, 4, 60)], "uncertain", "yes", "yes"),
        ([(70, 40, 30)], "uncertain", "uncertain", "uncertain"),
        ([(20, 4, 30)], "uncertain", "uncertain", "uncertain"),  # when it passed 57 nobody knows
        ([(20, 9, 370), (9, 4, 100)], "no", "uncertain", "no"),  # too long whatever went before
        ([(58, 20, 60), (20, 4, 60)], "uncertain", "uncertain", "yes"),
    ],
)
def test_cooling_against_every_rule(legs, uk, fr, us):
    found = cooling_verdicts([CoolingLeg(*leg) for leg in legs])
    assert [verdict.kept for verdict in found] == [uk, fr, us]
    assert [row["kept"] for row in cooling_data(found)] == [uk, fr, us]
    assert cooling_sentences(found)[-1] == sentence(DEFER)


def test_unfinished_cooling_says_what_is_left():
    uk, _, us = cooling_verdicts([CoolingLeg(70.0, 40.0, 30.0)])
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
    truly_fr = passes(10.0) - passes(63.0) <= 120.0
    truly_us = passes(21.0) - passes(57.0) <= 120.0 and passes(5.0) - passes(57.0) <= 360.0
    legs = [
        CoolingLeg(start, end, later - sooner)
        for (start, end), (sooner, later) in zip(
            pairwise(temperatures), pairwise(times), strict=True
        )
    ]
    for verdict, truly in zip(cooling_verdicts(legs), (truly_uk, truly_fr, truly_us), strict=True):
        assert verdict.kept in ("uncertain", "yes" if truly else "no")


def cautions(*keys, own=None):
    """What is said of equal parts; ``own`` is the composition of a thing of one's own."""
    entries = [RecipeIngredient(key) for key in keys]
    rows = [TABLE[key].composition for key in keys]
    if own is not None:
        entries.append(RecipeIngredient("own_mix", composition=own))
        rows.append(own_composition(own, "own_mix"))
    found = cautions_for(entries, np.mean(rows, axis=0))
    return {caution.code.removeprefix("caution_"): caution for caution in found}


def test_custard_ice_cream_is_heated_cooled_and_aged():
    found = cautions("whole_milk", "cream_35", "egg_yolk", "sucrose")
    assert list(found) == [
        *["heat", "raw_egg", "custard", "cooling", "ageing", "guests", "refreezing", "local"]
    ]
    assert "milk and egg" in sentence(found["heat"])
    assert "155 °F (69 °C) for 30 min" in sentence(found["heat"])
    assert "79.4 °C for 15 s" in sentence(found["heat"])
    assert sentence(found["raw_egg"]).startswith("Egg yolk: raw egg may carry Salmonella")
    assert "local rules" in sentence(found["local"])


def test_pasteurised_yolk_is_not_called_raw():
    found = cautions("whole_milk", "egg_yolk_pasteurised", "sucrose")
    assert "raw_egg" not in found
    assert "custard" in found


def test_fruit_and_sugar_are_a_water_ice():
    found = cautions("raspberry", "sucrose", "water")
    assert list(found) == ["water_ice", "guests", "refreezing", "local"]
    words = sentence(found["water_ice"])
    assert words.startswith("As far as is known") and "pH is estimated at 3." in words
    assert "21 CFR 135.160" in basis(found["water_ice"])


def test_raw_white_in_a_water_ice_is_named():
    found = list(cautions("raspberry", "lemon_juice", "sucrose", "egg_white"))
    assert found[:2] == ["water_ice", "raw_egg"]


@pytest.mark.parametrize("key", ["oat_drink", "almond_drink", "soya_drink"])
def test_a_plant_drink_is_treated_like_milk(key):
    found = cautions(key, "sucrose")
    assert list(found) == ["like_milk", "cooling", "ageing", "guests", "refreezing", "local"]


def test_alcohol_and_fresh_herbs_are_named():
    found = cautions("whole_milk", "sucrose", "lemon_verbena", "rum")
    assert "Lemon verbena, fresh: what is stirred in after heating" in sentence(found["added_cold"])
    assert "8.3 % alcohol by weight does not stand in for heat treatment" in sentence(
        found["alcohol"]
    )


def test_an_ingredient_of_ones_own_is_judged_by_its_composition():
    own = {"water": 60, "egg_yolk_solids": 20, "sucrose": 20}
    found = cautions("pear", own=own)
    assert "heat" in found
    assert "not said to be pasteurised" in sentence(found["raw_egg"])
    milk = {"water": 90, "msnf": 10}
    assert "It contains milk:" in sentence(cautions("pear", own=milk)["heat"])


def test_every_caution_is_a_sentence_with_a_basis():
    everything = ("whole_milk", "egg_yolk", "pear", "thyme", "oat_drink", "rum")
    for caution in cautions(*everything).values():
        assert sentence(caution).endswith(".")
        assert basis(caution) or caution.code == "caution_local"


# What is not known, and what holds of single ingredients ---------------------------------------------


@pytest.mark.parametrize(
    ("own", "heated"),
    [
        ({"water": 92, "other_protein": 4, "sucrose": 4}, True),
        ({"water": 80, "starch": 10, "sucrose": 10}, True),
        ({"water": 80, "sucrose": 19, "citric_acid": 1}, False),
    ],
)
def test_what_is_not_known_is_not_called_absent(own, heated):
    found = cautions("raspberry", "sucrose", own=own)
    assert "water_ice" not in found
    assert "milk, egg and allergens in it are not known" in sentence(found["own_unknown"])
    assert ("like_milk" in found) == heated
    for caution in found.values():
        assert "has no milk" not in sentence(caution)
        assert "need not be pasteurised" not in sentence(caution)


def test_an_ingredient_without_a_composition_counts_as_feeding_microbes():
    entries = [RecipeIngredient("raspberry"), RecipeIngredient("cookie_spread")]
    codes = [c.code for c in cautions_for(entries, TABLE["raspberry"].composition)]
    assert codes[:2] == ["caution_like_milk", "caution_own_unknown"]


@pytest.mark.parametrize(
    ("keys", "code"),
    [  # each told to be heated, or to be measured
        (("melon", "sucrose", "water"), "low_acid"),
        (("avocado", "sucrose", "water"), "like_milk"),
        (("cocoa_powder", "sucrose", "water"), "like_milk"),
        (("cocoa_mass", "sucrose", "water"), "like_milk"),
        (("hazelnut_paste", "sucrose", "water"), "like_milk"),
        (("carrot", "sucrose", "water"), "like_milk"),
        (("coffee_brewed", "sucrose"), "low_acid"),
        (("banana", "sucrose", "water"), "low_acid"),
        (("lemon_juice", "sucrose", "water"), "water_ice"),
        (("lime_juice", "melon", "sucrose", "water"), "water_ice"),
        (("pear", "sucrose", "water"), "acid_unsure"),
    ],
)
def test_a_water_ice_is_judged_by_its_acidity(keys, code):
    found = list(cautions(*keys))
    assert found[0] == code
    assert ("cooling" in found) == (code != "water_ice")


def test_the_estimated_ph_of_fruit_against_printed_ranges():
    """pH Values of Common Foods and Ingredients, as printed by US university extensions.

    Of fruit whose acids the table knows; where it has none the estimate only says that there is little.
    """
    printed = {
        "strawberry": (3.0, 3.9), "raspberry": (3.22, 3.95), "blueberry": (3.12, 3.33),
        "gooseberry": (2.8, 3.1), "nectarine": (3.92, 4.18), "pear": (3.5, 4.6), "apple": (3.3, 4.0),
        "sweet_cherry": (4.01, 4.54), "sour_cherry": (3.2, 3.82), "quince": (3.12, 3.4),
        "rhubarb": (3.1, 3.4), "pineapple": (3.2, 4.0), "grape": (2.9, 3.82),
        "pomegranate": (2.93, 3.2), "cranberry": (2.3, 2.52), "orange": (3.69, 4.34),
        "grapefruit": (3.0, 3.75), "lemon_juice": (2.0, 2.6), "lime_juice": (2.0, 2.35),
        "orange_juice": (3.3, 4.19), "grapefruit_juice": (2.9, 3.25), "apple_juice": (3.35, 4.0),
        "pineapple_juice": (3.3, 3.6),
    }  # fmt: skip
    off = []
    for key, (low, high) in printed.items():
        found = estimated_acidity(TABLE[key].composition)
        off.append(max(low - found.ph, found.ph - high, 0.0) / found.plus_minus)
    within = sum(each <= 1.0 for each in off)
    assert within / len(off) >= 0.67 and max(off) <= 3.0
    for key in ("melon", "honeydew_melon", "avocado", "carrot", "cucumber", "papaya", "fig"):
        assert estimated_acidity(TABLE[key].composition).is_acid is False


@given(st.floats(0.0, 5.0), st.floats(0.01, 5.0), st.floats(0.0, 0.5))
def test_more_acid_never_raises_the_ph_and_more_potassium_never_lowers_it(acid, more, potassium):
    def ph(grams_of_acid, grams_of_potassium):
        parts = np.array(TABLE["water"].composition)
        parts[position("citric_acid")] = grams_of_acid
        parts[position("plant_potassium")] = grams_of_potassium
        return estimated_acidity(parts).ph

    assert ph(acid + more, potassium) <= ph(acid, potassium) + 1e-3
    assert ph(acid, potassium + 0.1) >= ph(acid, potassium) - 1e-3


@pytest.mark.parametrize(
    ("key", "code"),
    [
        ("elderberry", "must_cook"),
        ("Elderberries from the hedge", "must_cook"),
        ("apricot_kernels", "kernels"),
        ("rhubarb", "stalks_only"),
        ("lupin_drink", "lupin"),
        ("honey", "honey"),
        ("chestnut_honey", "honey"),
        ("strawberry_frozen", "frozen_berries"),
        ("apple_juice", "fresh_juice"),
        ("melon", "cut_melon"),
        ("ricotta", "listeria"),
        ("cinnamon", "coumarin"),
        ("tonka bean", "tonka"),
    ],
)
def test_notes_of_ingredients_are_said(key, code):
    (found,) = notes_on([RecipeIngredient(key)])
    assert found.code == f"caution_{code}"
    assert sentence(found).endswith(".") and basis(found)


def test_what_is_only_like_a_word_is_not_taken_for_it():
    for key in ("honeydew_sorbet", "damson", "lemon_juice", "peach_liqueur"):
        assert notes_on([RecipeIngredient(key)]) == ()
    worked = RecipeIngredient("damson", steps=(Step("sieve"),))
    assert [note.code for note in notes_on([worked])] == ["caution_kernels"]


@pytest.mark.parametrize(
    ("steps", "cooked"),
    [((), True), ((Step("sieve"),), True), ((Step("simmer"),), False)],
)
def test_what_must_be_cooked_asks_for_a_step_that_heats_it(steps, cooked):
    assert must_be_cooked(RecipeIngredient("elderberry", steps=steps)) == cooked
    assert not must_be_cooked(RecipeIngredient("raspberry", steps=steps))


def test_an_infusion_that_the_recipe_heats_is_not_called_unheated():
    milk = RecipeIngredient("whole_milk")
    for settings, cold in (({"hot": True}, False), ({"at_c": 80.0}, False), ({"at_c": 5.0}, True)):
        steps = (Step("infuse", (("in", "whole_milk"), *settings.items())),)
        entries = [milk, RecipeIngredient("spearmint", steps=steps)]
        codes = [c.code for c in cautions_for(entries, TABLE["whole_milk"].composition)]
        assert ("caution_added_cold" in codes) == cold


def test_a_table_without_rules_stops_the_sentence(monkeypatch):
    for rows in ([], [row for row in heat_rows() if row.key.startswith("uk")]):
        monkeypatch.setattr("formulate.safety.cautions.heat_rows", lambda rows=rows: tuple(rows))
        with pytest.raises(TableError, match=r"heat_treatment\.csv"):
            cautions("whole_milk")


def test_an_open_pan_does_not_reach_what_was_typed():
    words = heat_sentences(heat_verdicts(145.0, 1800.0), 145.0)
    assert "An open pan boils near 105 °C" in words[0] and "293 °F" in words[0]
    assert "open pan" not in heat_sentences(heat_verdicts(85.0, 15.0), 85.0)[0]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("145F", (145 - 32) / 1.8),
        ("62.8C", 62.8),
        ("62,8 °C", 62.8),
        ("-18", -18.0),
        ("-4f", -20.0),
    ],
)
def test_temperatures_with_a_unit(text, value):
    assert celsius(text, "--at") == pytest.approx(value, abs=1e-9)


def test_a_bare_temperature_of_heating_shows_both_forms():
    with pytest.raises(InputError) as refused:
        celsius_with_unit("145", "--at")
    assert "145C or 145F" in str(refused.value) and "62.8 °C" in str(refused.value)
    for text in ("", "hot", "1e5", "nan", "62.8K"):
        with pytest.raises(InputError, match="not a temperature"):
            celsius(text, "--at")
