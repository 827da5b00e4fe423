"""Contrast of every pair of colours that carries words or meaning, by the formula of WCAG 2.2."""

import tomllib
from pathlib import Path

import pytest

UI = Path(__file__).parents[2] / "ui"


def luminance(colour):
    """Relative luminance of #rrggbb."""
    parts = [int(colour[place : place + 2], 16) / 255.0 for place in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.fixture(params=["light", "dark"])
def colours(request):
    """The theme of Streamlit and our own colours, for one kind of room."""
    from desk.pictures.palette import DARK, LIGHT

    own = dict(LIGHT if request.param == "light" else DARK)
    config = tomllib.loads((UI / ".streamlit" / "config.toml").read_text(encoding="utf-8"))
    return own, config["theme"][request.param]


def test_known_contrasts():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # a hair below AA


@pytest.mark.parametrize("words", ["ink", "muted", "good", "bad", "accent", "freezer"])
@pytest.mark.parametrize("ground", ["ground", "panel"])
def test_words_stand_out(colours, words, ground):
    own, _ = colours
    assert contrast(own[words], own[ground]) >= 4.5


@pytest.mark.parametrize("part", ["water", "sugars", "fat", "protein", "fibre", "other"])
def test_words_on_a_bar_stand_out(colours, part):
    own, _ = colours
    assert contrast(own["ink"], own[part]) >= 7.0


@pytest.mark.parametrize("mark", ["now", "accent", "good", "bad", "window", "freezer"])
def test_marks_stand_out(colours, mark):
    own, _ = colours
    assert contrast(own[mark], own["ground"]) >= 3.0


def test_the_theme_stands_out_and_is_the_same_ground(colours):
    own, theme = colours
    assert theme["backgroundColor"] == own["ground"]
    for ground in ("backgroundColor", "secondaryBackgroundColor"):
        assert contrast(theme["textColor"], theme[ground]) >= 7.0
        assert contrast(theme["primaryColor"], theme[ground]) >= 4.5
    assert contrast(own["on_accent"], theme["primaryColor"]) >= 4.5
