"""Energy, rounding, density and overrun against published figures and legal tables.

SR28 is USDA National Nutrient Database for Standard Reference, release 28; the rows were read in its
files.  Every other source stands beside its figures.
"""

import numpy as np
import pytest

from formulate.errors import InputError
from formulate.ingredients.components import COLUMNS, COMPONENT_KEYS, position
from formulate.ingredients.table import ingredient_table, own_composition
from formulate.labels.declaration import EU_FACTORS, US_SUGAR_ALCOHOLS, eu_lines, us_lines
from formulate.labels.mix_nutrition import nutrition
from formulate.labels.rounding import eu_rounded, us_rounded
from formulate.mix.parts import Part
from formulate.timing.density import (
    POUND_PER_GALLON,
    cup_weight,
    density_with_overrun,
    mix_density,
    most_overrun,
    overrun_by_volume,
    overrun_by_weight,
    pounds_per_gallon,
)

# Frozen desserts of SR28: water, fat, protein, carbohydrate, ash (g per 100 g), energy (kcal).
FROZEN_DESSERTS = {
    "ice cream, vanilla": (61.0, 11.0, 3.5, 23.6, 0.9, 207),
    "ice cream, vanilla, rich": (57.2, 16.2, 3.5, 22.29, 0.81, 249),
    "ice cream, soft serve, French": (59.8, 13.0, 4.1, 22.2, 0.9, 222),
    "sherbet, orange": (66.1, 2.0, 1.1, 30.4, 0.4, 144),
    "frozen yogurt, soft serve": (65.3, 5.6, 4.0, 24.2, 0.9, 159),
    "lime ice": (66.9, 0.0, 0.4, 32.6, 0.03, 128),
}
# Factors for protein, fat and carbohydrate, kcal/g: general (21 CFR 101.9), and those of SR28 for dairy
# (FOOD_DES.txt) with 3.36 for fruit protein from memory.
GENERAL = (4.0, 9.0, 4.0)
LOWEST_SPECIFIC = (3.36, 8.79, 3.87)
HIGHEST_SPECIFIC = (4.27, 9.02, 4.0)


def one(composition, kind="own", key="mix"):
    """A mix of one ingredient with this composition [% by mass]."""
    row = own_composition(composition, "test") if isinstance(composition, dict) else composition
    return (Part(key, "Mix", kind, "unknown", None, None, 1.0, row),)


def amount(lines, key):
    return next(line.amount.value for line in lines if line.key == key)


def proximates(water, fat, protein, carbohydrate, ash):
    """A row of the components of these proximates, filled up with water as SR28 rounds each."""
    parts = {"milk_fat": fat, "milk_protein": protein, "sucrose": carbohydrate}
    parts["other_minerals"] = ash
    return {**parts, "water": 100.0 - sum(parts.values())}


@pytest.mark.parametrize("name", FROZEN_DESSERTS)
def test_calories_of_frozen_desserts(name):
    """General factors and SR28's own differ; the printed figure lies between them.

    Tolerance: rounding of what SR28 prints (0.05 g of fat, protein and carbohydrate at 9, 4 and 4
    kcal/g, and 0.5 kcal of the energy).
    """
    *grams, printed = FROZEN_DESSERTS[name]
    general = amount(us_lines(nutrition(one(proximates(*grams))), 100.0), "calories")
    fat, protein, carbohydrate = grams[1:4]
    by_hand = sum(f * g for f, g in zip(GENERAL, (protein, fat, carbohydrate), strict=True))
    assert general == pytest.approx(by_hand, abs=1e-9)
    specific = [
        sum(f * g for f, g in zip(factors, (protein, fat, carbohydrate), strict=True))
        for factors in (LOWEST_SPECIFIC, HIGHEST_SPECIFIC)
    ]
    rounding = 0.05 * (9.0 + 4.0 + 4.0) + 0.5
    low, high = min(general, specific[0]) - rounding, max(general, specific[1]) + rounding
    assert low <= printed <= high, f"published {printed}, {low:.1f} to {high:.1f}"


