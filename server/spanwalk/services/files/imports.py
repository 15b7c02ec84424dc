"""Files being brought in: read apart, looked at, asked about, accepted, taken back; each one's state stands in its table."""

from __future__ import annotations

import threading
import uuid
import zlib
from collections.abc import Callable
from typing import TypedDict, cast

from flask import Flask
from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from spanwalk.rules.said import Facts, Said
from spanwalk.rules.survey import Survey
from spanwalk.services.background.standing_back import stand_back, standing_back
from spanwalk.services.clock import later, now
from spanwalk.services.files.cells import Cell, FileRead, column_letters, is_empty, shown
from spanwalk.services.files.changes import TYPES, Change, LineTold, Outcome, lay
from spanwalk.services.files.heads import ByHand
from spanwalk.services.files.kinds import KINDS, columns_of, units_like
from spanwalk.services.files.reader import read_apart
from spanwalk.services.files.table import (
    ASKED_FOR_UNIT,
    DECIMALS,
    SAMPLES,
    Asked,
    Problem,
    ProblemTold,
    QuestionTold,
    Sheet,
    understand,
)
from spanwalk.services.files.writing import Done, TakenBack, flaws_of, take_back, write_changes
from spanwalk.services.people.members import Member, memberships
from spanwalk.services.refusals import InTheWay, NotThere, Refusal, TooLarge, WrongInput
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.rights import CATALOGUE, site_kind
from spanwalk.services.sync.state import site_head, site_records
from spanwalk.storage import json_text
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import FileHeads, FileImport, Person
from spanwalk.words import say

FILE_BYTES_MOST = 12_000_000
TOLD_MOST = 300
"""So many lines and problems are shown; all are counted."""
KEPT_IMPORTS = 20
"""So many of the last imports of a site are listed."""
READERS = threading.BoundedSemaphore(2)
STOPPED_AFTER_S = 900
"""A file that nobody has worked on for so long while it should be worked on was left by a server that stopped."""
KINDS_OF_A_CATALOGUE = ("catalogue", "prices")
READING, LOOKING, ASKING, READY, WRITING, DONE = "reading", "looking", "asking", "ready", "writing", "done"
UNDOING, UNDONE, WRONG, CANCELLED = "undoing", "undone", "wrong", "cancelled"
AT_WORK = (READING, LOOKING, WRITING, UNDOING)
OPEN = (READING, LOOKING, ASKING, READY, WRONG)
"""States in which nothing has been written, so that it can be cancelled."""

_progress: dict[str, tuple[int, int]] = {}
"""How far this process is with a file: rows, and rows in all."""


class Cancelled(Exception):
    """Somebody cancelled it while it was looked at."""


class ColumnTold(TypedDict):
    """A column of the file: where it stands, its head, what it means and in which unit, and some of its cells."""

    letters: str
    head: str
    column: str
    unit: str
    units: list[str]
    by_hand: bool
    samples: list[str]


class Looked(TypedDict, total=False):
    """What looking at a file, writing it and taking it back found."""

    columns: list[ColumnTold]
    sheet: str
    head_row: int
    decimal: str
    questions: list[QuestionTold]
    notes: list[Said]
    problems: list[ProblemTold]
    problems_in_all: int
    lines: list[LineTold]
    lines_in_all: int
    wrong: Said
    undone: TakenBack


class Told(Looked, total=False):
    """What is kept of a file, to be shown."""

    counts: dict[str, int]


class InShort(TypedDict):
    """A file as lists have it; `row` of `rows` are looked at."""

    id: str
    kind: str
    name: str
    by: str
    state: str
    made_at: str
    row: int
    rows: int
    counts: dict[str, int]


class ImportTold(Looked, InShort):
    """One file with all that is known of it."""


# -- steps that a person takes


