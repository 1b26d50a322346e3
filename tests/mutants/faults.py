"""The one-line faults that a module can be given, as changes of its syntax tree."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
COMPUTED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}
EXTREMES = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "any": "all",
    "all": "any",
}


@dataclass(frozen=True)
class Fault:
    """A place and what is done there; `number` counts the places of a module."""

    module: str
    number: int
    line: int
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.module}:{self.line}: {self.before}  ->  {self.after}"


def _spoil(node: ast.AST) -> ast.AST | None:
    """The node with a fault in it; None where it takes none."""
    bad = copy.deepcopy(node)
    match bad:
        case ast.Compare(ops=[op]) if type(op) in COMPARED:
            bad.ops = [COMPARED[type(op)]()]
        case ast.BinOp(op=op) if type(op) in COMPUTED and not _text(bad):
            bad.op = COMPUTED[type(op)]()
        case ast.BoolOp(op=op):
            bad.op = ast.And() if isinstance(op, ast.Or) else ast.Or()
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            return bad.operand
        case ast.Constant(value=bool(value)):
            bad.value = not value
        case ast.Constant(value=int(value) | float(value)):
            bad.value = value + 1
        case ast.Call(func=ast.Name(id=name)) if name in EXTREMES:
            bad.func = ast.Name(EXTREMES[name], ast.Load())
        case ast.Call(func=ast.Attribute(attr=name)) if name in EXTREMES:
            bad.func = ast.Attribute(bad.func.value, EXTREMES[name], ast.Load())
        case _:
            return None
    return bad


def _text(node: ast.BinOp) -> bool:
    """Whether words are put together."""
    sides = (node.left, node.right)
    return any(isinstance(s, ast.JoinedStr) or isinstance(getattr(s, "value", None), str) for s in sides)


def _places(tree: ast.AST) -> Iterator[tuple[ast.AST, str, int | None]]:
    """Parent, field and index of all nodes that compute: no annotations, words, imports, `strict=True`."""
    for name, value in ast.iter_fields(tree):
        if name in ("annotation", "returns", "decorator_list", "bases") or isinstance(tree, ast.JoinedStr):
            continue
        for index, node in enumerate(value if isinstance(value, list) else [value]):
            if isinstance(node, ast.If) and getattr(node.test, "id", "") == "TYPE_CHECKING":
                continue
            if isinstance(node, ast.keyword) and node.arg == "strict":  # asserts, as `assert` does
                continue
            if isinstance(node, ast.AST) and not isinstance(node, ast.Assert):
                yield tree, name, index if isinstance(value, list) else None
                yield from _places(node)


def _node(parent: ast.AST, name: str, index: int | None) -> ast.AST:
    value = getattr(parent, name)
    found: ast.AST = value if index is None else value[index]
    return found


def faults(module: str, source: str) -> list[Fault]:
    """Every fault that the module's source can be given."""
    found = []
    for number, place in enumerate(_places(ast.parse(source))):
        node = _node(*place)
        bad = _spoil(node)
        if bad is not None:
            line = getattr(node, "lineno", 0)
            found.append(Fault(module, number, line, ast.unparse(node), ast.unparse(bad)))
    return found


def spoiled(source: str, fault: Fault) -> str:
    """The source with the fault; its comments are lost."""
    tree = ast.parse(source)
    parent, name, index = list(_places(tree))[fault.number]
    bad = _spoil(_node(parent, name, index))
    if index is None:
        setattr(parent, name, bad)
    else:
        getattr(parent, name)[index] = bad
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n"
