"""Labels: list, allergens, unknown figures, portions, words and data."""

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formulate.errors import InputError
from formulate.ingredients.quantities import properties
from formulate.ingredients.table import ingredient_table
from formulate.labels.allergens import ALLERGENS, allergens_of
from formulate.labels.declaration import eu_lines, us_lines
from formulate.labels.draft import SERVING_ML, label
from formulate.labels.mix_nutrition import Amount, nutrition
from formulate.labels.naming import judge_names
from formulate.mix.mixtures import mixture
from formulate.mix.parts import Part, mean_composition, parts_of
from formulate.recipes.model import Recipe, RecipeIngredient, Serving
from formulate.report.labels import LABEL_CAUTIONS, label_data, label_text, listed
from formulate.report.wording import sentence, sentences
from formulate.timing.density import mix_density

ROOT = Path(__file__).parents[2]
TABLE = sorted(ingredient_table())


def made(*entries, serving=None, **grams):
    """A mix of ingredients of the table and entries of one's own, and its weights."""
    known = tuple(RecipeIngredient(key, grams=value) for key, value in grams.items())
    total = sum(entry.grams for entry in (*known, *entries))
    mix = mixture(Recipe("Test ice", total, (*known, *entries), serving=serving))
    return mix, mix.start


def biscuit(grams=20.0):
    return RecipeIngredient(
        "biscuit",
        grams=grams,
        composition={"starch": 60, "sucrose": 20, "other_fat": 15, "other_protein": 5},
    )


def line(lines, key):
    return next(found for found in lines if found.key == key)


def item(found, key):
    return next(entry for entry in found.items if entry.key == key)


def test_ingredients_stand_by_weight():
    found = label(*made(sucrose=150, water=100, whole_milk=600, cream_35=145, guar_gum=5))
    assert [entry.key for entry in found.items] == [
        "whole_milk",
        "sucrose",
        "cream_35",
        "water",
        "guar_gum",
    ]
    assert [entry.percent for entry in found.items] == pytest.approx([60.0, 15.0, 14.5, 10.0, 0.5])


def test_what_weighs_nothing_is_not_listed():
    mix, _ = made(whole_milk=800, sucrose=200, almond=1)
    found = label(mix, np.array([800.0, 200.0, 0.0]))
    assert [entry.key for entry in found.items] == ["whole_milk", "sucrose"]
    assert found.allergens == ("milk",)


def words_of(item):
    """One ingredient as it stands in the list, its allergens in upper case."""
    return "".join(p.text.upper() if p.emphasised else p.text for p in listed(item))


@pytest.mark.parametrize(
    ("key", "rules", "text"),
    [
        ("whole_milk", "eu", "Whole MILK"),
        ("cream_35", "eu", "Cream, 35 % fat (MILK)"),
        ("buttermilk", "eu", "ButterMILK, cultured"),
        ("egg_yolk", "eu", "EGG yolk"),
        ("hazelnut_paste", "eu", "HAZELNUT paste, pure"),
        ("brazil_nut", "eu", "BRAZIL NUTS"),
        ("pine_nut", "eu", "Pine nuts"),
        ("pine_nut", "us", "PINE NUTS"),
        ("peanut_butter", "eu", "PEANUT butter, unsalted"),
        ("tahini", "eu", "Tahini (SESAME)"),
        ("oat_drink", "eu", "OAT drink"),
        ("beer", "eu", "Beer (BARLEY)"),
        ("white_wine", "eu", "White wine (SULPHITES)"),
        ("white_wine", "us", "White wine"),
        ("soya_lecithin", "eu", "Emulsifier: SOYA lecithin"),
        ("soya_lecithin", "us", "SOYA lecithin"),
        ("milk_couverture_40", "eu", "MILK couverture, 40 % cocoa (SOYA)"),
        ("couverture_70", "us", "Dark couverture, 70 % cocoa (SOY)"),
        ("dark_chocolate_65", "eu", "Dark chocolate, 60 to 69 % cocoa (MILK)"),
        ("coconut_milk", "eu", "Coconut milk"),
        ("gelatine", "eu", "Gelatine, bovine"),
        ("ascorbic_acid", "eu", "Antioxidant: Ascorbic acid"),
        ("locust_bean_gum", "eu", "Stabiliser: Locust bean gum"),
    ],
)
def test_emphasis(key, rules, text):
    """Annex II of Regulation 1169/2011 and Article 21: the allergen stands out in the list."""
    found = label(*made(water=900, **{key: 100}), rules=rules)
    assert words_of(item(found, key)) == text