@pytest.mark.parametrize(
    "name",
    [
        "ice cream, vanilla",
        "ice cream, vanilla, rich",
        "ice cream, soft serve, French",
        "sherbet, orange",
    ],
)
def test_calories_of_ice_cream_agree_with_general_factors(name):
    """Within rounding; frozen yogurt and lime ice are 4 kcal above, as SR28's factors are lower."""
    *grams, printed = FROZEN_DESSERTS[name]
    general = amount(us_lines(nutrition(one(proximates(*grams))), 100.0), "calories")
    assert general == pytest.approx(printed, abs=0.05 * (9.0 + 4.0 + 4.0) + 0.5)


@pytest.mark.parametrize(
    ("key", "printed", "fat_cut"),
    [
        ("whole_milk", 61, 0.0),
        ("cream_36", 340, 0.0),
        ("skim_milk_powder", 362, 0.0),
        (
            "butter",
            717,
            0.05,
        ),  # SR28 prints 81.11 g fat and parts that add up to 100.05; the table 81.06
    ],
)
def test_dairy_against_specific_factors(key, printed, fat_cut):
    """SR28 energy of dairy is 4.27, 8.79 and 3.87 kcal/g of its proximates (FOOD_DES.txt).

    General factors differ from these by known amounts; the difference of the two sums is all that may
    stand between our figure and the printed one, beside rounding (0.5 kcal, and 0.005 g three times).
    """
    row = ingredient_table()[key].composition
    protein, fat = row[position("milk_protein")], row[position("milk_fat")]
    carbohydrate = row[position("lactose")]
    ours = amount(us_lines(nutrition(one(row, "dairy", key)), 100.0), "calories")
    difference = (4.0 - 4.27) * protein + (9.0 - 8.79) * fat + (4.0 - 3.87) * carbohydrate
    ours += 8.79 * fat_cut
    assert ours - difference == pytest.approx(printed, abs=0.5 + 0.005 * (4.27 + 8.79 + 3.87))


def test_factors_of_the_european_annex():
    # Regulation (EU) 1169/2011, Annex XIV, read in a copy of the annex: kJ and kcal per g
    assert dict(EU_FACTORS) == {
        "carbohydrate": (17, 4),
        "polyols": (10, 2.4),
        "protein": (17, 4),
        "fat": (37, 9),
        "alcohol": (29, 7),
        "acids": (13, 3),
        "fibre": (8, 2),
        "erythritol": (0, 0),
    }


@pytest.mark.parametrize(
    ("component", "kilojoule", "kilocalorie"),
    [  # 10 g of each in 90 g of water: ten times the factor of Annex XIV
        ("sucrose", 170, 40),
        ("starch", 170, 40),
        ("xylitol", 100, 24),
        ("glycerol", 100, 24),
        ("erythritol", 0, 0),
        ("other_protein", 170, 40),
        ("other_fat", 370, 90),
        ("ethanol", 290, 70),
        ("citric_acid", 130, 30),
        ("inulin", 80, 20),
        ("stabiliser", 80, 20),
        ("salt", 0, 0),
    ],
)
def test_energy_of_one_component(component, kilojoule, kilocalorie):
    lines = eu_lines(nutrition(one({component: 10.0, "water": 90.0})))
    assert amount(lines, "energy_kj") == pytest.approx(kilojoule)
    assert amount(lines, "energy_kcal") == pytest.approx(kilocalorie)


@pytest.mark.parametrize(
    ("component", "factor"),
    [  # 21 CFR 101.9(c)(1)(i)(F), from memory; sorbitol to mannitol also read in three lists of them
        ("isomalt", 2.0),
        ("xylitol", 2.4),
        ("maltitol", 2.1),
        ("sorbitol", 2.6),
        ("mannitol", 1.6),
        ("erythritol", 0.0),
    ],
)
def test_sugar_alcohols_of_the_us(component, factor):
    assert US_SUGAR_ALCOHOLS[component] == factor
    lines = us_lines(nutrition(one({component: 10.0, "water": 90.0})), 100.0)
    assert amount(lines, "calories") == pytest.approx(10.0 * factor)
    assert amount(lines, "total_carbohydrate") == pytest.approx(10.0)
    assert amount(lines, "total_sugars") == 0.0


