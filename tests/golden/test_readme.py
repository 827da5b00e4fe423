"""The README shows what the commands really print, and its Python runs."""

import contextlib
import io
from pathlib import Path

from formulate.cli.commands import main

README = Path(__file__).parents[2] / "README.md"


def block(language):
    text = README.read_text(encoding="utf-8")
    return text.split(f"```{language}\n")[1].split("\n```")[0]


def test_readme_shows_the_real_output_of_the_example(capsys):
    assert main(["balance", "damson_sorbet"]) == 0
    assert block("text") == capsys.readouterr().out.rstrip()


def test_readme_python_runs():
    with contextlib.redirect_stdout(io.StringIO()) as printed:
        exec(block("python"), {})
    assert "damson" in printed.getvalue()


def test_readme_is_short_and_its_links_lead_somewhere():
    text = README.read_text(encoding="utf-8")
    prose = " ".join(text.split("```")[::2])
    assert len(prose.split()) <= 900
    for part in text.split("](")[1:]:
        assert (README.parent / part.split(")")[0]).exists(), part
