"""A recipe of every style is complete, balances within the usual and says why; its sheet fits."""

import json

import pytest

from formulate.answers import balance, check, warnings_of
from formulate.cli import main
from formulate.errors import InputError
from formulate.ingredients import ingredient_table
from formulate.printing import sheet
from formulate.recipes import (
    Range,
    Recipe,
    RecipeIngredient,
    Serving,
    Step,
    group_of,
    parse,
    recipe_of_style,
    style,
    styles,
    usual_share,
    usual_shares,
    with_style,
)

#: For a style that names no main ingredient: what may take the place of its milk or cream.
DAIRY = ("goat_milk", "sheep_milk", "cream_40", "semi_skimmed_milk")


#: What cannot lie 1 sd inside its targets within the usual of its style: bitter or rich, or of little
#: sugar.  Rounding may take a tenth.
NEAR = {
    ("granita", "black_tea"),
    ("granita", "white_wine"),
    ("nut_paste", "chestnut"),
    ("chocolate", "cocoa_powder"),
    ("chocolate", "cocoa_powder_alkalised"),
    ("fresh_cheese", "goat_cheese"),
    ("soft_serving", "greek_yogurt"),
    ("soft_serving", "greek_yogurt_nonfat"),
    ("parfait", "dark_chocolate_50"),
    ("parfait", "dark_chocolate_65"),
    ("parfait", "dark_chocolate_75"),
    ("parfait", "milk_couverture_40"),
    ("parfait", "orange_liqueur"),
}

#: What is told of a mix of a style: little but sucrose dissolves in these granitas, and a freezer is far
#: below where that crystallises; and pastes of which the middle share is more than their fat allows.
WARNED = {
    **{
        ("granita", name): {("may_crystallise", "sucrose")}
        for name in (
            *("rhubarb", "avocado", "lemon_juice", "lime_juice", "yuzu_juice"),
            *("espresso", "coffee_brewed", "black_tea", "green_tea"),
        )
    },
    ("no_sucrose", "pistachio_paste"): {("character_changed", "pistachio_paste")},
    ("no_sucrose", "peanut_butter"): {("character_changed", "peanut_butter")},
}


def mains(key):
    """Every ingredient of the table that gives a style its name."""
    named = {share.of for share in style(key).part("main")}
    found = [
        entry.key
        for entry in ingredient_table().values()
        if {entry.key, group_of(entry.key, entry.kind)} & named
    ]
    return found or list(DAIRY)


def balanced(key, **given):
    return balance(recipe_of_style(key, given))


@pytest.mark.parametrize("key", styles())
def test_every_style_balances_with_each_of_its_main_ingredients_within_the_usual(key):
    """Complete, every share within its usual ends, and no word of too much of anything."""
    tried = mains(key)
    assert len(tried) >= 3
    for name in tried:
        recipe = recipe_of_style(key, {name: None})
        result = balance(recipe)
        assert result.status == "balanced", (key, name)
        assert result.mix.all_met
        told = {(each.code, each.fields["key"]) for each in warnings_of(result)}
        told = {each for each in told if each[0] != "unread_lot"}
        assert told == WARNED.get((key, name), set()), (key, name)
        least = 0.9 if (key, name) not in NEAR else 0.0
        assert result.margin >= least, (key, name)
        assert sum(weight.reached for weight in result.mix.weights) == pytest.approx(
            1000.0, abs=2.0
        )
        for weight in result.mix.weights:
            share = usual_share(key, weight.key, ingredient_table()[weight.key].kind)
            low, high = share.low * 10.0, share.high * 10.0
            assert low - 0.1 <= weight.grams <= high + 0.1, (key, name, weight)


def test_two_main_ingredients_share_the_usual_and_what_the_cook_weighs_stays():
    recipe = recipe_of_style("fruit_sorbet", {"strawberry": None, "rhubarb": None})
    grams = {entry.key: entry.grams for entry in recipe.ingredients}
    assert (grams["strawberry"], grams["rhubarb"]) == (250.0, 190.0)  # half of 50 % and of 38 %
    result = balanced("citrus_sorbet", orange_juice=None, lemon_juice=30.0)
    grams = {weight.key: weight.grams for weight in result.mix.weights}
    assert grams["lemon_juice"] == 30.0
    assert 450.0 <= grams["orange_juice"] <= 600.0


