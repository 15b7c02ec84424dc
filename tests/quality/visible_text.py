"""What people read of the page's modules but no table of words has: found by the syntax tree, and told with its line."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import tree_sitter_javascript
from tree_sitter import Language, Node, Parser

PARSER = Parser(Language(tree_sitter_javascript.language()))

READ_ATTRIBUTES = frozenset({"aria-label", "aria-description", "alt", "title", "placeholder", "data-head", "label"})
"""Attributes of HTML elements that people see or hear."""
MACHINE_ATTRIBUTES = frozenset(
    [
        "accept",
        "action",
        "at",
        "autocomplete",
        "class",
        "d",
        "fill",
        "for",
        "href",
        "id",
        "inputmode",
        "key",
        "kind",
        "list",
        "look",
        "max",
        "min",
        "mode",
        "name",
        "part",
        "path",
        "purpose",
        "role",
        "rows",
        "site",
        "side",
        "stroke",
        "tabindex",
        "transform",
        "type",
        "units",
        "value",
        "viewBox",
        "what",
        "which",
    ]
)
"""Properties of components that hold codes, addresses or classes, not words."""
SYMBOLS = re.compile(
    r"(?<![^\W_])(?:mm|in|ft|lm|lx|W|kW|kWh|h|kg|CO₂e|V|A|mA|min|MB|kB|Spanwalk|SHA-256|[A-Z])(?![^\W_])", re.UNICODE
)
"""Symbols of units, single letters and our own name are the same in every language."""
LETTERS = re.compile(r"[^\W\d_]{2,}")
SENTENCE = re.compile(r"[^\W\d_]{2,}[.,:;?!…]? [^\W\d_]|^[A-Z][a-z]+\b(?![-.:/(\[])|^[A-Z][a-z]+[.…:]$")
"""What a literal outside a template looks like when it is meant for people: two words, or one with a capital."""
BESIDE_A_FACT = re.compile(r"(?:^|[\s:])[^\W\d_]{2,}[.,:;?!…)]*(?:\s|$)")
"""What a literal looks like that is meant for people and has something filled in: a word that stands by itself."""
SILENT_CALLS = frozenset(
    [
        "querySelector",
        "querySelectorAll",
        "addEventListener",
        "removeEventListener",
        "getElementById",
        "setAttribute",
        "hasAttribute",
        "closest",
        "matches",
        "startsWith",
        "endsWith",
        "includes",
        "dispatchEvent",
        "createElement",
        "Error",
        "TypeError",
        "DOMException",
        "get",
        "has",
        "set",
        "match",
        "split",
        "getAttribute",
        "removeAttribute",
        "CustomEvent",
        "Event",
        "counted",
    ]
)
"""What is handed to these is for the machine."""


@dataclass(frozen=True)
class Piece:
    """Words in a module that people read."""

    line: int
    text: str
    where: str
    """'text', the attribute's name, or 'literal'."""


def pieces(source: str) -> list[Piece]:
    """Every piece of text for people in a module of the page, in the order of its lines."""
    root = PARSER.parse(source.encode()).root_node
    found: set[Piece] = set()
    silent: set[int] = set()
    for template in templates(root):
        reading = Reading()
        reading.read(template)
        found.update(reading.found)
        silent |= reading.silent
    for node in walk(root):
        if node.type in ("string", "template_string") and node.id not in silent and for_people(node):
            found.add(Piece(node.start_point[0] + 1, flat(node), "literal"))
    lines: dict[tuple[int, str], Piece] = {}
    for piece in found:
        lines.setdefault((piece.line, piece.text), piece)
    return sorted(lines.values(), key=lambda piece: (piece.line, piece.text))


def walk(node: Node) -> Iterator[Node]:
    yield node
    for child in node.children:
        yield from walk(child)


def templates(root: Node) -> Iterator[Node]:
    """The template of each html`…`."""
    for node in walk(root):
        if node.type == "call_expression" and text_of(node.child_by_field_name("function")) == "html":
            arguments = node.child_by_field_name("arguments")
            if arguments is not None and arguments.type == "template_string":
                yield arguments


def text_of(node: Node | None) -> str:
    return (node.text or b"").decode() if node is not None else ""


def flat(node: Node) -> str:
    """The text of a literal; what is filled in is '{}'."""
    if node.type == "string":
        return text_of(node)[1:-1]
    return "".join("{}" if child.type == "template_substitution" else text_of(child) for child in node.children[1:-1])


def has_words(text: str) -> bool:
    return bool(LETTERS.search(SYMBOLS.sub(" ", text)))


