"""One module of the page as the linker sees it: what it imports and exports, and its text without comments and indentation."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import tree_sitter_javascript
from tree_sitter import Language, Node, Parser, Query, QueryCursor

LANGUAGE = Language(tree_sitter_javascript.language())
SEEN = Query(
    LANGUAGE,
    """
    [(comment) (html_comment)] @comment
    [(string) (template_string) (regex)] @literal
    (import_statement) @import
    (export_statement) @export
    (call_expression function: (import)) @dynamic
    (meta_property) @meta
    (await_expression) @await
    (program [(lexical_declaration kind: "let") (variable_declaration)] @changing)
    """,
)
FUNCTIONS = frozenset(
    {"function_declaration", "function_expression", "arrow_function", "method_definition", "generator_function"}
    | {"generator_function_declaration"}
)
BREAK = re.compile(rb"[ \t\r]*\n\s*")
DEFAULT = "$default"


class NotPackable(Exception):
    """A module has something that the linker does not do; it says where, and what."""

    def __init__(self, module: str, line: int, what: str) -> None:
        super().__init__(f"{module}:{line}: the page cannot be packed with {what}")
        self.module, self.line, self.what = module, line, what


@dataclass(frozen=True)
class Import:
    """One import: from which module, and the names it brings as (name there, name here); '*' is all of it."""

    module: str
    names: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Module:
    """A module, read. `body` has neither imports nor the word 'export'; `exports` are (name outside, expression inside)."""

    name: str
    imports: tuple[Import, ...]
    dynamic: tuple[str, ...]
    exports: tuple[tuple[str, str], ...]
    body: bytes


@dataclass(frozen=True)
class Edit:
    """Bytes from `start` to `end` that become `text`."""

    start: int
    end: int
    text: bytes


def parse(text: bytes) -> Node:
    """The syntax tree of a module."""
    return Parser(LANGUAGE).parse(text).root_node


class Reader:
    """Reads one module. `bare` has the modules that are imported by a bare name."""

    def __init__(self, name: str, text: bytes, bare: Mapping[str, str]) -> None:
        self.name, self.text, self.bare = name, text, bare
        self.imports: list[Import] = []
        self.exports: list[tuple[str, str]] = []
        self.dynamic: list[str] = []
        self.edits: list[Edit] = []

    def read(self) -> Module:
        """The module, or NotPackable."""
        root = parse(self.text)
        if root.has_error:
            raise NotPackable(self.name, 1, "a mistake in its syntax")
        # The library gives them in no order that stays.
        found = QueryCursor(SEEN).captures(root)
        seen = {name: sorted(nodes, key=lambda node: node.start_byte) for name, nodes in found.items()}
        self._refuse(seen)
        for node in seen.get("import", []):
            self._import(node)
        for node in seen.get("export", []):
            self._export(node)
        for node in seen.get("dynamic", []):
            self._dynamic(node)
        body = cut(self.text, seen.get("comment", []), seen.get("literal", []), self.edits)
        return Module(self.name, tuple(self.imports), tuple(self.dynamic), tuple(self.exports), body)

    def _refuse(self, seen: Mapping[str, list[Node]]) -> None:
        for node in seen.get("meta", []):
            raise self._not(node, "import.meta: an address in it would move")
        for node in seen.get("await", []):
            if not any(each.type in FUNCTIONS for each in ancestors(node)):
                raise self._not(node, "an await outside a function")
        # What others wrote is minified and pinned; nothing that it exports is assigned after its first run.
        own = not self.name.startswith("vendor/")
        self.changing = {name for node in seen.get("changing", []) for name in declared(node)} if own else set()

    def _not(self, node: Node, what: str) -> NotPackable:
        return NotPackable(self.name, node.start_point[0] + 1, what)

    def _target(self, source: Node) -> str:
        named = text_of(source)[1:-1]
        if named.startswith("."):
            return posixpath.normpath(posixpath.join(posixpath.dirname(self.name), named))
        if named not in self.bare:
            raise self._not(source, f"an import of {named!r}")
        return self.bare[named]

    def _import(self, node: Node) -> None:
        source = field(node, "source")
        names = [pair for clause in node.children if clause.type == "import_clause" for pair in imported(clause)]
        self.imports.append(Import(self._target(source), tuple(names)))
        self.edits.append(Edit(node.start_byte, node.end_byte, b""))

    def _export(self, node: Node) -> None:
        kinds = {child.type for child in node.children}
        source, declaration = node.child_by_field_name("source"), node.child_by_field_name("declaration")
        if "*" in kinds or "namespace_export" in kinds:
            raise self._not(node, "an export of everything")
        if "export_clause" in kinds:
            self._clause(node, source)
        elif declaration is not None:
            self._declaration(node, declaration, "default" in kinds)
        else:
            value = field(node, "value")
            self.exports.append(("default", DEFAULT))
            self.edits.append(Edit(node.start_byte, value.start_byte, f"const {DEFAULT} = ".encode()))

    def _clause(self, node: Node, source: Node | None) -> None:
        (clause,) = (child for child in node.children if child.type == "export_clause")
        pairs = list(specified(clause))
        if source is None:
            for inside, _ in pairs:
                self._settled(node, inside)
            self.exports += [(outside, inside) for inside, outside in pairs]
        else:
            module = self._target(source)
            self.imports.append(Import(module, ()))
            self.exports += [(outside, f"{linked(module)}.{inside}") for inside, outside in pairs]
        self.edits.append(Edit(node.start_byte, node.end_byte, b""))

    def _declaration(self, node: Node, declaration: Node, default: bool) -> None:
        if declaration.type == "variable_declaration" or declaration.children[0].type == "let":
            raise self._not(node, "an exported variable that may change")
        names = list(declared(declaration))
        if not names:
            raise self._not(node, "an export that is not a plain name")
        self.exports += [("default" if default else name, name) for name in names]
        self.edits.append(Edit(node.start_byte, declaration.start_byte, b""))

    def _settled(self, node: Node, name: str) -> None:
        if name in self.changing:
            raise self._not(node, "an exported variable that may change")

    def _dynamic(self, node: Node) -> None:
        arguments = field(node, "arguments").named_children
        if len(arguments) != 1 or arguments[0].type != "string":
            raise self._not(node, "an import() of more than a plain address")
        if any(each.type == "template_string" for each in ancestors(node)):
            raise self._not(node, "an import() inside a template")
        target = self._target(arguments[0])
        self.dynamic.append(target)
        at = arguments[0]
        self.edits.append(Edit(at.start_byte, at.end_byte, f"'{part_name(target)}'".encode()))


def linked(module: str) -> str:
    """What the linked text calls a module's exports."""
    return f"$m['{module}']"


