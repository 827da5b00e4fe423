"""Bad input is one sentence with the place and the value, exit code 2, and nothing written."""

import os
import random
import stat

import pytest

from formulate.cli.commands import main
from formulate.cli.outputs import write_out
from formulate.errors import InputError

GOOD = """
name = "Pear sorbet"
batch_g = 1000

[[ingredient]]
key = "pear"
grams = 600

[[ingredient]]
key = "sucrose"
grams = 150

[[ingredient]]
key = "water"
grams = 250

[target]
total_solids = { min = 20, max = 35 }
"""


def refused(data, tmp_path, capsys, command="balance"):
    """Run a command on bytes and return the one line on stderr."""
    path = tmp_path / "recipe.toml"
    path.write_bytes(data)
    assert main([command, str(path)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("formulate: ")
    assert len(captured.err.strip().splitlines()) == 1
    assert [entry.name for entry in tmp_path.iterdir()] == ["recipe.toml"]
    return captured.err


def test_the_good_recipe_is_good(tmp_path, capsys):
    path = tmp_path / "recipe.toml"
    path.write_text(GOOD, encoding="utf-8")
    assert main(["balance", str(path)]) == 0
    assert "Pear sorbet: balanced" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('key = "pear"', 'key = "paer"', ["paer", 'Did you mean "pear"']),
        ("grams = 600", "gramms = 600", ["ingredient 1 (pear), gramms", '"grams"']),
        ("grams = 600", "grams = -600", ["ingredient 1 (pear), grams", "-600", "below zero"]),
        ("grams = 600", "grams = nan", ["ingredient 1 (pear), grams", "nan"]),
        ("grams = 600", "grams = inf", ["ingredient 1 (pear), grams", "inf"]),
        ("grams = 600", 'grams = "600 g"', ["grams", "'600 g'", "without a unit"]),
        ("grams = 600", "grams = true", ["grams", "True", "not a number"]),
        ("grams = 600", "min_g = 300\nmax_g = 200", ["min_g 300 is above max_g 200"]),
        ("grams = 600", "fixed = true", ["pear", "fixed but has no grams"]),
        ("grams = 600", "grams = 600\nbrix = 120", ["brix", "120", "85"]),
        ("grams = 600", "grams = 600\nbrix = 0.1", ["brix", "0.1 °Bx cannot be"]),
        ("grams = 600", "brix = 12\nbrix_temperature_c = 60", ["60 °C", "5 to 30 °C"]),
        ("grams = 150", "grams = 150\nbrix = 12", ["sucrose, brix", "sugar and water"]),
        ('key = "sucrose"', 'key = "pear"', ["ingredient 2 (pear)", "given twice"]),
        ("min = 20, max = 35", "min = 36, max = 35", ["total_solids", "min 36 is above max 35"]),
        ("min = 20, max = 35", "minimum = 20", ["total_solids, minimum", '"min"']),
        ("total_solids", "total_solid", ["total_solid", 'Did you mean "total_solids"']),
        (
            "total_solids = { min = 20, max = 35 }",
            "cost_per_kg = 3",
            ["cost_per_kg", "pear has none"],
        ),
        (
            "total_solids = { min = 20, max = 35 }",
            "initial_freezing_point_c = 2",
            ["initial_freezing_point_c", "2 is not from -30"],
        ),
        ("batch_g = 1000", "batch_g = 0", ["batch_g", "is 0", "above zero"]),
        ("batch_g = 1000", "", ["batch_g", "is missing"]),
        ("batch_g = 1000", "batch_g = 1000\nserver = 1", ["server", "not a field"]),
        ("[target]", "[serving]\ntemperature_c = 5\n[target]", ["temperature_c", "is 5"]),
        (
            "[target]",
            "[serving]\nfrozen_water = { max = 140 }\n[target]",
            ["frozen_water", "140", "below 100"],
        ),
    ],
)
def test_a_wrong_value_is_named_with_its_place(old, new, words, tmp_path, capsys):
    assert old in GOOD
    message = refused(GOOD.replace(old, new, 1).encode(), tmp_path, capsys)
    for word in words:
        assert word in message


