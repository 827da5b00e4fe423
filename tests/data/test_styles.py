"""The tables of styles are whole, each figure has a source, and published figures lie within them."""

import csv
import tomllib
from pathlib import Path

import pytest

from formulate.ingredients import ingredient_table, properties
from formulate.recipes import (
    ROLES,
    group_of,
    how_made,
    role_of,
    serving_kinds,
    style,
    styles,
    usual_share,
    usual_use,
    willingness,
)

DATA = Path(__file__).parents[2] / "reference-data"

#: Keys that recipes may rely on.
KEYS = (
    "fruit_sorbet citrus_sorbet chocolate_sorbet spirit_sorbet wine_sorbet savoury_sorbet sherbet "
    "granita plain_base custard_base herb_base herb_custard nut_paste chocolate coffee caramel yoghurt "
    "fresh_cheese vegan_coconut vegan_oat vegan_nut soft_serving parfait block low_lactose no_sucrose"
).split()
TABLES = "styles style_targets typical usual_use roles willingness".split()


def rows(name):
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def groups():
    return {row["group"] for row in rows("roles")}


@pytest.mark.parametrize("name", TABLES)
def test_every_row_names_a_source_that_is_known(name):
    known = tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))
    found = rows(name)
    assert found
    for row in found:
        assert row["source"] in known, row


def test_every_source_of_styles_is_used():
    known = tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))
    used = {row["source"] for name in TABLES for row in rows(name)}
    cited = {row["source"] for row in rows("provenance")}
    assert set(known) - used - cited <= {"crc", "lange", "smithsonian"}


def test_what_a_row_is_told_of_is_a_key_or_a_group():
    known = groups() | set(ingredient_table())
    for name in ("typical", "usual_use"):
        for row in rows(name):
            assert row["of"] in known, row
            assert row["style"] in {"", *KEYS}, row
    kinds = {entry.kind for entry in ingredient_table().values()} | {"own"}
    for row in rows("roles"):
        assert row["of"] in kinds | set(ingredient_table()), row
        assert row["role"] in ROLES, row
    assert kinds <= {row["of"] for row in rows("roles")}


def test_a_group_has_one_role_and_shares_its_name_only_with_its_own_ingredient():
    by_group = {}
    for row in rows("roles"):
        by_group.setdefault(row["group"], set()).add(row["role"])
    mixed = {group for group, roles in by_group.items() if len(roles) > 1}
    assert mixed <= {
        "honey",
        "treacle",
    }  # agave and golden syrup sweeten, honey and molasses are tasted
    for group in by_group.keys() & set(ingredient_table()):
        assert group_of(group, ingredient_table()[group].kind) == group


def test_no_row_is_given_twice():
    for name, columns in (
        ("styles", ("style",)),
        ("style_targets", ("style", "target")),
        ("typical", ("style", "of")),
        ("usual_use", ("of", "style", "infused")),
        ("roles", ("of",)),
        ("willingness", ("role",)),
    ):
        seen = [tuple(row[column] for column in columns) for row in rows(name)]
        assert len(seen) == len(set(seen)), name


def test_every_style_is_there_and_whole():
    assert list(styles()) == KEYS
    for key, known in styles().items():
        assert known.targets, key
        assert set(known.targets) <= set(properties()), key
        assert known.serving.kind in serving_kinds(), key
        assert how_made(known.serving.kind) in {"churned", "scraped", "whipped", "moulded"}
        assert known.part("with"), key
        assert known.part("fill") or known.part("main"), key
        for share in (*known.part("with"), *known.part("fill")):
            assert share.of in ingredient_table(), (key, share.of)


def test_ends_are_in_order():
    for row in rows("typical"):
        assert 0.0 <= float(row["low"]) <= float(row["usual"]) <= float(row["high"]) <= 100.0, row
    for row in rows("usual_use"):
        assert 0.0 <= float(row["low"]) < float(row["most"]) <= 100.0, row
        assert row["infused"] in ("yes", "no"), row


def test_every_ingredient_has_role_share_and_limit_in_every_style():
    """What is usual in a style is never warned of."""
    for entry in ingredient_table().values():
        assert role_of(None, entry.key, entry.kind) in ROLES
        assert usual_use(entry.key, entry.kind).source != "unknown", entry.key
        for key in (None, *KEYS):
            share = usual_share(key, entry.key, entry.kind)
            assert share.of != "own", (key, entry.key)
            assert share.basis
            limit = usual_use(entry.key, entry.kind, key, infused=True)
            assert share.high <= limit.most + 1e-9, (key, entry.key, share, limit)


