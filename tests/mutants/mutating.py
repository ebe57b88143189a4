"""Ways to break a module on purpose: one operator or constant changed at a time."""

from __future__ import annotations

import ast
import copy
from collections.abc import Callable, Iterator
from dataclasses import dataclass

_SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.And: ast.Or, ast.Or: ast.And,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
    ast.Mod: ast.FloorDiv,
}  # fmt: skip
_SIGNS: dict[type[ast.AST], str] = {
    ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!=", ast.Is: "is",
    ast.IsNot: "is not", ast.In: "in", ast.NotIn: "not in", ast.And: "and", ast.Or: "or", ast.Add: "+", ast.Sub: "-",
    ast.Mult: "*", ast.Div: "/", ast.FloorDiv: "//", ast.Mod: "%",
}  # fmt: skip


@dataclass(frozen=True)
class Place:
    """One thing that can be changed. It runs when any line from ``first`` to ``last`` does; ``loaded``: only when the
    module is loaded."""

    number: int
    line: int
    code: str
    what: str
    first: int
    last: int
    loaded: bool


def places_of(source: str) -> list[Place]:
    """All that can be changed; type hints, doc strings and what only a type checker reads are left alone."""
    tree = ast.parse(source)
    lines, homes = source.splitlines(), _homes(tree)
    return [
        Place(number, line, lines[line - 1].strip(), what, *homes[node])
        for number, (node, line, what, _) in enumerate(_changes(tree))
    ]


def mutant(source: str, place: Place) -> str:
    """The source with that one thing changed."""
    tree = ast.parse(source)
    for number, (_, _, _, change) in enumerate(_changes(tree)):
        if number == place.number:
            change()
            return ast.unparse(tree)
    raise LookupError(place)


def _homes(tree: ast.Module) -> dict[ast.AST, tuple[int, int, bool]]:
    """Of every node the lines of its statement, without what the statement holds, and whether it runs once."""
    found: dict[ast.AST, tuple[int, int, bool]] = {}

    def walk(node: ast.AST, home: tuple[int, int, bool], loaded: bool) -> None:
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            last = body[0].lineno - 1 if isinstance(body, list) and body else node.end_lineno or node.lineno
            home = (node.lineno, max(last, node.lineno), loaded)
        found[node] = home
        function = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for name, value in ast.iter_fields(node):
            for inner in value if isinstance(value, list) else [value]:
                if isinstance(inner, ast.AST):
                    walk(inner, home, loaded and not (function and name == "body"))

    walk(tree, (1, 1, True), True)
    return found


def _changes(tree: ast.Module) -> Iterator[tuple[ast.AST, int, str, Callable[[], None]]]:
    """Node, line, what is changed, and a call that changes it in ``tree``."""
    idle = _idle(tree)
    for node in ast.walk(tree):
        if id(node) in idle:
            continue
        match node:
            case ast.Compare(ops=operators):
                for k, operator in enumerate(operators):
                    if type(operator) in _SWAPS:
                        yield node, node.lineno, _said(operator), _Swap(operators, k, _SWAPS[type(operator)]())
            case ast.BoolOp(op=operator):
                yield node, node.lineno, _said(operator), _Set(node, "op", _SWAPS[type(operator)]())
            case ast.BinOp(op=operator) if type(operator) in _SWAPS and not _of_text(node):
                yield node, node.lineno, _said(operator), _Set(node, "op", _SWAPS[type(operator)]())
            case ast.AugAssign(op=operator) if type(operator) in _SWAPS:
                yield node, node.lineno, f"{_said(operator)} in place", _Set(node, "op", _SWAPS[type(operator)]())
            case ast.UnaryOp(op=ast.Not()):
                yield node, node.lineno, "not dropped", _Not(node)
            case ast.Constant(value=bool() as value):
                yield node, node.lineno, f"{value} -> {not value}", _Set(node, "value", not value)
            case ast.Constant(value=int() | float() as value):
                other = value + 1 if isinstance(value, int) else value * 2.0 if value else 1.0
                yield node, node.lineno, f"{value} -> {other}", _Set(node, "value", other)
            case ast.Break():
                yield node, node.lineno, "break -> pass", _Pass(tree, node)
            case ast.Continue():
                yield node, node.lineno, "continue -> pass", _Pass(tree, node)


def _said(operator: ast.AST) -> str:
    return f"{_SIGNS[type(operator)]} -> {_SIGNS[_SWAPS[type(operator)]]}"


def _of_text(node: ast.BinOp) -> bool:
    """Text put together: a minus there is a mistake that no test need find."""
    return any(isinstance(n, ast.JoinedStr) or (isinstance(n, ast.Constant) and isinstance(n.value, str | bytes))
               for n in (node.left, node.right))  # fmt: skip


def _idle(tree: ast.Module) -> set[int]:
    """Nodes that do nothing when the module runs."""
    found: set[int] = set()

    def leave(node: ast.AST | None) -> None:
        if node is not None:
            found.update(id(inner) for inner in ast.walk(node))

    for node in ast.walk(tree):
        match node:
            case ast.AnnAssign(annotation=hint) | ast.arg(annotation=hint):
                leave(hint)
            case ast.FunctionDef(returns=hint, decorator_list=decorators):
                leave(hint)
                for one in decorators:
                    leave(one)
            case ast.ClassDef(decorator_list=decorators):
                for one in decorators:
                    leave(one)
            case ast.Expr(value=ast.Constant()):
                leave(node)
            case ast.If(test=ast.Name(id="TYPE_CHECKING")):
                leave(node)
            case ast.Assert():
                leave(node)
            case ast.Call(func=ast.Name(id="zip"), keywords=[ast.keyword(arg="strict")]):
                leave(node.keywords[0])  # a guard, like an assertion
            case ast.Subscript(value=ast.Name(id="tuple" | "dict" | "list" | "Annotated" | "Literal" | "NDArray")):
                leave(node)
    return found


@dataclass
class _Set:
    node: ast.AST
    name: str
    value: object

    def __call__(self) -> None:
        setattr(self.node, self.name, self.value)


@dataclass
class _Swap:
    operators: list[ast.cmpop]
    at: int
    other: ast.AST

    def __call__(self) -> None:
        self.operators[self.at] = self.other  # type: ignore[call-overload]


@dataclass
class _Not:
    node: ast.UnaryOp

    def __call__(self) -> None:
        # Twice not: the value as the condition sees it.
        self.node.operand = ast.UnaryOp(ast.Not(), copy.copy(self.node.operand))
        ast.fix_missing_locations(self.node)


@dataclass
class _Pass:
    tree: ast.Module
    node: ast.AST

    def __call__(self) -> None:
        for parent in ast.walk(self.tree):
            for _, value in ast.iter_fields(parent):
                if isinstance(value, list) and self.node in value:
                    value[value.index(self.node)] = ast.copy_location(ast.Pass(), self.node)
                    return