@pytest.mark.parametrize("rules", ALLERGENS)
@pytest.mark.parametrize("key", TABLE)
def test_no_allergen_of_the_table_is_lost(key, rules):
    """Each word of ``ingredients.csv`` is in the item, and something of it is emphasised."""
    with (ROOT / "reference-data" / "ingredients.csv").open(encoding="utf-8", newline="") as file:
        row = next(row for row in csv.DictReader(file) if row["key"] == key)
    words = {word for word in row[f"allergens_{rules}"].split(";") if word}
    grams = {"water": 500, key: 500} if key != "water" else {"water": 1000}
    found = label(*made(**grams), rules=rules)
    entry = item(found, key)
    assert words <= set(entry.allergens) <= set(ALLERGENS[rules])
    assert words <= set(found.allergens)
    assert sum(piece.emphasised for piece in entry.pieces) >= len(words)
    plain = "".join(piece.text for piece in entry.pieces)
    assert ingredient_table()[key].name in plain


def test_tree_nuts_of_the_us():
    """FDA, Questions and Answers, Edition 5, Table 1: pine nut is one of twelve, coconut is none."""
    found = label(*made(water=800, pine_nut=50, almond=50, coconut=100), rules="us")
    assert sentence(found.contains) == "Contains: tree nuts (almond, pine nut)."


@pytest.mark.parametrize("key", ["beer", "oat_drink"])
def test_barley_and_oats_are_gluten_in_the_eu_and_no_wheat_in_the_us(key):
    """Annex II of 1169/2011, point 1; FDA, Questions and Answers, Edition 5: wheat alone."""
    assert label(*made(sucrose=100, **{key: 900})).allergens == ("gluten",)
    american = label(*made(sucrose=100, **{key: 900}), rules="us")
    assert american.allergens == () and american.contains is None
    assert any("Wheat beer holds wheat" in line for line in sentences(american.to_do))


def test_contains_statement_in_the_order_of_the_law():
    found = label(
        *made(whole_milk=700, egg_yolk=50, sucrose=150, tahini=50, couverture_70=50), rules="us"
    )
    assert sentence(found.contains) == "Contains: milk, egg, soy, sesame."
    assert label(*made(water=800, sucrose=200), rules="us").contains is None
    assert label(*made(whole_milk=800, sucrose=200)).contains is None


def test_own_ingredient_is_never_called_free_of_allergens():
    found = label(*made(biscuit(), whole_milk=780, sucrose=200))
    entry = item(found, "biscuit")
    assert not entry.complete and entry.allergens == ()
    assert words_of(entry) == "Biscuit [allergens: read the pack]"
    assert found.unknown_allergens == ("Biscuit",)
    assert "Read the packs for allergens and figures: Biscuit." in sentences(found.to_do)
    assert "Allergens not known, read the pack: Biscuit." in label_text(found)
    american = label(*made(biscuit(), whole_milk=780, sucrose=200), rules="us")
    assert sentence(american.contains) == "Contains: milk and what the packs marked above say."


def test_own_ingredient_shows_the_milk_of_its_composition():
    cream = RecipeIngredient(
        "my_cream", grams=300, composition={"water": 63.7, "milk_fat": 30.0, "msnf": 6.3}
    )
    found = label(*made(cream, water=500, sucrose=200))
    assert words_of(item(found, "my_cream")) == "My cream (MILK) [allergens: read the pack]"
    assert found.allergens == ("milk",)
    assert not item(found, "my_cream").complete


