"""The README shows what the commands really print."""

from pathlib import Path

from formulate.cli.commands import main
from formulate.planning.menu import parse_menu

README = Path(__file__).parents[2] / "README.md"


def test_readme_shows_the_real_output_of_the_example(capsys):
    assert main(["balance", "damson_sorbet"]) == 0
    printed = capsys.readouterr().out.rstrip()
    shown = README.read_text(encoding="utf-8").split("```text\n")[1].split("\n```")[0]
    assert shown == printed


def test_readme_recipe_is_a_recipe_and_can_be_balanced(tmp_path, capsys):
    text = README.read_text(encoding="utf-8").split("```toml\n")[1].split("\n```")[0]
    path = tmp_path / "recipe.toml"
    path.write_text(text, encoding="utf-8")
    assert main(["balance", str(path)]) == 0
    assert "Gooseberry sorbet: balanced" in capsys.readouterr().out


def test_readme_menu_is_a_menu():
    blocks = README.read_text(encoding="utf-8").split("```toml\n")[1:]
    (text,) = [block.split("\n```")[0] for block in blocks if "[[serve]]" in block]
    found = parse_menu(text.encode(), "README")
    assert found.serves[0].grams == 1440.0 and found.lots[0].lot.reading == 11.4