@dataclass
class Reading:
    """Reads one template: what stands between tags, and in attributes."""

    found: list[Piece] = field(default_factory=list)
    silent: set[int] = field(default_factory=set)
    """Literals whose place says that they are not read, or that were told already."""
    state: str = "text"
    run: str = ""
    line: int = 0
    tag: str = ""
    attribute: str = ""
    quote: str = ""

    def read(self, template: Node) -> None:
        self.silent.add(template.id)
        for child in template.children[1:-1]:
            if child.type == "template_substitution":
                self.filled_in(child)
            else:
                for offset, letter in enumerate(text := text_of(child)):
                    self.letter(letter, child.start_point[0] + 1 + text.count("\n", 0, offset))
        self.end()

    def letter(self, letter: str, line: int) -> None:
        if self.state == "text":
            if letter == "<":
                self.end()
                self.state, self.tag = "tag", ""
            else:
                self.add(letter, line)
        elif self.state == "value":
            if letter == self.quote or (not self.quote and letter in " \n\t>"):
                self.end()
                self.state, self.attribute = ("text" if letter == ">" else "inside"), ""
            else:
                self.add(letter, line)
        elif letter == ">":
            self.state, self.attribute = "text", ""
        elif self.state == "tag":
            if letter.isspace():
                self.state, self.attribute = "inside", ""
            else:
                self.tag += letter
        elif letter == "=":
            self.state, self.quote = "begins", ""
        elif self.state == "begins":
            self.state = "value"
            if letter in "\"'":
                self.quote = letter
            else:
                self.add(letter, line)
        else:
            self.attribute = "" if letter.isspace() else self.attribute + letter

    def add(self, letter: str, line: int) -> None:
        if not self.run.strip():
            self.run, self.line = "", line
        self.run += letter

    def filled_in(self, child: Node) -> None:
        if self.state == "tag":
            self.tag = "component"
            return
        if self.state == "begins":
            self.state = "value"
        where = self.where()
        for literal in results(child):
            if where is None:
                self.silent.add(literal.id)
            elif where == "text" or where in READ_ATTRIBUTES:
                self.silent.add(literal.id)
                self.tell(literal.start_point[0] + 1, flat(literal), where)
        if self.state in ("text", "value"):
            self.run += "{}"
            self.line = self.line or child.start_point[0] + 1

    def where(self) -> str | None:
        """The place in which words would be read; None where nothing is."""
        if self.state == "text":
            return "text"
        if self.attribute in READ_ATTRIBUTES:
            return self.attribute
        if self.tag == "component" and self.attribute not in MACHINE_ATTRIBUTES:
            return f"property {self.attribute}"
        return None

    def end(self) -> None:
        where = self.where()
        if where is not None:
            self.tell(self.line, self.run, where)
        self.run, self.line = "", 0

    def tell(self, line: int, text: str, where: str) -> None:
        text = " ".join(text.split())
        if has_words(text.replace("{}", " ")):
            self.found.append(Piece(line, text, where))


def results(node: Node) -> Iterator[Node]:
    """The literals that an expression may come to."""
    if node.type in ("string", "template_string"):
        yield node
    elif node.type == "ternary_expression":
        for name in ("consequence", "alternative"):
            if (child := node.child_by_field_name(name)) is not None:
                yield from results(child)
    elif node.type == "binary_expression":
        operator = text_of(node.child_by_field_name("operator"))
        for name in {"&&": ["right"], "||": ["left", "right"], "??": ["left", "right"], "+": ["left", "right"]}.get(
            operator, []
        ):
            if (child := node.child_by_field_name(name)) is not None:
                yield from results(child)
    elif node.type in ("template_substitution", "parenthesized_expression"):
        for child in node.named_children:
            yield from results(child)


def for_people(node: Node) -> bool:
    """Whether a literal outside templates reads like words for people, and does not stand where machines read."""
    text = flat(node).replace("{}", " ")
    looks = (
        BESIDE_A_FACT.search(SYMBOLS.sub(" ", text)) and " " in flat(node)
        if "{}" in flat(node)
        else SENTENCE.search(text.strip())
    )
    if not (looks and has_words(text)):
        return False
    parent = node.parent
    if parent is None:
        return True
    if parent.type in ("import_statement", "export_statement", "import_attribute", "expression_statement"):
        return False
    if parent.type == "binary_expression" and text_of(parent.child_by_field_name("operator")) in ("===", "!==", "in"):
        return False
    if parent.type == "pair" and parent.child_by_field_name("key") == node:
        return False
    if parent.type in ("switch_case", "subscript_expression"):
        return False
    if parent.type == "arguments" and parent.parent is not None:
        called = parent.parent.child_by_field_name("function") or parent.parent.child_by_field_name("constructor")
        return text_of(called).rsplit(".", 1)[-1] not in SILENT_CALLS
    return True
