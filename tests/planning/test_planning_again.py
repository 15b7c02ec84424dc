"""A plan is made again only for the groups of which something changed that it hangs on: counted, not timed."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import operation_of, store
from tests.support.installation import Installation, installed, new_id

from spanwalk.services.planning import inputs as plan_inputs
from spanwalk.services.planning import plans as planning
from spanwalk.services.planning.plans import SitePlan, make_plans

Records = list[dict[str, Any]]
GROUPS = 40


@pytest.fixture(scope="module")
def records() -> Records:
    return demo_records()


@pytest.fixture(scope="module")
def first(records: Records) -> SitePlan:
    return make_plans(records)


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Ids of the groups that are really planned, in order: the planner's own calls."""
    return counted(monkeypatch, planning, "plan_weighed", lambda body, *_: str(body.group["id"]))


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Ids of the groups whose fits are really judged."""
    return counted(monkeypatch, plan_inputs, "judge_group", lambda group, *_: str(group["id"]))


def counted(monkeypatch: pytest.MonkeyPatch, module: Any, name: str, id_of: Callable[..., str]) -> list[str]:
    found: list[str] = []
    really = getattr(module, name)

    def call(*given: Any) -> Any:
        found.append(id_of(*given))
        return really(*given)

    monkeypatch.setattr(module, name, call)
    return found


def test_nothing_is_planned_again_when_nothing_changed(
    records: Records, first: SitePlan, planned: list[str], judged: list[str]
) -> None:
    assert first.made == len(first.plans)
    again = make_plans(copy.deepcopy(records), 1, first)
    assert (again.made, again.judged, planned, judged) == (0, 0, [], [])
    assert again.plans == first.plans


def room_called(records: Records, number: str) -> dict[str, Any]:
    return next(
        each for each in records if each["type"] == "room" and each["facets"]["identity"].get("number") == number
    )


def groups_in(records: Records, number: str) -> list[dict[str, Any]]:
    room = room_called(records, number)
    return [each for each in records if each["type"] == "group" and each["parent"] == room["id"]]


def one_more_dark_lamp(records: Records) -> set[str]:
    (group,) = groups_in(records, "G06")
    group["facets"]["count"]["dark_lamps"] = 1
    return {group["id"]}


def a_count_in_a_room_of_several_groups(records: Records) -> set[str]:
    """The others of the room are not planned again: the site's policy does not look at their light."""
    groups = groups_in(records, "G01")
    assert len(groups) > 1
    groups[0]["facets"]["count"]["count"] += 1
    return {groups[0]["id"]}


def hours_of_a_room(records: Records) -> set[str]:
    room = room_called(records, "G01")
    room["facets"]["hours"] = {"hours_year": 4321, "how_known": "owner-says"}
    return {each["id"] for each in groups_in(records, "G01")}


def a_count_of_the_body_that_feeds_its_neighbour(records: Records) -> set[str]:
    """Its neighbour follows what is fitted here, and must be as many."""
    pair = groups_in(records, "N01")
    pair[0]["facets"]["count"]["count"] += 1
    return {each["id"] for each in pair}


def a_decision_on_the_body_that_is_fed(records: Records) -> set[str]:
    """The one that feeds it is held back with it."""
    pair = groups_in(records, "N01")
    leads = {
        each["id"]: each["facets"].get("wiring", {}).get("neighbour_leads")
        for each in records
        if each["type"] == "kind"
    }
    fed = next(each for each in pair if leads[each["facets"]["identity"]["kind"]] == "fed-from-the-neighbours-ballast")
    fed["facets"]["decision"] = {"decision": "defer"}
    return {each["id"] for each in pair}


def a_dearer_tariff(records: Records) -> set[str]:
    money = next(each for each in records if each["type"] == "money")
    money["facets"]["identity"]["tariff_per_kwh"] = 0.3
    return {each["id"] for each in records if each["type"] == "group"}


