"""The batch sheet: what it says, and that HTML and PDF say all of it."""

import hashlib
import io
import os
import re
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from formulate.answers.balancing import balance, check
from formulate.data.examples import example_bytes, example_names
from formulate.data.hashes import versions
from formulate.errors import InputError
from formulate.ingredients.readings import brix_of
from formulate.mix.mixtures import mixture
from formulate.printing.page import typeset
from formulate.printing.sheet_contents import sheet
from formulate.printing.sheet_in_html import OUNCE_G, ounces, sheet_html
from formulate.printing.sheet_in_pdf import sheet_pdf
from formulate.recipes.file import from_mapping, parse
from formulate.recipes.model import Range, Recipe, RecipeIngredient, Serving
from formulate.report.wording import sentence
from formulate.safety.cautions import cautions_for

ROOT = Path(__file__).parents[2]
HOSTILE = "\"><script>alert(1)</script><img src=http://x.test/y onerror=z> & 'plum'"
SOME = [("whole_milk", 600), ("cream_35", 150), ("sucrose", 150), ("egg_yolk", 60)]
SOME += [("xanthan_gum", 1.5), ("raspberry", 120), ("rum", 20), ("citric_acid", 2)]


def example(name):
    return parse(example_bytes(name), name)


def made_of(entries, **about):
    rows = tuple(RecipeIngredient(key, grams=grams) for key, grams in entries)
    return Recipe("Test ice", float(sum(grams for _, grams in entries)), rows, **about)


def of(recipe, **wanted):
    return sheet(recipe, check(recipe), **wanted)


def weighed(found):
    return [line for step in found.steps for line in step.lines]


def step(found, verb):
    return next(entry for entry in found.steps if entry.verb == verb)


def panel(found, title):
    return next(entry for entry in found.panels if entry.title == title)


def facts(found, title):
    return {fact.label: fact.value for fact in panel(found, title).facts}


def everything_said(found):
    texts = [*found.notices, *found.cautions]
    for entry in found.steps:
        texts += [entry.how, *entry.small]
    for entry in found.panels:
        texts += entry.notes
    return texts


