"""Names against published standards, on compositions whose figures are known by construction.

Limits are those of the sources in ``names.csv``; each test says which.  A mix of one thing of one's own
has the composition given, so that nothing of the table enters.
"""

import numpy as np
import pytest

from formulate.errors import InputError
from formulate.ingredients.quantities import properties
from formulate.ingredients.table import ingredient_table, own_composition
from formulate.labels.fruit import fruit_classes
from formulate.labels.name_quantities import quantities
from formulate.labels.naming import judge_names, judge_parts
from formulate.labels.published_rules import JURISDICTIONS, QUANTITIES, name_rules
from formulate.mix.mixtures import mixture
from formulate.mix.parts import Part, parts_of
from formulate.recipes.model import Recipe, RecipeIngredient, Serving
from formulate.report.sale_names import check_sentence, name_sentence
from formulate.timing.density import mix_density, pounds_per_gallon


def recipe_mix(serving=None, /, **grams):
    """A mix of ingredients of the table, and its weights."""
    entries = tuple(RecipeIngredient(key, grams=value) for key, value in grams.items())
    mix = mixture(Recipe("test", sum(grams.values()), entries, serving=serving))
    return mix, np.array(list(grams.values()), dtype=float)


def own_parts(**percent):
    """Parts of one thing of one's own: these % and water."""
    row = own_composition({**percent, "water": 100.0 - sum(percent.values())}, "test")
    return (Part("own_mix", "Own mix", "own", "unknown", None, None, 1.0, row),)


def verdict(parts, jurisdiction, name, overrun=0.0):
    found = judge_parts(parts, overrun, (jurisdiction,))
    return next(entry for entry in found if entry.name == name)


def check_of(found, rule):
    return next(check for check in found.checks if check.rule.rule == rule)


def test_every_rule_has_its_source_and_a_limit():
    rules = name_rules()
    assert {rule.jurisdiction for rule in rules} == set(JURISDICTIONS)
    for rule in rules:
        assert rule.source and rule.basis in ("seen", "from memory")
        assert (
            rule.limit is not None or rule.comparison == "unjudged" or rule.rule.startswith("non")
        )
        assert not rule.text or rule.comparison == "unjudged"
    keys = [(rule.jurisdiction, rule.name, rule.rule) for rule in rules]
    assert len(set(keys)) == len(keys)


def test_every_quantity_of_the_rules_is_known_of_a_mix():
    found = quantities(own_parts(milk_fat=10.0), 0.0)
    assert set(found) == {*QUANTITIES, "gallon_without_air"}
    assert {rule.quantity for rule in name_rules() if rule.quantity} <= set(QUANTITIES)


def test_fruit_with_a_class_is_fruit_of_the_table():
    table = ingredient_table()
    assert {table[key].kind for key in fruit_classes()} == {"fruit", "juice", "puree"}


@pytest.mark.parametrize(
    ("fat", "floor"),
    [  # 21 CFR 135.110(a)(2), table of milk fat and least nonfat milk solids; strictly between
        (10.0, 10.0),
        (10.9, 10.0),
        (11.0, 9.0),
        (12.0, 8.0),
        (13.0, 7.0),
        (14.0, 6.0),
        (16.0, 6.0),
    ],
)
def test_sliding_floor_of_nonfat_milk_solids(fat, floor):
    just = own_parts(milk_fat=fat, msnf=floor, sucrose=20.0)
    short = own_parts(milk_fat=fat, msnf=floor - 0.5, sucrose=20.0)
    assert verdict(just, "us", "ice cream").status == "allows"
    found = verdict(short, "us", "ice cream")
    check = check_of(found, "nonfat milk solids")
    assert (found.status, check.status, check.limit) == ("refuses", "fails", floor)
    assert check.miss == pytest.approx(0.5)
    assert check.low == pytest.approx(floor - 0.5)


def test_fat_just_short_says_by_how_much():
    # 21 CFR 135.110(a)(2): 10 % milk fat
    found = verdict(own_parts(milk_fat=9.2, msnf=10.5, sucrose=20.0), "us", "ice cream")
    assert "Milk fat is 9.2 %, and must be at least 10: 0.8 too little." in name_sentence(found)


@pytest.mark.parametrize(("yolk", "cream", "custard"), [(1.0, True, False), (1.5, False, True)])
def test_yolk_parts_ice_cream_from_custard(yolk, cream, custard):
    # 21 CFR 135.110(a)(2): below 1.4 % egg-yolk solids ice cream, from 1.4 % frozen custard
    parts = own_parts(milk_fat=11.0, msnf=9.5, sucrose=18.0, egg_yolk_solids=yolk)
    assert (verdict(parts, "us", "ice cream").status == "allows") is cream
    assert (verdict(parts, "us", "frozen custard (French ice cream)").status == "allows") is custard


