"""What is open when a building is handed over, room by room. Twin: pwa/rules/installing/punch_list.js.

It is the one list for screen, report and signature. Each point follows from what was noted, and is gone once that says
otherwise; further points are added on the walk with the customer. A point can be closed with words and photos. What is
a proof of safety (checks, emergency tests) is closed by doing it and by nothing else.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict, cast

from spanwalk.rules.installing.checked_off import missing_checks
from spanwalk.rules.installing.last_word import place_of
from spanwalk.rules.installing.noted import DONE, Noted, emergency_positions, in_force, noted_in
from spanwalk.rules.installing.outcomes import (
    DONE_AGAIN,
    UNANSWERED,
    difference_state,
    newest,
    passed_over,
    problem_state,
)
from spanwalk.rules.record_types import (
    ConversionView,
    EmergencyTestView,
    GroupView,
    InstallationView,
    LabelView,
    PunchPointView,
    RoomView,
)
from spanwalk.rules.record_view import Facet
from spanwalk.rules.said import Said
from spanwalk.rules.survey import (
    Survey,
    facet,
    fixtures_of,
    floor_order,
    has,
    is_position,
    mark_of,
    name_of_room,
    newest_conversions,
    walk_order,
)

NOT_DONE, PROBLEM, DIFFERS, TICKS, NO_LABEL, COUNT, TEST, LIGHT, OWN = (
    "not-done",
    "problem",
    "differs",
    "ticks",
    "no-label",
    "count",
    "test",
    "light",
    "own",
)
BY_WORK_ALONE = (TICKS, TEST)
"""Closed by doing them, by no words."""
NOT_NOTED, SKIPPED = "not-noted", "skipped"
PASSED, NO_TEST, NOT_CONVERTED, TOO_SHORT = "passed", "no test yet", "not converted yet", "too short"
FACTS = dict[str, object]


class Point(TypedDict):
    """A point of the list.

    `key` names it for as long as what it follows from stays as it is; `code` with `facts` is its sentence; `how` says how
    it was closed (empty: it is open), `closing` is the record that says so, or of an own point the point itself.
    """

    key: str
    sort: str
    room: str
    group: str
    positions: list[int]
    code: str
    facts: FACTS
    how: str
    closing: str


@dataclass(frozen=True)
class HandedOver:
    """A group that is released or in which something was noted, with what counts of each fixture."""

    room: RoomView
    group: GroupView
    conversion: ConversionView | None
    noted: Mapping[int, Noted]


@dataclass(frozen=True)
class _Site:
    """What is looked up again and again."""

    survey: Survey
    in_force: Mapping[str, ConversionView]
    newest: Mapping[str, ConversionView]
    labelled: Container[tuple[str, int]]
    closings: Mapping[str, PunchPointView]
    here: Mapping[str, Sequence[HandedOver]] | None = None


def rooms_in_order(survey: Survey) -> list[RoomView]:
    """Rooms in the order of the walk."""

    def place(room: RoomView) -> tuple[int, str, int, str, str]:
        floor = survey.floor_of(room)
        name = str(facet(floor, "identity").get("name", ""))
        return floor_order(floor), name, walk_order(room), name_of_room(room), room["id"]

    return sorted(survey.of_type("room"), key=place)


def groups_in_order(survey: Survey, room: RoomView) -> list[GroupView]:
    """Groups of a room by the mark of their kind."""
    return sorted(survey.children(room, "group"), key=lambda each: (mark_of(survey.kind_of(each)), each["id"]))


def handed_over(survey: Survey, room: RoomView, conversions: Mapping[str, ConversionView]) -> list[HandedOver]:
    """Groups of a room that are part of what is handed over; `conversions`: those in force, by group."""
    return [
        HandedOver(room, group, conversions.get(group["id"]), noted_in(survey, group, conversions.get(group["id"])))
        for group in groups_in_order(survey, room)
        if group["id"] in conversions or survey.children(group, "installation")
    ]


def punch_list(
    survey: Survey,
    labelled: Container[tuple[str, int]] | None = None,
    here: Mapping[str, Sequence[HandedOver]] | None = None,
) -> list[Point]:
    """Every point of a site in the order of the walk, those that were closed too.

    Parameters
    ----------
    survey : Survey
        Floors, rooms, kinds, groups, labels, light readings, releases, conversions, installations with what was said to
        them, emergency tests and punch list points, with the order in which the server took them.
    labelled : container of (str, int), optional
        Fixtures that have a live label, group and position, for who has not the labels in the survey.
    here : mapping, optional
        Room id -> what `handed_over` gives, for who wants the points of these rooms alone.
    """
    closings: dict[str, PunchPointView] = {}
    for each in sorted(survey.of_type("punch_point"), key=lambda point: (_closed_at(point), point["id"])):
        about = facet(each, "identity").get("about")
        if about and facet(each, "closed").get("how"):
            closings[about] = each
    known = frozenset(_labelled(survey)) if labelled is None else labelled
    site = _Site(survey, in_force(survey), newest_conversions(survey), known, closings, here)
    rooms = [each for each in rooms_in_order(survey) if here is None or each["id"] in here]
    return [point for room in rooms for point in _in_room(site, room)]


def is_open(point: Point) -> bool:
    """Whether a point is still open."""
    return not point["how"]


def _closed_at(point: PunchPointView) -> int:
    return point.get("seqs", {}).get("closed", 0)


def _labelled(survey: Survey) -> Iterator[tuple[str, int]]:
    for label in cast("Iterable[LabelView]", survey.of_type("label")):
        binding = facet(label, "binding")
        if binding and not has(label, "voided"):
            yield str(binding["group"]), int(binding["position"])


def _in_room(site: _Site, room: RoomView) -> Iterator[Point]:
    here = handed_over(site.survey, room, site.in_force) if site.here is None else site.here[room["id"]]
    for each in here:
        for point in _in_group(site, each):
            yield _closed(site, point)
    if here:
        for point in _light(site.survey, room, here):
            yield _closed(site, point)
    for group in groups_in_order(site.survey, room):
        yield from _tests(site, room, group)
    for own in site.survey.children(room, "punch_point"):
        if not facet(own, "identity").get("about"):
            yield _own(own, room)


def _closed(site: _Site, point: Point) -> Point:
    closing = site.closings.get(point["key"])
    if closing is None or point["sort"] in BY_WORK_ALONE:
        return point
    return {**point, "how": str(facet(closing, "closed")["how"]), "closing": closing["id"]}


def _point(sort: str, about: HandedOver, positions: Sequence[int], code: str, facts: FACTS, record: str = "") -> Point:
    text = ranges(positions)
    return {
        "key": f"{sort}|{about.group['id']}|{text}|{record or code}",
        "sort": sort,
        "room": about.room["id"],
        "group": about.group["id"],
        "positions": list(positions),
        "code": f"punch.{code}",
        "facts": facts,
        "how": "",
        "closing": "",
    }


def _in_group(site: _Site, about: HandedOver) -> Iterator[Point]:
    mark = mark_of(site.survey.kind_of(about.group))
    unseen = passed_over(site.survey.children(about.group, "installation"))
    yield from _not_done(about, mark)
    for position, here in about.noted.items():
        facts: FACTS = {"mark": mark, "position": position}
        for each in _problems(site.survey, position, here, unseen):
            told = facts | _problem(site.survey, each)
            yield _point(PROBLEM, about, [position], PROBLEM, told, each["id"])
        if here.done is not None:
            yield from _of_done(site.survey, about, position, here, facts)
    bare = [
        position
        for position, here in about.noted.items()
        if here.done is not None and (about.group["id"], position) not in site.labelled
    ]
    if bare:
        yield _point(NO_LABEL, about, bare, NO_LABEL, {"mark": mark, "positions": ranges(bare)})
    beyond = [position for position in about.noted if not is_position(about.group, position)]
    if beyond:
        counted: FACTS = {"mark": mark, "positions": ranges(beyond), "count": fixtures_of(about.group)}
        yield _point(COUNT, about, beyond, "beyond-count", counted)


def _problems(
    survey: Survey, position: int, here: Noted, unseen: Sequence[InstallationView]
) -> Iterator[InstallationView]:
    """The problem that was noted last on a fixture, and those that nobody answered and only others' words came after."""
    if here.last is not None and facet(here.last, "identity").get("outcome") == PROBLEM:
        yield here.last
    for each in unseen:
        if facet(each, "identity").get("position", 0) == position and problem_state(survey, each) == UNANSWERED:
            yield each


