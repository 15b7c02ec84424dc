"""After changes only points that these touch are found anew, and all come out as of a site looked at as a whole."""

from __future__ import annotations

import copy
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy.orm import Session
from tests.planning import test_what_a_change_touches as touching
from tests.planning.demo_records import demo_records
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import store, store_changes
from tests.planning.test_what_a_change_touches import of
from tests.support.installation import Installation, installed

from spanwalk.rules.points import owners
from spanwalk.rules.points.open_point_rules import RULES
from spanwalk.services.planning import completeness, neighbourhood, plans, points_again
from spanwalk.services.planning.completeness import Judged, judged_site
from spanwalk.services.sync import state
from spanwalk.storage import json_text
from spanwalk.storage.database import reading

Json = Any
Records = list[Json]
Change = Callable[[Random, Records], Records]
ROUNDS = 6
SEEDS = int(os.environ.get("SEEDS", "3"))
"""So many sites are changed; 300 were, when this was written."""


IDS = Random()
"""From here ids come, so that a site that came out wrong can be made again."""


def new_id() -> str:
    return str(UUID(int=IDS.getrandbits(128), version=4))


def record(type: str, parent: str, **facets: Any) -> Json:
    return {"id": new_id(), "type": type, "parent": parent, "removed": False, "facets": facets, "conflicts": []}


def a_reading_moved(random: Random, records: Records) -> Records:
    reading = random.choice(of(records, "cavity_reading"))
    reading["parent"] = random.choice(of(records, "group"))["id"]
    return [reading]


def another_cavity_read(random: Random, records: Records) -> Records:
    """Not one that was read before."""
    more = copy.deepcopy(random.choice(of(records, "cavity_reading")))
    more["id"] = new_id()
    more["facets"]["identity"]["position"] = 1 + len(of(records, "cavity_reading"))
    return [more]


def a_reading_voided(random: Random, records: Records) -> Records:
    reading = random.choice(of(records, "cavity_reading"))
    named = random.choice(("voided", "set_aside"))
    reading["facets"][named] = {} if reading["facets"].get(named) else {"reason": "Slipped."}
    return [reading]


def cavities_read_again(random: Random, records: Records) -> Records:
    """Enough of them, and far enough off, that lots are refused and repeats spread."""
    found = []
    for first in random.sample(of(records, "cavity_reading"), 8):
        again = copy.deepcopy(first)
        again["id"] = new_id()
        again["facets"]["identity"]["length_ticks"] += random.choice((0, 254, 508, 6_000, -6_000))
        found.append(again)
    return found


def readings_let_stand(random: Random, records: Records) -> Records:
    kind = random.choice(of(records, "kind"))
    said = {"spread_ticks": random.randrange(900), "stands_with": random.randrange(1, 9), "reason": "Looked at."}
    kind["facets"]["repeats"] = random.choice((said, {}))
    return [kind]


def light_read(random: Random, records: Records) -> Records:
    """Points of one room, mostly dimmer than reckoned; some corrected, some of after."""
    room = random.choice(of(records, "room"))
    when, said = random.choice(("before", "before", "after")), random.choice(({"daylight": "dark-outside"}, {}))
    lux = random.randrange(60, 900)
    return [
        record(
            "lux_reading",
            room["id"],
            identity={"point": f"P{point}", "lux": lux + point, "when": when, "calibrated": True, **said},
        )
        for point in range(random.randrange(1, 5))
    ]


def a_light_reading_moved(random: Random, records: Records) -> Records:
    read = of(records, "lux_reading")
    if not read:
        return light_read(random, records)
    reading = random.choice(read)
    if random.random() < 0.4:
        reading["removed"] = True
    else:
        reading["parent"] = random.choice(of(records, "room"))["id"]
    return [reading]


def a_floor_renamed_or_gone(random: Random, records: Records) -> Records:
    floor = random.choice([each for each in records if each["type"] == "floor"])
    if floor["removed"] or random.random() < 0.3:
        floor["removed"] = not floor["removed"]
    else:
        floor["facets"]["identity"] = {"name": f"Level {random.randrange(9)}", "order": random.randrange(9)}
    return [floor]


def a_group_more(random: Random, records: Records) -> Records:
    group = copy.deepcopy(random.choice(of(records, "group")))
    return [group | {"id": new_id(), "parent": random.choice(of(records, "room"))["id"]}]


