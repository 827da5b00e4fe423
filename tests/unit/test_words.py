"""Sentences are made in the report alone: the engine says what it has to say as data."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "formulate"

#: What may make sentences; all else is the engine.
WORDS = {"report", "printing", "cli", "face", "__main__.py", "__init__.py"}
MODULES = [
    path
    for path in sorted(PACKAGE.rglob("*.py"))
    if path.relative_to(PACKAGE).parts[0] not in WORDS
]

#: Names, sources and lines of files that are no sentences though they have four words.
NAMES = {
    "answers/export.py": {
        " {}: {} = {}",
        " {}_least: {} >= {}",
        " {}_most: {} <= {}",
        " {} <= {} <= {}",
    },
    "ingredients/components.py": {"Potassium of plant origin"},
    "ingredients/frames.py": {"g per 100 g"},
    "mix/names.py": {"Water, for ice to form", "Frozen water at {} °C", "{} left after straining"},
    "notebook/recipes.py": {"Middle of the serving window", "Frozen water at {} °C"},
    "safety/cooling_rules.py": {
        "SI 1995/1372, Schedule 6 Part V (legislation.gov.uk)",
        "Delaware and Wisconsin food codes, 3-501.14 (casetext.com)",
    },
}

_SQL = ("SELECT", "FROM", "WHERE", "ORDER", "CREATE", "ALTER", "PRAGMA", "JOIN", "INSERT", "UPDATE")
_COLUMNS = re.compile(r"[a-z_.]+(, [a-z_.]+)+")


def text_of(node):
    """The text of a string or f-string, {} for each field; ``None`` for anything else."""
    if isinstance(node, ast.Constant):
        return node.value if isinstance(node.value, str) else None
    if isinstance(node, ast.JoinedStr):
        return "".join(text_of(part) or "{}" for part in node.values)
    return None


def is_sentence(text):
    """Whether a text ends as a sentence does, or is of four words, and is none for a database."""
    if text.strip().startswith((*_SQL, "? IS NULL")) or _COLUMNS.fullmatch(text):
        return False
    return (" " in text.strip() and text.rstrip().endswith(".")) or len(text.split()) >= 4


def called(node):
    """The name by which something is called, without what stands before the last dot."""
    return node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


def is_error(node, makers):
    """Whether a node raises an error or makes one, itself or by a function that does."""
    if isinstance(node, ast.Raise):
        return True
    return isinstance(node, ast.Call) and called(node).endswith(("Error", "Fault"))


def handed_on(node, makers):
    """What a call hands to an error: all of it, or what a function hands on under these names."""
    if is_error(node, makers):
        return [node]
    if not isinstance(node, ast.Call) or called(node) not in makers:
        return []
    names, flowing = makers[called(node)]
    found = [arg for name, arg in zip(names, node.args, strict=False) if name in flowing]
    return [*found, *(word.value for word in node.keywords if word.arg in flowing)]


def names_in(nodes):
    return {
        each.id
        for node in nodes
        for each in ast.walk(node)
        if isinstance(each, ast.Name) and isinstance(each.ctx, ast.Load)
    }


def assigned(function):
    """Pairs of names and of what is put into them, in a function."""
    for node in ast.walk(function):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                yield names_bound(target), node.value
        elif isinstance(node, ast.AugAssign | ast.AnnAssign) and node.value is not None:
            yield names_bound(node.target), node.value
        elif isinstance(node, ast.For | ast.comprehension):
            yield names_bound(node.target), node.iter
        elif isinstance(node, ast.NamedExpr):
            yield names_bound(node.target), node.value


def names_bound(target):
    return {node.id for node in ast.walk(target) if isinstance(node, ast.Name)}


def flows(function, makers):
    """Names of a function that end in an error, and the nodes in which they are put together."""
    nodes = [part for node in ast.walk(function) for part in handed_on(node, makers)]
    names = set()
    while not (found := names_in(nodes)) <= names:
        names |= found
        nodes += [value for bound, value in assigned(function) if bound & names]
    return names, nodes


def functions(tree):
    return [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]


@cache
def trees():
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in MODULES}


@cache
def error_makers():
    """Functions that hand some of what they are given to an error: their parameters, and which."""
    makers = {}
    for _ in range(4):  # as deep as one calls another
        for tree in trees().values():
            for function in functions(tree):
                given = function.args
                names = [each.arg for each in (*given.posonlyargs, *given.args, *given.kwonlyargs)]
                flowing = flows(function, makers)[0] & set(names)
                names = [name for name in names if name not in ("self", "cls")]
                if flowing:
                    makers[function.name] = (names, flowing)
    return makers


def sentences_of(tree, makers):
    """Sentences that are built outside of docstrings and errors, with their lines."""
    exempt = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr):  # docstrings
            exempt |= {id(each) for each in ast.walk(node.value) if text_of(node.value) is not None}
        if isinstance(node, ast.Call) and called(node) == "split":  # lists of words
            exempt |= {id(each) for each in ast.walk(node.func)}
        if isinstance(node, ast.JoinedStr):
            exempt |= {id(part) for part in node.values}
        for part in handed_on(node, makers):
            exempt |= {id(each) for each in ast.walk(part)}
    for function in functions(tree):
        for part in flows(function, makers)[1]:
            exempt |= {id(each) for each in ast.walk(part)}
    for node in ast.walk(tree):
        text = text_of(node)
        if text is not None and id(node) not in exempt and is_sentence(text):
            yield node.lineno, text


def as_written(path):
    return path.relative_to(PACKAGE).as_posix()


@pytest.mark.parametrize("path", MODULES, ids=as_written)
def test_the_engine_builds_no_sentence_outside_an_error(path):
    known = NAMES.get(as_written(path), set())
    found = [
        f"{n}: {text}"
        for n, text in sentences_of(trees()[path], error_makers())
        if text not in known
    ]
    assert found == []
