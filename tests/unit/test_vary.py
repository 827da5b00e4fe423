"""What is varied: how it is written, and that points follow from their numbers alone."""

from __future__ import annotations

from itertools import product
from math import sqrt

import numpy as np
import pytest

from formulate.data.examples import example_bytes
from formulate.errors import InputError
from formulate.recipes.file import parse
from formulate.sweeps.axes import NORMAL, STEPS, UNIFORM, Axis, axis_of, sweep_of

SORBET = parse(example_bytes("damson_sorbet"), "damson_sorbet")


@pytest.mark.parametrize(
    ("words", "axis"),
    [
        ("damson.brix=9:20:0.1", Axis("damson.brix", STEPS, 9.0, 20.0, 0.1)),
        ("damson.brix=9,5:12", Axis("damson.brix", UNIFORM, 9.5, 12.0)),
        ("cream_35.price=4:6", Axis("cream_35.price_per_kg", UNIFORM, 4.0, 6.0)),
        ("target.sugars.max=24+-0.5", Axis("target.sugars.max", NORMAL, 24.0, 0.5)),
        ("damson.brix=12±0.8", Axis("damson.brix", NORMAL, 12.0, 0.8)),
    ],
)
def test_an_axis_is_read(words, axis):
    assert axis_of(words) == axis


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("damson.brix", "is neither"),
        ("brix=9:15", "is neither"),
        ("damson.brix=9", "is neither"),
        ("damson.brix=9:15:1:2", "is neither"),
        ("damson.brix=nine:15", "is neither"),
        ("damson.brix=nan:15", "is neither"),
        ("damson.brix=15:9", "from less to more"),
        ("damson.brix=9:15:0", "step above zero"),
        ("damson.brix=12+-0", "deviation above zero"),
        ("damson.brix=9:15:1e-9", "more than 1,000,000 steps"),
    ],
)
def test_what_is_no_axis_is_refused(words, said):
    with pytest.raises(InputError, match=said):
        axis_of(words)


@pytest.mark.parametrize(
    ("axes", "left_out", "samples", "said"),
    [
        ([], (), None, "varies nothing"),
        (["damson.brix=9:20"], (), None, "says how often damson.brix is drawn"),
        (["damson.brix=9:20:1"], (), 10, "nothing is drawn at random"),
        (["damson.brix=9:20"], (), 0, "says how often"),
        (["plum.brix=9:20:1"], (), None, 'Did you mean "damson.brix"'),
        (["target.sugar.max=20:22:1"], (), None, 'Did you mean "sugars"'),
        (["damson.brix=9:95:1"], (), None, "is 95, and must be from 0 to 85"),
        (["damson.brix=1:20:1"], (), None, "1 °Bx cannot be"),
        (["target.fat.max=5:120:1"], (), None, "120 is not from 0 to 100"),
        (["serving.temperature_c=-12:2:1"], (), None, "is 2, and must be from -30"),
        (["damson.brix=9:20:1", "damson.brix=9:11:1"], (), None, "is given twice"),
        (["damson.brix=9:20:1"], ("damson",), None, "that --leave-out takes away"),
        ([], ("plum",), None, '"plum" is not in the recipe'),
        ([], ("water", "water"), None, "names an ingredient twice"),
        (["damson.brix=9:20:0.0001", "target.fat.max=0:100:0.0001"], (), None, "110,0"),
    ],
)
def test_what_cannot_be_swept_is_refused_before_it_begins(axes, left_out, samples, said):
    with pytest.raises(InputError, match=said):
        sweep_of(SORBET, tuple(axis_of(words) for words in axes), left_out, samples)


def test_a_grid_has_every_combination_once():
    axes = tuple(
        axis_of(words) for words in ("damson.brix=9:11:1", "target.sweetness.max=19:20:0.5")
    )
    sweep = sweep_of(SORBET, axes, ("water", "sucrose"), block_points=7)
    rows = []
    for block in range(sweep.blocks):
        sets, values = sweep.values(sweep.numbers(block))
        rows += [(int(one), *map(float, pair)) for one, pair in zip(sets, values, strict=True)]
    expected = set(product(range(4), (9.0, 10.0, 11.0), (19.0, 19.5, 20.0)))
    assert len(rows) == sweep.points == 36 and set(rows) == expected


def test_points_follow_from_their_numbers_alone():
    """However blocks are cut and in whatever order they are asked for."""
    axes = tuple(axis_of(words) for words in ("damson.brix=9:15", "target.sweetness.max=19+-0.5"))
    sweep = sweep_of(SORBET, axes, samples=5000, seed=3)
    _, whole = sweep.values(np.arange(5000))
    for piece in np.array_split(np.random.default_rng(0).permutation(5000), 17):
        assert np.array_equal(sweep.values(piece)[1], whole[piece])
    assert not np.array_equal(sweep_of(SORBET, axes, samples=5000, seed=4).values(piece)[1], whole)


def test_draws_have_the_mean_and_deviation_that_they_are_asked_for():
    """Within four standard errors of the exact moments, the seed being fixed."""
    axes = tuple(axis_of(words) for words in ("damson.brix=9:15", "target.sweetness.max=19+-0.5"))
    count = 100_000
    _, values = sweep_of(SORBET, axes, samples=count, seed=1).values(np.arange(count))
    even, bell = values.T
    assert even.min() >= 9.0 and even.max() <= 15.0
    assert abs(even.mean() - 12.0) < 4.0 * 6.0 / sqrt(12.0 * count)
    assert abs(even.std() - 6.0 / sqrt(12.0)) < 4.0 * 6.0 / sqrt(12.0) / sqrt(2.0 * count)
    assert abs(bell.mean() - 19.0) < 4.0 * 0.5 / sqrt(count)
    assert abs(bell.std() - 0.5) < 4.0 * 0.5 / sqrt(2.0 * count)
    assert abs(np.corrcoef(even, bell)[0, 1]) < 4.0 / sqrt(count)


def test_samples_are_the_same_at_every_point_of_a_grid():
    """So that sets of ingredients are compared on the same crates."""
    axes = (axis_of("damson.brix=12+-0.8"),)
    sweep = sweep_of(SORBET, axes, ("dextrose_monohydrate",), samples=50)
    sets, values = sweep.values(np.arange(100))
    assert sets.tolist() == [0] * 50 + [1] * 50
    assert np.array_equal(values[:50], values[50:])


def test_a_recipe_of_a_point():
    axes = tuple(
        axis_of(words)
        for words in (
            "damson.brix=9:11:1",
            "sucrose.price=2:3:1",
            "target.sugars=20:21:1",
            "serving.temperature_c=-14:-13:1",
            "serving.frozen_water.min=60:61:1",
        )
    )
    sweep = sweep_of(SORBET, axes, ("water",))
    recipe = sweep.recipe_at(1, [10.0, 2.5, 20.5, -13.5, 60.0])
    by_key = {entry.key: entry for entry in recipe.ingredients}
    assert "water" not in by_key and by_key["damson"].brix == 10.0
    assert by_key["sucrose"].price_per_kg == 2.5
    assert (recipe.targets["sugars"].min, recipe.targets["sugars"].max) == (20.5, 20.5)
    assert recipe.serving.temperature_c == -13.5
    assert (recipe.serving.frozen_water.min, recipe.serving.frozen_water.max) == (60.0, 74.0)
