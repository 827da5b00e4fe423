"""Complete mix and standardising problems with published answers, solved through `balance`.

Source of G1, G3 and G6: H. D. Goff, University of Guelph, mix calculations, problems 1, 3 and 6: cream,
milk and butter hold 9 % milk solids-not-fat in what is not fat; skim powder holds 97 %.
"""

import numpy as np
import pytest

from formulate.answers.balancing import balance, check
from formulate.recipes.model import Range, Recipe, RecipeIngredient, Scale

EXACT = Scale(0.001, 0.001, 1.0)


def dairy(fat):
    """A milk, cream or butter: 9 % milk solids-not-fat in the part that is not fat."""
    serum = 100.0 - fat
    return {"water": 0.91 * serum, "milk_fat": fat, "msnf": 0.09 * serum}


SKIM_POWDER = {"water": 3.0, "msnf": 97.0}
SUGAR = {"sucrose": 100.0}
STABILISER = {"stabiliser": 100.0}
YOLK = {"water": 50.0, "egg_yolk_solids": 50.0}


def solved(batch_g, parts, targets, fixed=None):
    """Balance own compositions to exact targets and return the exact weights by key."""
    fixed = fixed or {}
    entries = tuple(
        RecipeIngredient(key, grams=fixed.get(key), fixed=key in fixed, composition=composition)
        for key, composition in parts.items()
    )
    ranges = {key: Range(value, value) for key, value in targets.items()}
    result = balance(Recipe("published", batch_g, entries, ranges, scale=EXACT))
    assert result.status == "balanced"
    return dict(zip(parts, result.exact_grams, strict=True))


def assert_close(found, expected):
    """Weights agree with the exact solution within 0.01 % of each."""
    assert set(found) == set(expected)
    for key, value in expected.items():
        assert found[key] == pytest.approx(value, rel=1e-4), key


def test_butter_powder_and_water():
    # G1: 100 kg, 14 fat, 10 MSNF, 15 sucrose, 0.4 stabiliser; published 17.50, 9.98, 15.00, 0.40, 57.12
    parts = {
        "butter": dairy(80.0),
        "powder": SKIM_POWDER,
        "sugar": SUGAR,
        "stabiliser": STABILISER,
        "water": {"water": 100.0},
    }
    targets = {"milk_fat": 14.0, "msnf": 10.0, "sucrose": 15.0, "stabiliser": 0.4}
    found = solved(100_000.0, parts, targets)
    butter = 14_000.0 / 0.80
    powder = (10_000.0 - 0.018 * butter) / 0.97
    expected = {"butter": butter, "powder": powder, "sugar": 15_000.0, "stabiliser": 400.0}
    expected["water"] = 100_000.0 - sum(expected.values())
    assert_close(found, expected)
    published = {
        "butter": 17.50,
        "powder": 9.98,
        "sugar": 15.00,
        "stabiliser": 0.40,
        "water": 57.12,
    }
    for key, value in published.items():
        assert found[key] / 1000.0 == pytest.approx(value, abs=0.0101), key  # printed to 0.01 kg


def test_cream_milk_and_powder_with_yolk():
    # G3: 100 kg, 18 fat (yolk fat ignored), 9.5 MSNF, 15 sucrose, 0.4 stabiliser, 1 yolk
    parts = {
        "cream": dairy(30.0),
        "milk": dairy(3.5),
        "powder": SKIM_POWDER,
        "sugar": SUGAR,
        "stabiliser": STABILISER,
        "yolk": {"water": 50.0, "other_solids": 50.0},
    }
    targets = {"milk_fat": 18.0, "msnf": 9.5, "sucrose": 15.0, "stabiliser": 0.4}
    found = solved(100_000.0, parts, targets, {"yolk": 1000.0})
    system = np.array([[0.30, 0.035, 0.0], [0.063, 0.08685, 0.97], [1.0, 1.0, 1.0]])
    cream, milk, powder = np.linalg.solve(system, [18_000.0, 9_500.0, 83_600.0])
    expected = {"cream": cream, "milk": milk, "powder": powder, "sugar": 15_000.0}
    assert_close(found, {**expected, "stabiliser": 400.0, "yolk": 1000.0})
    assert found["powder"] / 1000.0 == pytest.approx(4.08, abs=0.0101)
    assert (found["milk"] + found["cream"]) / 1000.0 == pytest.approx(79.52, abs=0.0101)


