"""All style sheets reach every screen: a class that one of them lays out is laid out by no other."""

from __future__ import annotations

import re
from collections import defaultdict
from pathlib import Path

SHEETS = sorted((Path(__file__).resolve().parents[2] / "pwa" / "style").glob("*.css"))
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
RULE = re.compile(r"^([^\s@{}][^{}@]*)\{([^{}]*)\}", re.MULTILINE)
"""A rule that stands outside of queries: its selector begins the line."""
CLASS_ALONE = re.compile(r"\.[\w-]+")
PROPERTY = re.compile(r"^\s*([\w-]+):", re.MULTILINE)


def said_of_classes() -> dict[tuple[str, str], set[str]]:
    """By class and property: the sheets that say it of the class alone."""
    said: dict[tuple[str, str], set[str]] = defaultdict(set)
    for sheet in SHEETS:
        for selectors, rules in RULE.findall(COMMENT.sub("", sheet.read_text())):
            for selector in map(str.strip, selectors.split(",")):
                if CLASS_ALONE.fullmatch(selector):
                    for name in PROPERTY.findall(rules):
                        said[selector, name].add(sheet.name)
    return said


def test_what_one_style_sheet_says_of_a_class_no_other_says_again() -> None:
    """Two screens that chose the same name once drew the tiles of kinds on top of each other."""
    said = said_of_classes()
    assert len(said) > 300, "the sheets are read"
    assert {each: sheets for each, sheets in said.items() if len(sheets) > 1} == {}