def a_photo(records: Records) -> set[str]:
    records.append(
        {"id": "p", "type": "photo", "parent": records[0]["id"], "removed": False, "facets": {}, "conflicts": []}
    )
    return set()


def a_caption(records: Records) -> set[str]:
    next(each for each in records if each["type"] == "photo")["facets"]["caption"] = {"caption": "Lamp, from below"}
    return set()


CHANGES = [
    one_more_dark_lamp,
    a_count_in_a_room_of_several_groups,
    hours_of_a_room,
    a_count_of_the_body_that_feeds_its_neighbour,
    a_decision_on_the_body_that_is_fed,
    a_dearer_tariff,
    a_photo,
    a_caption,
]


@pytest.mark.parametrize("change", CHANGES, ids=lambda each: each.__name__)
def test_a_change_is_planned_for_what_it_touches(
    records: Records, first: SitePlan, planned: list[str], change: Callable[[Records], set[str]]
) -> None:
    changed = copy.deepcopy(records)
    touched = change(changed)
    again = make_plans(changed, 1, first)
    assert sorted(planned) == sorted(touched)
    assert again.made == len(touched)
    assert again.plans == make_plans(changed).plans


def test_no_group_is_planned_again_for_what_the_job_pays_once(planned: list[str]) -> None:
    """But all are when anything is charged for the first time: a group's own sum is told otherwise then."""
    records = invented_site(GROUPS)
    money = next(each for each in records if each["type"] == "money")["facets"]["identity"]
    for field in ("permit_sum", "permit_pct", "travel_per_day", "tax_pct", "mobilisation"):
        money.pop(field, None)
    before = make_plans(records)
    money["mobilisation"] = 400
    charged = make_plans(records, 1, before)
    planned.clear()
    money |= {"mobilisation": 900, "permit_sum": 120, "meter_peak_kw": 80}
    again = make_plans(records, 2, charged)
    assert planned == []
    assert again.plans == make_plans(records).plans


@pytest.mark.parametrize("change", ["price", "tariff"])
def test_no_group_is_judged_again_for_other_money(planned: list[str], judged: list[str], change: str) -> None:
    """What fits hangs on no price; of pairs, which are judged together, nothing is kept."""
    records = invented_site(GROUPS)
    before = make_plans(records)
    if change == "price":
        for each in records:
            if each["type"] == "price":
                each["facets"]["identity"]["each"] = round(each["facets"]["identity"].get("each", 1) * 1.5, 2)
    else:
        next(each for each in records if each["type"] == "money")["facets"]["identity"]["tariff_per_kwh"] = 0.31
    planned.clear()
    judged.clear()
    again = make_plans(records, 1, before)
    assert set(planned) == set(before.plans)
    assert set(judged) <= set(before.inputs.partners) < set(before.plans)
    assert again.plans == make_plans(records).plans


def test_under_a_target_for_the_space_the_others_of_the_room_are_planned_again_too(planned: list[str]) -> None:
    """A group's part of the target is its part of today's light, so the room's other groups share in a change."""
    records = invented_site(GROUPS)
    records[0]["facets"]["settings"]["light_policy"] = "meet-the-target-of-the-space"
    before = make_plans(records)
    planned.clear()
    group = next(each for each in records if each["type"] == "group" and lit(before, each))
    group["facets"]["count"]["count"] += 1
    again = make_plans(records, 1, before)
    assert set(planned) == {
        each["id"] for each in records if each["type"] == "group" and each["parent"] == group["parent"]
    }
    assert again.plans == make_plans(records).plans


def lit(found: SitePlan, group: dict[str, Any]) -> bool:
    today = found.inputs.today[group["parent"]].get(group["id"])
    return today is not None and bool(today.lumens)