def a_group_left_as_it_is(random: Random, records: Records) -> Records:
    group = random.choice(of(records, "group"))
    said = random.choice(("leave-as-is", "defer", "convert-with-this-arrangement"))
    group["facets"]["decision"] = {"decision": said, "reason": "Because."}
    return [group]


def volts_not_seen(random: Random, records: Records) -> Records:
    group = random.choice(of(records, "group"))
    group["facets"]["supply"] = {**group["facets"].get("supply", {}), "volts": random.choice(("not-seen", "277"))}
    return [group]


def ballast_space_gone(random: Random, records: Records) -> Records:
    kind = random.choice(of(records, "kind"))
    kind["facets"]["ballast_space"] = {} if kind["facets"].get("ballast_space") else {"length_ticks": 99_000}
    return [kind]


def a_kind_looked_at_again(random: Random, records: Records) -> Records:
    """It may give other light, take other watts, or neither."""
    kind = random.choice(of(records, "kind"))
    facet, field, values = random.choice(
        (
            ("lamps", "lamp_w", (28, 32, 34, 40)),
            ("lamps", "rows", (1, 2, 3)),
            ("housing", "optic", ("prismatic-lens", "louvre", "not-seen")),
            ("housing", "body", ("recessed-troffer", "wrap", "strip")),
            ("housing", "width_ticks", (90_000, 190_000)),
            ("ballast", "ballast", ("magnetic", "electronic", "not-seen")),
            ("ballast", "pcb_mark", ("marked", "no-mark")),
            ("identity", "mark", ("K91", "K92")),
        )
    )
    kind["facets"][facet] = {**kind["facets"].get(facet, {}), field: random.choice(values)}
    return [kind]


def a_number_twice(random: Random, records: Records) -> Records:
    one, other = random.sample(of(records, "room"), 2)
    one["facets"]["identity"]["number"] = other["facets"]["identity"]["number"]
    return [one]


def a_room_open_again(random: Random, records: Records) -> Records:
    room = random.choice(of(records, "room"))
    room["facets"]["progress"] = {"progress": random.choice(("open", "surveyed", "no-access"))}
    return [room]


def a_conflict(random: Random, records: Records) -> Records:
    about = random.choice(of(records, "room", "group", "kind", "cavity_reading", "photo", "label"))
    by = {"id": new_id(), "facet": "identity", "by": new_id(), "at": "2026-03-02T09:00:00Z", "value": {}}
    about["conflicts"] = [] if about["conflicts"] else [by]
    return [about]


def a_label(random: Random, records: Records) -> Records:
    labels = of(records, "label")
    made = random.choice(labels) if labels and random.random() < 0.5 else record("label", of(records, "site")[0]["id"])
    made["facets"]["identity"] = {"code": f"L{random.randrange(10_000)}", "origin": "printed"}
    group = random.choice(of(records, "group")[:4])
    made["facets"]["binding"] = {"group": group["id"], "position": random.choice((1, 1, 2, 3_900))}
    return [made]


def a_photo(random: Random, records: Records) -> Records:
    subject = random.choice(of(records, "group", "room", "kind", "cavity_reading"))
    said = {"subject": subject["id"], "purpose": "other", "sha256": f"{random.randrange(4):064d}"}
    return [record("photo", of(records, "site")[0]["id"], identity=said)]


def a_question(random: Random, records: Records) -> Records:
    asked = of(records, "question")
    if asked and random.random() < 0.5:
        question = random.choice(asked)
        question["facets"]["answer"] = {"answer": "Yes."}
        return [question]
    subject = random.choice(of(records, "group", "room", "kind", "cavity_reading"))
    said = {"subject": subject["id"], "question": "Why?"}
    return [record("question", of(records, "site")[0]["id"], identity=said)]


def noted(random: Random, records: Records) -> Records:
    group = random.choice(of(records, "group"))
    outcome = random.choice(("done", "problem", "skipped"))
    said = {"position": random.randrange(1, 4), "outcome": outcome, "reason": "other", "noted_at": "2026-03-02T09:00Z"}
    return [record("installation", group["id"], identity=said)]


def answered(random: Random, records: Records) -> Records:
    noted_before = of(records, "installation")
    if not noted_before:
        return noted(random, records)
    said = {"answer": random.choice(("do-it-so", "skip", "wait"))}
    return [record("problem_answer", random.choice(noted_before)["id"], identity=said)]