def test_own_composition_under_a_key_of_the_table_is_ones_own():
    entry = RecipeIngredient("whole_milk", grams=800, composition={"water": 90.0, "sucrose": 10.0})
    found = label(*made(entry, sucrose=200))
    assert found.allergens == () and found.unknown_allergens == ("Whole milk",)


def test_packs_with_lists_of_their_own():
    found = label(*made(whole_milk=700, sucrose=200, hazelnut_praline_50=80, raspberry_puree_10=20))
    assert "pack's own list" in " ".join(sentences(item(found, "hazelnut_praline_50").notes))
    assert "pack's own list" in " ".join(sentences(item(found, "raspberry_puree_10").notes))
    assert item(found, "whole_milk").notes == ()


def test_missing_saturates_are_not_zero():
    """Sea buckthorn has no row of nutrients and 5 % oil: 40 % of it is 0 to 2 g of saturates."""
    mix, weights = made(sea_buckthorn=400, sucrose=250, water=350)
    fat = ingredient_table()["sea_buckthorn"].composition @ properties()["fat"].weights
    found = line(label(mix, weights).per_100_g, "saturates")
    assert found.printed is None
    assert (found.amount.low, found.amount.high) == pytest.approx((0.0, 0.4 * fat))
    assert "no figure for Sea buckthorn berries; read the pack" in sentence(found.note)


def test_missing_saturates_of_an_own_ingredient():
    found = label(*made(biscuit(100.0), whole_milk=700, sucrose=200), rules="us", portion_g=100.0)
    saturated = line(found.per_portion, "saturated_fat")
    # SR28 01077: 1.865 g saturates in 100 g milk; all or nothing of the biscuit's 15 % fat
    assert saturated.amount.low == pytest.approx(0.7 * 1.865)
    assert saturated.amount.high == pytest.approx(0.7 * 1.865 + 0.1 * 15.0)
    assert saturated.printed is None


def test_figures_of_the_table_are_used_as_they_are():
    """SR28 rows 01077 and 01125: 1.865 and 9.551 g saturates, 10 and 1085 mg cholesterol, 43 and 48 mg
    sodium per 100 g of milk and of yolk; sugar holds none."""
    mix, weights = made(whole_milk=800, egg_yolk=50, sucrose=150)
    facts = nutrition(parts_of(mix, weights))
    assert facts.saturates == Amount(*[pytest.approx(0.8 * 1.865 + 0.05 * 9.551)] * 3)
    assert facts.cholesterol_mg.value == pytest.approx(0.8 * 10 + 0.05 * 1085)
    assert facts.sodium_mg.value == pytest.approx(0.8 * 43 + 0.05 * 48)


def test_estimates_are_called_so():
    # 30 % of cream_35: 10.5 g milk fat, of which 57 to 66 % saturated
    found = line(label(*made(cream_35=300, whole_milk=500, sucrose=200)).per_100_g, "saturates")
    assert found.printed is not None
    assert "Estimate, between" in sentence(found.note) and "Cream, 35 % fat" in sentence(found.note)


def test_doubt_that_cannot_change_the_figure_is_still_named():
    found = line(label(*made(pear_puree_10=300, sucrose=200, water=500)).per_100_g, "saturates")
    assert found.printed == "<0.1"
    assert (
        sentence(found.note) == "No sure figure for Pear purée, 10 % sugar; too little to matter."
    )


