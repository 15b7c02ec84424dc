"""What is read to tell of one fixture does not grow with the building that it is in, on both back ends."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import store, store_changes
from tests.support import back_ends
from tests.support.installation import installed
from tests.support.late_site import make_late

from spanwalk.services.memory.gathering import groups_that_failed, records_of, records_of_spares
from spanwalk.services.memory.remembering import memory_of
from spanwalk.storage.database import reading

FEW, MANY, EACH = 4, 60, 3
TODAY = date(2028, 2, 1)

back_end = back_ends.on_both()


def record(number: int, type: str, parent: str, **facets: Any) -> dict[str, Any]:
    id = str(UUID(int=number, version=4))
    return {"id": id, "type": type, "parent": parent, "removed": False, "facets": facets, "conflicts": []}


def converted(groups: int, fixtures: int = EACH) -> list[dict[str, Any]]:
    """An invented site with so many groups of so many fixtures, each of which has a label and was noted as done; one of them failed."""
    site = invented_site(groups)
    own = [each for each in site if each["type"] == "group"]
    found: list[dict[str, Any]] = []
    for group in own:
        group["facets"]["count"] = {"count": fixtures, "sure": "yes"}
        for position in range(1, fixtures + 1):
            at = {"group": group["id"], "position": position}
            label = {"code": f"{len(found):06}", "origin": "printed"}
            found.append(record(len(found), "label", site[0]["id"], identity=label, binding=at))
            done = {"position": position, "outcome": "done", "noted_at": "2026-04-02T09:00:00Z"}
            found.append(record(len(found), "installation", group["id"], identity=done))
    failed = {"position": 1, "sign": "dark", "noted_at": "2028-01-10T09:00:00Z"}
    failure = record(len(found), "failure", own[0]["id"], identity=failed)
    photo = {"subject": failure["id"], "purpose": "damage", "sha256": "a" * 64}
    return [*site, *found, failure, record(len(found) + 1, "photo", site[0]["id"], identity=photo)]


def read_of_one(folder: Path, back_end: str, groups: int) -> dict[str, int]:
    """How many records of which type are read for the fixture that failed."""
    records = converted(groups)
    with installed(folder, back_end) as installation:
        store(installation, records)
        with installation.app.app_context(), reading() as session:
            (failed,) = groups_that_failed(session, installation.site)
            found = [*records_of(session, installation.site, {failed}), *records_of_spares(session, installation.site)]
    counted: dict[str, int] = {}
    for each in found:
        counted[each["type"]] = counted.get(each["type"], 0) + 1
    return counted


@pytest.fixture(scope="module")
def of_few(tmp_path_factory: pytest.TempPathFactory, back_end: str) -> dict[str, int]:
    return read_of_one(tmp_path_factory.mktemp("few"), back_end, FEW)


def test_as_many_records_are_read_for_a_fixture_of_a_large_building_as_of_a_small_one(
    of_few: dict[str, int], back_end: str, tmp_path: Path
) -> None:
    assert read_of_one(tmp_path / "many", back_end, MANY) == of_few


def test_they_are_its_own(of_few: dict[str, int]) -> None:
    own = {type: of_few.get(type) for type in ("group", "room", "label", "installation", "failure", "photo")}
    assert own == {"group": 1, "room": 1, "label": EACH, "installation": EACH, "failure": 1, "photo": 1}


def test_each_fixture_is_remembered_among_all_as_it_is_alone(tmp_path: Path) -> None:
    """What several have in common is worked out once: items of a code may be fitted on other days, wired otherwise, or have failed."""
    with installed(tmp_path / "data") as here:
        made = make_late(here)
        done = [each for each in made.records("installation") if each["facets"]["identity"]["outcome"] == "done"]
        for place, each in enumerate(done[::4]):
            said = each["facets"]["identity"]
            fitted = {"position": said["position"], "noted_at": f"20{10 + place % 10}-05-06T09:00:00Z"}
            store_changes(here, [{**each, "facets": {**each["facets"], "identity": {**said, **fitted}}}])
            made.add("failure", each["parent"], identity={"position": said["position"], "sign": "dark"})
        made.keep()
        with here.app.app_context(), reading() as session:
            memory = memory_of(session, here.site, TODAY)
            among = list(memory.fixtures())
            alone = [replace(memory).one(each["group"], each["position"]) for each in among]
    assert among == alone
    assert len({(item["code"], item["fitted_on"]) for each in among for item in each["items"] or ()}) > 10
    assert len({str(each["wiring"]) for each in among}) > 2
    assert any(each["failures"] for each in among)
    assert any(each["state"] != "done" for each in among)
