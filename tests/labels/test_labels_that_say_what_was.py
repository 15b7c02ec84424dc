"""A printed label that says what is not so any more is named before labels are printed, and can be printed alone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.stored_site import store
from tests.support.installation import Installation, installed
from tests.support.late_site import LateSite
from tests.support.releasing import release_seen

from spanwalk.rules.survey import positions_of
from spanwalk.services.labels.printing import Wanted, labels_to_print
from spanwalk.storage.database import reading

Json = Any


class Caller:
    """Calls the installation's site as its manager."""

    def __init__(self, installation: Installation) -> None:
        self.installation, self.records = installation, LateSite(installation).records

    def call(self, method: str, path: str, body: Json = None) -> tuple[int, Json]:
        answer = self.installation.call("manager", method, path, json=body)
        return answer.status_code, answer.json

    def before(self, what: str = "all", **where: Json) -> Json:
        query = "&".join(f"{name}={value}" for name, value in {"what": what, **where}.items())
        return self.call("GET", f"/api/sites/{{site}}/labels/print?{query}")[1]

    def outdated(self) -> list[tuple[str, str, str, int]]:
        return [(each["why"], each["said"], each["now"], each["labels"]) for each in self.before()["outdated"]]

    def note_printed(self, what: str = "new") -> int:
        return int(self.call("POST", "/api/sites/{site}/labels/printed", {"what": what})[1]["marked"])

    def save(self, record: Json, facet: str, value: Json) -> None:
        held = self.installation.pull("manager", "since=0&limit=5000")["records"]
        seen = next(each for each in held if each["id"] == record["id"])["facets"].get(facet)
        value = {"parent": record["parent"], **value} if facet == "identity" else value
        told = self.installation.operation(
            "manager", record["id"], record["type"], facet, value,
            seen=seen["op"] if seen else None, **{"from": seen["value"] if seen else None},
        )  # fmt: skip
        (answer,) = self.installation.push("manager", told)
        assert answer["result"] == "applied", answer


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Caller]:
    """The demo building, released, its labels made and printed."""
    with installed(tmp_path / "data") as installation:
        store(installation, demo_records())
        caller = Caller(installation)
        assert release_seen(caller, installation.site)[0] == 201
        assert caller.call("POST", "/api/sites/{site}/labels", {})[0] == 201
        assert caller.note_printed() > 400
        yield caller


def labelled(site: Caller) -> tuple[Json, Json, int]:
    """A room with labels, one of its groups, and how many labels hang in the room."""
    bound = [each["facets"]["binding"]["group"] for each in site.records("label") if "binding" in each["facets"]]
    group = next(each for each in site.records("group") if each["id"] in bound)
    room = next(each for each in site.records("room") if each["id"] == group["parent"])
    groups = {each["id"] for each in site.records("group") if each["parent"] == room["id"]}
    return room, group, sum(each in groups for each in bound)


def on_group(site: Caller, group: Json) -> list[Json]:
    return [each for each in site.records("label") if each["facets"].get("binding", {}).get("group") == group["id"]]


def test_nothing_is_said_of_labels_that_say_what_is_so(site: Caller) -> None:
    assert site.outdated() == []
    assert site.before("outdated")["labels"] == 0


def test_labels_of_a_renamed_room_are_named_and_printed_alone_and_then_say_what_is_so(site: Caller) -> None:
    room, _, count = labelled(site)
    identity = room["facets"]["identity"]
    was = f"{identity['number']} {identity['name']}"
    site.save(room, "identity", {**identity, "name": "A new name"})
    assert site.outdated() == [("room", was, f"{identity['number']} A new name", count)]
    assert site.before("outdated")["labels"] == count
    assert site.before("outdated", room=room["id"])["labels"] == count
    assert site.note_printed("outdated") == count
    assert site.outdated() == []


def test_a_room_that_has_its_old_name_again_has_labels_that_say_what_is_so(site: Caller) -> None:
    room, _, _ = labelled(site)
    identity = room["facets"]["identity"]
    site.save(room, "identity", {**identity, "name": "A new name"})
    site.save(room, "identity", identity)
    assert site.outdated() == []


def test_labels_of_a_withdrawn_release_are_named_and_bear_no_set_point_any_more(site: Caller) -> None:
    (release,) = site.records("release")
    released = {each["parent"] for each in site.records("conversion")}
    printed = sum(each["facets"]["binding"]["group"] in released for each in site.records("label"))
    site.save(release, "withdrawn", {"reason": "The drivers are wrong"})
    assert site.outdated() == [("release", "", "", printed)]
    with site.installation.app.app_context(), reading() as session:
        labels = labels_to_print(session, site.installation.site, Wanted())
    assert len(labels) >= printed > 300
    assert {(each.release, each.setting_ma, each.bars) for each in labels} == {(None, None, "")}


def test_a_label_that_was_moved_to_another_fixture_after_it_was_printed_is_named(site: Caller) -> None:
    _, group, _ = labelled(site)
    hung = {each["facets"]["binding"]["position"]: each for each in on_group(site, group)}
    first, *_, last = positions_of(group)
    site.save(hung[last], "voided", {"reason": "Torn"})
    site.save(hung[first], "binding", {"group": group["id"], "position": last})
    assert site.outdated() == [("place", "", "", 1)]


def test_a_blank_label_that_was_bound_later_says_nothing_that_could_be_wrong(site: Caller) -> None:
    assert site.call("POST", "/api/sites/{site}/labels/blank", {"count": 1})[0] == 201
    assert site.note_printed("blank") == 1
    label = next(each for each in site.records("label") if each["facets"]["identity"]["origin"] == "pre-printed")
    _, group, _ = labelled(site)
    old = on_group(site, group)[0]
    site.save(old, "voided", {"reason": "Torn"})
    site.save(label, "binding", old["facets"]["binding"])
    assert site.outdated() == []
