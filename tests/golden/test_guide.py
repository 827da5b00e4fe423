"""The guide that ships: every page prints, every block runs, and every command in it is one."""

import contextlib
import io
import re
import shlex
import tomllib

import pytest

from formulate.cli.commands import build_parser, main
from formulate.data import guide_text, guide_topics
from formulate.planning import parse_menu
from formulate.recipes import from_mapping

TOPICS = [topic for topic, _ in guide_topics()]


def blocks(topic, language):
    return re.findall(rf"```{language}\n(.*?)\n```", guide_text(topic), flags=re.S)


@pytest.mark.parametrize("topic", TOPICS)
def test_every_page_prints(topic, capsys):
    assert main(["guide", topic]) == 0
    assert capsys.readouterr().out.rstrip() == guide_text(topic).rstrip()


def test_the_list_names_every_page_and_a_wrong_name_is_one_sentence(capsys):
    assert main(["guide"]) == 0
    printed = capsys.readouterr().out
    assert all(topic in printed for topic in TOPICS)
    assert main(["guide", "recipes"]) == 2
    assert '"recipes"' in capsys.readouterr().err


@pytest.mark.parametrize("topic", TOPICS)
def test_every_command_of_a_table_is_one(topic):
    lines = re.findall(r"^\| `(formulate [^`]+)`", guide_text(topic), flags=re.M)
    for line in lines:
        word = line.split()[1].rstrip(",")
        with pytest.raises(SystemExit) as ended, contextlib.redirect_stdout(io.StringIO()):
            main([word, "--help"])
        assert ended.value.code == 0, line


def test_a_first_dessert_can_be_made_as_it_says(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FORMULATE_NOTEBOOK", str(tmp_path / "notebook.sqlite3"))
    commands = [line for block in blocks("start", "sh") for line in block.splitlines()]
    assert len(commands) >= 8
    for command in commands:
        program, *words = shlex.split(command)
        assert program == "formulate"
        assert main(words) == 0, (command, capsys.readouterr().err)
    assert "Damson sorbet" in (tmp_path / "tonight.toml").read_text(encoding="utf-8")
    assert (tmp_path / "tonight.html").exists()


def test_the_python_page_runs():
    for count, block in enumerate(blocks("python", "python")):
        names = {}
        if count:
            exec(blocks("python", "python")[0], names)
        with contextlib.redirect_stdout(io.StringIO()):
            exec(block, names)


def test_recipes_of_the_guide_are_recipes():
    whole = [block for block in blocks("recipe", "toml") if "batch_g" in block]
    assert whole
    for block in whole:
        assert from_mapping(tomllib.loads(block), "guide").ingredients


def test_menus_of_the_guide_are_menus():
    (block,) = [block for block in blocks("menu", "toml") if "[[serve]]" in block]
    found = parse_menu(block.encode(), "guide")
    assert found.serves[0].grams == 1440.0 and found.lots[0].lot.reading == 11.4


def test_the_parser_knows_the_guide():
    assert build_parser(["guide"]).parse_args(["guide", "start"]).topic == "start"
