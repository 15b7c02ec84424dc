"""DEVELOPERS.md tells where twelve things are said: each stands there, and each file of the map's rows is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parents[2]
DEVELOPERS = (HERE / "DEVELOPERS.md").read_text(encoding="utf-8")
ROW = re.compile(r"^\| (?P<question>[^|]+\?) \| `(?P<file>[^`|]+)` \| `(?P<name>\w+)` \|$", re.MULTILINE)
QUESTIONS = [found.groupdict() for found in ROW.finditer(DEVELOPERS)]
ROOMS = re.compile(r"`([\w./-]+/[\w.-]+\.(?:py|js|md|json))`")


def is_defined(source: str, name: str) -> bool:
    """Whether a module defines a name at its top, in either language."""
    python = rf"^(?:async )?(?:def|class) {name}\b|^{name}\b[^=\n]*="
    page = rf"^export (?:async )?(?:function|const|class) {name}\b"
    return re.search(f"{python}|{page}", source, re.MULTILINE) is not None


def test_there_are_twelve_questions() -> None:
    assert len(QUESTIONS) == 12


@pytest.mark.parametrize("asked", QUESTIONS, ids=lambda each: each["name"])
def test_what_is_asked_for_stands_in_that_file(asked: dict[str, str]) -> None:
    assert is_defined((HERE / asked["file"]).read_text(encoding="utf-8"), asked["name"]), asked["question"]


def test_every_file_that_the_document_names_is_there() -> None:
    rooms = [HERE, *(HERE / each for each in ("server/spanwalk", "pwa", "pwa/views", "pwa/store", "server", "tests"))]
    rooms += [HERE / "server/spanwalk/services", HERE / "server/spanwalk/rules", HERE / "server/spanwalk/spec"]
    named = {each for each in ROOMS.findall(DEVELOPERS) if not each.startswith("/")}
    assert len(named) > 25
    assert [each for each in sorted(named) if not any((room / each).is_file() for room in rooms)] == []


@pytest.mark.parametrize("planted", ["def other() -> int:", "    def decide() -> None:", "x = decide()", ""])
def test_a_name_that_is_only_used_is_not_defined(planted: str) -> None:
    assert not is_defined(planted, "decide")
