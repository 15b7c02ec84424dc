"""Small faults to plant in a Python module, found on its syntax tree. Its like for the page: javascript_mutants.js."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from itertools import pairwise

from tests.mutation.mutant import ROOT, Mutant

Found = Iterator[tuple[str, int, int, str]]
"""Kind of fault, from and to (characters), and the text that stands there instead."""
SWAPPED = {
    "<": ("<=", ">="),
    "<=": ("<", ">"),
    ">": (">=", "<="),
    ">=": (">", "<"),
    "==": ("!=",),
    "!=": ("==",),
    "is": ("is not",),
    "is not": ("is",),
    "in": ("not in",),
    "not in": ("in",),
}
COMPARISON = re.compile(r"<=|>=|==|!=|<|>|\bis\s+not\b|\bnot\s+in\b|\bis\b|\bin\b")
CALLS = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "bisect_left": "bisect_right",
    "bisect_right": "bisect_left",
}
TYPING = ("annotation", "returns", "decorator_list", "type_params")


class Source:
    """A file's text and where the nodes of its tree stand in it."""

    def __init__(self, text: str) -> None:
        self.text = text
        lines = text.splitlines(keepends=True)
        self._starts = [sum(map(len, lines[:at])) for at in range(len(lines) + 1)]
        self._lines = lines

    def at(self, line: int, column_bytes: int) -> int:
        return self._starts[line - 1] + len(self._lines[line - 1].encode()[:column_bytes].decode())

    def span(self, node: ast.expr | ast.stmt) -> tuple[int, int]:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        return self.at(node.lineno, node.col_offset), self.at(node.end_lineno, node.end_col_offset)

    def of(self, node: ast.expr | ast.stmt) -> str:
        start, end = self.span(node)
        return f"({self.text[start:end]})"


def mutants_of(file: str) -> list[Mutant]:
    """All faults of a module; `file` is its path below the root."""
    text = (ROOT / file).read_text(encoding="utf-8")
    source = Source(text)
    found = [
        Mutant(file, start, end, new, kind)
        for node in _code(ast.parse(text))
        for kind, start, end, new in _of_node(node, source)
    ]
    return sorted(set(found), key=lambda each: (each.start, each.end, each.text))


def _code(node: ast.AST) -> Iterator[ast.AST]:
    """Nodes that do something: no types, docstrings, imports or `__all__`."""
    if isinstance(node, ast.Import | ast.ImportFrom) or _is_text(node) or _names_what_is_public(node):
        return
    yield node
    for name, value in ast.iter_fields(node):
        if name not in TYPING:
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    yield from _code(child)


