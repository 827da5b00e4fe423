"""Packages import only from those before them and only by their public names; components agree."""

import ast
import importlib
import runpy
from pathlib import Path

import pytest

from formulate.ingredients import COMPONENT_KEYS

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "formulate"

#: The direction of dependence: a package imports from those before it, and a module from its own package.
ORDER = (
    "errors messages arrays checks frozen data ingredients freezing recipes timing safety mix solver "
    "answers labels sweeps notebook planning report printing face cli __main__"
).split()
MODULES = sorted(path for path in PACKAGE.rglob("*.py"))


def absolute(node, path):
    """Dotted names that an import statement may bind, relative ones resolved."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    inside = ("formulate", *path.relative_to(PACKAGE).parts[:-1])
    base = list(inside[: len(inside) - node.level + 1]) if node.level else []
    base += node.module.split(".") if node.module else []
    return [".".join([*base, alias.name]) for alias in node.names]


def imported(path):
    """Dotted names of this project that a file imports, at its top or inside functions, in any form."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            yield from (name for name in absolute(node, path) if name.split(".")[0] == "formulate")


def room(path):
    """The package, or the module at the top, that a file belongs to."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def test_the_order_names_every_package():
    found = {room(path) for path in MODULES if path.name != "__init__.py"}
    assert found == set(ORDER)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_imports_from_earlier_packages_by_their_public_names(path):
    if path == PACKAGE / "__init__.py":
        assert list(imported(path)) == []
        return
    mine = room(path)
    for name in imported(path):
        _, other, *rest = name.split(".")
        if other == mine:
            continue
        assert ORDER.index(other) < ORDER.index(mine), name
        if (PACKAGE / other).is_dir():
            face = importlib.import_module(f"formulate.{other}")
            assert len(rest) == 1, f"{name}: not by the package's public name"
            assert rest[0] in face.__all__, name


@pytest.mark.parametrize(
    ("line", "names"),
    [
        ("from formulate import cli", ["formulate.cli"]),
        ("import formulate.cli.commands", ["formulate.cli.commands"]),
        ("from formulate.cli import entry", ["formulate.cli.entry"]),
        ("from ..cli import entry", ["formulate.cli.entry"]),
        ("from .. import cli", ["formulate.cli"]),
        ("from .table import x", ["formulate.data.table.x"]),
        ("from numpy import array", []),
    ],
)
def test_every_form_of_import_is_seen(line, names):
    path = PACKAGE / "data" / "never_written.py"
    node = ast.parse(line).body[0]
    found = [name for name in absolute(node, path) if name.split(".")[0] == "formulate"]
    assert found == names


@pytest.mark.parametrize("package", [name for name in ORDER if (PACKAGE / name).is_dir()])
def test_public_names_of_a_package_are_there_and_public_where_they_are_made(package):
    face = importlib.import_module(f"formulate.{package}")
    tree = ast.parse((PACKAGE / package / "__init__.pyi").read_text(encoding="utf-8"))
    listed = {}
    for node in tree.body:
        assert isinstance(node, ast.ImportFrom) and node.level == 1
        listed |= {alias.name: node.module for alias in node.names}
    assert sorted(face.__all__) == sorted(listed)
    for name, module in listed.items():
        if module is None:  # a module that is public as a whole
            assert getattr(face, name) is importlib.import_module(f"formulate.{package}.{name}")
            continue
        maker = importlib.import_module(f"formulate.{package}.{module}")
        assert getattr(face, name) is getattr(maker, name)
        assert name in maker.__all__, f"{maker.__name__}.{name}"


@pytest.mark.parametrize(
    "path",
    [path for path in MODULES if path.name not in ("__init__.py", "__main__.py")],
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_all_names_what_is_public_and_no_more(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    made = {
        node.name
        for node in tree.body
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
    }
    name = ".".join(("formulate", *path.relative_to(PACKAGE).with_suffix("").parts))
    module = importlib.import_module(name)
    assert made <= set(module.__all__)
    assert all(hasattr(module, public) for public in module.__all__)


def outside():
    """Files of the commands and pages, which stand outside the engine."""
    return sorted([*(PACKAGE / "cli").glob("*.py"), *(ROOT / "ui").rglob("*.py")])


@pytest.mark.parametrize("path", outside(), ids=lambda path: str(path.relative_to(ROOT)))
def test_commands_and_pages_use_public_names_alone(path):
    for name in imported(path) if path.is_relative_to(PACKAGE) else imported_by_a_page(path):
        _, package, *rest = name.split(".")
        if package in ("cli", "errors", "messages") and len(rest) <= 2:
            assert package != "cli" or path.is_relative_to(PACKAGE), name
            continue
        if not (PACKAGE / package).is_dir():
            assert package in importlib.import_module("formulate").__all__ and not rest, name
            continue
        face = importlib.import_module(f"formulate.{package}")
        assert len(rest) == 1 and rest[0] in face.__all__, name


def imported_by_a_page(path):
    """Dotted names of this project that a page imports; pages have no relative imports."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, path
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        else:
            continue
        yield from (name for name in names if name.split(".")[0] == "formulate")


def test_the_front_door_is_as_its_stub_says():
    face = importlib.import_module("formulate")
    tree = ast.parse((PACKAGE / "__init__.pyi").read_text(encoding="utf-8"))
    listed = {alias.name: node.module for node in tree.body for alias in node.names}
    assert sorted(face.__all__) == sorted(listed)
    for name, module in listed.items():
        maker = importlib.import_module(f"formulate.{module}")
        assert name in maker.__all__, name
        assert getattr(face, name) is getattr(maker, name), name


def test_a_package_does_not_take_the_name_of_a_public_function():
    face = importlib.import_module("formulate")
    package = importlib.import_module("formulate.ingredients")
    assert face.ingredients is package.ingredients


def test_few_modules_import_scipy():
    users = []
    for path in MODULES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        nodes = [node for node in ast.walk(tree) if isinstance(node, ast.Import | ast.ImportFrom)]
        if any(name.split(".")[0] == "scipy" for node in nodes for name in absolute(node, path)):
            users.append(path.stem)
    assert sorted(users) == ["conduction", "highs", "pack"]


def test_the_table_builder_knows_the_same_components():
    path = ROOT / "reference-data" / "build" / "build_table.py"
    builder = runpy.run_path(str(path))
    assert tuple(builder["COMPONENTS"]) == COMPONENT_KEYS