def test_carbohydrate_of_the_two_rules():
    # EU: with polyols, without fibre and acids (Annex I).  US: by difference, with both (101.9(c)(6)).
    mix = {"sucrose": 10, "xylitol": 5, "fibre": 3, "citric_acid": 2, "salt": 1, "milk_fat": 4}
    facts = nutrition(one({**mix, "water": 75.0}))
    assert amount(eu_lines(facts), "carbohydrate") == pytest.approx(15.0)
    assert amount(us_lines(facts, 100.0), "total_carbohydrate") == pytest.approx(20.0)
    assert amount(us_lines(facts, 50.0), "total_carbohydrate") == pytest.approx(10.0)


def test_milk_protein_is_nitrogen_times_6_25_in_the_eu():
    # SR28 multiplies dairy nitrogen by 6.38 (FOOD_DES.txt); Annex I of 1169/2011 by 6.25
    facts = nutrition(one({"milk_protein": 6.38, "water": 93.62}))
    assert amount(eu_lines(facts), "protein") == pytest.approx(6.25)
    assert amount(us_lines(facts, 100.0), "protein") == pytest.approx(6.38)


def test_salt_is_sodium_times_2_5():
    # Annex I of 1169/2011; sodium is 39.34 % of sodium chloride by molar mass
    facts = nutrition(one({"salt": 1.0, "water": 99.0}))
    assert amount(eu_lines(facts), "salt") == pytest.approx(2.5 * 0.3934, abs=1e-4)
    assert amount(us_lines(facts, 100.0), "sodium") == pytest.approx(393.4, abs=0.1)


def test_salt_of_milk_counts_its_own_sodium():
    # SR28 01077: 43 mg sodium in 100 g of whole milk
    milk = ingredient_table()["whole_milk"].composition
    lines = eu_lines(nutrition(one(milk, "dairy", "whole_milk")))
    assert amount(lines, "salt") == pytest.approx(0.1075)


@pytest.mark.parametrize(("equivalent", "low", "high"), [(38, 29, 40), (42, 29, 40), (47, 29, 40)])
def test_sugars_of_glucose_syrups(equivalent, low, high):
    """Glucose and maltose are 29 to 40 % at DE 38 to 47 (a bakers' dictionary)."""
    solids = {"glucose_syrup_solids": 100.0, "dextrose_equivalent": equivalent}
    found = nutrition(one(solids)).sugars
    assert low <= found.value <= high
    assert found.low < found.value < found.high


@pytest.mark.parametrize(
    ("value", "rule", "printed"),
    [
        # Commission guidance on tolerances, December 2012, rounding table (as a laboratory and a
        # labelling adviser print it); the limits belong to the side that the table names.
        (786.5, "energy", "787"),
        (12.5, "nutrient", "13"),
        (10.0, "nutrient", "10"),
        (9.96, "nutrient", "10"),
        (9.94, "nutrient", "9.9"),
        (0.51, "nutrient", "0.5"),
        (0.5, "nutrient", "<0.5"),
        (0.0, "nutrient", "0"),
        (10.4, "saturates", "10"),
        (0.14, "saturates", "0.1"),
        (0.1, "saturates", "<0.1"),
        (1.0, "salt", "1"),
        (1.26, "salt", "1.3"),
        (0.126, "salt", "0.13"),
        (0.013, "salt", "0.01"),
        (0.0125, "salt", "<0.01"),
        (0.0, "salt", "0"),
    ],
)
def test_european_rounding(value, rule, printed):
    assert eu_rounded(value, rule) == printed


@pytest.mark.parametrize(
    ("value", "rule", "printed"),
    [  # FDA, A Food Labeling Guide, Appendix H (October 2009)
        (4.9, "calories", "0"),
        (47.4, "calories", "45"),
        (47.5, "calories", "50"),
        (50.0, "calories", "50"),
        (96.0, "calories", "100"),
        (0.49, "fat", "0"),
        (0.5, "fat", "0.5"),
        (2.74, "fat", "2.5"),
        (2.75, "fat", "3"),
        (4.9, "fat", "5"),
        (5.4, "fat", "5"),
        (1.9, "cholesterol", "0"),
        (2.0, "cholesterol", "less than 5"),
        (5.0, "cholesterol", "less than 5"),
        (7.5, "cholesterol", "10"),
        (4.9, "sodium", "0"),
        (137.0, "sodium", "135"),
        (140.0, "sodium", "140"),
        (146.0, "sodium", "150"),
        (0.49, "carbohydrate", "0"),
        (0.5, "carbohydrate", "less than 1"),
        (1.0, "carbohydrate", "1"),
        (24.5, "carbohydrate", "25"),
    ],
)
def test_us_rounding(value, rule, printed):
    assert us_rounded(value, rule) == printed


