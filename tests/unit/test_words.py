"""Sentences are made in the report alone: the engine says what it has to say as data."""

import ast
import pickle
import re
import string
import sys
import types
from functools import cache
from pathlib import Path

import pytest

from formulate.messages import Message, message
from formulate.report.english import SENTENCES
from formulate.report.wording import basis, remedy, sentence, sentences

PACKAGE = Path(__file__).parents[2] / "formulate"

#: What may make sentences; all else is the engine.
WORDS = {"report", "printing", "cli", "face", "__main__.py", "__init__.py"}
MODULES = [
    path
    for path in sorted(PACKAGE.rglob("*.py"))
    if path.relative_to(PACKAGE).parts[0] not in WORDS
]

#: What damage and disks do to a notebook is told as errors are, with what the database said of it.
ERRORS = {"notebook/backups.py", "notebook/contents.py", "notebook/opening.py", "notebook/seals.py"}

#: Names, sources, patterns and lines of files that are no sentences though they have four words.
NAMES = {
    "answers/export.py": {
        " {}: {} = {}",
        " {}_least: {} >= {}",
        " {}_most: {} <= {}",
        " {} <= {} <= {}",
    },
    "ingredients/components.py": {"Potassium of plant origin"},
    "ingredients/frames.py": {"g per 100 g"},
    "labels/pack_models.py": {" (puree|pulp|flesh)$|^organic | from concentrate$"},
    "mix/verification.py": {"least use of {}"},
    "mix/names.py": {"Water, for ice to form", "Water frozen at {} °C", "{} left after straining"},
    "notebook/recipes.py": {"Middle of the serving window", "Water frozen at {} °C"},
    "planning/shelves.py": {"stock of the recipe"},
    "recipes/rules.py": {"ratio {} : {}"},
    "safety/cooling_rules.py": {
        "SI 1995/1372, Schedule 6 Part V (legislation.gov.uk)",
        "Delaware and Wisconsin food codes, 3-501.14 (casetext.com)",
        "arrêté of 21 December 2009, read in part (legifrance.gouv.fr)",
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


@cache
def error_classes():
    """Names of everything that is raised on purpose."""
    found = {"InputError", "ValueError", "TypeError", "KeyError"}
    for tree in trees().values():
        for node in ast.walk(tree):
            bases = {getattr(base, "id", "") for base in getattr(node, "bases", ())}
            if isinstance(node, ast.ClassDef) and bases & {*found, "Exception", "FormulateError"}:
                found.add(node.name)
    return found


def is_error(node):
    """Whether a node raises an error or makes one."""
    if isinstance(node, ast.Raise):
        return True
    return isinstance(node, ast.Call) and called(node) in error_classes()


def handed_on(node, makers):
    """What a call hands to an error: all of it, or what a function hands on under these names."""
    if is_error(node):
        return [node]
    if not isinstance(node, ast.Call) or called(node) not in makers:
        return []
    names, flowing = makers[called(node)]
    found = [arg for name, arg in zip(names, node.args, strict=False) if name in flowing]
    return [*found, *(word.value for word in node.keywords if word.arg in flowing)]


def names_in(nodes):
    return {
        each.id if isinstance(each, ast.Name) else each.attr
        for node in nodes
        for each in ast.walk(node)
        if isinstance(each, ast.Name | ast.Attribute) and isinstance(each.ctx, ast.Load)
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
    wanted = set()
    for function in functions(tree):
        names, parts = flows(function, makers)
        wanted |= names
        exempt |= {id(each) for part in parts for each in ast.walk(part)}
    for node in tree.body:  # a constant of the module that is kept for its errors
        if isinstance(node, ast.Assign) and names_bound(node.targets[0]) & wanted:
            exempt |= {id(each) for each in ast.walk(node.value)}
    for function in functions(tree):  # and a property
        decorators = {getattr(each, "id", "") for each in function.decorator_list}
        if function.name in wanted and "property" in decorators:
            exempt |= {id(each) for each in ast.walk(function)}
    for node in ast.walk(tree):
        text = text_of(node)
        if text is not None and id(node) not in exempt and is_sentence(text):
            yield node.lineno, text


def as_written(path):
    return path.relative_to(PACKAGE).as_posix()


@pytest.mark.parametrize(
    "path", [path for path in MODULES if as_written(path) not in ERRORS], ids=as_written
)
def test_the_engine_builds_no_sentence_outside_an_error(path):
    known = NAMES.get(as_written(path), set())
    built = sentences_of(trees()[path], error_makers())
    assert [f"{line}: {text}" for line, text in built if text not in known] == []


@pytest.mark.parametrize(
    ("code", "built"),
    [
        ('x = "What stands here is a sentence."', 1),
        ('x = f"{name} is a sentence."', 1),
        ('x = "four words make one"', 1),
        ('x = "a name"', 0),
        ('"""A docstring is none of them."""', 0),
        ('WORDS = "one two three four".split()', 0),
        ('db.execute("SELECT name FROM recipe ORDER BY id")', 0),
        ('raise ValueError("What an error says is left out.")', 0),
        (
            'def f(x):\n    problem = f"is {x}, and must be less"\n    raise InputError("x", problem)',
            0,
        ),
        ('def f(x):\n    problem = "is never put into an error"\n    raise InputError("x", x)', 1),
        ('REMEDY = "Give it once more, please."\ndef f():\n    raise InputError(REMEDY)', 0),
    ],
)
def test_a_sentence_is_found_wherever_it_is_built(code, built):
    assert len(list(sentences_of(ast.parse(code), error_makers()))) == built


def codes_of(tree):
    """Every call that makes a message of a written code: the code, and its fields if all are named."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and called(node) in ("message", "Message") and node.args:
            code = node.args[0]
            named = [word.arg for word in node.keywords]
            if isinstance(code, ast.Constant):
                yield code.value, None if None in named or called(node) == "Message" else set(named)


CODES = {
    (code, None if fields is None else frozenset(fields))
    for path in PACKAGE.rglob("*.py")
    for code, fields in codes_of(ast.parse(path.read_text(encoding="utf-8")))
}


def test_every_code_of_the_engine_has_its_words():
    assert len(CODES) > 80
    assert {code for code, _ in CODES} <= set(SENTENCES)


def test_what_stands_beside_a_sentence_belongs_to_one():
    for code in SENTENCES:
        assert Message(code).code == code
        for beside in ("_basis", "_remedy"):
            assert not code.endswith(beside) or code.removesuffix(beside) in SENTENCES


@pytest.mark.parametrize(
    "code", sorted(code for code, t in SENTENCES.items() if isinstance(t, str))
)
def test_a_template_names_only_fields_that_its_message_has(code):
    names = {
        name.split("[")[0] for _, name, _, _ in string.Formatter().parse(SENTENCES[code]) if name
    }
    base = code.removesuffix("_basis").removesuffix("_remedy")
    for _, fields in ((each, f) for each, f in CODES if each == base and f is not None):
        assert names <= fields, code


def test_a_message_is_data_that_cannot_change():
    said = message("above_usual", key="salt", value=3.0, limit=0.5, names=("a", "b"))
    assert said == Message("above_usual", dict(said.fields)) and hash(said) == hash(
        Message("above_usual", dict(said.fields))
    )
    assert said != message("above_usual", key="salt", value=3.1, limit=0.5, names=("a", "b"))
    assert pickle.loads(pickle.dumps(said)) == said
    with pytest.raises(TypeError):
        said.fields["value"] = 4.0
    with pytest.raises(AttributeError):
        said.code = "another"
    with pytest.raises(ValueError, match="no code"):
        message("No code")


def test_a_message_within_a_message_is_put_into_words_first():
    way = message("allow_grams", name="sugar", limit=20.0, least=False)
    other = message("let_target", name="Fat", limit=3.0, unit="%", rises=False)
    assert (
        sentence(message("together", ways=(way, other)))
        == "Allow 20 g sugar and let fat fall to 3 %."
    )
    assert sentences([way]) == ("Allow 20 g sugar.",)


def test_what_a_sentence_rests_on_and_what_helps_stand_beside_it():
    reading = message("doubt_of_sugar", name="Pears")
    assert (sentence(reading), remedy(reading)) == ("the sugar of Pears", "take a reading")
    assert basis(message("caution_refreezing")).startswith("SI 1995/1372, Schedule 6 Part V")
    assert basis(reading) == "" and remedy(message("caution_cooling")) == ""


def test_another_language_says_what_it_can_and_the_rest_in_english(monkeypatch):
    import formulate.report.wording as wording

    german = types.ModuleType("german")
    german.SENTENCES = {"at_overrun": "Bei {overrun_percent:g} % Aufschlag."}
    monkeypatch.setitem(sys.modules, "german", german)
    monkeypatch.setattr(wording, "_LANGUAGES", {**wording._LANGUAGES, "de": "german"})
    air = message("at_overrun", overrun_percent=30.0)
    assert sentence(air) == "At 30 % overrun."
    assert sentence(air, "de") == "Bei 30 % Aufschlag."
    assert sentence(message("titrate"), "de") == sentence(message("titrate"))