def test_weight_per_gallon_with_overrun():
    """21 CFR 135.110(a)(2): 4.5 lb to the gallon.  The limit is crossed where the density says."""
    parts = own_parts(milk_fat=12.0, msnf=10.0, sucrose=16.0)
    density = mix_density(parts[0].composition)
    bare = pounds_per_gallon(density)
    at_limit = 100.0 * (bare / 4.5 - 1.0)
    assert check_of(verdict(parts, "us", "ice cream", at_limit - 0.5), "weight").status == "met"
    light = check_of(verdict(parts, "us", "ice cream", at_limit + 2.0), "weight")
    assert light.status == "fails"
    expected = 4.5 - bare / (1.0 + (at_limit + 2.0) / 100.0)
    assert light.miss == pytest.approx(expected)
    assert f"It weighs 4.5 lb at {at_limit:.0f} %." in check_sentence(light)


def test_solids_per_gallon_with_overrun():
    # 21 CFR 135.110(a)(2): 1.6 lb of total solids to the gallon
    parts = own_parts(milk_fat=10.0, msnf=10.0, sucrose=13.0)
    bare = pounds_per_gallon(mix_density(parts[0].composition))
    check = check_of(verdict(parts, "us", "ice cream", 100.0), "solids per gallon")
    assert check.low == pytest.approx(bare / 2.0 * 0.33)
    assert check.status == "fails" and check.miss == pytest.approx(1.6 - bare / 2.0 * 0.33)


def test_bulky_flavours_are_taken_off():
    """21 CFR 135.110(a)(2): 10 % fat and 20 % milk solids of the rest, 8 and 16 % of the whole.

    20 % strawberries; 8.4 % milk fat and 8.4 % other milk solids are 10.5 and 21 % of the rest.
    """
    base = own_composition({"milk_fat": 10.5, "msnf": 10.5, "sucrose": 20.0, "water": 59.0}, "test")
    berry = ingredient_table()["strawberry"]
    parts = (
        Part("base", "Base", "own", "unknown", None, None, 0.8, base),
        Part("strawberry", berry.name, "fruit", "none", (), (), 0.2, berry.composition),
    )
    found = verdict(parts, "us", "ice cream")
    assert check_of(found, "milk fat beside bulky flavours").low == pytest.approx(10.5)
    assert check_of(found, "milk solids beside bulky flavours").low == pytest.approx(21.0)
    assert check_of(found, "milk fat of the whole").low == pytest.approx(8.4)
    assert found.status == "allows"
    assert all(check.rule.rule != "milk fat" for check in found.checks)


def test_bulky_flavours_have_a_floor():
    # 21 CFR 135.110(a)(2): never below 8 % milk fat of the finished food
    base = own_composition({"milk_fat": 11.0, "msnf": 11.0, "sucrose": 20.0, "water": 58.0}, "test")
    berry = ingredient_table()["strawberry"]
    parts = (
        Part("base", "Base", "own", "unknown", None, None, 0.7, base),
        Part("strawberry", berry.name, "fruit", "none", (), (), 0.3, berry.composition),
    )
    found = verdict(parts, "us", "ice cream")
    assert check_of(found, "milk fat beside bulky flavours").status == "met"
    assert check_of(found, "milk fat of the whole").miss == pytest.approx(8.0 - 7.7)
    assert found.status == "refuses"


def test_whey_is_at_most_a_quarter():
    """59 FR 47072: whey at most 25 % by weight of the nonfat milk solids."""
    mix, weights = recipe_mix(whole_milk=600, cream_35=240, sucrose=140, whey_powder=40)
    parts = parts_of(mix, weights)
    check = check_of(verdict(parts, "us", "ice cream"), "whey")
    columns = ("milk_protein", "lactose", "milk_minerals", "galactose", "glucose", "lactic_acid")
    table = ingredient_table()
    solids = {part.key: part.share * part.of(*columns) for part in parts if part.kind == "dairy"}
    assert set(solids) == {"whole_milk", "cream_35", "whey_powder"}
    by_hand = 100.0 * solids["whey_powder"] / sum(solids.values())
    assert check.low == pytest.approx(by_hand)
    assert check.status == "fails" and by_hand > 25.0
    assert table["whey_powder"].kind == "dairy"