def test_part_of_the_cream_and_skim_is_already_there():
    # G6: 2000 kg; published powder 98.5, butter 165.17, milk 656.33
    parts = {
        "cream": dairy(30.0),
        "skim": dairy(0.0),
        "butter": dairy(84.0),
        "milk": dairy(4.0),
        "powder": SKIM_POWDER,
        "sugar": SUGAR,
        "stabiliser": STABILISER,
        "yolk": {"water": 50.0, "other_solids": 50.0},
    }
    targets = {"milk_fat": 15.0, "msnf": 10.5, "sucrose": 15.0, "stabiliser": 0.5}
    fixed = {"cream": 450_000.0, "skim": 300_000.0, "yolk": 20_000.0}
    found = solved(2_000_000.0, parts, targets, fixed)
    exact = {"powder": 98.5227, "butter": 165.1761, "milk": 656.3011}
    published = {"powder": (98.5, 0.05), "butter": (165.17, 0.01), "milk": (656.33, 0.04)}
    for key, value in exact.items():
        assert found[key] / 1000.0 == pytest.approx(value, rel=1e-4), key
    for key, (value, tolerance) in published.items():
        # the published hand calculation rounds in between; its own parts differ by up to 0.03 kg
        assert found[key] / 1000.0 == pytest.approx(value, abs=tolerance), key


def test_cream_standardised_with_skim():
    # S1: 32 % cream from 160 kg of 40 % cream and skim: 40 kg of skim (Guelph, standardising problems)
    found = solved(200_000.0, {"cream": dairy(40.0), "skim": dairy(0.0)}, {"milk_fat": 32.0})
    assert_close(found, {"cream": 160_000.0, "skim": 40_000.0})


def test_milk_enriched_with_cream():
    # 3 % milk and 28 % cream to 3750 lb of 4 %: 3600 and 150 lb (old dairy handbook)
    found = solved(3_750.0, {"milk": dairy(3.0), "cream": dairy(28.0)}, {"milk_fat": 4.0})
    assert_close(found, {"milk": 3_600.0, "cream": 150.0})


@pytest.mark.parametrize(
    ("fat", "msnf", "sucrose", "syrup", "stabiliser", "emulsifier", "total_solids"),
    [  # suggested mixes for ice cream, University of Guelph Ice Cream Technology e-Book
        (10, 11, 10, 5, 0.35, 0.15, 36.5),
        (11, 11, 10, 5, 0.35, 0.15, 37.5),
        (12, 10.5, 12, 4, 0.30, 0.15, 38.95),
        (13, 10.5, 14, 3, 0.30, 0.14, 40.94),
        (14, 10, 14, 3, 0.25, 0.13, 41.38),
        (15, 10, 15, 0, 0.20, 0.12, 40.32),
        (16, 9.5, 15, 0, 0.15, 0.10, 40.75),
    ],
)
def test_total_solids_of_suggested_mixes(
    fat, msnf, sucrose, syrup, stabiliser, emulsifier, total_solids
):
    parts = {
        "milk_fat": fat,
        "msnf": msnf,
        "sucrose": sucrose,
        "glucose_syrup_solids": syrup,
        "dextrose_equivalent": 42,
        "stabiliser": stabiliser,
        "emulsifier": emulsifier,
    }
    solids = fat + msnf + sucrose + syrup + stabiliser + emulsifier
    composition = {**parts, "water": 100.0 - solids}
    entry = RecipeIngredient("mix", grams=1000.0, composition=composition)
    result = check(Recipe("suggested", 1000.0, (entry,), {"total_solids": Range()}))
    assert result.mix.properties["total_solids"] == pytest.approx(total_solids, abs=0.005)
