"""Which emergency test of a fixture is the newest: the one that the server took last, whatever the phones' clocks say."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.support.installation import Installation, installed, new_id

from spanwalk import records

FAST, RIGHT = "2031-01-01T00:00:00Z", "2026-03-01T09:00:00Z"


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        yield made


def test_the_newest_test_is_the_one_that_arrived_last_and_not_the_one_of_the_fastest_clock(here: Installation) -> None:
    room, kind, group = new_id(), new_id(), new_id()
    here.push(
        "manager",
        here.operation("manager", room, "room", "identity", {"number": "1", "parent": here.floor()}),
        here.operation("manager", kind, "kind", "identity", {"mark": "K1", "parent": here.site}),
        here.operation("manager", group, "group", "identity", {"parent": room, "kind": kind}),
        here.operation("manager", group, "group", "count", {"count": 2}),
    )
    fields = records.fields_of("emergency_test", "identity")
    said = {name: fields[name].choices[0] for name in ("indicator", "result")}
    for noted_at in (FAST, RIGHT):
        told = {"parent": group, "position": 1, "noted_at": noted_at, **said}
        (answer,) = here.push("crew", here.operation("crew", new_id(), "emergency_test", "identity", told))
        assert answer["result"] == "applied", answer
    lines = here.call("manager", "GET", "/api/sites/{site}/emergency-tests").json["lines"]
    assert [(line["noted_at"], line["newest"]) for line in lines] == [(RIGHT, True), (FAST, False)]
