"""What was learned stands in where a recipe is silent, and nowhere else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from formulate.answers.balancing import balance
from formulate.cli.commands import main
from formulate.data.examples import example_bytes
from formulate.notebook.learned import as_learned
from formulate.notebook.learning import (
    FirmnessPoint,
    Kitchen,
    learn_lots,
    learn_served,
    learn_setting,
    learn_window,
)
from formulate.recipes.file import parse, to_toml
from formulate.recipes.serving import Range, Serving, serving_kinds
from formulate.recipes.steps import Step, usual_settings
from formulate.report.wording import sentence

NOTHING = Kitchen({}, (), ())


def sorbet():
    """The example with the window of its kind, an unread fruit, and a step at its usual loss."""
    known = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    serving = replace(serving_kinds()["sorbet"], kind="sorbet")
    first = replace(known.ingredients[0], brix=None, lot=None, steps=(Step("sieve"),))
    return replace(known, serving=serving, ingredients=(first, *known.ingredients[1:]))


def window():
    usual = serving_kinds()["sorbet"].frozen_water
    points = [FirmnessPoint(f"mix {index}", 72.0, 0.5, 1) for index in range(4)]
    return learn_window(points, usual)


def sieve(values=(20.0, 21.0, 19.0)):
    usual = usual_settings()
    found = (
        usual.get(("sieve", "fruit", "", "waste_percent"))
        or usual[("sieve", "", "", "waste_percent")]
    )
    return learn_setting(values, found, "sieve", "damson", "waste_percent")


def test_a_learned_window_stands_in_for_the_usual_one_and_is_said():
    kitchen = replace(NOTHING, windows={"sorbet": window()})
    found, said = as_learned(sorbet(), kitchen)
    usual = sorbet().serving.frozen_water
    assert found.serving.frozen_water.max < usual.max, "too hard at 72 %: the window lies lower"
    assert (
        len(said) == 1
        and "verdicts: 4" in sentence(said[0])
        and f"{usual.min:g} to {usual.max:g}" in sentence(said[0])
    )
    result = balance(replace(found, targets={}))
    assert result.mix.serving.frozen_water == found.serving.frozen_water


def test_a_freezer_that_serves_warmer_is_learned_and_said():
    usual = serving_kinds()["sorbet"].temperature_c
    served = learn_served([usual + 1.0, usual + 3.0] * 3, usual)
    found, said = as_learned(sorbet(), replace(NOTHING, served={"sorbet": served}))
    assert (
        usual + 1.0 < found.serving.temperature_c < usual + 2.0
    )  # six readings, shrunk to the usual
    assert (
        len(said) == 1
        and "comes out of your freezer" in sentence(said[0])
        and "batches: 6" in sentence(said[0])
    )
    own = replace(sorbet(), serving=replace(sorbet().serving, temperature_c=usual - 1.5))
    assert as_learned(own, replace(NOTHING, served={"sorbet": served})) == (own, ())


def test_a_window_of_the_cooks_own_is_kept():
    own = replace(sorbet(), serving=Serving(-12.0, Range(60.0, 66.0), "sorbet"))
    assert as_learned(own, replace(NOTHING, windows={"sorbet": window()})) == (own, ())


def test_a_learned_loss_stands_in_for_the_usual_one():
    found, said = as_learned(sorbet(), replace(NOTHING, settings=(sieve(),)))
    step = found.ingredients[0].steps[0]
    assert step.get("waste_percent") == pytest.approx(sieve().value.value, abs=5e-4)
    assert step.get("spread_percent") > 0.0
    assert "sieve" in sentence(said[0]) and "weighings: 3" in sentence(said[0])
    parse(to_toml(found).encode(), "as a file")


def test_a_loss_that_the_cook_gives_is_kept():
    first = replace(sorbet().ingredients[0], steps=(Step("sieve", (("waste_percent", 9.0),)),))
    own = replace(sorbet(), ingredients=(first, *sorbet().ingredients[1:]))
    assert as_learned(own, replace(NOTHING, settings=(sieve(),))) == (own, ())


def test_an_unread_lot_is_taken_as_lots_have_read():
    fruit = learn_lots((15.0, 16.0, 15.5), 12.8, 1.8, "damson")
    found, said = as_learned(sorbet(), replace(NOTHING, lots=(fruit,)))
    entry = found.ingredients[0]
    assert 12.8 < entry.brix < 15.6
    assert entry.brix_plus_minus == pytest.approx(fruit.deviation.value, abs=0.05)
    assert "A reading of the lot is better" in sentence(said[0])
    read = parse(example_bytes("damson_sorbet"), "damson_sorbet")
    assert as_learned(read, replace(NOTHING, lots=(fruit,))) == (read, ())


def test_the_next_prediction_uses_it_and_says_so(tmp_path, capsys):
    """From a kept recipe and a verdict to the answer of the next day, by commands."""
    recipe, notebook = tmp_path / "mine.toml", ("--notebook", str(tmp_path / "n.sqlite3"))
    recipe.write_text(to_toml(sorbet()), encoding="utf-8")
    assert main(["keep", str(recipe), *notebook]) == 0
    plain = ["check", str(recipe)]
    assert main([*plain, "--learned", *notebook]) == 0
    assert "has taught nothing yet" in capsys.readouterr().out
    assert main(["made", "damson", "--served", "-14", *notebook]) == 0
    assert main(["verdict", "1", "--firmness", "2", *notebook]) == 0
    capsys.readouterr()
    assert main([*plain, "--learned", *notebook]) == 0
    learned = capsys.readouterr().out
    assert main(plain) == 0
    assert "As learned here: the serving window is" in learned
    assert "As learned here" not in capsys.readouterr().out