class Page(HTMLParser):
    """Tags with their attributes, and the text between them."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.texts, self.open = [], [], []
        self.feed(text)
        self.text = " ".join("".join(self.texts).split())

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        self.open.append(tag)

    def handle_endtag(self, tag):
        while self.open and self.open.pop() != tag:
            pass
        self.texts += [] if tag in ("span", "i") else [" "]

    def handle_data(self, data):
        if "style" not in self.open:
            self.texts.append(data)


def plain(text):
    """A text with every stretch of white space as one space."""
    return " ".join(text.split())


def pdf_text(data):
    return plain(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages))


def pages(data):
    return len(PdfReader(io.BytesIO(data)).pages)


@pytest.mark.parametrize("wanted", [{}, {"batch_g": 5300.0}, {"large": True, "us_weights": True}])
@pytest.mark.parametrize("name", example_names())
def test_every_weight_is_printed_and_they_add_up(name, wanted):
    recipe = example(name)
    result = balance(recipe)
    found = sheet(recipe, result, **wanted)
    lines = weighed(found)
    assert len(lines) == len([w for w in result.mix.weights if w.grams > 0.0])
    assert sum(line.grams for line in lines) == pytest.approx(found.totals[0].grams)
    assert float(found.totals[0].weight.replace(",", "")) == pytest.approx(found.totals[0].grams)
    reach = dict(zip(mixture(recipe).names, mixture(recipe).reach, strict=True))
    made = sum(reach[line.name] * line.grams for line in lines)
    assert made == pytest.approx(wanted.get("batch_g", recipe.batch_g), abs=0.5 * len(lines))
    assert found.totals[-1].grams == pytest.approx(made, abs=0.5)
    for text in (Page(sheet_html(found)).text, pdf_text(sheet_pdf(found))):
        for line in (*lines, *found.totals):
            assert plain(typeset(line.name)) in text
            assert re.search(rf"(?<![\d.,]){re.escape(line.weight)}(?![\d,])", text)


@pytest.mark.parametrize("name", example_names())
def test_html_and_pdf_say_every_sentence(name):
    found = of(example(name), portion_g=60.0)
    page, pdf = Page(sheet_html(found)).text, pdf_text(sheet_pdf(found))
    words = [found.name, *found.size, *found.foot, *everything_said(found)]
    words += [fact.label for entry in found.panels for fact in entry.facts]
    words += [fact.value for entry in found.panels for fact in entry.facts]
    for said in words:
        assert plain(typeset(said)) in page
        assert plain(typeset(said)).replace(" ", "") in pdf.replace(" ", "")


def test_unscaled_weights_are_those_of_the_balanced_mix():
    recipe = example("damson_sorbet")
    result = balance(recipe)
    shown = {line.name: line.grams for line in weighed(sheet(recipe, result))}
    assert shown == {weight.name: weight.grams for weight in result.mix.weights}


def test_a_sheet_for_portions_has_their_weight():
    recipe = example("bay_leaf_ice_cream")
    found = of(recipe, portions=44, portion_g=75.0)
    assert found.totals[-1].grams == pytest.approx(3300.0, abs=4.0)
    assert "44 portions of 75 g" in found.size
    plain_one = {line.name: line.grams for line in weighed(of(recipe))}
    for line in weighed(found):
        assert line.grams == pytest.approx(1.1 * plain_one[line.name], abs=1.2)


def test_a_portion_alone_is_counted_down():
    assert "33 portions of 60 g" in of(example("damson_sorbet"), portion_g=60.0).size


def test_scaled_weights_are_on_the_scale():
    for line in weighed(of(example("damson_sorbet"), batch_g=1234.5)):
        step_g = 0.1 if line.grams < 20.0 else 1.0
        assert line.grams / step_g == pytest.approx(round(line.grams / step_g))


def test_what_the_scale_cannot_show_keeps_its_digits_and_is_said():
    found = of(example("damson_sorbet"), batch_g=30.0)
    gum = next(line for line in weighed(found) if line.name == "Locust bean gum")
    assert gum.weight == "0.075"
    assert any("Finer than your scale shows: Locust bean gum." in n for n in found.notices)


def test_a_target_that_rounding_misses_is_said():
    recipe = replace(
        made_of([("water", 650), ("sucrose", 349), ("guar_gum", 1)]),
        targets={"sucrose": Range(34.85, 34.95)},
    )
    assert not any("Rounded" in notice for notice in of(recipe).notices)
    small = of(recipe, batch_g=60.0)
    assert any("Rounded to your scale, Sucrose misses" in notice for notice in small.notices)


def test_a_mix_that_misses_says_so_first():
    recipe = example("sea_buckthorn_sorbet_too_hard")
    assert of(recipe).notices[0].startswith("This mix misses Water frozen at -14 °C")
    hard = replace(recipe, targets={**recipe.targets, "sweetness": Range(40.0, 41.0)})
    found = sheet(hard, balance(hard))
    assert found.notices[0].startswith("No mix meets every target; this one misses")


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ({"batch_g": 0.0}, "batch_g: is 0, and must be above 0 to 1,000,000 g. Give the weight"),
        ({"batch_g": float("nan")}, "batch_g: is nan, and must be"),
        ({"batch_g": float("inf")}, "batch_g: is inf, and must be"),
        ({"portion_g": -5.0}, "portion_g: is -5, and must be above 0 to 10,000 g"),
        ({"portions": 0, "portion_g": 60.0}, "portions: is 0, and must be a whole number from 1"),
        ({"portions": 2.5, "portion_g": 60.0}, "portions: is 2.5, and must be a whole number"),
        ({"portions": 40}, "portions: needs portion_g, and stands in place of batch_g. Give"),
        ({"portions": 4, "portion_g": 60.0, "batch_g": 9.0}, "portions: needs portion_g, and"),
        ({"portions": 90_000, "portion_g": 60.0}, "batch_g: is 5.4e+06, and must be above 0 to"),
    ],
)
def test_sizes_that_cannot_be(wanted, said):
    with pytest.raises(InputError) as caught:
        of(example("damson_sorbet"), **wanted)
    assert str(caught.value).startswith(said)


def test_a_result_of_another_recipe_is_refused():
    with pytest.raises(InputError, match="the result is of another recipe"):
        sheet(example("damson_sorbet"), check(example("bay_leaf_ice_cream")))


def test_names_are_text_and_nothing_else():
    own = {"water": 24.0, "glucose_syrup_solids": 76.0, "dextrose_equivalent": 42.0}
    rows = [{"key": "water", "grams": 500}, {"key": "sucrose", "grams": 150}]
    rows += [{"key": HOSTILE, "grams": 50, "composition": own}]
    recipe = from_mapping({"name": HOSTILE, "batch_g": 700, "ingredient": rows}, "test")
    found = of(recipe)
    page = Page(sheet_html(found))
    assert {tag for tag, _ in page.tags} <= set(
        "html head meta title style body main table tfoot tbody thead tr td th header h1 h2 p div "
        "aside span b i ol li svg line text rect polygon polyline circle section footer small".split()
    )
    assert not {"src", "href", "onerror"} & {name for _, has in page.tags for name in has}
    assert plain(HOSTILE) in page.text
    assert pdf_text(sheet_pdf(found)).count("script") >= 2


@pytest.mark.parametrize("name", example_names())
def test_html_fetches_and_runs_nothing(name):
    text = sheet_html(of(example(name)))
    for word in ("http:", "https:", "//", "url(", "@import", "<script", "javascript", "<link"):
        assert word not in text
    assert "default-src 'none'" in text


def test_an_ounce_is_28_349523125_grams():
    assert OUNCE_G == 28.349523125
    assert ounces(OUNCE_G) == "1.0 oz"
    assert ounces(16.0 * OUNCE_G) == "1 lb 0.0 oz"
    assert ounces(453.59237) == "1 lb 0.0 oz"
    assert ounces(452.9) == "1 lb 0.0 oz"
    assert ounces(451.0) == "15.9 oz"
    assert ounces(1691.0) == "3 lb 11.6 oz"
    assert ounces(5.0) == "0.18 oz"


@given(st.floats(OUNCE_G, 1e6))
def test_pounds_and_ounces_are_the_grams(grams):
    found = re.fullmatch(r"(?:(\d+) lb )?(\d+\.\d) oz", ounces(grams))
    pounds, rest = found.groups()
    assert float(rest) < 16.0
    assert (16 * int(pounds or 0) + float(rest)) * OUNCE_G == pytest.approx(grams, abs=1.42)


def test_us_weights_stand_beside_the_grams():
    found = of(example("bay_leaf_ice_cream"), us_weights=True)
    page, pdf = Page(sheet_html(found)).text, pdf_text(sheet_pdf(found))
    for line in weighed(found):
        assert ounces(line.grams) in page
        assert ounces(line.grams).replace(" ", "") in pdf.replace(" ", "")
    assert "lb, oz" not in Page(sheet_html(replace(found, us_weights=False))).text


def test_a_custard_is_made_in_this_order():
    verbs = [entry.verb for entry in of(example("bay_leaf_ice_cream")).steps]
    assert verbs == [
        "Infuse",
        "Mix dry",
        "Warm",
        "Eggs",
        "Heat, hold",
        "Strain, cool",
        "Age",
        "Churn",
        "Harden",
        "Temper, serve",
    ]


def test_a_sorbet_is_not_pasteurised_and_its_fruit_stays_cold():
    found = of(example("damson_sorbet"))
    verbs = [entry.verb for entry in found.steps]
    assert "Heat, hold" not in verbs
    assert verbs.index("Hydrate") < verbs.index("Stir in cold") < verbs.index("Chill")
    assert [line.name for line in step(found, "Stir in cold").lines] == ["Damsons, stoned"]
    assert [line.name for line in step(found, "Warm").lines] == ["Water"]


def test_gums_lie_in_the_sugar_and_acid_and_spirit_come_last():
    found = of(made_of(SOME))
    assert [line.name for line in step(found, "Mix dry").lines] == [
        "Sugar (sucrose)",
        "Xanthan gum",
    ]
    late = [line.name for line in step(found, "Add last").lines]
    assert late == ["Rum, 40 % vol", "Citric acid, anhydrous"]
    verbs = [entry.verb for entry in found.steps]
    assert verbs.index("Age") < verbs.index("Add last") < verbs.index("Churn")


def test_a_gum_that_swells_cold_asks_for_no_heat():
    entries = [("water", 700), ("sucrose", 200), ("xanthan_gum", 2), ("strawberry", 300)]
    assert step(of(made_of(entries)), "Hydrate").how == "Blend hard."
    entries[2] = ("locust_bean_gum", 3)
    assert "swells fully only when hot" in step(of(made_of(entries)), "Hydrate").small[0]


def test_yoghurt_stirred_in_cold_is_said_to_be_unheated():
    found = of(made_of([("whole_milk", 400), ("yogurt", 400), ("sucrose", 150)]))
    assert "not heated with the rest" in step(found, "Stir in cold").small[0]


def test_own_ingredients_are_placed_by_what_they_contain():
    def own(key, **composition):
        return RecipeIngredient(key, grams=100.0, composition=composition)

    rows = (
        own("powder", sucrose=98.0, water=2.0),
        own("sour", citric_acid=50.0, water=50.0),
        own("gin", ethanol=40.0, water=60.0),
        own("pulp", water=85.0, fructose=12.0, fibre=3.0),
        own("yolks", water=55.0, egg_yolk_solids=45.0),
        own("syrup", water=30.0, glucose=70.0),
    )
    found = of(Recipe("Own", 600.0, rows))
    placed = {line.name: entry.verb for entry in found.steps for line in entry.lines}
    assert placed == {
        "Powder": "Mix dry",
        "Sour": "Add last",
        "Gin": "Add last",
        "Pulp": "Stir in cold",
        "Yolks": "Eggs",
        "Syrup": "Warm",
    }
    assert "read the packs" in panel(found, "Allergens").notes[0]
    assert facts(found, "Allergens") == {"egg": ""}


def test_no_caution_is_lost():
    for recipe in (made_of(SOME), *(example(name) for name in example_names())):
        result = check(recipe)
        said = everything_said(sheet(recipe, result))
        for caution in cautions_for(recipe.ingredients, result.mix.composition):
            assert sentence(caution) in said
        assert any("follow your local rules" in text for text in said)


def test_a_reading_is_expected_only_where_it_tells_something():
    recipe = example("damson_sorbet")
    result = balance(recipe)
    finished = panel(sheet(recipe, result), "Finished mix")
    assert finished.facts[0].value == f"{brix_of(result.mix.composition):.1f} °Bx"
    assert all(fact.box for fact in finished.facts)
    milky = panel(of(example("bay_leaf_ice_cream")), "Finished mix")
    assert "would mislead a refractometer" in milky.notes[0]
    assert not any("°Bx" in fact.value for fact in milky.facts)


def test_a_herb_is_weighed_with_the_liquid_that_it_is_drawn_in():
    found = of(example("bay_leaf_ice_cream"))
    drawn = step(found, "Infuse")
    assert [line.name for line in drawn.lines] == ["Whole milk", "Bay leaf, dried"]
    assert "strain" in drawn.how
    assert step(found, "Warm").how == "with the infusion and dry mix"
    assert [line.name for line in found.totals] == ["Total at the scale", "Into the churn"]
    assert found.totals[1].grams == pytest.approx(3000.0, abs=3.0)
    assert "Spent herb" in facts(found, "Lost on the way")


def test_a_nut_that_is_strained_out_is_still_an_allergen():
    steps = [{"do": "infuse", "in": "water"}]
    rows = [{"key": "water", "grams": 800}, {"key": "sucrose", "grams": 200}]
    rows += [{"key": "hazelnut", "grams": 50, "steps": steps}]
    recipe = from_mapping({"name": "Nut", "batch_g": 950, "ingredient": rows}, "test")
    assert facts(of(recipe), "Allergens") == {"nuts": ""}


def test_steps_of_preparation_say_what_to_buy_and_what_is_lost():
    steps = [{"do": "peel and stone"}, {"do": "sieve"}]
    rows = [{"key": "plum", "grams": 500, "steps": steps}, {"key": "sucrose", "grams": 100}]
    recipe = from_mapping({"name": "Plum", "batch_g": 540, "ingredient": rows}, "test")
    found = of(recipe)
    assert step(found, "Prepare").how == "Plums: peel and stone, sieve."
    plums = next(line for line in weighed(found) if line.name == "Plums")
    assert plums.remark.startswith("buy ")
    assert list(facts(found, "Lost on the way")) == ["Peel and stones", "Sieve"]
    mix = mixture(recipe)
    at = np.array([line.grams for line in sorted(weighed(found), key=lambda x: x.name != "Plums")])
    assert found.totals[-1].grams == pytest.approx(float(mix.reach @ at), abs=0.5)


def test_costs_follow_from_prices_and_air():
    serving = Serving(overrun_percent=50.0)
    recipe = made_of([("water", 700), ("sucrose", 300)], serving=serving)
    assert not any(entry.title == "Cost" for entry in of(recipe).panels)
    water, sugar = recipe.ingredients
    half = replace(recipe, ingredients=(water, replace(sugar, price_per_kg=1.5)))
    assert panel(of(half), "Cost").notes == ("Not known: no price for Water.",)
    priced = (replace(water, price_per_kg=0.0), replace(sugar, price_per_kg=1.5))
    found = of(replace(recipe, ingredients=priced), portion_g=100.0, batch_g=2000.0)
    cost = {label: float(value) for label, value in facts(found, "Cost").items()}
    assert cost["Batch"] == pytest.approx(0.9)
    assert cost["1 kg of mix"] == pytest.approx(0.45)
    assert cost["Portion"] == pytest.approx(0.045, abs=0.005)
    litres = float(re.match(r"([\d.]+) L with 50 % overrun", found.size[2]).group(1))
    assert cost["1 L as served"] == pytest.approx(0.9 / litres, abs=0.01)
    assert litres == pytest.approx(1.5 * float(found.size[1].split()[0]), abs=0.011)
    assert "a cup of 100 g comes out at 67 g" in step(found, "Churn").how


def test_soft_serving_is_neither_hardened_nor_tempered():
    recipe = made_of(SOME, serving=Serving(-6.0, Range(45.0, 55.0), "soft_serving"))
    verbs = [entry.verb for entry in of(recipe).steps]
    assert verbs[-2:] == ["Churn", "Serve"]


def test_the_curve_starts_at_the_first_ice_and_keeps_its_doubt():
    recipe = example("damson_sorbet")
    result = balance(recipe)
    curve = panel(sheet(recipe, result), "Serving").curve
    assert curve.points[0][0] == pytest.approx(result.mix.initial_freezing_point_c)
    assert curve.points[0][1] == pytest.approx(0.0, abs=0.1)
    assert curve.points[-1][0] == -24.0
    assert curve.window == (68.0, 74.0)
    known = dict(result.mix.frozen_water)
    spread = dict(zip(known, result.outlook.frozen_water_deviation, strict=True))
    for celsius, percent, about in curve.points[1:]:
        if celsius in known:
            assert percent == pytest.approx(known[celsius], abs=0.1)
            assert about == pytest.approx(spread[celsius])
    text = sheet_html(sheet(recipe, result))
    assert text.count("<polygon") == 1 and text.count("<polyline") == 1


@pytest.mark.parametrize(
    "entries",
    [
        [("water", 1000)],
        [("vodka", 900), ("sucrose", 100)],
        [("water", 100), ("glycerol", 900)],
        [("strawberry", 500), ("sucrose", 100)],
        [("butter", 300), ("egg_white", 100), ("cocoa_powder", 50)],
    ],
)
def test_odd_mixes_have_a_sheet_too(entries):
    recipe = made_of(entries, serving=Serving(-28.0, Range(None, 60.0)))
    found = of(recipe)
    assert sum(line.grams for line in weighed(found)) == pytest.approx(recipe.batch_g)
    assert pages(sheet_pdf(found)) == 1
    assert not re.search(r"\bnan\b", sheet_html(found))


def test_the_foot_tells_recipe_table_and_model():
    recipe = example("damson_sorbet")
    foot = " ".join(of(recipe).foot)
    assert all(value in foot for value in versions().values())
    other = replace(recipe, batch_g=2001.0)
    assert of(other).foot[1] != of(recipe).foot[1]
    assert of(replace(recipe)).foot[1] == of(recipe).foot[1]


@pytest.mark.parametrize("large", [False, True])
def test_the_same_sheet_gives_the_same_bytes(large):
    found = of(example("bay_leaf_ice_cream"), large=large)
    assert sheet_pdf(found) == sheet_pdf(found)
    assert sheet_html(found) == sheet_html(found)
    assert b"/CreationDate (D:2000" in sheet_pdf(found)


def test_another_process_gives_the_same_bytes():
    code = (
        "import hashlib; from formulate.answers import check; from formulate.data import example_bytes;"
        "from formulate.printing import sheet, sheet_html, sheet_pdf;"
        "from formulate.recipes import parse;"
        "r = parse(example_bytes('bay_leaf_ice_cream'), 'x'); s = sheet(r, check(r));"
        "print(hashlib.sha256(sheet_pdf(s) + sheet_html(s).encode()).hexdigest())"
    )
    found = of(example("bay_leaf_ice_cream"))
    here = hashlib.sha256(sheet_pdf(found) + sheet_html(found).encode()).hexdigest()
    for seed in ("1", "2"):
        about = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": seed}
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, env=about)
        assert done.stdout.decode().strip() == here


@pytest.mark.parametrize("name", example_names())
def test_examples_are_one_page_of_pdf(name):
    reader = PdfReader(io.BytesIO(sheet_pdf(of(example(name), portion_g=60.0))))
    assert len(reader.pages) == 1
    assert float(reader.pages[0].mediabox.height) == pytest.approx(841.89, abs=0.01)
    fonts = {f["/BaseFont"] for f in reader.pages[0]["/Resources"]["/Font"].values()}
    # Defaults that the library writes down, though no text is set in them.
    own = {str(font) for font in fonts} - {"/Helvetica", "/Times-Roman"}
    assert own and all("Vera" in font for font in own)


def test_large_type_takes_more_pages_and_says_the_same():
    found = of(example("bay_leaf_ice_cream"), large=True)
    assert 'class="large"' in sheet_html(found)
    assert 2 <= pages(sheet_pdf(found)) <= 3
    text = pdf_text(sheet_pdf(found))
    assert all(line.weight in text for line in weighed(found))
    assert "1 of 2" in text or "1 of 3" in text


def test_letters_that_the_pdf_lacks_lose_an_accent_and_are_owned_up_to():
    recipe = replace(example("damson_sorbet"), name="Ősz és szilva 雪 ±2 °C")
    text = pdf_text(sheet_pdf(of(recipe)))
    assert "Osz és szilva ? ±2 °C" in text
    assert "Some letters are not in this typeface" in text
    assert "Some letters" not in pdf_text(sheet_pdf(of(example("damson_sorbet"))))
    assert "Ősz és szilva 雪" in sheet_html(of(recipe))


@settings(deadline=None, max_examples=25)
@given(st.text(min_size=1, max_size=200).filter(lambda text: text.strip()))
def test_any_name_can_be_printed(name):
    recipe = replace(example("damson_sorbet"), name=name)
    found = sheet(recipe, RESULT)
    Page(sheet_html(found))
    assert pages(sheet_pdf(found)) >= 1


RESULT = check(example("damson_sorbet"))


def test_what_must_be_cooked_is_cooked_first_and_never_stirred_in_cold():
    text = """name = "Elderberry sorbet"\nbatch_g = 1000