@pytest.mark.parametrize(
    ("grams", "added"),
    [
        # 21 CFR 101.9(c)(6)(iii): sugar, syrup and honey are added; sugars of milk, fruit, purée of
        # fruit and single-strength juice are not.  Grams per 100 g by hand.
        ({"whole_milk": 800, "sucrose": 200}, 20.0),
        ({"strawberry": 800, "sucrose": 200}, 20.0),
        ({"orange_juice": 800, "sucrose": 200}, 20.0),
        ({"raspberry_puree_10": 800, "water": 200}, 8.0),
        ({"date": 100, "water": 900}, 0.0),
        ({"hazelnut_praline_50": 200, "whole_milk": 800}, 10.0),
        ({"egg_yolk_sugared": 100, "whole_milk": 900}, 1.0094),
        ({"dextrose_monohydrate": 100, "water": 900}, 9.091),
    ],
)
def test_added_sugars(grams, added):
    found = nutrition(parts_of(*made(**grams))).added_sugars
    assert found.value == pytest.approx(added, abs=1e-3)
    assert not found.missing


def test_added_sugars_of_a_plant_drink_are_open():
    """FDA counts sugars freed from starch case by case: nothing to all of them."""
    found = nutrition(parts_of(*made(rice_drink=900, sucrose=100))).added_sugars
    sugars = nutrition(parts_of(*made(rice_drink=900, sucrose=100))).sugars
    assert (found.low, found.high) == pytest.approx((10.0, sugars.value))
    assert found.missing == ("Rice drink",)


def test_us_portion_is_two_thirds_of_a_cup():
    """160 mL (two thirds of 240 mL) of a mix at 60 % overrun."""
    mix, weights = made(whole_milk=600, cream_35=200, sucrose=200)
    found = label(mix, weights, rules="us", overrun_percent=60.0)
    density = mix_density(mean_composition(parts_of(mix, weights)))
    assert found.portion_g == round(SERVING_ML * density / 1.6)
    assert sentence(found.portion) == f"2/3 cup ({found.portion_g:g} g at 60 % overrun)"
    assert found.per_100_g == ()
    assert line(found.per_portion, "total_fat").amount.value == pytest.approx(
        nutrition(parts_of(mix, weights)).fat * found.portion_g / 100.0
    )


def test_overrun_of_the_serving_is_used():
    mix, weights = made(
        whole_milk=600, cream_35=200, sucrose=200, serving=Serving(overrun_percent=60.0)
    )
    assert label(mix, weights, rules="us").overrun_percent == 60.0
    assert (
        label(mix, weights, rules="us").portion_g
        < label(mix, weights, rules="us", overrun_percent=0.0).portion_g
    )


def test_eu_portion_on_demand():
    mix, weights = made(whole_milk=600, cream_35=200, sucrose=200)
    assert label(mix, weights).per_portion == ()
    found = label(mix, weights, portion_g=50.0)
    for whole, half in zip(found.per_100_g, found.per_portion, strict=True):
        assert half.amount.value == pytest.approx(whole.amount.value / 2.0)


@pytest.mark.parametrize(("portion", "rules"), [(0.0, "eu"), (-5.0, "us"), (float("nan"), "eu")])
def test_portion_out_of_range(portion, rules):
    mix, weights = made(whole_milk=800, sucrose=200)
    with pytest.raises(InputError, match="must be above 0 to 10000 g"):
        label(mix, weights, rules=rules, portion_g=portion)


def test_unknown_rules_name_the_known():
    mix, weights = made(whole_milk=800, sucrose=200)
    with pytest.raises(InputError, match='"uk" is not known here'):
        label(mix, weights, rules="uk")


@pytest.mark.parametrize(
    "weights", [None, [1.0], [1.0, 2.0, 3.0], [1.0, -1.0], [0.0, 0.0], [1.0, float("nan")]]
)
def test_weights_that_cannot_be(weights):
    mix, _ = made(whole_milk=800, sucrose=200)
    with pytest.raises(InputError, match="weights"):
        label(mix, weights)


def test_polyols_have_their_statements():
    few = label(*made(whole_milk=900, sucrose=60, xylitol=40))
    many = label(*made(whole_milk=850, xylitol=150))
    assert len(few.statements) == 1 and "sweetener" in sentence(few.statements[0])
    # Annex III of 1169/2011: above 10 % added polyols
    assert "laxative effects" in sentence(many.statements[1])
    assert label(*made(whole_milk=900, sucrose=100)).statements == ()