def begin(member: Member, kind: str, name: str, data: bytes, app: Flask) -> str:
    """Take a file; it is read in the background. Its id.

    Raises
    ------
    WrongInput
        No such kind of file, or nothing in it.
    TooLarge
        More bytes than are taken.
    """
    if kind not in KINDS:
        raise WrongInput("files.kind-unknown", value=kind, right=list(KINDS))
    if len(data) > FILE_BYTES_MOST:
        raise TooLarge("files.too-large", value=len(data), most=FILE_BYTES_MOST)
    if not data:
        raise WrongInput("files.empty")
    job = str(uuid.uuid4())
    at = now()
    with writing() as session:
        taken = kinds_taken(session, member.site_id)
        if kind not in taken:
            right = [say(f"files.kind.{each}") for each in taken]
            raise WrongInput("files.kind-not-here", value=say(f"files.kind.{kind}"), right=right)
        remembered = _remembered(session, member.site_id, kind)
        asked: Asked = {"columns": remembered}
        session.execute(
            insert(FileImport).values(
                id=job, site=member.site_id, person=member.person_id, kind=kind, name=name[:120], state=READING,
                made_at=at, changed_at=at, asked=json_text.dumps(asked), told="{}",
            )
        )  # fmt: skip
    _in_background(app, job, lambda: _read_and_look(job, data))
    return job


def answer(member: Member, job: str, asked: Asked, app: Flask) -> None:
    """Take what somebody said of a file's sheet, columns, units or decimal mark, and look at it anew.

    Raises
    ------
    NotThere, InTheWay
        There is no such file here; it is past that.
    WrongInput
        A column or unit that there is not.
    """
    with writing() as session:
        row = _row(session, member.site_id, job, (ASKING, READY))
        before: Asked = json_text.loads(row.asked)
        columns = {**before.get("columns", {})}
        for head, said in asked.get("columns", {}).items():
            _check_by_hand(row.kind, said)
            columns[head] = {**columns.get(head, {}), **said}
        merged: Asked = {**before, **asked, "columns": columns}
        _set(session, job, state=LOOKING, asked=json_text.dumps(merged))
    _in_background(app, job, lambda: _look(job))


def _check_by_hand(kind: str, said: ByHand) -> None:
    if said.get("column") and said["column"] not in columns_of(kind):
        raise WrongInput("files.column-unknown", value=said["column"])
    units = {unit for each in columns_of(kind).values() if each.measures for unit in units_like(each.measures)}
    if said.get("unit") and said["unit"] not in units:
        raise WrongInput("files.unit-not-one", value=said["unit"], right=sorted(units))


def accept(member: Member, job: str, app: Flask) -> None:
    """Write what was shown, in the background.

    Raises
    ------
    NotThere, InTheWay
        There is no such file here; it is not ready.
    """
    with writing() as session:
        _row(session, member.site_id, job, (READY,))
        _set(session, job, state=WRITING)
    _in_background(app, job, lambda: _write(job, member.person_id))


def undo(member: Member, job: str, app: Flask) -> None:
    """Take an import back, in the background.

    Raises
    ------
    NotThere, InTheWay
        There is no such file here; it was not brought in, or is taken back already.
    """
    with writing() as session:
        _row(session, member.site_id, job, (DONE,))
        _set(session, job, state=UNDOING)
    _in_background(app, job, lambda: _undo(job, member.person_id))


def cancel(member: Member, job: str) -> None:
    """Let a file go of which nothing has been written.

    Raises
    ------
    NotThere, InTheWay
        There is no such file here; something of it is being written, or was.
    """
    with writing() as session:
        _row(session, member.site_id, job, OPEN)
        _set(session, job, state=CANCELLED, read=None, changes=None)


# -- what is told


def kinds_taken(session: Session, site_id: str) -> tuple[str, ...]:
    """Kinds of file that a site takes: the firm's catalogue has no rooms."""
    return KINDS_OF_A_CATALOGUE if site_kind(session, site_id) == CATALOGUE else KINDS