def test_a_cooks_own_companion_takes_the_place_of_the_usual_one():
    keys = [entry.key for entry in recipe_of_style("plain_base", {"cream_40": None}).ingredients]
    assert "cream_40" in keys and "cream_35" not in keys
    keys = [
        entry.key
        for entry in recipe_of_style("fruit_sorbet", {"pear": None, "xanthan_gum": 1.0}).ingredients
    ]
    assert "locust_bean_gum" not in keys


def test_herbs_and_spices_are_infused_and_stay_as_weighed():
    for key, herb in (("herb_base", "peppermint"), ("savoury_sorbet", "basil")):
        extra = {} if key == "herb_base" else {"tomato": None}
        recipe = recipe_of_style(key, {**extra, herb: None})
        entry = next(entry for entry in recipe.ingredients if entry.key == herb)
        assert entry.fixed and entry.steps[0].do == "infuse"
        weight = next(w for w in balance(recipe).mix.weights if w.key == herb)
        assert weight.grams == entry.grams


@pytest.mark.parametrize(
    ("key", "given", "words"),
    [
        ("fruit_sorbet", {}, "needs what gives it its name"),
        ("fruit_sorbet", {"sucrose": None}, "needs what gives it its name"),
        ("fruit_sorbet", {"damsn": None}, 'Did you mean "damson"'),
        ("fruit_sorbet", {"damson": 1000.0}, "below the batch"),
        ("fruit_sorbet", {"damson": -1.0}, "above 0"),
        ("fruit_sorbt", {"damson": None}, 'Did you mean "fruit_sorbet"'),
    ],
)
def test_what_cannot_be_is_said(key, given, words):
    with pytest.raises(InputError, match=words):
        recipe_of_style(key, given)


def test_a_style_fills_in_only_what_a_recipe_leaves_out():
    entries = (RecipeIngredient("damson", grams=400.0), RecipeIngredient("water", grams=600.0))
    silent = Recipe("Damson", 1000.0, entries, style="fruit_sorbet")
    filled = with_style(silent)
    assert filled.targets == {key: t.bounds for key, t in style("fruit_sorbet").targets.items()}
    assert filled.serving == style("fruit_sorbet").serving
    said = Recipe(
        *("Damson", 1000.0, entries, {"sweetness": Range(15.0, 17.0), "stabiliser": Range()}),
        serving=Serving(-10.0),
        style="fruit_sorbet",
    )
    filled = with_style(said)
    assert filled.targets["sweetness"] == Range(15.0, 17.0)
    assert filled.targets["stabiliser"] == Range()
    assert filled.targets["total_solids"] == Range(27.0, 34.0)
    assert filled.serving == Serving(-10.0)
    assert with_style(filled) == filled
    assert with_style(Recipe("Damson", 1000.0, entries)).targets == {}
    with pytest.raises(InputError, match="not a style"):
        with_style(Recipe("Damson", 1000.0, entries, style="porridge"))


def test_check_and_files_ask_what_the_style_asks():
    text = 'name = "D"\nbatch_g = 1000\nstyle = "fruit_sorbet"\n'
    text += '[[ingredient]]\nkey = "damson"\ngrams = 1000\n'
    for recipe in (
        parse(text.encode(), "d.toml"),
        Recipe("D", 1000.0, (RecipeIngredient("damson", grams=1000.0),), style="fruit_sorbet"),
    ):
        keys = {target.key for target in check(recipe).mix.targets}
        assert keys == {"total_solids", "sweetness", "stabiliser", "frozen_water"}