def part_name(module: str) -> str:
    """The bare name by which the import map finds the file that brings a module: '#desk' of views/desk/screens.js."""
    folder, file = posixpath.split(module)
    stem = file.removesuffix(".js")
    return "#" + (posixpath.basename(folder) if stem == "screens" else stem)


def field(node: Node, name: str) -> Node:
    """A child that the grammar says is there."""
    found = node.child_by_field_name(name)
    assert found is not None, f"{node.type} without {name}"
    return found


def text_of(node: Node) -> str:
    """A node's own text."""
    assert node.text is not None
    return node.text.decode()


def ancestors(node: Node) -> Iterator[Node]:
    """What a node stands in, from the inside out."""
    at = node.parent
    while at is not None:
        yield at
        at = at.parent


def imported(clause: Node) -> Iterator[tuple[str, str]]:
    """(name there, name here) of an import clause."""
    for child in clause.named_children:
        if child.type == "identifier":
            yield "default", text_of(child)
        elif child.type == "namespace_import":
            yield "*", text_of(child.named_children[0])
        elif child.type == "named_imports":
            yield from specified(child)


def specified(clause: Node) -> Iterator[tuple[str, str]]:
    """(name, alias) of each `name as alias`; the name twice where it has no alias."""
    for each in clause.named_children:
        if each.type in ("import_specifier", "export_specifier"):
            name, alias = field(each, "name"), each.child_by_field_name("alias")
            yield text_of(name), text_of(alias or name)


def declared(node: Node) -> Iterator[str]:
    """The plain names that a declaration makes; none for a pattern."""
    if node.type not in ("lexical_declaration", "variable_declaration"):
        name = node.child_by_field_name("name")
        if name is not None:
            yield text_of(name)
        return
    names = [field(each, "name") for each in node.named_children if each.type == "variable_declarator"]
    if all(name.type == "identifier" for name in names):
        yield from (text_of(name) for name in names)


def cut(text: bytes, comments: list[Node], literals: list[Node], edits: list[Edit]) -> bytes:
    """A module's text with its edits made, without comments and indentation; lines stay lines, literals stay as they are."""
    spans = [Edit(each.start_byte, each.end_byte, each.text or b"") for each in literals]
    literal = {(each.start, each.end) for each in spans}
    spans += [Edit(each.start_byte, each.end_byte, b"\n" if b"\n" in (each.text or b"") else b" ") for each in comments]
    made = bytearray()
    at = 0
    after_break = True
    # An edit comes before the literal it replaces, and a whole statement before what stands in it.
    for span in [
        *sorted([*edits, *spans], key=lambda each: (each.start, -each.end, each not in edits)),
        Edit(len(text), len(text), b""),
    ]:
        if span.start < at:
            continue
        after_break = _add_code(made, text[at : span.start], after_break)
        if (span.start, span.end) in literal:
            made += span.text
            after_break = False
        else:
            after_break = _add_code(made, span.text, after_break)
        at = span.end
    return bytes(made).strip() + b"\n"


def _add_code(made: bytearray, code: bytes, after_break: bool) -> bool:
    """Add code with one break for any run of them; says whether it ends in one."""
    tidy = BREAK.sub(b"\n", code)
    if after_break:
        tidy = tidy.lstrip()
    if not tidy:
        return after_break
    if tidy.startswith(b"\n"):
        # No literal ends in a space: its last letter is a quote.
        del made[len(made.rstrip(b" \t")) :]
    made += tidy
    return tidy.endswith(b"\n")


def read_module(name: str, text: bytes, bare: Mapping[str, str]) -> Module:
    """Read a module of the page.

    Raises
    ------
    NotPackable
        It has something that the linker does not do.
    """
    return Reader(name, text, bare).read()
