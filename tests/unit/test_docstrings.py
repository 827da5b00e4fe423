"""Examples in docstrings run; public functions say what goes in, what comes out, and show it."""

import ast
import doctest
import importlib
import inspect
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "formulate"
FACES = sorted(path.parent.name for path in PACKAGE.glob("*/__init__.pyi"))
MODULES = sorted(
    ".".join(("formulate", *path.relative_to(PACKAGE).with_suffix("").parts))
    for path in PACKAGE.rglob("*.py")
    if path.stem not in ("__init__", "__main__")
)


def sections(text):
    """The sections of a docstring by their heads."""
    parts = re.split(r"^([A-Z][a-z]+)\n-{3,}\n", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def lacking(function):
    """What the docstring of a function does not say."""
    found = sections(inspect.getdoc(function) or "")
    about = inspect.signature(function)
    named = re.findall(
        r"^(\*{0,2}\w+(?:, \*{0,2}\w+)*)(?: : .*|:?)$", found.get("Parameters", ""), re.M
    )
    said = {name.strip("* ") for line in named for name in line.split(",")}
    missing = [f"parameter {name}" for name in about.parameters if name not in said]
    if about.return_annotation not in ("None", None) and not _yields(function):
        missing += [] if "Returns" in found else ["Returns"]
    return missing + ([] if ">>>" in found.get("Examples", "") else ["an example"])


def _yields(function):
    return "Yields" in sections(inspect.getdoc(function) or "")


def functions(package):
    """Public functions of a package by name."""
    face = importlib.import_module(f"formulate.{package}")
    found = {name: getattr(face, name) for name in face.__all__}
    return {name: each for name, each in found.items() if inspect.isfunction(inspect.unwrap(each))}


@pytest.fixture(autouse=True)
def own_notebook(tmp_path, monkeypatch):
    """No example looks into the notebook of whoever runs it."""
    monkeypatch.setenv("FORMULATE_NOTEBOOK", str(tmp_path / "notebook.sqlite3"))


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name):
    found = doctest.testmod(importlib.import_module(name), optionflags=doctest.ELLIPSIS)
    assert found.failed == 0


def test_the_examples_of_the_front_door_run():
    assert doctest.testmod(importlib.import_module("formulate")).failed == 0


@pytest.mark.parametrize("package", FACES)
def test_public_functions_say_it_all(package):
    found = {name: lacking(each) for name, each in functions(package).items()}
    assert {name: words for name, words in found.items() if words} == {}


def test_what_is_lacking_is_seen():
    def told(grams: float, keys: tuple) -> float:
        """Return it.

        Parameters
        ----------
        grams, keys:
            What is weighed [g].

        Returns
        -------
        float

        Examples
        --------
        >>> 1 + 1
        2
        """
        return grams

    def bare(grams: float) -> float:
        return grams

    assert lacking(told) == []
    assert lacking(bare) == ["parameter grams", "Returns", "an example"]


def test_no_function_is_public_by_an_import_alone():
    """What a stub names is read from the module that makes it, so that its examples are run."""
    for package in FACES:
        tree = ast.parse((PACKAGE / package / "__init__.pyi").read_text(encoding="utf-8"))
        made = {alias.name: node.module for node in tree.body for alias in node.names}
        for name, function in functions(package).items():
            assert inspect.unwrap(function).__module__ == f"formulate.{package}.{made[name]}", name
