"""Heat treatment, lethality, cooling and the cautions of a mix: verdicts and their words."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from formulate.errors import InputError
from formulate.ingredients.table import ingredient_table, own_composition
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
from formulate.safety.cautions import cautions_for
from formulate.safety.cooling_rules import CoolingLeg, cooling_verdicts
from formulate.safety.heat import heat_verdicts
from formulate.safety.inactivation import implied_z, lethality

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
    assert cooling_sentences(found)[-1] == sentence(DEFER)


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
    return {c.code.removeprefix("caution_"): c for c in cautions_for(names, np.mean(rows, axis=0))}


def test_custard_ice_cream_is_heated_cooled_and_aged():
    found = cautions("whole_milk", "cream_35", "egg_yolk", "sucrose")
    assert list(found) == [
        *["heat", "raw_egg", "custard", "cooling", "ageing", "refreezing", "local"]
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
    found = cautions("pear", "sucrose", "water")
    assert list(found) == ["water_ice", "refreezing", "local"]
    assert "21 CFR 135.160" in basis(found["water_ice"])


def test_raw_white_in_a_water_ice_is_named():
    assert list(cautions("pear", "sucrose", "egg_white"))[:2] == ["water_ice", "raw_egg"]


@pytest.mark.parametrize("key", ["oat_drink", "almond_drink", "soya_drink"])
def test_a_plant_drink_is_treated_like_milk(key):
    found = cautions(key, "sucrose")
    assert list(found) == ["like_milk", "cooling", "ageing", "refreezing", "local"]


def test_alcohol_and_fresh_herbs_are_named():
    found = cautions("whole_milk", "sucrose", "lemon_verbena", "rum")
    assert "Lemon verbena, fresh: what is stirred in after heating" in sentence(found["added_cold"])
    assert "8.3 % alcohol does not stand in for heat treatment" in sentence(found["alcohol"])


def test_an_ingredient_of_ones_own_is_judged_by_its_composition():
    own = own_composition({"water": 60, "egg_yolk_solids": 20, "sucrose": 20}, "own")
    found = cautions("pear", own=own)
    assert "heat" in found
    assert "not said to be pasteurised" in sentence(found["raw_egg"])
    milk = own_composition({"water": 90, "msnf": 10}, "own")
    assert "It contains milk:" in sentence(cautions("pear", own=milk)["heat"])


def test_every_caution_is_a_sentence_with_a_basis():
    everything = ("whole_milk", "egg_yolk", "pear", "thyme", "oat_drink", "rum")
    for caution in cautions(*everything).values():
        assert sentence(caution).endswith(".")
        assert basis(caution) or caution.code == "caution_local"
