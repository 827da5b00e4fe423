"""Small changes to a module, one at a time, each of which a test should notice.

Changed are comparisons, arithmetic, signs, numbers, least and most, any and all, and and or, and lines
that are left out.  Not changed are docstrings, annotations, decorators, ``strict=`` and the texts of
errors: no result depends on them.
"""

from __future__ import annotations

import ast
import itertools
from collections.abc import Iterator
from dataclasses import dataclass

COMPARISONS = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
ARITHMETIC = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
NAMES = {
    "min": "max",
    "minimum": "maximum",
    "argmin": "argmax",
    "all": "any",
    "lower": "upper",
    "isfinite": "isnan",
}
NAMES |= {other: name for name, other in NAMES.items() if name != "isfinite"}
SILENT = ("strict", "repr", "compare", "maxsize", "writeable")


@dataclass(frozen=True)
class Mutant:
    """One changed module: what changed where, and the tree to run."""

    line: int
    what: str
    tree: ast.Module

    def __str__(self) -> str:
        return f"{self.line}: {self.what}"


def mutants(source: str) -> list[Mutant]:
    """Return every mutant of a module, in the order of its lines."""
    count = sum(1 for _ in _places(ast.parse(source)))
    found = []
    for at in range(count):
        number = 0
        while True:
            tree = ast.parse(source)
            node, change = next(itertools.islice(_places(tree), at, None))
            told = change(number)
            if told is None:
                break
            found.append(Mutant(node.lineno, told, tree))
            number += 1
    return sorted(found, key=lambda mutant: mutant.line)


def _places(tree: ast.Module):
    """Nodes that can be changed, each with a function that makes its n-th change or tells of no more."""
    for node in _seen(tree):
        if isinstance(node, ast.Compare):
            for at in range(len(node.ops)):
                yield node, _comparison(node, at)
        elif isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in ARITHMETIC:
            yield node, _arithmetic(node)
        elif isinstance(node, ast.BoolOp):
            yield node, _either(node)
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
            yield node, _number(node)
        elif isinstance(node, ast.Attribute | ast.Name) and isinstance(node.ctx, ast.Load):
            name = node.attr if isinstance(node, ast.Attribute) else node.id
            if name in NAMES:
                yield node, _name(node, name)
        if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub | ast.Not):
            yield node, _sign(node)
        if isinstance(node, ast.IfExp | ast.If | ast.While):
            yield node, _condition(node)
        for field in ("body", "orelse"):
            lines = getattr(node, field, None)
            for at, line in enumerate(lines if isinstance(lines, list) else ()):
                if _may_go(line):
                    yield line, _left_out(lines, at)


def _seen(node: ast.AST) -> Iterator[ast.AST]:
    """The nodes of a tree, without what no result depends on."""
    yield node
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            silent = (
                not isinstance(child, ast.AST)
                or isinstance(child, ast.JoinedStr)
                or (isinstance(child, ast.keyword) and child.arg in SILENT)
                or (isinstance(child, ast.Assign) and _sets_silent(child))
            )
            if not silent:
                yield from _seen(child)


def _sets_silent(line: ast.Assign) -> bool:
    return isinstance(line.targets[0], ast.Attribute) and line.targets[0].attr in SILENT


def _may_go(line: ast.stmt) -> bool:
    if isinstance(line, ast.Expr):
        return not isinstance(line.value, ast.Constant)
    return isinstance(line, ast.AugAssign | ast.Raise | ast.Continue | ast.Break)


def _once(change):
    """A change that is made once: the first time it is asked for."""
    return lambda number: change() if number == 0 else None


def _comparison(node: ast.Compare, at: int):
    old = node.ops[at]

    def change(number):
        others = COMPARISONS[type(old)]
        if number >= len(others):
            return None
        node.ops[at] = others[number]()
        return f"{type(old).__name__} becomes {others[number].__name__}"

    return change


def _arithmetic(node: ast.BinOp | ast.AugAssign):
    def change():
        old, new = type(node.op), ARITHMETIC[type(node.op)]
        node.op = new()
        return f"{old.__name__} becomes {new.__name__}"

    return _once(change)


def _either(node: ast.BoolOp):
    def change():
        old = node.op
        node.op = ast.Or() if isinstance(old, ast.And) else ast.And()
        return f"{type(old).__name__} becomes {type(node.op).__name__}"

    return _once(change)


def _number(node: ast.Constant):
    def change():
        old = node.value
        if isinstance(old, bool):
            node.value = not old
        else:
            node.value = old + 1 if isinstance(old, int) or old == 0.0 else 1.5 * old
        return f"{old!r} becomes {node.value!r}"

    return _once(change)


def _name(node: ast.Attribute | ast.Name, name: str):
    def change():
        if isinstance(node, ast.Attribute):
            node.attr = NAMES[name]
        else:
            node.id = NAMES[name]
        return f"{name} becomes {NAMES[name]}"

    return _once(change)


def _sign(node: ast.UnaryOp):
    def change():
        old = "not" if isinstance(node.op, ast.Not) else "minus"
        if old == "not":
            node.operand = ast.UnaryOp(ast.Not(), node.operand)
        else:
            node.op = ast.UAdd()
        return f"{old} is gone"

    return _once(change)


def _condition(node: ast.IfExp | ast.If | ast.While):
    def change(number):
        if number > 1 or (number == 1 and isinstance(node, ast.While)):
            return None
        node.test = ast.copy_location(ast.Constant(number == 1), node.test)
        return f"the condition is always {number == 1}"

    return change


def _left_out(lines: list[ast.stmt], at: int):
    def change():
        lines[at] = ast.copy_location(ast.Pass(), lines[at])
        return "the line is left out"

    return _once(change)