def _is_text(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _names_what_is_public(node: ast.AST) -> bool:
    return isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and node.targets[0].id == "__all__"


def _of_node(node: ast.AST, source: Source) -> Found:
    maker = MAKERS.get(type(node).__name__)
    if maker is not None:
        yield from maker(node, source)


def _whole(kind: str, node: ast.expr | ast.stmt, source: Source, *texts: str) -> Found:
    for text in texts:
        yield kind, *source.span(node), text


def _comparison(node: ast.Compare, source: Source) -> Found:
    sides = [node.left, *node.comparators]
    for left, right in pairwise(sides):
        gap = source.span(left)[1]
        sign = COMPARISON.search(source.text, gap, source.span(right)[0])
        assert sign is not None
        for other in SWAPPED[re.sub(r"\s+", " ", sign.group())]:
            yield "comparison", sign.start(), sign.end(), other


def _and_or(node: ast.BoolOp, source: Source) -> Found:
    sign, other = (" and ", " or ") if isinstance(node.op, ast.And) else (" or ", " and ")
    parts = [source.of(each) for each in node.values]
    yield from _whole("and/or", node, source, f"({other.join(parts)})")
    for at in range(len(parts)):
        yield from _whole("operand", node, source, f"({sign.join(parts[:at] + parts[at + 1 :])})")


def _arithmetic(node: ast.BinOp, source: Source) -> Found:
    left, right = source.of(node.left), source.of(node.right)
    match node.op:
        case ast.Add():
            yield from _whole("sign", node, source, f"({left} - {right})")
            yield from _whole("term", node, source, left, right)
        case ast.Sub():
            yield from _whole("sign", node, source, f"({left} + {right})")
            yield from _whole("term", node, source, left, f"(-{right})")
        case ast.FloorDiv():
            yield from _whole("rounding", node, source, f"(-(-{left} // {right}))")
            yield from _whole("term", node, source, left)
        case _:
            yield from _whole("term", node, source, left, right)


def _unary(node: ast.UnaryOp, source: Source) -> Found:
    if isinstance(node.op, ast.Not | ast.USub):
        yield from _whole("not" if isinstance(node.op, ast.Not) else "sign", node, source, source.of(node.operand))


def _constant(node: ast.Constant, source: Source) -> Found:
    if isinstance(node.value, bool):
        yield from _whole("constant", node, source, str(not node.value))
    elif isinstance(node.value, int | float):
        yield from _whole("constant", node, source, str(node.value + 1), f"({node.value - 1})")


def _call(node: ast.Call, source: Source) -> Found:
    name = node.func.id if isinstance(node.func, ast.Name) else None
    if name in CALLS and isinstance(node.func, ast.Name):
        yield from _whole("min/max", node.func, source, CALLS[name])
    elif name == "sorted":
        yield from _whole("order", node, source, f"list({source.of(node.args[0])})")
    elif name == "ceil_div":
        left, right = map(source.of, node.args)
        yield from _whole("rounding", node, source, f"({left} // {right})")
    elif name == "ceil_sqrt":
        yield from _whole("rounding", node, source, f'__import__("math").isqrt({source.of(node.args[0])})')


def _either(node: ast.IfExp, source: Source) -> Found:
    yield from _whole("branch", node, source, source.of(node.body), source.of(node.orelse))


def _if(node: ast.If, source: Source) -> Found:
    yield from _whole("branch", node.test, source, "True", "False")


def _while(node: ast.While, source: Source) -> Found:
    yield from _whole("branch", node.test, source, "False")


def _for(node: ast.For, source: Source) -> Found:
    yield from _whole("loop", node.iter, source, "()")


def _filter(node: ast.comprehension, source: Source) -> Found:
    for each in node.ifs:
        yield from _whole("filter", each, source, "True")


def _statement(node: ast.stmt, source: Source) -> Found:
    """What is done and kept: a call, a change of something that is there, the next turn."""
    fresh = isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name | ast.Tuple)
    if not fresh:
        yield from _whole("statement", node, source, "pass")


def _elements(node: ast.Tuple | ast.List, source: Source) -> Found:
    """Parts that were put together: `*some` of a list."""
    for at, each in enumerate(node.elts):
        if isinstance(each, ast.Starred):
            rest = [source.text[slice(*source.span(other))] for other in node.elts[:at] + node.elts[at + 1 :]]
            yield from _whole("term", node, source, f"[{', '.join(rest)}]")


def _entries(node: ast.Dict, source: Source) -> Found:
    """Parts that were put together: `**some` of a mapping."""
    for key, value in zip(node.keys, node.values, strict=True):
        if key is None:
            yield from _whole("term", value, source, "{}")


def _keys(node: ast.Lambda | ast.Return, source: Source) -> Found:
    """Parts of a key to sort by, or of an address."""
    body = node.body if isinstance(node, ast.Lambda) else node.value
    if isinstance(body, ast.Tuple) and len(body.elts) > (1 if isinstance(node, ast.Lambda) else 2):
        parts = [source.text[slice(*source.span(each))] for each in body.elts]
        for at in range(len(parts)):
            yield from _whole(
                "term", body, source, "(" + "".join(f"{each}, " for each in parts[:at] + parts[at + 1 :]) + ")"
            )


MAKERS: dict[str, Callable[..., Found]] = {
    "Compare": _comparison,
    "BoolOp": _and_or,
    "BinOp": _arithmetic,
    "UnaryOp": _unary,
    "Constant": _constant,
    "Call": _call,
    "IfExp": _either,
    "If": _if,
    "While": _while,
    "For": _for,
    "comprehension": _filter,
    "Expr": _statement,
    "AugAssign": _statement,
    "Assign": _statement,
    "Continue": _statement,
    "Break": _statement,
    "List": _elements,
    "Dict": _entries,
    "Lambda": _keys,
    "Return": _keys,
}