def state_of(noted: Noted) -> str:
    """How far a fixture is: `done`, `problem`, `skipped`, `not-done-after-all` or `not-noted`."""
    if noted.done is not None:
        return DONE
    return str(facet(noted.last, "identity").get("outcome") or NOT_NOTED)


def _not_done(about: HandedOver, mark: str) -> Iterator[Point]:
    by_state: dict[str, list[int]] = {}
    for position, here in about.noted.items():
        state = state_of(here)
        if state not in (DONE, PROBLEM):
            by_state.setdefault(state, []).append(position)
    for state, positions in by_state.items():
        facts: FACTS = {"mark": mark, "n": len(positions), "positions": ranges(positions), "all": len(about.noted)}
        code = "nothing-noted" if state == NOT_NOTED else NOT_DONE
        yield _point(NOT_DONE, about, positions, code, facts | {"state": state}, state)


def _problem(survey: Survey, installation: InstallationView) -> FACTS:
    said = facet(installation, "identity")
    reason, words = said.get("reason"), said.get("problem")
    state = problem_state(survey, installation)
    what: object = reason or words or Said(code="punch.no-words", facts={})
    if reason and words:
        what = Said(code="punch.reason-and-words", facts={"reason": reason, "words": words})
    answer = "unanswered" if state == UNANSWERED else "answered"
    return {"what": what, "answer": Said(code=f"punch.{answer}", facts={"answer": state})}


