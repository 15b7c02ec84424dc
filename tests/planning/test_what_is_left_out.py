"""Every field that a plan or a verdict looks at, left out or not seen: what needs it is held back, what does without says so."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from tests.fit.judging_cases import arguments
from tests.planning.some_body import GROUP, KIND, ROOM, SETTINGS, body

from spanwalk.records import spec
from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.judging.judging import judge_group

Json = Any
GIVEN = {"kind": KIND, "group": GROUP, "room": ROOM, "site": {"settings": SETTINGS}}
FIELDS = [
    f"{part}.{facet}.{name}"
    for part, facets in GIVEN.items()
    for facet, known in spec().types[part].facets.items()
    if part != "site" or facet in facets
    for name in known.fields
]

NEEDED = {
    "kind.housing.body", "kind.lamps.fitted", "kind.lamps.diameter", "kind.lamps.nominal_ft", "kind.lamps.rows", "kind.lamps.lamps_end_to_end",
    "kind.ballast_space.length_ticks", "kind.ballast_space.width_ticks", "kind.ballast_space.height_ticks", "kind.wiring.feeds",
    "kind.wiring.neighbour_leads", "group.count.count", "group.duty.emergency", "room.surroundings.moisture",
    "room.surroundings.hazardous", "site.settings.hottest_c", "site.settings.coldest_c",
}  # fmt: skip
"""Without one of these no group is ready."""

SAID = {
    "kind.housing.magnet_holds": "plan.caution.no-magnet", "kind.housing.optic": "optic", "kind.housing.optic_state": "state of optic",
    "kind.housing.height_ticks": "plan.caution.look-at-first", "kind.housing.row_spacing_ticks": "plan.caution.look-at-first",
    "kind.lamps.cap": "cap", "kind.lamps.lamp_w": "lamp watts", "kind.ballast.ballast": "ballast", "kind.ballast.ballast_count": "ballast count",
    "group.count.dark_lamps": "dark lamps", "group.supply.shared_neutral": "plan.caution.shared-neutral", "group.duty.control_now": "control now",
    "room.size.length_ticks": "room size", "room.size.width_ticks": "room size", "room.size.height_ticks": "room size",
    "room.size.work_plane_ticks": "work plane", "room.ceiling.access": "access platform", "room.surfaces.ceiling_pct": "reflectances",
    "room.surfaces.walls_pct": "reflectances", "room.surfaces.floor_pct": "reflectances", "room.hours.hours_year": "hours",
    "room.hours.how_known": "hours", "site.settings.light_policy": "what light is wanted", "site.settings.light_ceiling_pct": "the most light",
    "site.settings.light_years": "years of light", "site.settings.light_kept": "which of today's light to keep",
}  # fmt: skip
"""Without these a group may be ready, and the plan says what was taken, missing, not counted, or to be minded on site."""

BY_TARGET = {"site.settings.light_standard": "whose targets count"}
"""Said where the target of the space is wanted."""

NOT_ASKED = {
    "what it is called": {"kind.identity.mark", "kind.identity.title", "group.identity.note", "room.identity.number", "room.identity.name", "room.ceiling.note"},
    "judged with the readings, see below": {"kind.identity.alike", "kind.housing.material", "group.differs.housing_material",
        "site.settings.spread_floor_ticks", "site.settings.spring_back_ticks",
        "kind.spring_back.holders", "kind.spring_back.first_ticks", "kind.spring_back.second_ticks", "kind.spring_back.third_ticks",
        "kind.spring_back.fourth_ticks", "kind.spring_back.fifth_ticks", "kind.spring_back.instrument",
        "kind.repeats.spread_ticks", "kind.repeats.stands_with", "kind.repeats.reason"},
    "the site's own stands in": {"room.surroundings.hottest_c", "room.surroundings.coldest_c"},
    "the spacing of the rows is the narrower here; one row is held against the width": {"kind.housing.width_ticks"},
    "told by the ballast itself here; a magnetic one is suspect without them": {"kind.ballast.pcb_mark", "kind.ballast.made", "kind.ballast.leaking"},
    "either will do for this driver; without both the group is not ready": {"kind.ballast.volts_mark", "group.supply.volts"},
    "nothing is to be dimmed here, see below": {"kind.wiring.control_pair"},
    "the crew checks it at every fixture": {"kind.wiring.earth"},
    "no doubt was raised": {"group.count.sure", "group.count.gone"},
    "shown to the crew as not seen": {"group.supply.how_known", "group.supply.panel", "group.supply.circuit", "group.supply.switching"},
    "nothing is emergency here": {"group.duty.emergency_positions", "group.duty.battery", "group.duty.old_pack", "group.duty.unswitched_feed",
        "group.duty.second_source", "site.settings.emergency_min"},
    "the supply is a.c. here": {"group.supply.dc_volts"},
    "no LED tubes are in it here": {"kind.lamps.tube_lm", "kind.lamps.tube_mains_w"},
    "gear of 60 Hz here: no class, no capacitor beside it; the supply tells whose world it is": {"kind.ballast.energy_class", "kind.ballast.capacitor",
        "kind.ballast.capacitor_made", "site.settings.region"},
    "nothing new is wanted": {"group.duty.control_wanted"},
    "a driver that dims is taken where nobody knows": {"group.duty.dimming"},
    "what is told, no verdict": {"room.identity.space_type", "site.settings.power_density_code", "site.settings.units", "site.settings.time_zone", "site.settings.supply_volts",
        "site.settings.spare_pct", "site.settings.keep_photo_place", "room.ceiling.ceiling", "room.ceiling.fire_rated", "room.ceiling.asbestos", "room.surroundings.clean_or_food",
        "group.differs.note", "room.progress.progress", "room.progress.reason", "room.walk.order"},
    "the room has no task area here; with one, what nobody said makes its range wider": {"room.task.length_ticks", "room.task.width_ticks",
        "room.task.from_end_ticks", "room.task.from_side_ticks", "room.layout.spread", "room.layout.along", "room.layout.across",
        "room.layout.direction"},
    "when work is allowed there: the schedule's, no plan's": {"room.work_hours.days", "room.work_hours.begins", "room.work_hours.ends"},
    "which kind it is: required": {"group.identity.kind"},
    "where it hangs on a plan of the floor": {"room.pin.plan", "room.pin.x", "room.pin.y", "group.pin.plan", "group.pin.x", "group.pin.y"},
    "the manager's own": {"group.decision.decision", "group.decision.arrangement", "group.decision.reason", "group.decision.accepts_trial", "group.decision.accepts_lamp", "group.decision.how_chosen", "group.decision.accepts_led_tubes"},
    "less light is then taken as enough nowhere: all of today's is wanted": {"site.settings.keep_light_pct"},
}  # fmt: skip
"""What the plan of this body does without, and why that is right."""


def without(some: Body, path: str, not_seen: bool = False) -> Body:
    part, facet, name = path.split(".")
    record = copy.deepcopy(getattr(some, part))
    held = record["facets"].setdefault(facet, {})
    held.pop(name, None)
    if not_seen:
        held[name] = "not-seen"
    return replace(some, **{part: record})


def told(plan: dict[str, Json]) -> set[str]:
    """All that a plan says of what it was made without."""
    return {
        *plan["now"]["assumed"],
        *plan["now"]["missing"],
        *plan["cautions"],
        *plan["uncounted"],
        *plan["wanted"]["assumed"],
    }


def ways(path: str) -> Iterator[bool]:
    """Left out, and where the field can say so, not seen."""
    part, facet, name = path.split(".")
    yield False
    if "not-seen" in spec().types[part].facets[facet].fields[name].choices:
        yield True


def test_each_field_is_spoken_of_once() -> None:
    spoken = [*NEEDED, *SAID, *BY_TARGET, *(path for paths in NOT_ASKED.values() for path in paths)]
    assert sorted(spoken) == sorted(FIELDS)


def test_with_everything_seen_the_group_is_ready_and_nothing_is_assumed() -> None:
    plan = plan_group(body())
    assert (plan["state"], plan["now"]["assumed"], plan["uncounted"], plan["wanted"]["assumed"]) == (
        "ready",
        [],
        [],
        [],
    )


@pytest.mark.parametrize("path", sorted(NEEDED))
def test_without_what_it_needs_no_group_is_ready(path: str) -> None:
    for not_seen in ways(path):
        plan = plan_group(without(body(), path, not_seen))
        assert plan["state"] != "ready"
        assert plan["blockers"]


@pytest.mark.parametrize("path", sorted(SAID))
def test_what_is_taken_in_its_place_is_said(path: str) -> None:
    before = told(plan_group(body()))
    for not_seen in ways(path):
        assert SAID[path] in told(plan_group(without(body(), path, not_seen))) - before


def test_whose_targets_are_taken_is_said() -> None:
    some = body(settings={"light_policy": "meet-the-target-of-the-space"})
    assert told(plan_group(some)) >= {*BY_TARGET.values()}


@pytest.mark.parametrize("path", sorted({path for paths in NOT_ASKED.values() for path in paths}))
def test_what_it_does_without_makes_nothing_ready_that_was_not(path: str) -> None:
    """Neither a group that waits for something else, nor one that was ready for less light."""
    assert plan_group(without(body(group={"duty": {"emergency": "not-seen"}}), path))["state"] != "ready"


ELSEWHERE = [
    ("group.duty.emergency_positions", {"group": {"duty": {"emergency": "battery-in-fixture"}}}),
    (
        "group.duty.second_source",
        {"group": {"duty": {"emergency": "generator-or-inverter", "emergency_positions": [1]}}},
    ),
    ("kind.ballast.volts_mark", {"group": {"supply": {"volts": "not-seen"}}}),
]


@pytest.mark.parametrize(("path", "changes"), ELSEWHERE, ids=[path for path, _ in ELSEWHERE])
def test_where_another_duty_needs_it_it_is_not_ready_either(path: str, changes: dict[str, Json]) -> None:
    for not_seen in ways(path):
        assert plan_group(without(body(**changes), path, not_seen))["state"] != "ready"


def test_where_dimming_is_wanted_a_control_pair_that_nobody_saw_is_cautioned_of() -> None:
    some = body(group={"duty": {"control_wanted": "dimming"}}, kind={"wiring": {"control_pair": "yes"}})
    assert "plan.caution.control-pair" not in plan_group(some)["cautions"]
    for not_seen in (False, True):
        assert (
            "plan.caution.control-pair" in plan_group(without(some, "kind.wiring.control_pair", not_seen))["cautions"]
        )


@pytest.mark.parametrize("path", ["kind.ballast.pcb_mark", "kind.ballast.made"])
def test_a_magnetic_ballast_is_suspect_as_long_as_nobody_saw_otherwise(path: str) -> None:
    some = without(body(kind={"ballast": {"ballast": "magnetic", "pcb_mark": "no-mark", "made": "1990"}}), path)
    assert plan_group(some)["waste"]["suspicion"] == "suspect"


# -- by the readings

JUDGED = {
    "group.count.count": "cannot tell",
    "kind.lamps.rows": "cannot tell",
    "kind.lamps.lamps_end_to_end": "cannot tell",
}
"""Without these nobody knows how many cavities there are."""
REASONS = {
    "kind.housing.material": "fit.material-not-named",
    "room.surroundings.coldest_c": "fit.temperatures-assumed",
    "room.surroundings.hottest_c": "fit.temperatures-assumed",
}


def judged(path: str | None = None, not_seen: bool = False, **changes: Json) -> dict[str, Json]:
    said = arguments({"set": changes})
    if path is not None:
        part, facet, name = path.split(".")
        said[part]["facets"][facet].pop(name)
        if not_seen:
            said[part]["facets"][facet][name] = "not-seen"
    return judge_group(**said, tables=tables())


@pytest.mark.parametrize("path", JUDGED)
def test_without_a_count_of_cavities_nothing_fits(path: str) -> None:
    assert judged()["fits"][0]["verdict"] == "fits"
    found = judged(path)
    assert {fit["verdict"] for fit in found["fits"]} == {JUDGED[path]}
    assert found["best"] is None
    assert [reason["code"] for reason in found["trusted"]["reasons"]] == ["cavity.not-counted"]


@pytest.mark.parametrize("path", REASONS)
def test_what_is_assumed_of_heat_and_housing_stands_among_the_reasons(path: str) -> None:
    for not_seen in ways(path):
        assert REASONS[path] in [reason["code"] for reason in judged(path, not_seen)["fits"][0]["reasons"]]


@pytest.mark.parametrize("path", ["kind.lamps.fitted", "kind.lamps.diameter", "kind.lamps.nominal_ft"])
def test_a_lamp_that_was_not_seen_proves_no_cavity(path: str) -> None:
    one_reading = {"readings": [[1, 1, 384000]]}
    assert judged(**one_reading)["trusted"]["basis"] == "lamp"
    for not_seen in ways(path):
        found = judged(path, not_seen, **one_reading)
        assert (found["trusted"]["basis"], found["best"]) == (None, None)


def test_alike_that_nobody_said_is_not_sure() -> None:
    """Neither word silences two clusters; only 'two-makes-seen' holds back without them."""
    clusters = {"readings": [[1, 1, 383000], [2, 1, 383000], [3, 1, 384600], [4, 1, 384600]]}
    assert [judged(**some)["trusted"]["status"] for some in ({}, clusters)] == ["known", "two clusters"]
    assert [judged("kind.identity.alike", **some)["trusted"]["status"] for some in ({}, clusters)] == [
        "known",
        "two clusters",
    ]