def imports_of(session: Session, site_id: str) -> list[InShort]:
    """The last files of a site, the newest first, in short."""
    query = (
        select(FileImport, Person.name.label("by"))
        .join(Person, Person.id == FileImport.person)
        .where(FileImport.site == site_id)
        .order_by(FileImport.made_at.desc())
        .limit(KEPT_IMPORTS)
    )
    return [_in_short(row.FileImport, row.by) for row in session.execute(query)]


def import_told(session: Session, site_id: str, job: str) -> ImportTold:
    """One file with all that is known of it.

    Raises
    ------
    NotThere
        There is no such file here.
    """
    row = _row(session, site_id, job, None)
    by = session.execute(select(Person.name).where(Person.id == row.person)).scalar_one()
    more: Told = json_text.loads(row.told)
    return {**_in_short(row, by), **more}


def _in_short(row: FileImport, by: str) -> InShort:
    told: Told = json_text.loads(row.told)
    at, of = _progress.get(row.id, (0, 0))
    state = row.state
    if state in AT_WORK and row.changed_at < later(-STOPPED_AFTER_S):
        state = WRONG
    return {
        "id": row.id, "kind": row.kind, "name": row.name, "by": by, "state": state, "made_at": row.made_at,
        "row": at, "rows": of, "counts": told.get("counts") or {"new": 0, "changed": 0, "left": 0},
    }  # fmt: skip


# -- the table


def _row(session: Session, site_id: str, job: str, states: tuple[str, ...] | None) -> FileImport:
    query = select(FileImport).where(FileImport.site == site_id, FileImport.id == job).with_for_update()
    row: FileImport | None = session.execute(query).scalar_one_or_none()
    if row is None:
        raise NotThere("files.import-unknown", value=job)
    if states is not None and row.state not in states:
        raise InTheWay("files.not-now", state=row.state, right=list(states))
    return row


def _of(session: Session, job: str) -> FileImport:
    row: FileImport = session.execute(select(FileImport).where(FileImport.id == job)).scalar_one()
    return row


def _set(session: Session, job: str, **values: object) -> None:
    session.execute(update(FileImport).where(FileImport.id == job).values(changed_at=now(), **values))


def _remembered(session: Session, site_id: str, kind: str) -> dict[str, ByHand]:
    query = select(FileHeads.heads).where(FileHeads.site == site_id, FileHeads.kind == kind)
    stored = session.execute(query).scalar_one_or_none()
    found: dict[str, ByHand] = json_text.loads(stored) if stored else {}
    return found


def _remember(session: Session, row: FileImport) -> None:
    asked: Asked = json_text.loads(row.asked)
    heads = json_text.dumps(_remembered(session, row.site, row.kind) | asked.get("columns", {}))
    there = update(FileHeads).where(FileHeads.site == row.site, FileHeads.kind == row.kind).values(heads=heads)
    if session.execute(there).rowcount == 0:  # type: ignore[attr-defined]
        session.execute(insert(FileHeads).values(site=row.site, kind=row.kind, heads=heads))


def packed(value: object) -> bytes:
    """A value as it is kept in a column of the table."""
    return zlib.compress(json_text.dumps(value).encode(), 1)


def unpacked(data: bytes | None) -> object:
    """What was packed into a column of the table; None: nothing."""
    return json_text.loads(zlib.decompress(data)) if data else None


# -- in the background


def _in_background(app: Flask, job: str, work: Callable[[], None]) -> None:
    """Do a step on a thread of this process; whatever goes wrong becomes the file's state."""

    def run() -> None:
        with app.app_context(), standing_back():
            try:
                work()
            except Cancelled:
                pass
            except Refusal as refusal:
                _failed(job, refusal.code, refusal.facts)
            except Exception:
                app.logger.exception("file %s failed", job)
                _failed(job, "files.failed", {})
            finally:
                _progress.pop(job, None)

    threading.Thread(target=run, name=f"file-{job[:8]}", daemon=True).start()