[[ingredient]]\nkey = "elderberry"\ngrams = 500
[[ingredient]]\nkey = "sucrose"\ngrams = 200
[[ingredient]]\nkey = "water"\ngrams = 300\n"""
    recipe = parse(text.encode(), "elderberry")
    first, *others = sheet(recipe, check(recipe)).steps
    assert first.verb == "Cook first" and [line.name for line in first.lines] == ["Elderberries"]
    assert any("poisonous or upsetting when raw" in said for said in first.small)
    assert all(line.name != "Elderberries" for step in others for line in step.lines)


@pytest.mark.parametrize(
    "main",
    [
        'key = "melon"',
        'key = "avocado"',
        'key = "lupin_drink"\ncomposition = { water = 92, other_protein = 4, fibre = 4 }',
    ],
)
def test_what_has_little_acid_is_heated_with_the_mix(main):
    text = f"""name = "Sorbet"\nbatch_g = 1000
[[ingredient]]\n{main}\ngrams = 600
[[ingredient]]\nkey = "sucrose"\ngrams = 200
[[ingredient]]\nkey = "water"\ngrams = 200\n"""
    recipe = parse(text.encode(), "sorbet")
    steps = {step.verb: step for step in sheet(recipe, check(recipe)).steps}
    assert "Heat, hold" in steps and "Stir in cold" not in steps
    assert len(steps["Warm"].lines) == 2
    own = "lupin" in main
    allergens = panel(sheet(recipe, check(recipe)), "Allergens").facts[0]
    assert (allergens.label == "not known") == own