def _of_done(survey: Survey, about: HandedOver, position: int, here: Noted, facts: FACTS) -> Iterator[Point]:
    assert here.done is not None
    state = difference_state(survey, here.done)
    if state in (UNANSWERED, DONE_AGAIN):
        yield _point(DIFFERS, about, [position], f"differs-{state}", facts, f"{here.done['id']}|{state}")
    missing = missing_checks(here.card, position, facet(here.done, "identity").get("checks") or ())
    if missing:
        yield _point(TICKS, about, [position], TICKS, {**facts, "checks": missing}, here.done["id"])


def _light(survey: Survey, room: RoomView, here: Sequence[HandedOver]) -> Iterator[Point]:
    whens = {facet(each, "identity").get("when") for each in survey.children(room, "lux_reading")}
    any_done = any(noted.done is not None for each in here for noted in each.noted.values())
    if any_done and "before" in whens and "after" not in whens:
        yield {
            "key": f"{LIGHT}|{room['id']}",
            "sort": LIGHT,
            "room": room["id"],
            "group": "",
            "positions": [],
            "code": f"punch.{LIGHT}",
            "facts": {},
            "how": "",
            "closing": "",
        }


def _tests(site: _Site, room: RoomView, group: GroupView) -> Iterator[Point]:
    """Emergency fixtures whose newest test did not pass."""
    survey, conversion = site.survey, site.newest.get(group["id"])
    card = cast("Mapping[str, object]", facet(conversion, "identity").get("frozen") or {})
    emergency = cast("Facet", card.get("emergency") or {})
    tests: dict[int, list[EmergencyTestView]] = {}
    for each in survey.children(group, "emergency_test"):
        if facet(each, "identity"):
            tests.setdefault(int(facet(each, "identity")["position"]), []).append(each)
    positions = emergency_positions(card) | set(tests)
    noted = noted_in(survey, group, conversion) if positions else {}
    about = HandedOver(room, group, conversion, noted)
    for position in sorted(positions):
        test = newest(tests.get(position, []))
        state = NO_TEST if test is None else test_state(facet(test, "identity"), emergency.get("wanted_min"))
        if test is None and (position not in noted or noted[position].done is None):
            state = NOT_CONVERTED
        if state != PASSED:
            facts: FACTS = {"mark": mark_of(survey.kind_of(group)), "position": position, "state": state}
            yield _point(TEST, about, [position], TEST, facts, test["id"] if test is not None else "")


def test_state(said: Mapping[str, object], wanted_min: int | None) -> str:
    """What a test says: its result; one that passed for fewer minutes than were wanted is too short.

    Parameters
    ----------
    said : mapping
        The test's identity, which may say itself how many minutes were wanted.
    wanted_min : int or None
        Minutes that the card wants, where the test does not say [min].

    Examples
    --------
    >>> passed = {"result": "passed", "minutes": 89}
    >>> test_state(passed, 90), test_state(passed, None), test_state({**passed, "wanted_min": 60}, 90)
    ('too short', 'passed', 'passed')
    """
    result, wanted = str(said["result"]), cast("int | None", said.get("wanted_min", wanted_min))
    short = result == PASSED and wanted is not None and cast("int", said.get("minutes", 0)) < wanted
    return TOO_SHORT if short else result


def _own(own: PunchPointView, room: RoomView) -> Point:
    said = facet(own, "identity")
    position = said.get("position")
    return {
        "key": own["id"],
        "sort": OWN,
        "room": room["id"],
        "group": str(said.get("group") or ""),
        "positions": [] if position is None else [position],
        "code": f"punch.{OWN}",
        "facts": {"words": said.get("words") or Said(code="punch.no-words", facts={})},
        "how": str(facet(own, "closed").get("how") or ""),
        "closing": own["id"],
    }


def ranges(numbers: Sequence[int]) -> str:
    """Numbers in short.

    >>> ranges([1, 2, 3, 7, 9, 10])
    '1–3, 7, 9, 10'
    """
    runs: list[list[int]] = []
    for each in sorted(numbers):
        if runs and each == runs[-1][-1] + 1:
            runs[-1].append(each)
        else:
            runs.append([each])
    told = [[f"{run[0]}–{run[-1]}"] if len(run) > 2 else [str(each) for each in run] for run in runs]
    return ", ".join(text for run in told for text in run)


__all__ = [
    "BY_WORK_ALONE",
    "NOT_CONVERTED",
    "NO_TEST",
    "PASSED",
    "HandedOver",
    "Point",
    "handed_over",
    "is_open",
    "place_of",
    "punch_list",
    "ranges",
    "rooms_in_order",
    "state_of",
    "test_state",
]