def _failed(job: str, code: str, facts: Facts) -> None:
    """What was not written is wrong; what could not be taken back stands as it did."""
    with writing() as session:
        row = _of(session, job)
        if row.state == CANCELLED:
            return
        told: Told = json_text.loads(row.told)
        told["wrong"] = {"code": code, "facts": facts}
        _set(session, job, state=DONE if row.state == UNDOING else WRONG, told=json_text.dumps(told))


def _read_and_look(job: str, data: bytes) -> None:
    with READERS:
        read = read_apart(data)
    with writing() as session:
        if _of(session, job).state == CANCELLED:
            raise Cancelled
        _set(session, job, state=LOOKING, read=packed(read))
    _look(job)


def _look(job: str) -> None:
    """Look at what a file would do, and keep it: the changes, and what the page shows."""
    with reading() as session:
        row = _of(session, job)
        head, told, changes = _looked_at(session, row, _stop_if_cancelled(job))
    with writing() as session:
        if _of(session, job).state != LOOKING:
            return
        ready = not told.get("questions") and not told.get("problems")
        values = {"changes": packed(changes)} if ready else {"changes": None}
        _set(session, job, state=READY if ready else ASKING, head=head, told=json_text.dumps(told), **values)


def _stop_if_cancelled(job: str) -> Callable[[int, int], None]:
    def on_progress(at: int, of: int) -> None:
        _progress[job] = (at, of)
        with reading() as session:
            if session.execute(select(FileImport.state).where(FileImport.id == job)).scalar_one() == CANCELLED:
                raise Cancelled
        stand_back()

    return on_progress


def _looked_at(
    session: Session, row: FileImport, on_progress: Callable[[int, int], None]
) -> tuple[int, Told, list[Change]]:
    """A file laid against the site as it stands now: its sequence, what to show, what would change."""
    read = cast("FileRead", unpacked(row.read))
    asked: Asked = json_text.loads(row.asked)
    head = site_head(session, row.site)
    told: Told = {"notes": list(read.get("notes", [])), "decimal": asked.get("decimal", "")}
    found = understand(row.kind, read, asked)
    if isinstance(found, Problem):
        rows = read["sheets"][0]["rows"]
        told |= {"problems": [found.told()], "problems_in_all": 1, "columns": _first_row(rows)}
        return head, told, []
    if isinstance(found, list):
        return head, told | {"questions": [each.told() for each in found]}, []
    survey = Survey(site_records(session, row.site, types=TYPES[row.kind]), inherits=False)
    _without_floor(found, survey)
    outcome = Outcome()
    if not found.questions and not found.problems:
        outcome = lay(found, row.site, row.id, survey, on_progress)
        role = memberships(session, row.site).get(row.person, "")
        outcome.problems += _judged(found, outcome.changes, role)
    return head, told | _told_of(found, outcome), outcome.changes


def _without_floor(sheet: Sheet, survey: Survey) -> None:
    """Where the site has one floor alone, a room list need not name it."""
    if sheet.kind == "rooms" and len(survey.of_type("floor")) == 1:
        floor = columns_of("rooms")["floor.identity.name"].title
        sheet.problems = [
            each for each in sheet.problems if (each.code, each.facts.get("title")) != ("files.column-lacking", floor)
        ]


def _judged(sheet: Sheet, changes: list[Change], role: str) -> list[Problem]:
    """What the server would refuse, at the row and column that say it."""
    found = []
    for change, flaw in flaws_of(changes, role):
        name = flaw.facts.get("field")
        headed = next(
            (
                each
                for each in sheet.head.taken()
                if each.column is not None
                and each.column.type == change["type"]
                and any(facet == change["facet"] and field.name == name for facet, field in each.column.fields.items())
            ),
            None,
        )
        found.append(sheet.at(change["row"], headed, flaw.code, flaw.facts))
    return found