def test_caseinate_is_no_milk_solid_here():
    mix, weights = recipe_mix(whole_milk=800, sucrose=150, sodium_caseinate=50)
    found = verdict(parts_of(mix, weights), "us", "ice cream")
    milk = float(ingredient_table()["whole_milk"].composition @ properties()["msnf"].weights)
    assert check_of(found, "nonfat milk solids").low == pytest.approx(0.8 * milk)
    assert check_of(found, "milk solids where there is caseinate").status == "fails"


def test_other_fats_are_named():
    # 21 CFR 135.110(a)(1): no other food fats, but natural parts of flavourings
    nuts, weights = recipe_mix(whole_milk=500, cream_35=300, sucrose=140, hazelnut_paste=60)
    oil, oil_weights = recipe_mix(whole_milk=500, cream_35=300, sucrose=150, coconut_oil=50)
    assert (
        check_of(verdict(parts_of(nuts, weights), "us", "ice cream"), "other fats").status == "met"
    )
    check = check_of(verdict(parts_of(oil, oil_weights), "us", "ice cream"), "other fats")
    assert check.status == "fails"
    assert "there must be none" in check_sentence(check)


@pytest.mark.parametrize(
    ("key", "grams", "floor"),
    [  # 21 CFR 135.140(d): 2 % citrus, 6 % berries, 10 % other fruit
        ("lemon_juice", 30, 2.0),
        ("raspberry", 70, 6.0),
        ("mango", 120, 10.0),
    ],
)
def test_sherbet(key, grams, floor):
    """21 CFR 135.140: milk fat 1 to 2 %, milk solids 2 to 5 %, fruit by its kind, 6 lb to the gallon."""
    rest = 1000 - 350 - 240 - grams
    mix, weights = recipe_mix(**{"whole_milk": 350, "sucrose": 240, key: grams, "water": rest})
    found = verdict(parts_of(mix, weights), "us", "sherbet", 40.0)
    fruit = [check for check in found.checks if check.rule.quantity == "fruit"]
    assert [check.limit for check in fruit] == [floor]
    assert fruit[0].low == pytest.approx(grams / 10.0)
    acidity = check_of(found, "titratable acidity")
    assert acidity.status == "not judged" and "titrate it" in check_sentence(acidity)
    assert found.status == "allows"
    little, short = recipe_mix(
        **{"whole_milk": 350, "sucrose": 240, key: 10 * floor - 5, "water": rest}
    )
    refused = verdict(parts_of(little, short), "us", "sherbet", 40.0)
    assert any(check.rule.quantity == "fruit" for check in refused.with_status("fails"))


def test_sherbet_weighs_six_pounds():
    mix, weights = recipe_mix(whole_milk=350, sucrose=240, raspberry=100, water=310)
    parts = parts_of(mix, weights)
    assert check_of(verdict(parts, "us", "sherbet", 40.0), "weight").status == "met"
    assert check_of(verdict(parts, "us", "sherbet", 80.0), "weight").status == "fails"


def test_water_ice_has_no_milk_and_of_egg_only_the_white():
    # 21 CFR 135.160(a), read in the text of April 2026
    white, weights = recipe_mix(raspberry=300, sucrose=250, water=430, egg_white=20)
    assert verdict(parts_of(white, weights), "us", "water ice").status == "allows"
    milk, weights = recipe_mix(raspberry=300, sucrose=250, water=430, skim_milk=20)
    assert (
        check_of(verdict(parts_of(milk, weights), "us", "water ice"), "no milk").status == "fails"
    )
    yolk, weights = recipe_mix(raspberry=300, sucrose=250, water=430, egg_yolk=20)
    found = verdict(parts_of(yolk, weights), "us", "water ice")
    assert check_of(found, "no egg but white").status == "fails"


def test_mellorine():
    """21 CFR 135.130: 6 % fat, only part of it milk fat, 2.7 % protein."""
    mix, weights = recipe_mix(skim_milk=700, skim_milk_powder=40, coconut_oil=80, sucrose=180)
    found = verdict(parts_of(mix, weights), "us", "mellorine")
    assert found.status == "allows"
    assert len(found.with_status("not judged")) == 3
    milk, weights = recipe_mix(whole_milk=600, cream_35=220, sucrose=180)
    check = check_of(
        verdict(parts_of(milk, weights), "us", "mellorine"), "a fat other than milk fat"
    )
    assert check.status == "fails"


