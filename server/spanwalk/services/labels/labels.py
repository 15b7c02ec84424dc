"""Codes: one for each fixture that is converted, and blank ones to be bound on the way."""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Iterable, Mapping
from typing import NamedTuple, cast

from sqlalchemy.orm import Session

from spanwalk.rules.codes import LENGTH, make_code
from spanwalk.rules.record_types import GroupView, LabelView
from spanwalk.rules.survey import Survey, facet, floor_order, has, mark_of, name_of_room, positions_of, walk_order
from spanwalk.services.refusals import NotThere
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.server_operations import ServerOperation, server_push
from spanwalk.services.sync.state import site_records, values_of

AROUND = ("site", "floor", "room", "kind", "group")
IN_SHORT = (("identity", "code"), ("binding",), ("voided",), ("printed",))
OPERATIONS_PER_PUSH = 1000
BLANK_MOST = 2000
"""Blank codes made at once."""
NAMESPACE = uuid.NAMESPACE_URL
Binding = tuple[str, int]
"""A group's id and a position in it."""


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
    """Give each fixture that is converted, and has no live label, a code of its own.

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
    survey = Survey(site_records(session, site_id, types=AROUND))
    check_floor(survey, floor)
    labels = labels_in_short(session, site_id)
    taken = {each.code for each in labels}
    bound = fixtures_of_labels(labels)
    made: list[tuple[str, Binding | None]] = []
    for group in groups_in_walk_order(survey, floor):
        for position in positions_of(group):
            if (group["id"], position) not in bound:
                code = _new_code(taken)
                made.append((code, (group["id"], position)))
    _push_labels(session, site_id, made, by)
    return len(made)


def make_blank(session: Session, site_id: str, count: int, by: str) -> int:
    """Make codes that hang on no fixture yet; a phone binds each when it is scanned.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id, by : str
        The site, and the person on whose command it is done.
    count : int
        How many, `BLANK_MOST` at most.
    """
    lock_site(session, site_id)
    taken = {each.code for each in labels_in_short(session, site_id)}
    _push_labels(session, site_id, [(_new_code(taken), None) for _ in range(count)], by)
    return count


def _new_code(taken: set[str]) -> str:
    code = draw_code()
    while code in taken:
        code = draw_code()
    taken.add(code)
    return code


def _push_labels(session: Session, site_id: str, made: Iterable[tuple[str, Binding | None]], by: str) -> None:
    operations: list[ServerOperation] = []
    for code, binding in made:
        id = label_id(code)
        identity = {"parent": site_id, "code": code, "origin": "printed" if binding else "pre-printed"}
        operations.append({"record": id, "type": "label", "facet": "identity", "to": identity})
        if binding:
            to = {"group": binding[0], "position": binding[1]}
            operations.append({"record": id, "type": "label", "facet": "binding", "to": to})
    push_in_parts(session, site_id, operations, by)


def push_in_parts(session: Session, site_id: str, operations: list[ServerOperation], by: str) -> None:
    """Change labels on the server's own account, some at a time.

    Raises
    ------
    RuntimeError
        The server refused its own change.
    """
    for start in range(0, len(operations), OPERATIONS_PER_PUSH):
        answers = server_push(session, site_id, operations[start : start + OPERATIONS_PER_PUSH], by)
        refused = [each for each in answers if each["result"] not in ("applied", "same")]
        if refused:
            raise RuntimeError(f"the server refused its own labels: {refused[0]}")


def check_floor(survey: Survey, floor: str | None) -> None:
    """Raise `NotThere` where the site has no such floor."""
    if floor is not None and floor not in {each["id"] for each in survey.of_type("floor")}:
        raise NotThere("floor-unknown", field="floor", value=floor)


def _code(label: LabelView) -> str:
    return str(facet(label, "identity")["code"])


def bindings(survey: Survey, voided: bool = False) -> dict[Binding, LabelView]:
    """The label of each fixture that has a live one, or had one that is void; of two, the one whose code is first."""
    found: dict[Binding, LabelView] = {}
    for label in sorted(survey.of_type("label"), key=_code, reverse=True):
        binding = facet(label, "binding")
        if binding and has(label, "voided") == voided:
            found[str(binding["group"]), int(binding["position"])] = label
    return found


class LabelInShort(NamedTuple):
    """A label that is not removed: its record's id and code, on which fixture it hangs (None: on none), and whether it is void or was printed."""

    record: str
    code: str
    at: Binding | None
    is_void: bool
    is_printed: bool


def labels_in_short(session: Session, site_id: str) -> list[LabelInShort]:
    """The labels of a site, those whose code comes last first; a large site has as many as fixtures."""
    told = (
        LabelInShort(id, str(code), _binding(on), bool(voided), bool(printed))
        for id, _, removed, (code, on, voided, printed) in values_of(session, site_id, "label", IN_SHORT)
        if not removed
    )
    return sorted(told, key=lambda each: (each.code, each.record), reverse=True)


def _binding(value: object) -> Binding | None:
    said = cast("Mapping[str, object]", value or {})
    return (str(said["group"]), int(cast("int", said["position"]))) if said else None


def fixtures_of_labels(labels: Iterable[LabelInShort], voided: bool = False) -> dict[Binding, LabelInShort]:
    """The same as `bindings`, of labels in short: of two on one fixture, the one whose code is first."""
    return {each.at: each for each in labels if each.at is not None and each.is_void == voided}


def groups_in_walk_order(survey: Survey, floor: str | None = None) -> list[GroupView]:
    """The groups that are converted, as one walks: floor after floor, room after room.

    Parameters
    ----------
    survey : Survey
        With floors, rooms, kinds and groups.
    floor : str or None
        Only this one.
    """

    def place(group: GroupView) -> tuple[int, str, str, int, str, str, str]:
        room, on = survey.room_of(group), survey.floor_of(group)
        on_name, on_id = str(facet(on, "identity").get("name", "")), on["id"] if on else ""
        return (
            floor_order(on),
            on_name,
            on_id,
            walk_order(room),
            name_of_room(room),
            mark_of(survey.kind_of(group)),
            group["id"],
        )

    groups = [group for group in survey.groups_to_convert() if _stands_on(survey, group, floor)]
    return sorted(groups, key=place)


def _stands_on(survey: Survey, group: GroupView, floor: str | None) -> bool:
    on = survey.floor_of(group)
    return on is not None and floor in (None, on["id"])