def of_kind(records: Records, mark: str) -> set[str]:
    kind = next(each for each in records if each["type"] == "kind" and each["facets"]["identity"]["mark"] == mark)
    return {
        each["id"]
        for each in records
        if each["type"] == "group" and each["facets"]["identity"].get("kind") == kind["id"]
    }


def test_a_reading_is_judged_again_in_all_groups_whose_spread_it_changes(
    records: Records, first: SitePlan, planned: list[str], judged: list[str]
) -> None:
    """Groups of one kind share their spread, so all of K1 are judged again; those that come out the same are not planned again."""
    changed = copy.deepcopy(records)
    groups = of_kind(changed, "K1")
    (own,) = groups_in(changed, "G04")
    assert own["id"] in groups
    reading = next(each for each in changed if each["type"] == "cavity_reading" and each["parent"] == own["id"])
    reading["facets"]["identity"]["length_ticks"] -= 254
    again = make_plans(changed, 1, first)
    assert own["id"] in judged
    assert set(judged) <= groups
    assert own["id"] in planned
    assert set(planned) < set(judged)
    assert again.plans == make_plans(changed).plans


# -- through the server


@pytest.fixture
def site(tmp_path: Path) -> Iterator[tuple[Installation, Records]]:
    records = invented_site(GROUPS)
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        yield installation, records


def pushed(installation: Installation, records: Records, record: dict[str, Any], facet: str, **changes: Any) -> None:
    """Push a change of a facet as the surveyor's phone would, having seen what is there."""
    seen = operation_of(records.index(record) + 1, facet)
    to = record["facets"][facet] | changes | ({"parent": record["parent"]} if facet == "identity" else {})
    operation = installation.operation("surveyor", record["id"], record["type"], facet, to, seen=seen)
    (answer,) = installation.push("surveyor", operation)
    assert answer["result"] == "applied", answer


def plan_of(installation: Installation) -> Any:
    answer = installation.call("manager", "GET", "/api/sites/{site}/plan")
    assert answer.status_code == 200, answer.text
    return answer.json


def test_after_a_push_the_server_plans_only_what_it_changed(
    site: tuple[Installation, Records], planned: list[str]
) -> None:
    installation, records = site
    groups = {each["id"] for each in records if each["type"] == "group"}
    plan_of(installation)
    assert set(planned) == groups
    planned.clear()

    group = next(each for each in records if each["type"] == "group")
    pushed(installation, records, group, "count", count=77)
    assert next(each for each in plan_of(installation)["groups"] if each["group"] == group["id"])["fixtures"] == 77
    assert planned == [group["id"]]
    planned.clear()

    room = next(each for each in records if each["type"] == "room")
    pushed(installation, records, room, "hours", hours_year=4321)
    plan_of(installation)
    assert set(planned) == {each["id"] for each in records if each["type"] == "group" and each["parent"] == room["id"]}
    planned.clear()

    photo = new_id()
    about = {"parent": installation.site, "subject": group["id"], "purpose": "whole-fixture", "sha256": "0" * 64}
    for facet, to in (("identity", about), ("caption", {"caption": "From below"})):
        (answer,) = installation.push("surveyor", installation.operation("surveyor", photo, "photo", facet, to))
        assert answer["result"] == "applied", answer
    plan_of(installation)
    plan_of(installation)
    assert planned == []


def test_another_process_comes_to_the_same_plan_from_what_it_kept_itself(
    site: tuple[Installation, Records], planned: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each server process keeps its own plans: what one has is of no matter to the other, only the records are."""
    installation, records = site
    one, other = type(planning._kept)(), type(planning._kept)()

    def asked(kept: Any) -> Any:
        monkeypatch.setattr(planning, "_kept", kept)
        planned.clear()
        return plan_of(installation)

    asked(one)
    group = next(each for each in records if each["type"] == "group")
    pushed(installation, records, group, "count", count=77)
    from_scratch = asked(other)
    assert len(planned) == GROUPS
    assert asked(one) == from_scratch
    assert planned == [group["id"]]