def picked(random: Random, records: Records) -> Records:
    said = {"release": new_id(), "sort": "bar", "item": "B1", "short": random.randrange(3)}
    return [record("picking", random.choice(of(records, "room"))["id"], identity=said)]


def brought_back(random: Random, records: Records) -> Records:
    gone = [each for each in records if each["removed"]]
    if not gone:
        return touching.gone(random, records)
    again = random.choice(gone)
    again["removed"] = False
    return [again]


def nothing(random: Random, records: Records) -> Records:
    return []


NARROW: list[Change] = [
    touching.another_count,
    touching.another_kind,
    touching.another_room,
    touching.a_room_read,
    touching.a_kind_seen,
    touching.a_reading,
    touching.gone,
    another_cavity_read,
    a_reading_moved,
    a_group_more,
    a_group_left_as_it_is,
    volts_not_seen,
    ballast_space_gone,
    a_number_twice,
    a_room_open_again,
    a_conflict,
    a_label,
    a_photo,
    a_question,
    noted,
    answered,
    picked,
    brought_back,
    nothing,
    a_reading_voided,
    readings_let_stand,
    touching.a_cavity_read_again,
    cavities_read_again,
    light_read,
    a_light_reading_moved,
    touching.another_light,
    touching.a_floor_answers,
    a_floor_renamed_or_gone,
    touching.other_terms_of_the_job,
    a_kind_looked_at_again,
    a_kind_looked_at_again,
]
WIDE: list[Change] = [touching.another_price, touching.another_policy]


def start_again() -> None:
    """As a server that has just started: what processes keep in memory is gone."""
    for kept in (completeness._judged, plans._kept):
        kept.clear()


