"""The spec only grows, and says by its number what has: phones of all numbers so far are out there."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from tests.records.growth import FROZEN, SPEC, changed, elements, frozen_of, marked, unmarked

HOW = "\n`python -m tests.records.growth --mark` writes the numbers; then print records.md and records.d.ts anew."


def spec() -> dict[str, Any]:
    document: dict[str, Any] = json.loads(SPEC.read_text())
    return document


def frozen() -> dict[str, Any]:
    document: dict[str, Any] = json.loads(FROZEN.read_text())
    return document


def test_whatever_is_new_says_which_number_brought_it_and_the_number_grows_with_it() -> None:
    told = unmarked(spec(), frozen())
    assert told == [], "\n".join(told) + HOW


def test_nothing_that_phones_out_there_know_is_gone_or_means_something_else() -> None:
    told = changed(spec(), frozen())
    assert told == [], "\n".join(told) + "\nOnly before 1.0: `python -m tests.records.growth --freeze` begins anew."


def test_what_was_frozen_is_all_of_a_spec() -> None:
    kept = frozen()["elements"]
    assert len([path for path in kept if path.count(".") == 2]) >= 230
    assert {path.split(".")[0] for path in kept} <= set(spec()["records"])


def grown(what: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """A spec in which something has grown, and what was frozen before."""
    before = spec()
    after = copy.deepcopy(before)
    room = after["records"]["room"]["facets"]
    if what == "field":
        room["identity"]["fields"]["wing"] = {"type": "text", "title": "Wing"}
    elif what == "choice":
        next(body for _, body in elements(after) if "choices" in body and body["type"] == "choice")["choices"].append(
            "new"
        )
    elif what == "facet":
        room["fire"] = {"title": "Fire", "write": ["surveyor"], "fields": {}}
    else:
        after["records"]["pump"] = {"title": "Pump", "parent": "room", "read": ["surveyor"], "facets": {}}
    return after, frozen_of(before)


@pytest.mark.parametrize("what", ["field", "choice", "facet", "type"])
def test_a_spec_that_grows_without_its_number_is_caught(what: str) -> None:
    after, before = grown(what)
    told = unmarked(after, before)
    assert f'it becomes "spec": {before["spec"] + 1}' in told[-1]
    assert len(told) == (1 if what == "choice" else 2)
    assert unmarked(spec(), before) == []


@pytest.mark.parametrize("number", [0, 1])
def test_a_number_that_was_frozen_already_brings_nothing_new(number: int) -> None:
    after, before = grown("field")
    after["records"]["room"]["facets"]["identity"]["fields"]["wing"]["since"] = before["spec"] - number
    assert any("room.identity.wing is new" in sentence for sentence in unmarked(after, before))


def test_what_is_lost_re_typed_or_loses_a_choice_is_caught() -> None:
    after, before = spec(), frozen_of(spec())
    fields = after["records"]["room"]["facets"]["identity"]["fields"]
    del fields["name"]
    fields["number"]["type"] = "note"
    chosen = next(body for _, body in elements(after) if body.get("type") == "choice")
    lost = chosen["choices"].pop()
    told = "\n".join(changed(after, before))
    assert "room.identity.name is gone" in told
    assert "room.identity.number was a text, and is a note" in told
    assert f"has lost the choice {lost!r}" in told


def test_the_command_marks_what_is_new_and_touches_no_other_line() -> None:
    text = SPEC.read_text()
    wing = '            "wing": {"type": "text", "title": "Wing", "max": 5},\n'
    fire = '        "fire": {"title": "Fire", "write": ["surveyor"], "fields": {\n        }},\n'
    at = text.index('            "number": {', text.index('    "room": {"title"'))
    grown_text = text[:at] + wing + text[at:]
    at = grown_text.index('        "size": {"title"', grown_text.index('    "room": {"title"'))
    grown_text = grown_text[:at] + fire + grown_text[at:]
    before = frozen_of(json.loads(text))
    after = marked(grown_text, before)
    next_ = before["spec"] + 1
    assert unmarked(json.loads(after), before) == []
    lines = [pair for pair in zip(grown_text.splitlines(), after.splitlines(), strict=True) if pair[0] != pair[1]]
    assert [new.strip() for _, new in lines] == [
        f'"spec": {next_},',
        f'"wing": {{"type": "text", "title": "Wing", "max": 5, "since": {next_}}},',
        f'"fire": {{"title": "Fire", "write": ["surveyor"], "since": {next_}, "fields": {{',
    ]