@pytest.mark.parametrize(
    ("percent", "key", "steps", "warned"),
    [
        (10.0, "peppermint", True, False),  # liked best in a thesis (T. Singh 2014)
        (28.6, "thyme", True, True),
        (0.5, "salt", False, True),
        (0.5, "locust_bean_gum", False, True),
    ],
)
def test_what_is_infused_is_judged_as_it_is_weighed(percent, key, steps, warned):
    infuse = (Step("infuse", (("in", "whole_milk"), ("hot", True))),) if steps else ()
    entries = (
        RecipeIngredient(key, grams=10.0 * percent, steps=infuse),
        RecipeIngredient("whole_milk", grams=800.0),
        RecipeIngredient("sucrose", grams=200.0),
    )
    found = warnings_of(check(Recipe("Mint", 1000.0, entries)))
    assert any((risk.code, risk.fields["key"]) == ("above_usual", key) for risk in found) == warned


def test_a_style_may_take_more_than_others():
    """0.5 % of salt in a published chocolate sorbet (L. Debove)."""
    entries = tuple(
        RecipeIngredient(key, grams=grams)
        for key, grams in (
            ("couverture_70", 220.0),
            ("sucrose", 150.0),
            ("water", 625.0),
            ("salt", 5.0),
        )
    )
    for key, warned in (("chocolate_sorbet", False), ("", True)):
        found = warnings_of(check(Recipe("Salted", 1000.0, entries, style=key)))
        assert (
            any((risk.code, risk.fields["key"]) == ("above_usual", "salt") for risk in found)
            == warned
        )


def verbs(result, recipe):
    return [step.verb for step in sheet(recipe, result).steps]


@pytest.mark.parametrize(
    ("key", "main_key", "ends"),
    [
        ("fruit_sorbet", "damson", ["Churn", "Harden", "Temper, serve"]),
        ("soft_serving", "yogurt", ["Churn", "Serve"]),
        ("granita", "lemon_juice", ["Freeze, scrape", "Serve"]),
        ("parfait", "raspberry", ["Whip", "Fold", "Fill", "Freeze still", "Unmould, cut"]),
        ("block", "couverture_70", ["Fill", "Freeze still", "Unmould, cut"]),
    ],
)
def test_sheets_end_as_the_dessert_is_made(key, main_key, ends):
    recipe = recipe_of_style(key, {main_key: None})
    found = verbs(balance(recipe), recipe)
    assert found[-len(ends) :] == ends
    assert ("Churn" in found) == (key in ("fruit_sorbet", "soft_serving"))
    assert ("Age" in found) <= (key != "parfait")


@pytest.mark.parametrize(
    "given",
    [
        {"lemon_juice": None, "lemon_verbena": None},
        {"white_wine": None},
        {"espresso": None},
        {"watermelon": None},
        {"orange_juice": None},
    ],
)
def test_every_sheet_mixes_in_its_sugar(given):
    """Whatever the dry mix is stirred into: an infusion, a pan, cold juice, or wine."""
    recipe = recipe_of_style("granita", given)
    steps = sheet(recipe, balance(recipe)).steps
    at = next(count for count, step in enumerate(steps) if step.verb == "Mix dry")
    assert "Sugar (sucrose)" in [line.name for line in steps[at].lines]
    assert any("dry mix" in step.how for step in steps[at + 1 :])


def test_sugar_is_mixed_in_where_all_else_is_added_late():
    entries = (
        RecipeIngredient("white_wine", grams=850.0),
        RecipeIngredient("sucrose", grams=150.0),
    )
    recipe = Recipe("Wine", 1000.0, entries, serving=Serving(-6.0, kind="granita"))
    steps = sheet(recipe, check(recipe)).steps
    late = next(step for step in steps if step.verb == "Add last")
    assert late.how == "with the dry mix, until it has dissolved"


def test_a_block_of_a_recipe_without_a_style_is_not_churned_either():
    entries = (
        RecipeIngredient("whole_milk", grams=800.0),
        RecipeIngredient("sucrose", grams=200.0),
    )
    recipe = Recipe("Block", 1000.0, entries, serving=Serving(-18.0, Range(70.0, 84.0), "block"))
    assert "Churn" not in verbs(check(recipe), recipe)


