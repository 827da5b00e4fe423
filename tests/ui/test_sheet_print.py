"""The batch sheet in a real browser: how many sheets of paper, in which type, and nothing fetched."""

import io

import pytest
from pypdf import PdfReader

from formulate.answers.balancing import balance, check
from formulate.data.examples import example_bytes, example_names
from formulate.printing.sheet_contents import sheet
from formulate.printing.sheet_in_html import sheet_html
from formulate.printing.sheet_in_pdf import sheet_pdf
from formulate.recipes.file import parse
from formulate.recipes.model import Recipe, RecipeIngredient, Serving

POINT = 96.0 / 72.0  # px
PAPER = {"width": 707, "height": 1060}  # what is printed of A4 [px]
TWENTY = [("whole_milk", 1500), ("cream_35", 500), ("egg_yolk", 140), ("skim_milk_powder", 90)]
TWENTY += [("sucrose", 300), ("dextrose_monohydrate", 80), ("glucose_powder_de40", 60)]
TWENTY += [("locust_bean_gum", 3.5), ("guar_gum", 1.5), ("raspberry", 300), ("rum", 40)]
TWENTY += [("lemon_juice", 20), ("salt", 1.2), ("inulin", 30), ("honey", 40), ("trehalose", 40)]
TWENTY += [("butter", 20), ("dark_chocolate_65", 60), ("vanilla_extract", 5), ("citric_acid", 2)]


def ice_cream(count):
    rows = tuple(RecipeIngredient(k, grams=g, price_per_kg=3.2) for k, g in TWENTY[:count])
    serving = Serving(kind="ice_cream", overrun_percent=30.0)
    total = sum(grams for _, grams in TWENTY[:count])
    return Recipe(f"Everything ice cream of {count}", total, rows, serving=serving)


def example(name):
    return parse(example_bytes(name), name)


@pytest.fixture
def paper(browser):
    """A tab as wide as the print of A4, that notes every request and message."""
    tab = browser.new_page(viewport=PAPER)
    heard = []
    tab.on("request", lambda request: heard.append(request.url))
    tab.on("console", lambda line: heard.append(line.text))
    tab.on("pageerror", lambda error: heard.append(str(error)))
    yield tab
    tab.close()
    assert heard == []


def printed(tab, found):
    """The sheet as the browser prints it."""
    tab.set_content(sheet_html(found))
    tab.emulate_media(media="print")
    wide = tab.evaluate("document.documentElement.scrollWidth")
    assert wide <= PAPER["width"]  # wider, and the browser would shrink all of it
    return PdfReader(io.BytesIO(tab.pdf(prefer_css_page_size=True, print_background=True)))


@pytest.mark.parametrize("us_weights", [False, True])
@pytest.mark.parametrize("name", example_names())
def test_an_example_prints_on_one_page_of_a4(paper, name, us_weights):
    recipe = example(name)
    found = sheet(recipe, balance(recipe), portion_g=60.0, us_weights=us_weights)
    reader = printed(paper, found)
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((595.3, 841.9), abs=1.0)


@pytest.mark.parametrize("us_weights", [False, True])
def test_fourteen_ingredients_print_on_one_page(paper, us_weights):
    recipe = ice_cream(14)
    found = sheet(recipe, check(recipe), portion_g=70.0, us_weights=us_weights)
    assert found.notices
    assert len(printed(paper, found).pages) == 1
    assert len(PdfReader(io.BytesIO(sheet_pdf(found))).pages) == 1


@pytest.mark.parametrize("us_weights", [False, True])
def test_twenty_ingredients_print_on_two_pages_with_the_name_on_both(paper, us_weights):
    recipe = ice_cream(20)
    found = sheet(recipe, check(recipe), portion_g=70.0, us_weights=us_weights)
    own = PdfReader(io.BytesIO(sheet_pdf(found)))
    for reader in (printed(paper, found), own):
        assert len(reader.pages) <= 2
        for page in reader.pages:
            assert recipe.name in page.extract_text().replace("\xa0", " ")


def test_large_type_prints_on_a_few_pages(paper):
    recipe = example("bay_leaf_ice_cream")
    found = sheet(recipe, balance(recipe), large=True)
    assert 2 <= len(printed(paper, found).pages) <= 3


@pytest.mark.parametrize(("large", "points"), [(False, 12.0), (True, 18.0)])
def test_weights_and_names_are_in_type_for_arms_length(paper, large, points):
    recipe = ice_cream(14)
    printed(paper, sheet(recipe, check(recipe), large=large))
    sizes = "place => parseFloat(getComputedStyle(document.querySelector(place)).fontSize)"
    for place in ("td.name", "td.grams", "li h2"):
        assert paper.evaluate(sizes, place) >= points * POINT - 0.01
    assert paper.evaluate(sizes, ".small") >= 0.6 * points * POINT


def test_figures_stand_right_aligned_under_their_unit(paper):
    recipe = example("damson_sorbet")
    printed(paper, sheet(recipe, balance(recipe)))
    ends = paper.evaluate(
        "[...document.querySelectorAll('ol li:first-child .grams')]"
        ".map(cell => cell.getBoundingClientRect().right)"
    )
    assert len(ends) == 5
    assert max(ends) - min(ends) < 0.5
    assert paper.locator("li:first-child th.grams").inner_text() == "g"


def test_every_weight_has_a_box_to_tick_and_one_to_write_in(paper):
    recipe = example("bay_leaf_ice_cream")
    found = sheet(recipe, balance(recipe))
    printed(paper, found)
    lines = sum(len(step.lines) for step in found.steps)
    assert paper.locator("td.tick i").count() == lines
    assert paper.locator("td.own i").count() == lines
    for word in ("Date", "Made by", "Batch number", "Use by"):
        assert paper.locator(".blank", has_text=word).count() == 1


def test_words_stand_out_from_the_paper_in_grey_too(paper):
    recipe = example("bay_leaf_ice_cream")
    printed(paper, sheet(recipe, balance(recipe)))
    colours = paper.evaluate(
        "[...document.querySelectorAll('h1, h2, p, td, th, footer, .small, .note, .number')]"
        ".map(place => getComputedStyle(place).color)"
    )
    for colour in set(colours):
        channels = [int(part) / 255.0 for part in colour[4:-1].split(",")]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        light = sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
        assert 1.05 / (light + 0.05) >= 4.5


def test_on_a_narrow_screen_nothing_is_cut_off(browser):
    tab = browser.new_page(viewport={"width": 760, "height": 900})
    recipe = ice_cream(14)
    tab.set_content(sheet_html(sheet(recipe, check(recipe), us_weights=True)))
    assert tab.evaluate("document.documentElement.scrollWidth") <= 760
    tab.close()