def test_goats_milk_ice_cream_has_goat_dairy_alone():
    # 21 CFR 135.115(b)
    mix, weights = recipe_mix(goat_milk=700, cream_35=300)
    found = verdict(parts_of(mix, weights), "us", "goat's milk ice cream")
    assert check_of(found, "only goat dairy").miss == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("fat", "protein", "allowed"), [(5.0, 2.5, True), (4.9, 2.5, False), (5.0, 2.4, False)]
)
def test_uk_ice_cream(fat, protein, allowed):
    # Ice Cream Alliance, as listed by the University of Reading: 5 % fat, 2.5 % milk protein
    parts = own_parts(milk_fat=fat, milk_protein=protein, sucrose=20.0)
    assert (verdict(parts, "uk", "ice cream").status == "allows") is allowed
    assert (verdict(parts, "uk", "dairy ice cream").status == "allows") is allowed


def test_uk_dairy_ice_cream_has_milk_fat_alone():
    mix, weights = recipe_mix(skim_milk=700, skim_milk_powder=40, coconut_oil=80, sucrose=180)
    parts = parts_of(mix, weights)
    assert verdict(parts, "uk", "ice cream").status == "allows"
    assert verdict(parts, "uk", "dairy ice cream").status == "refuses"


@pytest.mark.parametrize(
    ("fat", "msnf", "allowed"), [(2.5, 6.0, True), (2.4, 6.0, False), (3, 5.9, False)]
)
def test_milk_ice(fat, msnf, allowed):
    # Ice Cream Alliance (read) and the European code (from memory): 2.5 % milk fat, 6 % MSNF
    parts = own_parts(milk_fat=fat, msnf=msnf, sucrose=20.0)
    for jurisdiction in ("uk", "eu"):
        assert (verdict(parts, jurisdiction, "milk ice").status == "allows") is allowed


@pytest.mark.parametrize(
    ("key", "grams", "jurisdiction", "name", "allowed"),
    [
        # Leitsaetze: Fruchteis 20 % (10 % citrus and fruit from 2.5 % acid), Sorbet 25 % (15 %)
        ("raspberry", 200, "de", "Fruchteis", True),
        ("raspberry", 199, "de", "Fruchteis", False),
        ("lemon_juice", 100, "de", "Fruchteis", True),
        ("lemon_juice", 99, "de", "Fruchteis", False),
        ("raspberry", 250, "de", "Sorbet", True),
        ("raspberry", 249, "de", "Sorbet", False),
        ("lemon_juice", 150, "de", "Sorbet", True),
        ("lemon_juice", 149, "de", "Sorbet", False),
        # European code, fruit ice from memory: 15 %, 10 % acid or strong; sorbet as a French trade page
        # prints it: 25 %, 15 % acid or strong
        ("raspberry", 150, "eu", "fruit ice", True),
        ("raspberry", 149, "eu", "fruit ice", False),
        ("pineapple", 100, "eu", "fruit ice", True),
        ("raspberry", 250, "eu", "sorbet", True),
        ("raspberry", 249, "eu", "sorbet", False),
        ("pineapple", 150, "eu", "sorbet", True),
        ("pineapple", 149, "eu", "sorbet", False),
        # Ice Cream Alliance: sorbet 20 %, citrus 15 %
        ("raspberry", 200, "uk", "sorbet", True),
        ("raspberry", 199, "uk", "sorbet", False),
        ("orange_juice", 150, "uk", "sorbet", True),
        ("orange_juice", 149, "uk", "sorbet", False),
    ],
)
def test_fruit_shares(key, grams, jurisdiction, name, allowed):
    mix, weights = recipe_mix(**{key: grams, "sucrose": 250, "water": 750 - grams})
    found = verdict(parts_of(mix, weights), jurisdiction, name)
    assert (found.status == "allows") is allowed, name_sentence(found)


def test_sugared_puree_counts_without_its_sugar():
    # 270 g of a purée with 10 % sugar in 1000 g hold 24.3 % fruit
    mix, weights = recipe_mix(raspberry_puree_10=270, sucrose=230, water=500)
    check = check_of(verdict(parts_of(mix, weights), "eu", "sorbet"), "fruit")
    assert check.low == pytest.approx(24.3)
    assert check.miss == pytest.approx(0.7)


def test_dried_fruit_counts_as_fresh():
    """21 CFR 135.140(d): with the water that would bring it back; here fruit of equal solids."""
    mix, weights = recipe_mix(raisin=50, sucrose=200, water=750)
    found = verdict(parts_of(mix, weights), "us", "water ice")
    table = ingredient_table()
    ratio = (100.0 - table["raisin"].composition[0]) / (100.0 - table["grape"].composition[0])
    check = next(check for check in found.checks if check.rule.quantity == "fruit")
    assert check.low == pytest.approx(5.0 * ratio)