def test_density_of_a_textbook_mix():
    """12 % fat, 38.3 % total solids: printed 1.096 kg/L (a copy of a course on ice cream).

    The exact value of its formula is 1.0969; the print drops the last digit, so within 0.001.
    """
    mix = {"milk_fat": 12.0, "sucrose": 26.3, "water": 61.7}
    density = mix_density(own_composition(mix, "test"))
    assert density == pytest.approx(1.0 / (1.075 * 0.12 + 0.63 * 0.263 + 0.617), rel=1e-12)
    assert density == pytest.approx(1.096, abs=1e-3)


def test_density_scales_and_refuses_nothing():
    row = own_composition({"sucrose": 20.0, "water": 80.0}, "test")
    assert mix_density(7.0 * row) == pytest.approx(mix_density(row))
    with pytest.raises(InputError, match="has no mass"):
        mix_density(np.zeros(len(COLUMNS)))


def test_overrun_of_a_package():
    """1 L of ice cream of 560 g from a mix of 1.090 kg/L: 94.6 % (University of Guelph)."""
    assert overrun_by_weight(1090.0, 560.0) == pytest.approx(94.6, abs=0.05)
    assert density_with_overrun(1.090, 94.643) == pytest.approx(0.560, abs=5e-6)


def test_hundred_per_cent_overrun():
    # 550 g/L from a mix of 1100 g/L (the same course)
    assert density_with_overrun(1.100, 100.0) == pytest.approx(0.550)
    assert overrun_by_volume(10.0, 20.0) == pytest.approx(100.0)


@pytest.mark.parametrize(("overrun", "gross"), [(0, 140), (5, 134.8), (10, 130), (150, 74)])
def test_cup_table(overrun, gross):
    """A cup of 100 mL, 110 g of mix, tare 30 g: gross weights printed to 0.1 g (the same course)."""
    assert cup_weight(110.0, overrun, 30.0) == pytest.approx(gross, abs=0.05)


@pytest.mark.parametrize(("density", "overrun"), [(1.100, 104.00), (1.090, 102.14)])
def test_overrun_at_the_weight_floor(density, overrun):
    """4.5 lb per gallon (21 CFR 135.110) is 539.2 g/L; by hand, 1.09 x 3.785412 / (4.5 x 0.453592)."""
    floor, sherbet_floor = 4.5 * POUND_PER_GALLON, 6.0 * POUND_PER_GALLON
    assert (floor, sherbet_floor) == pytest.approx((0.5392, 0.7190), abs=5e-5)
    assert most_overrun(density, floor) == pytest.approx(overrun, abs=0.005)
    assert pounds_per_gallon(density, most_overrun(density, 0.5392)) == pytest.approx(4.5, abs=1e-3)


def test_overrun_of_the_two_ways_is_the_same():
    density, overrun = 1.093, 37.0
    litre = 1000.0 * density_with_overrun(density, overrun)
    assert overrun_by_weight(1000.0 * density, litre) == pytest.approx(overrun)
    assert overrun_by_volume(1.0, 1.0 + overrun / 100.0) == pytest.approx(overrun)


@pytest.mark.parametrize("overrun", [-1.0, 301.0, float("nan")])
def test_overrun_out_of_range(overrun):
    with pytest.raises(InputError, match="must be from 0 to 300 %"):
        density_with_overrun(1.1, overrun)


def test_every_component_of_every_ingredient_is_counted_once():
    """Water, protein, fat, carbohydrate, minerals and alcohol of a US panel are all there is."""
    for known in ingredient_table().values():
        facts = nutrition(one(known.composition, known.kind, known.key))
        lines = us_lines(facts, 100.0)
        counted = sum(amount(lines, key) for key in ("protein", "total_fat", "total_carbohydrate"))
        counted += facts.water + facts.ash + facts.alcohol
        total = float(known.composition[: len(COMPONENT_KEYS)].sum())
        assert counted == pytest.approx(total, abs=1e-9), known.key
