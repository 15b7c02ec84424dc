"""Write what a file changes, all of it or nothing, and take it back where nobody built on it since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypedDict, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.records import IDENTITY, LIFE
from spanwalk.rules.said import Said
from spanwalk.services.clock import now
from spanwalk.services.files.changes import Change
from spanwalk.services.refusals import InTheWay
from spanwalk.services.sync.answering import Answer
from spanwalk.services.sync.incoming import check_values, parse_operation
from spanwalk.services.sync.server_operations import ServerOperation, server_push
from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.storage.database import among
from spanwalk.storage.tables import Record
from spanwalk.sync.model import REMOVE, SET, Flaw, State

OPERATIONS_AT_ONCE = 5000
NOBODY = "00000000-0000-0000-0000-000000000000"


class Done(TypedDict):
    """One facet that was written: by which operation, and what stood there before."""

    record: str
    type: str
    facet: str
    operation: str
    before: dict[str, object] | None


def flaws_of(changes: Sequence[Change], role: str) -> list[tuple[Change, Flaw]]:
    """Changes that the server would not take, with what is wrong: judged as a push of the person would be.

    Parameters
    ----------
    changes : sequence of Change
        What a file changes.
    role : str
        The role of who brings it.
    """
    at, spec = now(), records.spec().number
    fixed: dict[str, object] = {
        "by": NOBODY,
        "kind": SET,
        "seen": None,
        "from": None,
        "settles": [],
        "device_time": at,
        "spec": spec,
    }
    parsed = []
    for number, each in enumerate(changes, 1):
        told = {name: each[name] for name in ("record", "type", "facet", "to")}
        operation = parse_operation({"id": f"{NOBODY}.00000000.{number}", **fixed, **told})
        assert operation is not None
        parsed.append(operation)
    check_values(parsed)
    found = []
    for change, operation in zip(changes, parsed, strict=True):
        flaw = operation.flaw or _no_right(role, change)
        if flaw is not None:
            found.append((change, flaw))
    return found


def _no_right(role: str, change: Change) -> Flaw | None:
    if records.may_write(role, change["type"], change["facet"]):
        return None
    title = records.spec().types[change["type"]].title
    return Flaw("files.no-right", {"title": title, "role": role})


def write_changes(session: Session, site_id: str, changes: Sequence[Change], by: str) -> list[Done]:
    """Write changes as operations of a person, in a transaction that is left behind whole or not at all.

    Parameters
    ----------
    session : Session
        A writing transaction; the site is locked in it.
    site_id, by : str
        The site; the person.
    changes : sequence of Change
        What to write.

    Raises
    ------
    InTheWay
        The server did not take one of them.
    """
    done: list[Done] = []
    for some in _slices(changes):
        told: list[ServerOperation] = [
            {"record": each["record"], "type": each["type"], "facet": each["facet"], "to": each["to"]} for each in some
        ]
        for change, answer in zip(some, server_push(session, site_id, told, by), strict=True):
            if answer["result"] not in ("applied", "same"):
                raise InTheWay("files.not-taken", row=change["row"] + 1, why=_why(answer))
            done.append(
                {
                    "record": change["record"],
                    "type": change["type"],
                    "facet": change["facet"],
                    "operation": cast("str", answer["id"]),
                    "before": change["before"],
                }
            )
    return done


def _why(answer: Answer) -> Said:
    return {"code": answer.get("code") or "files.changed-meanwhile", "facts": answer.get("facts") or {}}


def _slices(items: Sequence[Change]) -> Iterable[Sequence[Change]]:
    return (items[start : start + OPERATIONS_AT_ONCE] for start in range(0, len(items), OPERATIONS_AT_ONCE))


# -- taking back


class TakenBack(TypedDict):
    """What was taken back, and what was left because somebody built on it since."""

    taken_back: int
    left: list[dict[str, str]]


def take_back(session: Session, site_id: str, done: Sequence[Done], by: str) -> TakenBack:
    """Take an import back: remove what it made, and set what it changed to what stood there before.

    What was changed since by anybody, or holds what was not in the file, stays and is told.

    Parameters
    ----------
    session : Session
        A writing transaction; the site is locked in it.
    site_id, by : str
        The site; the person.
    done : sequence of Done
        What the import wrote.
    """
    states = _states(session, site_id, {each["record"] for each in done})
    by_record: dict[str, list[Done]] = {}
    for each in done:
        by_record.setdefault(each["record"], []).append(each)
    made = [id for id, own in by_record.items() if any(_is_making(each) for each in own)]
    keep = _kept(session, site_id, made, by_record, states)
    operations: list[ServerOperation] = []
    left: list[dict[str, str]] = []
    for each in done:
        if each["record"] in made:
            continue
        stored = states[each["record"]].facets.get(each["facet"])
        if stored is not None and stored["op"] == each["operation"]:
            before = each["before"] or {}
            operations.append({"record": each["record"], "type": each["type"], "facet": each["facet"], "to": before})
        else:
            left.append({"record": each["record"], "type": each["type"], "why": "changed"})
    for id in reversed(made):
        if id in keep:
            left.append({"record": id, "type": states[id].type, "why": keep[id]})
        elif not states[id].removed:
            operations.append({"record": id, "type": states[id].type, "kind": REMOVE, "facet": LIFE})
    for start in range(0, len(operations), OPERATIONS_AT_ONCE):
        answers = server_push(session, site_id, operations[start : start + OPERATIONS_AT_ONCE], by)
        wrong = next((answer for answer in answers if answer["result"] not in ("applied", "same")), None)
        if wrong is not None:
            raise InTheWay("files.not-taken-back", why=_why(wrong))
    return {"taken_back": len(operations), "left": left}


def _is_making(each: Done) -> bool:
    return each["facet"] == IDENTITY and each["before"] is None


def _states(session: Session, site_id: str, ids: set[str]) -> dict[str, State]:
    query = select(*COLUMNS).where(Record.site == site_id, among(Record.id, sorted(ids)))
    return {row.id: state_of(row) for row in session.execute(query)}


def _kept(
    session: Session,
    site_id: str,
    made: Sequence[str],
    by_record: Mapping[str, Sequence[Done]],
    states: Mapping[str, State],
) -> dict[str, str]:
    """Which of the records that were made stay, and why: changed since, or something else stands in or on them."""
    keep = {id: "changed" for id in made if not states[id].removed and _is_changed(states[id], by_record[id])}
    ours = set(made)
    leaning = list(_leaning(session, site_id, ours))
    while True:
        more = {on: "used" for id, on in leaning if on not in keep and (id not in ours or id in keep)}
        if not more:
            return keep
        keep |= more


def _is_changed(state: State, own: Sequence[Done]) -> bool:
    ops = {each["operation"] for each in own}
    return any(stored["op"] not in ops for stored in state.facets.values()) or bool(state.conflicts)


def _leaning(session: Session, site_id: str, ours: set[str]) -> Iterable[tuple[str, str]]:
    """Live records that stand under one of ours, or name one: (record, ours)."""
    query = select(*COLUMNS).where(Record.site == site_id, Record.removed.is_(False))
    for row in session.execute(query):
        if row.parent in ours:
            yield row.id, row.parent
        for name, stored in state_of(row).facets.items():
            if name == LIFE:
                continue
            for reference in records.references(row.type, name, stored["value"]):
                if reference[1] in ours and reference[1] != row.parent:
                    yield row.id, reference[1]