def _told_of(sheet: Sheet, outcome: Outcome) -> Told:
    problems = sorted([*sheet.problems, *outcome.problems], key=lambda each: (each.row, each.column))
    return {
        "sheet": sheet.name,
        "head_row": sheet.head.row + 1,
        "decimal": DECIMALS[sheet.decimal],
        "columns": _columns_told(sheet),
        "questions": [each.told() for each in sheet.questions],
        "problems": [each.told() for each in problems[:TOLD_MOST]],
        "problems_in_all": len(problems),
        "counts": outcome.counts,
        "lines": outcome.lines[:TOLD_MOST],
        "lines_in_all": len(outcome.lines),
    }


def _columns_told(sheet: Sheet) -> list[ColumnTold]:
    found: list[ColumnTold] = []
    for each in sheet.head.columns:
        column = each.column
        cells = (row[each.place] for row in sheet.rows[sheet.head.first :] if each.place < len(row))
        filled = (shown(cell) for cell in cells if not is_empty(cell))
        found.append(
            {
                "letters": column_letters(each.place),
                "head": each.head,
                "column": column.name if column else "",
                "unit": sheet.units.get(each.head) or "",
                "units": units_like(column.measures) if column and column.measures in ASKED_FOR_UNIT else [],
                "by_hand": each.by_hand,
                "samples": [text for text, _ in zip(filled, range(SAMPLES), strict=False)],
            }
        )
    return found


def _first_row(rows: list[list[Cell]]) -> list[ColumnTold]:
    """Cells of the first row that holds two, to be matched by hand where no row was known for a head."""
    row = next((each for each in rows if sum(not is_empty(cell) for cell in each) > 1), [])
    return [
        {
            "letters": column_letters(place), "head": shown(cell), "column": "", "unit": "", "units": [],
            "by_hand": False, "samples": [],
        }
        for place, cell in enumerate(row)
        if not is_empty(cell)
    ]  # fmt: skip


def _write(job: str, by: str) -> None:
    """Write a file in one transaction; if the site has moved on and other things would change, show those first."""
    with writing() as session:
        row = _of(session, job)
        head = lock_site(session, row.site)
        changes = cast("list[Change]", unpacked(row.changes))
        if head != row.head:
            _, told, anew = _looked_at(session, row, lambda at, of: None)
            if anew != changes or told.get("problems"):
                told["notes"] = [*told.get("notes", []), {"code": "files.site-moved-on", "facts": {}}]
                ready = not told.get("problems")
                values = {"changes": packed(anew) if ready else None, "told": json_text.dumps(told), "head": head}
                _set(session, job, state=READY if ready else ASKING, **values)
                return
        role = memberships(session, row.site).get(by, "")
        _check_rights(changes, role)
        done = write_changes(session, row.site, changes, by)
        _remember(session, row)
        _set(session, job, state=DONE, undo=packed(done), read=None, changes=None)


def _check_rights(changes: list[Change], role: str) -> None:
    """Whoever lost the right since the file was looked at writes nothing."""
    once = {(each["type"], each["facet"]): each for each in changes}
    for _, flaw in flaws_of(list(once.values()), role):
        raise InTheWay(flaw.code, **flaw.facts)


def _undo(job: str, by: str) -> None:
    with writing() as session:
        row = _of(session, job)
        lock_site(session, row.site)
        undone = take_back(session, row.site, cast("list[Done]", unpacked(row.undo)), by)
        told: Told = json_text.loads(row.told)
        told.pop("wrong", None)
        told["undone"] = {"taken_back": undone["taken_back"], "left": undone["left"][:TOLD_MOST]}
        _set(session, job, state=UNDONE, told=json_text.dumps(told))


__all__ = [
    "FILE_BYTES_MOST",
    "accept",
    "answer",
    "begin",
    "cancel",
    "import_told",
    "imports_of",
    "undo",
]