@pytest.mark.parametrize(
    ("composition", "words"),
    [
        ("{ water = 50, sucrose = 40 }", ["house", "90.00 %", "100 ± 0.5"]),
        ("{ water = 50, sugar = 50 }", ["composition, sugar", "not a composition key"]),
        ("{ water = 110, sucrose = -10 }", ["composition, sucrose", "-10"]),
        ("{ water = 20, glucose_syrup_solids = 80 }", ["dextrose_equivalent"]),
        ("3", ["composition", "table"]),
    ],
)
def test_a_composition_that_cannot_be(composition, words, tmp_path, capsys):
    text = GOOD.replace('key = "pear"', f'key = "house"\ncomposition = {composition}')
    message = refused(text.encode(), tmp_path, capsys)
    for word in words:
        assert word in message


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", ["is empty"]),
        (b"\n\n# nothing\n", ["is empty"]),
        (b"name = \n", ["not a TOML file", "line 1"]),
        (b"\xff\xfe\x00n", ["not a text file in UTF-8"]),
        (b'name = "x"\nbatch_g = 100\n', ["has no ingredients"]),
        (b'name = "x"\nbatch_g = 100\ningredient = 3\n', ["[[ingredient]] tables"]),
        (
            b'name = "x"\nbatch_g = 100\n[[ingredient]]\nkey = "sucrose"\ngrams = 100\n',
            ["no ingredient has any water"],
        ),
        (b"a = " + b"[" * 5000, ["too deeply nested in line 1"]),
        (b"\n" + b".".join([b"a"] * 20_000) + b" = 1", ["too deeply nested in line 2"]),
        (b"[" + b" . ".join([b"'a'"] * 20_000) + b"]\nb = 1", ["too deeply nested in line 1"]),
        (b"a = " + b"{a = " * 5000, ["not a TOML file"]),
    ],
)
def test_a_file_that_is_not_a_recipe(data, words, tmp_path, capsys):
    message = refused(data, tmp_path, capsys)
    for word in words:
        assert word in message


@pytest.mark.parametrize(
    "filling", [b"x", b"x.", b'"', b"a ", b"[ ", b"'.", b"-", b"[" + b" " * 999, b"a." * 29 + b"\n"]
)
def test_no_filling_of_a_file_takes_long_to_refuse(filling, tmp_path, capsys):
    """A megabyte of anything is looked through once; quadratic work would take minutes."""
    data = b'name = "' + filling * (900_000 // len(filling))
    refused(data, tmp_path, capsys)


def test_ten_megabytes_of_noise(tmp_path, capsys):
    message = refused(random.Random(7).randbytes(10_000_000), tmp_path, capsys)
    assert "1,000,000" in message


def test_check_needs_weights(tmp_path, capsys):
    text = "\n".join(line for line in GOOD.splitlines() if not line.startswith("grams"))
    assert "gives no weights to check" in refused(text.encode(), tmp_path, capsys, "check")


@pytest.mark.parametrize("where", [".", "no_such_recipe", "a\0b"])
def test_a_place_without_a_recipe(where, capsys):
    assert main(["check", where]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "formulate: " in captured.err


def test_a_missing_file_names_the_examples(capsys):
    assert main(["check", "no_such_recipe"]) == 2
    assert "damson_sorbet" in capsys.readouterr().err


def test_usage_errors_exit_with_2(capsys):
    assert main(["balance"]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and len(captured.err.strip().splitlines()) == 1
    assert "the following arguments are required: recipe" in captured.err


def test_a_pipe_is_written_into_and_a_link_followed_never_replaced(tmp_path):
    """As a device would be: a plain file in its place would harm the machine."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_out(str(pipe), b"a page", "-o")
        assert os.read(reader, 100) == b"a page"
    finally:
        os.close(reader)
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    file, link = tmp_path / "file.html", tmp_path / "link.html"
    file.write_bytes(b"old")
    link.symlink_to(file)
    write_out(str(link), b"new", "-o", force=True)
    assert link.is_symlink() and file.read_bytes() == b"new"
    with pytest.raises(InputError, match="cannot be written"):
        write_out(str(tmp_path), b"a page", "-o")
