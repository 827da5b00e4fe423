"""Readings, energy and sweetness by hand; the solver refuses what is not finite."""

import numpy as np
import pytest

from formulate.errors import InputError, SolverFault, VerificationFault
from formulate.ingredients.quantities import properties
from formulate.ingredients.readings import at_20_c, brix_of, with_reading
from formulate.ingredients.table import ingredient_table, own_composition
from formulate.mix.mixtures import mixture
from formulate.mix.programmes import programme
from formulate.mix.verification import verified
from formulate.recipes.model import Range, Recipe, RecipeIngredient, Scale
from formulate.solver.objectives import best, relative_change
from formulate.solver.to_scale import weighable


@pytest.mark.parametrize(
    ("brix", "temperature", "correction"),
    [  # OIV table for 5, 10 and 15 °C; International Table of 1936 for 25 and 30 °C
        (10, 5, -0.82),
        (30, 5, -0.99),
        (10, 10, -0.59),
        (60, 10, -0.75),
        (20, 15, -0.34),
        (20, 25, 0.34),
        (60, 25, 0.36),
        (70, 30, 0.73),
        (40, 20, 0.0),
    ],
)
def test_temperature_correction_of_a_reading(brix, temperature, correction):
    assert at_20_c(brix, temperature) - brix == pytest.approx(correction, abs=0.005)


@pytest.mark.parametrize("temperature", [4.9, 30.1])
def test_a_reading_outside_the_table_is_refused(temperature):
    with pytest.raises(InputError, match=r"brix: was read at .* goes from 5 to 30 °C"):
        at_20_c(14.0, temperature)


@pytest.mark.parametrize("key", ["strawberry", "damson", "mango", "lemon_juice"])
@pytest.mark.parametrize("brix", [9.0, 14.0, 22.0])
def test_a_lot_reads_what_was_read_and_keeps_its_acids(key, brix):
    table = ingredient_table()[key].composition
    lot = with_reading(table, brix)
    assert brix_of(lot) == pytest.approx(brix, abs=1e-9)
    assert lot[:-2].sum() == pytest.approx(table[:-2].sum(), abs=1e-9)
    for same in ("citric_acid", "malic_acid", "fibre", "plant_potassium"):
        weights = properties()[same].weights
        assert lot @ weights == table @ weights


def test_energy_by_hand():
    # Regulation (EU) 1169/2011, Annex XIV: 10 x 9 + 5 x 4 + 15 x 4 + 3 x 2.4 + 2 x 2 + 1 x 3 + 4 x 7
    parts = {
        "milk_fat": 10,
        "milk_protein": 5,
        "sucrose": 15,
        "sorbitol": 3,
        "erythritol": 2,
        "fibre": 2,
        "citric_acid": 1,
        "ethanol": 4,
        "water": 58,
    }
    row = own_composition(parts, "by hand")
    assert row @ properties()["energy_kcal"].weights == pytest.approx(212.2)


def test_sweetness_by_hand():
    # Gaman and Sherrington: fructose 1.7, glucose 0.75, lactose 0.15
    parts = {"sucrose": 10, "fructose": 2, "glucose": 4, "lactose": 6, "water": 78}
    row = own_composition(parts, "by hand")
    assert row @ properties()["sweetness"].weights == pytest.approx(10 + 3.4 + 3.0 + 0.9)


def test_milk_solids_not_fat_are_split_and_summed():
    row = own_composition({"water": 90, "msnf": 10}, "skim")
    assert row @ properties()["msnf"].weights == pytest.approx(10.0)
    assert row @ properties()["lactose"].weights == pytest.approx(5.4)  # 54 %, Guelph


def two_parts():
    entries = (RecipeIngredient("water", grams=700.0), RecipeIngredient("sucrose", grams=300.0))
    return mixture(Recipe("syrup", 1000.0, entries, {"sucrose": Range(25.0, 26.0)}))


def test_nan_never_reaches_the_solver():
    mix = two_parts()
    with pytest.raises(SolverFault, match="not finite"):
        best(programme(mix), relative_change(programme(mix), np.array([np.nan, 300.0])))


def test_a_mix_that_misses_is_never_called_balanced():
    mix = two_parts()
    with pytest.raises(VerificationFault, match="does not keep the target sucrose"):
        verified(mix, np.array([700.0, 300.0]))


def test_weights_are_rounded_to_the_scale_and_kept_within_the_targets():
    rows = programme(two_parts())
    found = weighable(rows, np.array([740.004, 259.996]), Scale(5.0, 1.0, 20.0))
    assert found.refined == 1
    assert found.weights.tolist() == [740.0, 260.0]


def test_a_finer_scale_is_asked_for_where_the_scale_is_too_coarse():
    entries = (RecipeIngredient("water", grams=74.0), RecipeIngredient("sucrose", grams=26.0))
    mix = mixture(Recipe("small", 100.0, entries, {"sucrose": Range(25.4, 25.6)}))
    found = weighable(programme(mix), np.array([74.55, 25.45]), Scale(1.0, 1.0, 20.0))
    assert found.refined == 10
    assert found.weights.sum() == pytest.approx(100.0)
    assert 25.4 <= found.weights[1] <= 25.6
