"""All that a hand-over report tells, gathered from a site's records once: releases, installations, tests, photos."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.records import readable_types
from spanwalk.rules.installing.acceptance import statement
from spanwalk.rules.installing.noted import Noted, converted_in_removed, gone_since, in_force, noted_in
from spanwalk.rules.installing.punch_list import groups_in_order, punch_list, rooms_in_order
from spanwalk.rules.record_types import ConversionView, GroupView, LabelView, RoomView
from spanwalk.rules.survey import Survey, facet, fixtures_of, mark_of, name_of_room
from spanwalk.services.days import day_of, today_in, zone_of
from spanwalk.services.files.csv_out import heads
from spanwalk.services.handover import figures, pictures
from spanwalk.services.handover.acceptances import accepted
from spanwalk.services.handover.fixtures import fixtures_told
from spanwalk.services.handover.open_items import closed_points, open_points
from spanwalk.services.handover.told import (
    ClosedTold,
    GroupTold,
    LightTold,
    Report,
    RoomTold,
    SiteTold,
    TestsTold,
)
from spanwalk.services.handover.warranties import fitted_of, spares_of, warranties_of
from spanwalk.services.handover.waste import collected_in, containers_of, waste_of
from spanwalk.services.labels.labels import Binding, bindings
from spanwalk.services.photos.photos import photos_arrived
from spanwalk.services.planning.task_light import task_of_room
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.emergency_tests import COLUMNS, Tests, tests_of_site, told_cell
from spanwalk.services.releases.sums import Figures, Released, after, releases_of
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.explaining import sentence
from spanwalk.words import say

TYPES = (
    "site", "floor", "room", "kind", "group", "label", "photo", "lux_reading", "release", "release_sums", "conversion",
    "installation", "problem_answer", "problem_reply", "difference_answer",
    "picking", "emergency_test", "punch_point", "acceptance", "catalogue_item", "waste_collection",
)  # fmt: skip
SUMS = "release_sums"


@dataclass(frozen=True)
class Gathered:
    """The records of a site, and what is looked up in them again and again."""

    survey: Survey
    conversions: Mapping[str, ConversionView]
    labels: Mapping[Binding, LabelView]
    frozen: Mapping[str, Figures]
    photos: pictures.BySubject
    arrived: frozenset[str]
    with_money: bool
    noted: dict[str, dict[int, Noted]] = field(default_factory=dict)


def report_of(session: Session, site_id: str, role: str, with_money: bool) -> Report:
    """All that a hand-over report of a site tells.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    role : str
        Who asks: energy and money are told only to a role that reads the sums of releases.
    with_money : bool
        Whether money is wanted in it.

    Raises
    ------
    NotThere
        Nothing has been released on the site.
    """
    survey = Survey(site_records(session, site_id, types=TYPES, who=True))
    releases = releases_of(survey)
    if not releases:
        raise NotThere("handover.nothing-released")
    reads_sums = SUMS in readable_types(role)
    frozen = after(releases, releases[-1].number)
    held = Gathered(
        survey=survey,
        conversions=in_force(survey),
        labels=bindings(survey),
        frozen=frozen if reads_sums else {},
        photos=pictures.by_subject(survey.of_type("photo")),
        arrived=frozenset(photos_arrived(session, site_id)),
        with_money=with_money and reads_sums,
    )
    return _report(held, releases, frozen, tests_of_site(session, site_id), reads_sums)


def _report(
    held: Gathered, releases: Sequence[Released], frozen: Mapping[str, Figures], tests: Tests, reads_sums: bool
) -> Report:
    rooms = tuple(room for each in rooms_in_order(held.survey) if (room := _room(held, each)).groups)
    left_out = [each for each in held.survey.of_type("group") if each["id"] not in held.noted]
    conversions = list(held.conversions.values())
    told, listed = held.with_money and bool(frozen), punch_list(held.survey)
    zone = zone_of(held.survey.site())
    fitted = fitted_of(
        ((position, noted, len(group)) for group in held.noted.values() for position, noted in group.items()),
        zone,
    )
    return Report(
        site=_site(held.survey),
        made_on=today_in(zone),
        inches=facet(held.survey.site(), "settings").get("units") == "inches",
        releases=figures.releases_told(releases, held.with_money, zone),
        rooms=rooms,
        groups_left_out=len(left_out),
        fixtures_left_out=sum(fixtures_of(each) for each in left_out),
        sums=figures.sums_of(frozen) if reads_sums else None,
        money=figures.money_of(releases, frozen) if told else None,
        assumptions=figures.assumptions(releases, frozen, conversions, told) if reads_sums else (),
        waste=waste_of(held.survey, _taken_out(held)),
        containers=tuple(each for room in rooms_in_order(held.survey) for each in containers_of(held.survey, room)),
        tests=_tests(tests),
        cautions=_cautions(conversions),
        sources=figures.sources(),
        open=open_points(held.survey, listed),
        closed=tuple(_with_photos(held, each) for each in closed_points(held.survey, listed)),
        accepted=accepted(held.survey, partial(statement, held.survey, listed=listed), held.photos, held.arrived),
        collected=collected_in(held.survey),
        warranties=warranties_of(held.survey, fitted),
        spares=spares_of(held.survey, releases, fitted) if reads_sums else (),
    )


def _taken_out(held: Gathered) -> Mapping[str, Mapping[int, Noted]]:
    """What was noted of all fixtures of which something may have come out: those that are gone by now as well.

    A group that was removed, by itself or with its room, is no part of what is handed over; what came out of it came out.
    """
    groups = ((id, cast("GroupView", held.survey.by_id[id])) for id in held.noted)
    gone = {id: gone_since(held.survey, group, held.conversions.get(id)) for id, group in groups}
    here = {id: {**noted, **gone[id]} for id, noted in held.noted.items()}
    return {**here, **{group["id"]: noted for group, noted in converted_in_removed(held.survey)}}


def _with_photos(held: Gathered, closed: ClosedTold) -> ClosedTold:
    photos = held.photos.get(closed.record, ())
    return replace(
        closed, photos=tuple(pictures.told_photo(each, held.arrived, zone_of(held.survey.site())) for each in photos)
    )


def _room(held: Gathered, room: RoomView) -> RoomTold:
    survey = held.survey
    floor_name = str(facet(survey.floor_of(room), "identity").get("name", ""))
    told = tuple(found for each in groups_in_order(survey, room) if (found := _group(held, each)) is not None)
    units = str(facet(survey.site(), "settings").get("units", "inches"))
    task = tuple(sentence(each, units) for each in task_of_room(survey, room)) if told else ()
    return RoomTold(room["id"], name_of_room(room), floor_name, told, _light(survey, room), task)


def _group(held: Gathered, group: GroupView) -> GroupTold | None:
    """A group that is released or in which something was noted; None: it is no part of what is handed over."""
    survey, newest = held.survey, held.conversions.get(group["id"])
    if newest is None and not survey.children(group, "installation"):
        return None
    kind, mark = survey.kind_of(group), mark_of(survey.kind_of(group))
    noted = held.noted[group["id"]] = noted_in(survey, group, newest)
    fixtures = tuple(fixtures_told(group, noted, held.labels, zone_of(survey.site())))
    frozen = held.frozen.get(group["id"])
    money = cast("Mapping[str, float | None]", (frozen or {}).get("money") or {}) if held.with_money else {}
    said = facet(newest, "identity")
    return GroupTold(
        id=group["id"],
        mark=mark,
        title=str(facet(kind, "identity").get("title") or ""),
        note=str(facet(group, "identity").get("note") or ""),
        released=str(said.get("summary") or said.get("arrangement") or "") if newest is not None else None,
        release=int(said.get("number") or 0) if newest is not None else None,
        fixtures=fixtures,
        energy=figures.energy_of(frozen) if frozen else None,
        cost=money.get("cost"),
        saving_year=money.get("saving_year"),
        photos=pictures.photos_of(survey, group, held.photos, held.arrived),
    )


def _light(survey: Survey, room: RoomView) -> tuple[LightTold, ...]:
    zone = zone_of(survey.site())
    told = [facet(each, "identity") for each in survey.children(room, "lux_reading")]
    found = [
        LightTold(
            str(each.get("point", "")),
            str(each["when"]),
            float(each["lux"]),
            day_of(each.get("read_at"), zone),
        )
        for each in told
        if "lux" in each and "when" in each
    ]
    return tuple(sorted(found, key=lambda each: (each.point, each.when != "before", each.day)))


def _site(survey: Survey) -> SiteTold:
    site = survey.site()
    customer, notice = facet(site, "customer"), facet(site, "notice")
    return SiteTold(
        name=str(facet(site, "identity").get("name", "")),
        customer=str(customer.get("customer") or ""),
        address=str(customer.get("address") or ""),
        firm=str(notice.get("firm") or ""),
        call=str(notice.get("call") or ""),
        zone=zone_of(site),
    )


def _tests(tests: Tests) -> TestsTold:
    """The record of tests without the names of those who tested: the customer gets the firm."""
    columns = tuple(name for name in COLUMNS if name != "by")
    rows = tuple(tuple(str(told_cell(line, name)) for name in columns) for line in tests["lines"])
    return TestsTold(
        tests["fixtures"], tests["open"], columns, tuple(heads(*(COLUMNS[name] for name in columns))), rows
    )


def _cautions(conversions: Sequence[ConversionView]) -> tuple[str, ...]:
    """What whoever opens a fixture must know: first what holds everywhere, then what the cards say, each once."""
    found = dict.fromkeys((say("anyone.caution"), say("desk.waste-caution")))
    for each in conversions:
        card = cast("Mapping[str, object]", facet(each, "identity").get("frozen") or {})
        codes = [
            *cast("Sequence[str]", card.get("cautions") or ()),
            *cast("Mapping[str, object]", card.get("cautions_at") or {}),
        ]
        found |= dict.fromkeys(say(code) for code in codes)
    return tuple(found)