def test_german_custard_ice():
    """Leitsaetze: 50 % milk, 90 g yolk (or 270 g whole egg) for each litre of it, no added water.

    1000 g of milk are 0.9709 L at 1.03 kg/L and ask for 87.4 g yolk.
    """
    just, weights = recipe_mix(whole_milk=1000, egg_yolk=87.5, sucrose=200)
    found = verdict(parts_of(just, weights), "de", "Cremeeis (Eiercremeeis)")
    assert found.status == "allows"
    assert check_of(found, "eggs").low == pytest.approx(100.0 * 87.5 / (90.0 / 1.03), rel=1e-6)
    few, weights = recipe_mix(whole_milk=1000, egg_yolk=80, sucrose=200)
    assert verdict(parts_of(few, weights), "de", "Cremeeis (Eiercremeeis)").status == "refuses"
    wet, weights = recipe_mix(whole_milk=1000, egg_yolk=100, sucrose=200, water=100)
    found = verdict(parts_of(wet, weights), "de", "Cremeeis (Eiercremeeis)")
    assert check_of(found, "no added water").status == "fails"


def test_german_milk_ice_counts_other_dairy_as_milk():
    """Leitsaetze 1.1.2: other dairy counts as the whole milk whose fat and other solids it holds."""
    mix, weights = recipe_mix(whole_milk=700, sucrose=200, water=100)
    assert verdict(parts_of(mix, weights), "de", "Milcheis").status == "allows"
    made, weights = recipe_mix(skim_milk=620, cream_35=70, sucrose=180, water=130)
    check = check_of(verdict(parts_of(made, weights), "de", "Milcheis"), "milk")
    parts = {part.key: part for part in parts_of(made, weights)}
    fat = sum(part.share * part.of("milk_fat") for part in parts.values())
    rest = sum(
        part.share * part.of("milk_protein", "lactose", "milk_minerals") for part in parts.values()
    )
    assert check.low == pytest.approx(100.0 * min(fat / 3.5, rest / 8.5))


@pytest.mark.parametrize(("overrun", "allowed"), [(100.0, True), (140.0, False)])
def test_australian_solids_per_litre(overrun, allowed):
    # Standard 2.5.6: 100 g/kg milk fat, 168 g food solids per litre
    parts = own_parts(milk_fat=11.0, msnf=10.0, sucrose=14.0)
    assert (verdict(parts, "anz", "ice cream", overrun).status == "allows") is allowed


def test_own_ingredient_that_might_be_fruit_leaves_a_name_open():
    own = RecipeIngredient(
        "quince_pulp",
        grams=300,
        composition={"water": 84.0, "fructose": 8.0, "fibre": 6.0, "malic_acid": 2.0},
    )
    entries = (own, RecipeIngredient("sucrose", grams=200), RecipeIngredient("water", grams=500))
    mix = mixture(Recipe("test", 1000.0, entries))
    found = next(
        entry
        for entry in judge_names(mix, np.array([300.0, 200.0, 500.0]), jurisdictions=("eu",))
        if entry.name == "sorbet"
    )
    assert found.status == "undecided"
    check = found.with_status("unknown")[0]
    assert (check.low, check.high) == pytest.approx((0.0, 30.0))
    assert "Whether Quince pulp is fruit is not known here." in name_sentence(found)


def test_what_composition_cannot_judge_is_said():
    found = verdict(own_parts(milk_fat=11.0, msnf=10.0, sucrose=18.0), "us", "ice cream")
    assert "pasteurised" in name_sentence(found)
    assert name_sentence(found).startswith(
        "ice cream: meets every figure that could be judged here"
    )
    # The European code sets no figure for ice cream: nothing to judge, so nothing is allowed by it
    open_ = verdict(own_parts(milk_fat=11.0, sucrose=18.0), "eu", "ice cream")
    assert open_.status == "undecided"


def test_limits_from_memory_are_marked():
    found = verdict(own_parts(sucrose=10.0), "eu", "water ice")
    assert "limit from memory, check it" in name_sentence(found)


def test_overrun_of_the_recipe_is_used():
    mix, weights = recipe_mix(
        Serving(overrun_percent=130.0),
        whole_milk=560,
        cream_35=260,
        skim_milk_powder=40,
        sucrose=140,
    )
    names = {entry.name: entry for entry in judge_names(mix, weights, jurisdictions=("us",))}
    assert check_of(names["ice cream"], "weight").status == "fails"
    bare = judge_names(mix, weights, overrun_percent=0.0, jurisdictions=("us",))
    assert check_of(bare[0], "weight").status == "met"


def test_unknown_jurisdiction():
    mix, weights = recipe_mix(whole_milk=800, sucrose=200)
    with pytest.raises(InputError, match='"fr" is not known here'):
        judge_names(mix, weights, jurisdictions=("fr",))
