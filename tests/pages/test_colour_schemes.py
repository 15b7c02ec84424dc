"""A scheme, light or dark, gives colours and nothing else: a screen that fits and is read in one does so in the other."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.support.machine import ROOT

PAGE = ROOT / "pwa"
ASKED = re.compile(r"@media[^{]*prefers-color-scheme[^{]*\{((?:[^{}]|\{[^{}]*\})*)\}")
ONLY_COLOURS = re.compile(r"\s*:root\s*\{(\s*--[a-z-]+:\s*#[0-9a-f]{3,8};)+\s*\}\s*")


def sheets() -> list[Path]:
    return sorted((PAGE / "style").rglob("*.css"))


def rules_of_a_scheme(css: str) -> list[str]:
    return ASKED.findall(css)


def test_what_is_said_for_one_scheme_is_colours_by_name() -> None:
    said = {path.name: rules for path in sheets() if (rules := rules_of_a_scheme(path.read_text("utf-8")))}
    assert "base.css" in said, "there is no dark scheme"
    assert {name: rules for name, rules in said.items() if not all(map(ONLY_COLOURS.fullmatch, rules))} == {}


@pytest.mark.parametrize(
    "rule",
    [
        ":root { --ink: #fff; --gap: 4px; }",
        ":root { --ink: #fff; } .foot { display: none; }",
        ".foot { color: #fff; }",
    ],
)
def test_anything_else_is_seen(rule: str) -> None:
    (found,) = rules_of_a_scheme(f"a {{ top: 0; }} @media (prefers-color-scheme: dark) {{ {rule} }} b {{ top: 0; }}")
    assert not ONLY_COLOURS.fullmatch(found)


def test_no_script_asks_for_the_scheme() -> None:
    scripts = [path for path in PAGE.rglob("*.js") if not {"node_modules", "vendor"} & set(path.parts)]
    assert len(scripts) > 100
    assert [path.name for path in scripts if "prefers-color-scheme" in path.read_text("utf-8")] == []