def test_an_ingredient_of_ones_own_has_them_too():
    assert role_of(None, "aunt_mays_jam", "own") == "character"
    assert usual_share("fruit_sorbet", "aunt_mays_jam", "own").of == "own"
    assert usual_use("aunt_mays_jam", "own").most == 100.0
    assert role_of(None, "x", "own", {"milk_fat": 20.0, "water": 80.0}) == "dairy"
    assert role_of(None, "x", "own", {"sucrose": 66.0, "water": 34.0}) == "sweetener"
    assert role_of(None, "x", "own", {"other_fat": 100.0}) == "fat"
    assert role_of(None, "x", "own", {"water": 86.0, "fructose": 14.0}) == "character"
    assert role_of(None, "x", "own", {"sucrose": 60.0, "stabiliser": 40.0}) == "texture"


def test_willingness_is_in_the_order_in_which_a_cook_moves():
    """Water; sugars and syrups; milk, cream, powder; yolk; gums; the name-giver (common practice)."""
    order = ["liquid", "sweetener", "dairy", "egg", "texture", "character"]
    sizes = [willingness(role) for role in order]
    assert sizes == sorted(sizes, reverse=True)
    assert {row["role"] for row in rows("willingness")} == set(ROLES)


@pytest.mark.parametrize(
    ("style_key", "key", "percent"),
    [
        # eight recipes of a maker of purées: lemon 30 %, tangerine 67, apricot 60, sour cherry 65
        ("citrus_sorbet", "lemon_juice", 30.0),
        ("citrus_sorbet", "mandarin_juice", 67.0),
        ("fruit_sorbet", "apricot", 60.0),
        ("fruit_sorbet", "sour_cherry", 65.0),
        ("fruit_sorbet", "glucose_powder_de30", 6.0),
        ("fruit_sorbet", "dextrose_monohydrate", 4.0),
        ("fruit_sorbet", "inulin", 5.0),
        ("fruit_sorbet", "guar_gum", 0.25),
        # a pistachio ice (A. Grasso): paste 9 %, sucrose 10.9 to 14.5, glucose powder 6, salt 0.2
        ("nut_paste", "pistachio_paste", 9.0),
        ("nut_paste", "sucrose", 10.9),
        ("nut_paste", "sucrose", 14.5),
        ("nut_paste", "glucose_powder_de21", 6.0),
        ("nut_paste", "salt", 0.2),
        # H. D. Goff, base recipe: cream 30 %, milk 50, skimmed milk powder 4, sugar 15
        ("plain_base", "cream_35", 30.0),
        ("plain_base", "whole_milk", 50.0),
        ("plain_base", "skim_milk_powder", 4.0),
        ("plain_base", "sucrose", 15.0),
        # F. J. Migoya, correction sheet: 5 % yolk; two chocolate sorbets of the trade: 22 and 25.6 %
        ("custard_base", "egg_yolk", 5.0),
        ("chocolate_sorbet", "couverture_70", 22.0),
        ("chocolate_sorbet", "couverture_70", 25.6),
        ("chocolate_sorbet", "salt", 0.5),
        # orange sorbet with 7.5 % by volume of spirit was liked best (Kozłowicz and Kluza): 6.8 % by mass
        ("spirit_sorbet", "gin", 6.8),
        # pianetadessert.com: 10 to 35 % of purée in a semifreddo; IGTC: melon 55 to 60 %
        ("parfait", "raspberry", 30.0),
        ("fruit_sorbet", "melon", 55.0),
    ],
)
def test_published_shares_are_usual(style_key, key, percent):
    kind = ingredient_table()[key].kind
    share = usual_share(style_key, key, kind)
    assert share.low <= percent <= share.high
    assert percent <= usual_use(key, kind, style_key).most


