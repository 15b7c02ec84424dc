"""After changes only what they touch is gone through and planned again, and comes out as of a site read anew; rows are counted."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest
from sqlalchemy import select, update
from tests.planning.demo_records import demo_records
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import operation_of, store
from tests.support.installation import Installation, installed, new_id

from spanwalk.rules.survey import Survey
from spanwalk.services.bootstrap import begin_incarnation
from spanwalk.services.planning import plans as planning
from spanwalk.services.planning.inputs import inputs_of
from spanwalk.services.planning.plans import SitePlan, make_plans, plans_from, plans_with_changes
from spanwalk.services.sync import state
from spanwalk.services.walk.remeasuring import held_by_repeats
from spanwalk.storage import json_text
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Record

Json = Any
Change = Callable[[Random, list[Json]], list[Json]]
ROUNDS = 4


def of(records: list[Json], *types: str) -> list[Json]:
    return [each for each in records if each["type"] in types and not each["removed"]]


def another_count(random: Random, records: list[Json]) -> list[Json]:
    group = random.choice(of(records, "group"))
    group["facets"]["count"] = {"count": random.randrange(1, 40), "dark_lamps": 0, "sure": "yes"}
    return [group]


def another_kind(random: Random, records: list[Json]) -> list[Json]:
    group = random.choice(of(records, "group"))
    group["facets"]["identity"]["kind"] = random.choice(of(records, "kind"))["id"]
    return [group]


def another_room(random: Random, records: list[Json]) -> list[Json]:
    group = random.choice(of(records, "group"))
    group["parent"] = random.choice(of(records, "room"))["id"]
    return [group]


def a_room_read(random: Random, records: list[Json]) -> list[Json]:
    room = random.choice(of(records, "room"))
    room["facets"]["hours"] = {"hours_year": random.randrange(500, 8000), "how_known": "owner-says"}
    room["facets"]["progress"] = {"progress": random.choice(("surveyed", "nothing-to-convert"))}
    return [room]


def a_kind_seen(random: Random, records: list[Json]) -> list[Json]:
    kind = random.choice(of(records, "kind"))
    leads = ("no", "ballast-here-feeds-the-neighbour", "fed-from-the-neighbours-ballast")
    kind["facets"]["wiring"] = {**kind["facets"].get("wiring", {}), "neighbour_leads": random.choice(leads)}
    return [kind]


def a_reading(random: Random, records: list[Json]) -> list[Json]:
    reading = random.choice(of(records, "cavity_reading"))
    reading["facets"]["identity"]["length_ticks"] += random.choice((-2_000, -254, 254, 6_000))
    return [reading]


def a_reading_more(random: Random, records: list[Json]) -> list[Json]:
    more = copy.deepcopy(random.choice(of(records, "cavity_reading")))
    more["id"] = new_id()
    more["parent"] = random.choice(of(records, "group"))["id"]
    return [more]


def a_cavity_read_again(random: Random, records: list[Json]) -> list[Json]:
    again = copy.deepcopy(random.choice(of(records, "cavity_reading")))
    again["id"] = new_id()
    again["facets"]["identity"]["length_ticks"] += random.choice((0, 254, 6_000))
    return [again]


def another_light(random: Random, records: list[Json]) -> list[Json]:
    for each in of(records, "lux_reading"):
        each["facets"]["identity"]["lux"] = random.randrange(150, 600)
    return of(records, "lux_reading")


def light_read_elsewhere(random: Random, records: list[Json]) -> list[Json]:
    """What is read in one room corrects others of its kind."""
    room, said = random.choice(of(records, "room")), {"when": "before", "daylight": "dark-outside", "calibrated": True}
    new = {"type": "lux_reading", "parent": room["id"], "removed": False, "conflicts": []}
    lux = random.randrange(60, 900)
    return [
        {**new, "id": new_id(), "facets": {"identity": {"point": f"P{point}", "lux": lux + point, **said}}}
        for point in range(4)
    ]


def a_floor_gone_or_back(random: Random, records: list[Json]) -> list[Json]:
    floor = random.choice([each for each in records if each["type"] == "floor"])
    floor["removed"] = not floor["removed"]
    return [floor]


def gone(random: Random, records: list[Json]) -> list[Json]:
    record = random.choice(of(records, "group", "cavity_reading", "room", "kind"))
    record["removed"] = True
    return [record]


def a_floor_answers(random: Random, records: list[Json]) -> list[Json]:
    floor = random.choice(of(records, "floor"))
    floor["facets"]["hours"] = {"hours_year": random.randrange(500, 8000), "how_known": "owner-says"}
    return [floor]


def another_price(random: Random, records: list[Json]) -> list[Json]:
    price = random.choice(of(records, "price"))
    price["facets"]["identity"]["each"] = random.randrange(1, 90)
    return [price]


def an_item_retired(random: Random, records: list[Json]) -> list[Json]:
    item = random.choice(of(records, "catalogue_item"))
    item["facets"]["retired"] = {"retired": random.random() < 0.5}
    return [item]


def other_terms(random: Random, records: list[Json]) -> list[Json]:
    money = of(records, "money")[0]
    money["facets"]["identity"]["tariff_per_kwh"] = round(random.uniform(0.05, 0.5), 3)
    return [money]


def other_terms_of_the_job(random: Random, records: list[Json]) -> list[Json]:
    """What the job pays once; at first it says that anything is charged at all."""
    money = of(records, "money")[0]
    for field in random.sample(("mobilisation", "permit_sum", "meter_peak_kw"), 2):
        money["facets"]["identity"][field] = random.randrange(1, 900)
    return [money]


def another_policy(random: Random, records: list[Json]) -> list[Json]:
    site = of(records, "site")[0]
    policy = random.choice(("keep-a-share-of-todays-light", "meet-the-target-of-the-space"))
    site["facets"]["settings"] = {**site["facets"].get("settings", {}), "light_policy": policy}
    return [site]


CHANGES: list[Change] = [
    another_count,
    another_kind,
    another_room,
    a_room_read,
    a_kind_seen,
    a_reading,
    a_reading_more,
    a_cavity_read_again,
    another_light,
    light_read_elsewhere,
    gone,
    a_floor_answers,
    a_floor_gone_or_back,
    another_price,
    an_item_retired,
    other_terms,
    other_terms_of_the_job,
    another_policy,
]


def inputs_told(found: SitePlan) -> dict[str, Any]:
    inputs = found.inputs
    names = (
        "to_judge",
        "doubts",
        "today",
        "partners",
        "unpaired",
        "read",
        "places",
        "money",
        "bars",
        "catalogue",
        "light",
        "kinds_held",
    )
    return {name: getattr(inputs, name) for name in names} | {"all": inputs.survey.all}


@pytest.mark.parametrize("seed", range(2))
def test_changes_one_after_another_come_to_what_a_site_read_anew_is(seed: int) -> None:
    random = Random(seed)
    records = demo_records() if seed % 2 else invented_site(24, seed)
    found = make_plans(copy.deepcopy(records))
    for head in range(1, ROUNDS + 1):
        changed: dict[str, Json] = {}
        for change in random.sample(CHANGES, random.randrange(1, 3)):
            for record in change(random, records):
                changed[record["id"]] = record
                records = [*(each for each in records if each["id"] != record["id"]), record]
        held = held_by_repeats(Survey(copy.deepcopy(records)))
        found = plans_with_changes(found, copy.deepcopy([*changed.values()]), head, (), held)
        anew = plans_from(inputs_of(copy.deepcopy(records), (), held))
        assert inputs_told(found) == inputs_told(anew), sorted(each["type"] for each in changed.values())
        assert found.plans == anew.plans, sorted(each["type"] for each in changed.values())
        assert list(found.plans) == list(anew.plans)


# -- through the server: rows that are read


@pytest.fixture
def site(tmp_path: Path) -> Iterator[tuple[Installation, list[Json]]]:
    records = invented_site(40)
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        yield installation, records


@pytest.fixture
def rows(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Types of the rows of `record` that are read for plans."""
    found: list[str] = []
    really = state.view_record

    def view(row: Any, who: bool = False) -> Any:
        found.append(row.type)
        return really(row, who)

    monkeypatch.setattr(state, "view_record", view)
    return found


