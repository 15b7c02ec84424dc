"""Labels: a code for each fixture, and sheets of QR labels to print."""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from spanwalk.rules.codes import LENGTH, make_code
from spanwalk.rules.survey import (
    Survey,
    facet,
    floor_order,
    mark_of,
    name_of_room,
    newest_conversions,
    positions_of,
    walk_order,
)
from spanwalk.services.refusals import NotThere
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.server_operations import server_push
from spanwalk.services.sync.state import site_records

Json = Any
TYPES = ("site", "floor", "room", "kind", "group", "label", "release", "conversion")
OPERATIONS_PER_PUSH = 1000
NAMESPACE = uuid.NAMESPACE_URL


@dataclass(frozen=True)
class Label:
    """What stands on one label: the code, where the fixture hangs, and after a release what to fit."""

    code: str
    room: str
    floor: str
    kind: str
    position: int
    count: int
    release: int | None
    to_fit: str


def label_id(code: str) -> str:
    """The record id of a label: made from its code, so that two bindings of one code meet in one record."""
    return str(uuid.uuid5(NAMESPACE, f"spanwalk:label:{code}"))


def draw_code() -> str:
    """A new random code; 40 random bits, so that two of a million labels meet with a chance under one in two."""
    while True:
        code = make_code(secrets.randbelow(32) for _ in range(LENGTH))
        if code is not None:
            return code


def make_labels(session: Session, site_id: str, floor: str | None, by: str) -> int:
    """Give each fixture without a live label a code of its own.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    floor : str or None
        Only this floor.
    by : str
        The person on whose command it is done.

    Returns
    -------
    int
        Labels made.

    Raises
    ------
    NotThere
        The site has no such floor.
    """
    lock_site(session, site_id)  # two who make labels in the same moment must not both see a fixture without one
    survey = Survey(site_records(session, site_id, types=TYPES))
    _check_floor(survey, floor)
    taken = {label["facets"]["identity"]["code"] for label in survey.of_type("label")}
    bound = set(_bindings(survey))
    made: list[tuple[str, str, int]] = []
    for group in _groups_in_walk_order(survey, floor):
        for position in positions_of(group):
            if (group["id"], position) not in bound:
                code = _new_code(taken)
                made.append((code, group["id"], position))
    _push_labels(session, site_id, made, by)
    return len(made)


def _new_code(taken: set[str]) -> str:
    code = draw_code()
    while code in taken:
        code = draw_code()
    taken.add(code)
    return code


def _push_labels(session: Session, site_id: str, made: list[tuple[str, str, int]], by: str) -> None:
    operations: list[dict[str, Json]] = []
    for code, group, position in made:
        label = {"record": label_id(code), "type": "label"}
        identity = {"parent": site_id, "code": code, "origin": "printed"}
        operations.append(label | {"facet": "identity", "to": identity})
        operations.append(label | {"facet": "binding", "to": {"group": group, "position": position}})
    for start in range(0, len(operations), OPERATIONS_PER_PUSH):
        server_push(session, site_id, operations[start : start + OPERATIONS_PER_PUSH], by)


def labels_to_print(session: Session, site_id: str, floor: str | None) -> list[Label]:
    """The live labels of a floor or the site in walk order.

    Raises
    ------
    NotThere
        The site has no such floor, or nothing on it has a label.
    """
    survey = Survey(site_records(session, site_id, types=TYPES))
    _check_floor(survey, floor)
    bindings = _bindings(survey)
    conversions = newest_conversions(survey)
    found = [
        _label(survey, group, position, bindings[group["id"], position], conversions.get(group["id"]))
        for group in _groups_in_walk_order(survey, floor)
        for position in positions_of(group)
        if (group["id"], position) in bindings
    ]
    if not found:
        raise NotThere("no-labels")
    return found


def _check_floor(survey: Survey, floor: str | None) -> None:
    if floor is not None and floor not in {each["id"] for each in survey.of_type("floor")}:
        raise NotThere("floor-unknown", field="floor", value=floor)


def _bindings(survey: Survey) -> dict[tuple[str, int], str]:
    """(group, position) -> code of each live label; of two on one fixture the one first in the alphabet."""
    found: dict[tuple[str, int], str] = {}
    for label in sorted(survey.of_type("label"), key=lambda each: str(facet(each, "identity")["code"]), reverse=True):
        binding = facet(label, "binding")
        if binding and not facet(label, "voided"):
            found[str(binding["group"]), int(binding["position"])] = str(facet(label, "identity")["code"])
    return found


def _groups_in_walk_order(survey: Survey, floor: str | None) -> Iterable[Json]:
    def place(group: Json) -> tuple[Any, ...]:
        room, on = survey.room_of(group), survey.floor_of(group)
        return (
            floor_order(on),
            walk_order(room),
            name_of_room(room),
            mark_of(survey.kind_of(group)),
            group["id"],
        )

    groups = [group for group in survey.of_type("group") if _stands_on(survey, group, floor)]
    return sorted(groups, key=place)


def _stands_on(survey: Survey, group: Json, floor: str | None) -> bool:
    on = survey.floor_of(group)
    return on is not None and floor in (None, on["id"])


def _label(survey: Survey, group: Json, position: int, code: str, conversion: Json | None) -> Label:
    floor = survey.floor_of(group)
    frozen = facet(conversion, "identity") if conversion else {}
    return Label(
        code=code,
        room=name_of_room(survey.room_of(group)),
        floor=str(facet(floor, "identity").get("name", "")) if floor else "",
        kind=mark_of(survey.kind_of(group)),
        position=position,
        count=int(facet(group, "count").get("count", 0)),
        release=frozen.get("number"),
        to_fit=str(frozen.get("summary", "")),
    )
