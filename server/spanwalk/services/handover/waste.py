"""What came out of the fixtures that are done, by the cards under which they were done: for the disposal record."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import cast

from spanwalk.rules.gear.waste import SUSPECT
from spanwalk.rules.installing.noted import Card, Noted, emergency_positions
from spanwalk.rules.record_types import GroupView, RoomView
from spanwalk.rules.since_release.ballast import is_suspect_since
from spanwalk.rules.survey import Survey, facet, name_of_room
from spanwalk.services.days import day_of, zone_of
from spanwalk.services.handover.told import CollectedTold, ContainerTold, WasteTold
from spanwalk.words import choice_text

SUSPICIONS = (SUSPECT, "not suspect", "not known")
CONTAINERS = ("lamps-out", "ballasts-out", "batteries-out")
BATTERY_IN_FIXTURE, NOT_SEEN = "battery-in-fixture", "not-seen"


def waste_of(survey: Survey, noted: Mapping[str, Mapping[int, Noted]]) -> WasteTold:
    """What came out, counted: lamps by kind and length, ballasts by suspicion of PCB, batteries by what is in them.

    Parameters
    ----------
    survey : Survey
        The records: what became known of a ballast after its release counts as well.
    noted : mapping
        Group id -> position -> what was noted there, of every fixture of a site.
    """
    lamps: Counter[str] = Counter()
    ballasts: Counter[str] = Counter(dict.fromkeys(SUSPICIONS, 0))
    batteries: Counter[str] = Counter()
    not_told = 0
    for group, position, here in ((group, *each) for group, of_group in noted.items() for each in of_group.items()):
        if here.done is None:
            continue
        out = cast("Mapping[str, object]", here.card.get("remove") or {})
        not_told += not out
        lamps[str(out.get("lamp", ""))] += int(cast("int", out.get("lamps", 0)))
        ballasts[_suspicion(survey, group, here)] += int(cast("int", out.get("ballasts", 0)))
        if position in emergency_positions(here.card) and _emergency(here.card).get("duty") == BATTERY_IN_FIXTURE:
            batteries[str(_emergency(here.card).get("old_battery") or NOT_SEEN)] += 1
    return WasteTold(
        {lamp: number for lamp, number in sorted(lamps.items()) if number},
        dict(ballasts),
        dict(sorted(batteries.items())),
        not_told,
    )


def _suspicion(survey: Survey, group: str, here: Noted) -> str:
    """What a ballast is counted as: as its card said, or as suspect where the survey said so since."""
    told = str(cast("Mapping[str, object]", here.card.get("remove") or {}).get("pcb", "not known"))
    released = (facet(here.conversion, "identity").get("facts") or {}).get("kind", {}).get("ballast")
    record = survey.by_id.get(group)
    kind = survey.kind_of(cast("GroupView", record)) if record is not None else None
    if told == SUSPECT or released is None or kind is None:
        return told
    return SUSPECT if is_suspect_since(released, facet(kind, "ballast")) else told


def containers_of(survey: Survey, room: RoomView) -> Iterator[ContainerTold]:
    """Containers that crews checked off as ready for what comes out of a room."""
    zone = zone_of(survey.site())
    for each in survey.children(room, "picking"):
        said = facet(each, "identity")
        if said.get("sort") in CONTAINERS and said.get("ticked"):
            item, day = choice_text(str(said.get("item") or "")), day_of(said.get("noted_at"), zone)
            what = choice_text(str(said["sort"]))
            yield ContainerTold(name_of_room(room), what, item, int(said.get("wanted") or 0), day)


def collected_in(survey: Survey) -> tuple[CollectedTold, ...]:
    """What was collected, the earliest first."""
    told = [(facet(each, "identity"), each["id"]) for each in survey.of_type("waste_collection")]
    ordered = sorted(told, key=lambda each: (str(each[0].get("collected_on") or ""), each[1]))
    return tuple(
        CollectedTold(
            day=str(said.get("collected_on") or ""),
            by=str(said.get("collected_by") or ""),
            what=choice_text(str(said.get("sort") or "")),
            container=str(said.get("container") or ""),
            containers=said.get("containers"),
            number=said.get("number"),
            broken=said.get("broken"),
            note=str(said.get("note") or ""),
        )
        for said, _ in ordered
    )


def _emergency(card: Card) -> Mapping[str, object]:
    return cast("Mapping[str, object]", card.get("emergency") or {})