@pytest.fixture(autouse=True)
def _starts_from_nothing(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(completeness, "KEPT_FROM_POINTS", 1)
    monkeypatch.setattr(touching, "new_id", new_id)
    IDS.seed("ids")
    start_again()
    yield
    start_again()


@pytest.fixture
def again(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Of each answer of which a part alone was found: how many groups were looked at."""
    found: list[int] = []
    merged = points_again._Found.merged

    def counted(self: Any, points: Any) -> Any:
        found.append(len(self._scope.groups))
        return merged(self, points)

    monkeypatch.setattr(points_again._Found, "merged", counted)
    return found


def told(found: Judged) -> dict[str, Any]:
    names = ("head", "points", "owners", "told", "installed", "names")
    return {name: getattr(found, name) for name in names}


def whole(session: Session, site: str) -> Judged:
    """All looked at, with nothing from before and nothing kept of it."""
    start_again()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(completeness, "keep_answer", lambda *_: None)
        patch.setattr(plans, "keep_answer", lambda *_: None)
        patch.setattr(plans, "kept_answer", lambda *_: None)
        head = state.site_head(session, site)
        return completeness._judge(session, site, head, completeness._around(session, site))


def compared(installation: Installation, about: object) -> None:
    """What is found after changes is what is found of the whole."""
    with installation.app.app_context(), reading() as session:
        start_again()
        after = judged_site(session, installation.site)
        expected = whole(session, installation.site)
        found, wanted = (
            [*zip(map(json_text.dumps, each.points), each.owners, strict=True)] for each in (after, expected)
        )
        differing = {
            side: [one for one in some if one not in other]
            for side, some, other in (("more", found, wanted), ("lost", wanted, found))
        }
        assert differing == {"more": [], "lost": []}, about
        assert told(after) == told(expected), about
        start_again()


def site_of(seed: int) -> Records:
    if seed % 3 == 0:
        return demo_records()
    return invented_site(30, seed, in_a_room=5)


@pytest.mark.parametrize("seed", range(SEEDS))
def test_what_is_open_after_any_changes_is_what_is_open_in_the_whole_site(
    tmp_path: Path, seed: int, again: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(completeness, "KEPT_AGAIN_FROM", 3)
    random, records = Random(seed), site_of(seed)
    IDS.seed(f"ids of {seed}")
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        site = next(each for each in records if each["type"] == "site")
        compared(installation, "at first")
        for _ in range(ROUNDS):
            changes = random.sample(NARROW, random.randrange(1, 4)) + random.sample(WIDE, random.random() < 0.1)
            arrived = [f"{number:064d}" for number in range(4) if random.random() < 0.5]
            monkeypatch.setattr(completeness, "photos_arrived", lambda *_, arrived=arrived: arrived)
            changed: dict[str, Json] = {}
            for change in changes:
                for each in change(random, records):
                    changed[each["id"]] = each
                    records = [*(one for one in records if one["id"] != each["id"]), each]
            assert site in records
            if changed:
                store_changes(installation, list(changed.values()))
            compared(installation, [each.__name__ for each in changes])
    assert again, "a part alone was found at least once"


def test_of_a_large_site_few_groups_are_looked_at_and_few_rows_are_read(
    tmp_path: Path, again: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    random, records = Random(1), invented_site(120, in_a_room=6)
    read: list[str] = []
    really = state.view_record
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        compared(installation, "at first")
        group = next(each for each in of(records, "group"))
        store_changes(installation, touching.a_reading_more(random, [*of(records, "cavity_reading"), group]))
        monkeypatch.setattr(state, "view_record", lambda row, who=False: read.append(row.type) or really(row, who))
        with installation.app.app_context(), reading() as session:
            judged_site(session, installation.site)
        assert again
        kind = group["facets"]["identity"]["kind"]
        alike = sum(each["facets"]["identity"]["kind"] == kind for each in of(records, "group"))
        assert again[-1] <= alike + 6
        assert read.count("group") <= alike + 6


def test_of_a_kind_that_gives_the_same_light_not_all_of_its_rooms_are_looked_at(
    tmp_path: Path, again: list[int]
) -> None:
    records = invented_site(120, in_a_room=6)
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        compared(installation, "at first")
        kinds = [each["facets"]["identity"]["kind"] for each in of(records, "group")]
        kind = next(each for each in of(records, "kind") if kinds.count(each["id"]) > 0 and not leads(each))
        kind["facets"]["housing"] = {**kind["facets"].get("housing", {}), "material": "aluminium"}
        store_changes(installation, [kind])
        compared(installation, "another material")
        rooms = {each["parent"] for each in of(records, "group") if each["facets"]["identity"]["kind"] == kind["id"]}
        # Of a room that says something of its groups all are.
        assert kinds.count(kind["id"]) <= again[0] < sum(each["parent"] in rooms for each in of(records, "group"))
        assert len(again) == 1


def leads(kind: Json) -> bool:
    return kind["facets"].get("wiring", {}).get("neighbour_leads", "no") != "no"


@pytest.mark.parametrize("change", WIDE)
def test_what_may_touch_all_is_found_in_the_whole_site(tmp_path: Path, again: list[int], change: Change) -> None:
    random, records = Random(3), invented_site(24, in_a_room=6)
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        compared(installation, "at first")
        store_changes(installation, change(random, records))
        compared(installation, change.__name__)
    assert again == []


def test_each_rule_is_of_a_site_a_room_a_kind_or_else_of_a_group() -> None:
    sets = (owners.OF_THE_SITE, owners.OF_A_ROOM, owners.OF_A_KIND, owners.OF_A_RECORD)
    named = [name for some in sets for name in some]
    assert len(named) == len(set(named))
    assert set(named) <= {rule.name for rule in RULES}
    of_groups = {rule.name for rule in RULES} - set(named)
    assert of_groups == {
        "no-count",
        "doubtful-count",
        "no-volts",
        "emergency-not-seen",
        "emergency-positions-not-said",
        "battery-not-seen",
        "second-source-not-named",
        "position-above-count",
        "dark-lamps-above-lamps",
        "longer-than-room",
        "no-reading",
        "too-few-readings",
        "two-clusters",
        "tight-not-settled",
        "fits-by-lamp",
        "reading-matches-another",
        "outlier",
        "reading-beyond-rows",
        "pair-set-aside",
        "verdict-differs",
        "problem-open",
        "problem-to-do",
        "difference-open",
        "sent-back",
        "not-in-release",
        "held-by-survey",
        "held-by-plan",
    }


def test_types_that_may_touch_all_are_types_of_the_spec() -> None:
    from spanwalk.records import spec

    assert set(neighbourhood.OF_ALL) < set(spec().types)
    assert "cavity_reading" in neighbourhood.within_groups()
    assert "problem_answer" in neighbourhood.within_groups()
    assert "room" not in neighbourhood.within_groups()