def test_shares_of_what_a_name_may_point_to():
    found = label(*made(damson=500, lemon_juice=20, sucrose=180, water=300))
    assert found.quantities == (
        ("Damsons, stoned", pytest.approx(50.0)),
        ("Lemon juice", pytest.approx(2.0)),
    )
    assert "Damsons, stoned 50 %" in label_text(found)


def test_names_are_those_of_the_rules():
    mix, weights = made(damson=500, lemon_juice=20, sucrose=180, water=300)
    found = label(mix, weights)
    assert {verdict.jurisdiction for verdict in found.names} == {"eu", "uk", "de"}
    assert found.names == judge_names(mix, weights, 0.0, ("eu", "uk", "de"))
    american = label(mix, weights, rules="us")
    assert {verdict.jurisdiction for verdict in american.names} == {"us"}


@pytest.mark.parametrize("rules", ["eu", "us"])
def test_text_and_data_say_the_same(rules):
    found = label(
        *made(biscuit(), whole_milk=700, egg_yolk=60, sucrose=180, tahini=40), rules=rules
    )
    text, data = label_text(found), label_data(found)
    assert json.loads(json.dumps(data)) == data
    for entry in data["ingredients"]:
        assert entry["text"] in text
        joined = "".join(
            p["text"].upper() if p["emphasised"] else p["text"] for p in entry["pieces"]
        )
        assert joined == entry["text"]
    for row in (*data["per_100_g"], *data["per_portion"]):
        assert row["low"] <= row["value"] <= row["high"]
        assert row["printed"] in text
    for verdict in data["names"]:
        assert verdict["sentence"] in text
    assert all(caution in text for caution in LABEL_CAUTIONS)


def test_label_is_frozen():
    found = label(*made(whole_milk=800, sucrose=200))
    with pytest.raises(AttributeError):
        found.rules = "us"


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(st.sampled_from(TABLE), st.floats(1.0, 1000.0), min_size=1, max_size=8),
    st.floats(0.1, 10.0),
)
def test_scaling_the_batch_changes_nothing(grams, factor):
    mix, weights = made(
        water=100.0, **{key: value for key, value in grams.items() if key != "water"}
    )
    small, large = nutrition(parts_of(mix, weights)), nutrition(parts_of(mix, factor * weights))
    for lines in (eu_lines, us_lines):
        for one, other in zip(lines(small, 100.0), lines(large, 100.0), strict=True):
            assert other.amount.value == pytest.approx(one.amount.value, abs=1e-9)
            assert one.amount.low <= one.amount.value + 1e-12 <= one.amount.high + 1e-9


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(st.sampled_from(TABLE), st.floats(1.0, 1000.0), min_size=1, max_size=8))
def test_sub_lines_are_at_most_their_line(grams):
    """Saturates up to fat, sugars and polyols up to carbohydrate, added sugars up to all sugars."""
    mix, weights = made(
        water=100.0, **{key: value for key, value in grams.items() if key != "water"}
    )
    facts = nutrition(parts_of(mix, weights))
    lines = eu_lines(facts)
    assert facts.saturates.low <= facts.fat + 1e-9
    assert line(lines, "sugars").amount.low <= line(lines, "carbohydrate").amount.value + 1e-9
    assert facts.added_sugars.low <= facts.sugars.high + 1e-9
    kilojoule = line(lines, "energy_kj").amount.value
    kilocalorie = line(lines, "energy_kcal").amount.value
    # every factor of Annex XIV is 4.0 (fibre) to 4.34 kJ (acids) for a kcal
    assert 4.0 * kilocalorie - 1e-9 <= kilojoule <= 13.0 / 3.0 * kilocalorie + 1e-9


def test_allergens_of_a_part():
    milk = ingredient_table()["whole_milk"]
    part = Part(
        "whole_milk", milk.name, "dairy", "milk", ("milk",), ("milk",), 1.0, milk.composition
    )
    assert allergens_of(part, "eu") == allergens_of(part, "us") == ("milk",)