@pytest.mark.parametrize(
    ("style_key", "target", "values"),
    [
        # H. D. Goff, University of Guelph, suggested mixes of 10, 12 and 14 % fat
        ("plain_base", "milk_fat", (10.0, 12.0, 14.0)),
        ("plain_base", "msnf", (11.0, 10.5, 10.0)),
        ("plain_base", "total_solids", (36.5, 38.95, 41.38)),
        ("plain_base", "stabiliser", (0.35, 0.35, 0.3)),
        # 21 CFR 135.110: 1.4 % yolk solids make a custard; F. J. Migoya: fat 9, solids 8, in all 39.4
        ("custard_base", "egg_yolk_solids", (1.4,)),
        ("custard_base", "msnf", (8.0,)),
        ("custard_base", "total_solids", (39.4,)),
        # a guide to chocolate: fat 8 to 10, milk solids 7 to 9, solids 39 to 43, sweetness 17 to 19
        ("chocolate", "fat", (8.0, 10.0)),
        ("chocolate", "msnf", (7.0, 9.0)),
        ("chocolate", "total_solids", (39.0, 43.0)),
        ("chocolate", "sweetness", (17.0, 19.0)),
        ("chocolate_sorbet", "fat", (5.0, 8.0)),
        ("chocolate_sorbet", "total_solids", (37.0, 40.0)),
        # H. McGee, table of compositions: soft serving, sherbet
        ("soft_serving", "milk_fat", (3.0, 10.0)),
        ("sherbet", "milk_fat", (1.0, 3.0)),
        # Chandan and Kilara, table 17.6, soft ice milk and ice cream: solids 34 and 36.4
        ("soft_serving", "total_solids", (34.0, 36.4)),
        # Italian trade code: solids of granita 15, of semifreddo 45; pianetadessert.com: sugars 23 to 24
        ("granita", "total_solids", (15.0,)),
        ("parfait", "total_solids", (45.0,)),
        ("parfait", "sugars", (23.0, 24.0)),
    ],
)
def test_published_mixes_lie_within_the_targets_of_their_style(style_key, target, values):
    bounds = style(style_key).targets[target].bounds
    for value in values:
        assert bounds.min is None or bounds.min <= value
        assert bounds.max is None or value <= bounds.max


@pytest.mark.parametrize(
    ("key", "infused", "percent"),
    [
        (
            "peppermint",
            True,
            10.0,
        ),  # the best-liked level of a thesis (T. Singh 2014), of leaves stirred in
        ("basil", False, 10.0),  # the same
        ("basil", True, 2.9),  # lemon sorbet, J. Iuzzini
        ("cinnamon", False, 1.5),  # liked best of 1 to 2 % (Srinu and others 2022)
        ("instant_coffee", False, 3.0),  # Khider and others 2021
        ("lemon_peel", False, 1.8),  # lime granité, Garde Manger p. 488
        ("gelatine", False, 0.5),  # Sommer in Lowe: 0.25 to 0.5 %
        ("sodium_alginate", False, 0.4),  # with 0.1 of monoglyceride in a ginger ice
        ("ginger_fresh", False, 4.0),  # of the juice, liked best of 0 to 5 %
    ],
)
def test_published_doses_are_not_warned_of(key, infused, percent):
    limit = usual_use(key, ingredient_table()[key].kind, infused=infused)
    assert percent <= limit.most


@pytest.mark.parametrize(
    ("key", "infused", "percent"),
    [  # mixes that were once called balanced, and what may act as a laxative or tastes of soap
        ("thyme", True, 28.6),
        ("dextrose_monohydrate", False, 16.0),
        ("dextrose_monohydrate", False, 31.3),
        ("locust_bean_gum", False, 3.6),
        ("gelatine", False, 11.9),
        ("sorbitol", False, 6.0),
        ("salt", False, 1.2),
        ("mannitol", False, 5.0),
        ("lavender_dried", True, 2.0),
        ("egg_yolk", False, 25.0),
        ("lemon_juice", False, 40.0),
    ],
)
def test_absurd_doses_are_warned_of(key, infused, percent):
    for style_key in (None, *KEYS):
        assert percent > usual_use(key, ingredient_table()[key].kind, style_key, infused).most


def test_acid_fruit_is_sourer_than_the_rest():
    """Acids of the table; fruit of which the food table tells no acid is left out."""
    acids = properties()["acids"].weights
    found = {"acid_fruit": [], "fruit": [], "watery_fruit": []}
    for entry in ingredient_table().values():
        group, value = group_of(entry.key, entry.kind), float(entry.composition @ acids)
        if group in found and value > 0.05:
            found[group].append(value)
    assert (
        min(sorted(found["acid_fruit"])[1:]) > 1.2
    )  # all but frozen sour cherries, 0.4 in their row
    assert max(found["watery_fruit"]) < 0.5
    assert sorted(found["fruit"])[len(found["fruit"]) // 2] < 1.0