def planned(installation: Installation) -> SitePlan:
    with installation.app.app_context(), reading() as session:
        return planning.site_plan(session, installation.site)


def pushed(installation: Installation, records: list[Json], record: Json, facet: str, **changes: Any) -> None:
    seen = operation_of(records.index(record) + 1, facet)
    to = record["facets"][facet] | changes | ({"parent": record["parent"]} if facet == "identity" else {})
    operation = installation.operation("surveyor", record["id"], record["type"], facet, to, seen=seen)
    (answer,) = installation.push("surveyor", operation)
    assert answer["result"] == "applied", answer


def test_of_a_change_only_the_rows_that_changed_are_read(
    site: tuple[Installation, list[Json]], rows: list[str]
) -> None:
    installation, records = site
    first = planned(installation)
    assert len(rows) > len(first.plans)
    groups = of(records, "group")
    for record, facet, value in (
        (groups[0], "count", {"count": 77}),
        (of(records, "room")[0], "hours", {"hours_year": 4321}),
        (of(records, "kind")[0], "ballast_space", {"length_ticks": 999 * 320}),
    ):
        rows.clear()
        pushed(installation, records, record, facet, **value)
        rows.clear()
        again = planned(installation)
        assert rows == [record["type"]]
        assert again.made < len(again.plans)
        assert again.head > first.head


def test_nothing_that_plans_hang_on_has_changed_and_nothing_is_looked_at(
    site: tuple[Installation, list[Json]], rows: list[str]
) -> None:
    installation, records = site
    first = planned(installation)
    about = {"parent": installation.site, "subject": of(records, "group")[0]["id"], "purpose": "whole-fixture"}
    photo = installation.operation("surveyor", new_id(), "photo", "identity", {**about, "sha256": "0" * 64})
    (answer,) = installation.push("surveyor", photo)
    assert answer["result"] == "applied", answer
    rows.clear()
    again = planned(installation)
    assert (rows, again.made, again.judged, again.head) == ([], 0, 0, first.head + 1)
    assert again.plans == first.plans


def test_a_database_that_was_set_back_and_went_on_past_where_it_was_leaves_nothing_of_before_in_the_plans(
    site: tuple[Installation, list[Json]],
) -> None:
    installation, records = site
    group, other = of(records, "group")[:2]
    first = planned(installation)
    with installation.app.app_context():
        with writing() as session:
            where = (Record.site == installation.site, Record.id == group["id"])
            facets = json_text.loads(session.execute(select(Record.facets).where(*where)).scalar_one())
            facets["count"]["value"]["count"] = 99
            session.execute(update(Record).where(*where).values(facets=json_text.dumps(facets)))
        begin_incarnation()
    pushed(installation, records, other, "count", count=77)
    again = planned(installation)
    assert again.head > first.head
    assert [again.plans[each["id"]]["fixtures"] for each in (group, other)] == [99, 77]
