"""One change at a time to a figure or an operator of a file of the program.

Changed are figures, `<` and `<=`, `>` and `>=`, `==` and `!=`, `+` and `-`, `+ 1` left out, `min` and `max`, `and` and
`or`, `not`, `any` and `all`. Left alone is what is no decision: sentences, annotations, refusals, the figures 0 and 1,
indices and places to round to.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

OPERATORS: dict[type[ast.AST], tuple[str, str]] = {
    ast.Lt: ("<", "<="),
    ast.LtE: ("<=", "<"),
    ast.Gt: (">", ">="),
    ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="),
    ast.NotEq: ("!=", "=="),
    ast.Add: ("+", "-"),
    ast.Sub: ("-", "+"),
    ast.And: ("and", "or"),
    ast.Or: ("or", "and"),
}
CALLED = {"min": "max", "max": "min", "any": "all", "all": "any"}
GIVE_TEXT_OR_ROWS = {"join", "say", "say_count", "str", "ljust", "rjust", "list", "tuple", "sorted"}


class Mutant(NamedTuple):
    """One change. first, last: where the old text is in a file [bytes]; scope: its function or class, or none."""

    path: Path
    line: int
    column: int
    first: int
    last: int
    old: str
    new: str
    scope: str
    is_figure: bool

    def __str__(self) -> str:
        old, new = (" ".join(text.split()) for text in (self.old, self.new))
        place = f"{self.path}:{self.line}:{self.column}"
        return f"{place} {self.scope or 'by itself'}: {old} -> {new or 'left out'}"

    @property
    def in_function(self) -> bool:
        """Whether it is met when a function runs, not when its module is imported."""
        return bool(self.scope) and not self.scope.startswith("class ")

    def written_into(self, source: bytes) -> bytes:
        """The file with this changed."""
        return source[: self.first] + self.new.encode() + source[self.last :]


def mutants(root: Path, path: Path) -> list[Mutant]:
    """Every change that can be made to one file. path: from the root."""
    return _File(path, (root / path).read_bytes()).found


class _File:
    def __init__(self, path: Path, source: bytes) -> None:
        self.path, self.source = path, source
        self.starts = [0]
        for line in source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))
        self.found: list[Mutant] = []
        self._look_at(ast.parse(source), "", "")

    def _look_at(self, node: ast.AST, scope: str, prefix: str) -> None:
        """Notes the changes of one node, then of the parts of it that decide something."""
        for first, last, new in self._changes(node):
            old, line = self.source[first:last].decode(), self.source.count(b"\n", 0, first) + 1
            column = first - self.starts[line - 1] + 1
            is_figure = isinstance(node, ast.Constant)
            self.found.append(Mutant(self.path, line, column, first, last, old, new, scope, is_figure))
        inner, within = scope, prefix
        if isinstance(node, ast.FunctionDef):
            inner, within = prefix + node.name, f"{prefix}{node.name}.<locals>."
        elif isinstance(node, ast.ClassDef):
            inner, within = f"class {node.name}", f"{prefix}{node.name}."
        for part in _deciding(node):
            # What an argument is when it is left out is worked out where the function stands, not within it.
            outside = isinstance(part, ast.arguments)
            self._look_at(part, scope if outside else inner, prefix if outside else within)

    def _start(self, node: ast.expr) -> int:
        return self.starts[node.lineno - 1] + node.col_offset

    def _end(self, node: ast.expr) -> int:
        return self.starts[(node.end_lineno or 1) - 1] + (node.end_col_offset or 0)

    def _changes(self, node: ast.AST) -> Iterator[tuple[int, int, str]]:
        """From where to where [bytes] something can be changed, and to what."""
        match node:
            case ast.Compare():
                sides = [node.left, *node.comparators]
                for operator, left, right in zip(node.ops, sides, sides[1:], strict=False):
                    if type(operator) in OPERATORS:
                        yield self._between(left, right, operator)
            case ast.BinOp(op=ast.Add() | ast.Sub()) if not _joins(node):
                yield self._between(node.left, node.right, node.op)
                if isinstance(node.right, ast.Constant):
                    yield self._end(node.left), self._end(node), ""
            case ast.BoolOp():
                yield self._all_between(node)
            case ast.UnaryOp(op=ast.Not()):
                yield self._start(node), self._start(node) + len("not "), ""
            case ast.Call(func=ast.Name(id=name)) if name in CALLED:
                yield self._start(node), self._start(node) + len(name), CALLED[name]
            case ast.Constant() if (new := _changed(node.value)) is not None:
                yield self._start(node), self._end(node), new

    def _between(self, left: ast.expr, right: ast.expr, operator: ast.AST) -> tuple[int, int, str]:
        old, new = OPERATORS[type(operator)]
        first = self.source.index(old.encode(), self._end(left), self._start(right))
        return first, first + len(old), new

    def _all_between(self, node: ast.BoolOp) -> tuple[int, int, str]:
        """Several `and` or `or` of one row changed together, as Python reads them together."""
        changes = [self._between(*pair, node.op) for pair in zip(node.values, node.values[1:], strict=False)]
        first, last, text = *changes[0][:2], changes[0][2]
        for begin, end, new in changes[1:]:
            text += self.source[last:begin].decode() + new
            last = end
        return first, last, text


def _deciding(node: ast.AST) -> Iterator[ast.AST]:
    """The parts of a node that decide something."""
    if isinstance(node, ast.Raise | ast.Assert | ast.JoinedStr):
        return
    for name, value in ast.iter_fields(node):
        if name not in ("annotation", "returns", "decorator_list", "bases"):
            for part in value if isinstance(value, list) else [value]:
                if isinstance(part, ast.AST) and not _is_structure(node, part):
                    yield part


def _is_structure(node: ast.AST, part: ast.AST) -> bool:
    """Whether a part is an index, a place to round to, or a text that is no number within Decimal("...")."""
    called = node.func.id if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) else ""
    match part:
        case ast.Constant(value=str()):
            return called != "Decimal"
        case ast.Constant() | ast.UnaryOp(operand=ast.Constant()):
            is_place = called == "round" and isinstance(node, ast.Call) and part in node.args[1:]
            return is_place or isinstance(node, ast.Subscript | ast.Slice)
    return False


def _joins(node: ast.expr) -> bool:
    """Whether a `+` joins texts or rows instead of adding."""
    match node:
        case ast.BinOp(op=ast.Add() | ast.Sub()):
            return _joins(node.left) or _joins(node.right)
        case ast.IfExp():
            return _joins(node.body) or _joins(node.orelse)
        case ast.Call(func=ast.Attribute(attr=name) | ast.Name(id=name)):
            return name in GIVE_TEXT_OR_ROWS
        case ast.Constant():
            return isinstance(node.value, str | bytes)
    return isinstance(node, ast.JoinedStr | ast.List | ast.ListComp | ast.Tuple)


def _changed(value: object) -> str | None:
    """A figure as it is written when changed: small whole numbers by 1, others by a tenth; None for no figure."""
    if isinstance(value, bool) or value in (0, 1):
        return None
    if isinstance(value, int):
        return str(value + 1 if abs(value) < 20 else round(value * 1.1))
    if isinstance(value, float):
        return repr(value * 1.1)
    if isinstance(value, str) and re.fullmatch(r"-?[\d.]+(E-?\d+)?", value):
        return None if Decimal(value) in (0, 1) else f'"{Decimal(value) * Decimal("1.1")}"'
    return None