def test_styles_as_data(capsys):
    assert main(["styles", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [entry["key"] for entry in found] == list(styles())
    for entry in found:
        assert entry["basis"] and entry["name"]
        assert all(target["basis"] for target in entry["targets"].values())
        assert all(row["basis"] and row["role"] for row in entry["roles"])
        assert entry["serving"]["temperature_c"] < 0.0


def test_styles_as_text(capsys):
    assert main(["styles"]) == 0
    said = capsys.readouterr().out
    assert all(f"{key}: {known.name}" in said for key, known in styles().items())
    assert main(["styles", "granita"]) == 0
    said = capsys.readouterr().out
    assert "15 % at least" in said
    assert main(["styles", "granit"]) == 2
    assert 'Did you mean "granita"' in capsys.readouterr().err


@pytest.mark.parametrize("key", styles())
def test_a_new_recipe_is_written_with_a_reason_for_every_line(key, tmp_path, capsys):
    place = tmp_path / "new.toml"
    assert main(["new", key, "--with", mains(key)[0], "--batch", "2000", "-o", str(place)]) == 0
    capsys.readouterr()
    text = place.read_text(encoding="utf-8")
    recipe = parse(place.read_bytes(), "new.toml")
    assert recipe.style == key
    for entry in recipe.ingredients:
        assert f"# {ingredient_table()[entry.key].name}: "[:60] in text
    before = ""
    for line in text.splitlines():  # a comment stands above every ingredient and target
        if line.strip().startswith(("[[ingredient]]", "{ key = ", "[target.", "[serving]")):
            assert before.strip().startswith("#"), line
        before = line
    result = check(recipe)
    assert result.status == "meets", [t for t in result.mix.targets if not t.met]
    assert sum(entry.grams for entry in recipe.ingredients if not entry.steps) >= 1990.0


def test_new_prints_takes_grams_and_a_name_and_writes_over_nothing(tmp_path, capsys):
    asked = ["new", "fruit_sorbet", "--with", "damson=900", "--batch", "2000", "--name", "Ours"]
    assert main([*asked, "-o", "-"]) == 0
    recipe = parse(capsys.readouterr().out.encode(), "stdin")
    damson = recipe.ingredients[0]
    assert (recipe.name, damson.grams, damson.fixed, damson.role) == (
        "Ours",
        900.0,
        True,
        "character",
    )
    place = tmp_path / "kept.toml"
    place.write_text("mine", encoding="utf-8")
    assert main([*asked, "-o", str(place)]) == 2
    assert place.read_text(encoding="utf-8") == "mine"


def test_new_says_where_no_mix_can_do_it_and_writes_nothing(tmp_path, capsys):
    place = tmp_path / "gin.toml"
    assert main(["new", "spirit_sorbet", "--with", "gin=300", "-o", str(place)]) == 3
    assert not place.exists()
    assert "no mix can do it" in capsys.readouterr().out


@pytest.mark.parametrize("word", ["damson=much", "damson=900", "damson="])
def test_new_refuses_what_is_no_amount(word, capsys):
    assert main(["new", "fruit_sorbet", "--with", word, "damson"]) == 2
    assert "--with" in capsys.readouterr().err


def test_ingredients_of_one_group_share_what_is_usual_and_gums_of_a_blend_do_not():
    asked = [
        *(("strawberry", "fruit"), ("rhubarb", "fruit")),
        *(("locust_bean_gum", "stabiliser"), ("guar_gum", "stabiliser")),
        *(("sucrose", "sugar"), ("brown_sugar", "sugar")),
    ]
    alone = [usual_share("fruit_sorbet", *each) for each in asked]
    shared = usual_shares("fruit_sorbet", asked)
    parts = [own.typical / one.typical for own, one in zip(shared, alone, strict=True)]
    assert parts == [0.5, 0.5, 1.0, 1.0, 0.5, 0.5]
    assert [own.high for own in shared] == [one.high for one in alone]
    two = usual_shares(None, [("strawberry", "fruit"), ("damson", "fruit"), ("basil", "herb")])
    assert [share.typical for share in two] == [22.5, 17.5, 3.0]
