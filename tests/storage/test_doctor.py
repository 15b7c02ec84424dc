"""`spanwalk doctor`: silent where all is well; every sort of damage is found, said, and what to do with it."""

from __future__ import annotations

import hashlib
import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import orjson
import pytest
from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session
from tests.photos.test_taking_photos_in import jpeg
from tests.support.commands import spanwalk
from tests.support.installation import Installation, installed, new_id

from spanwalk.services.bootstrap import begin_incarnation
from spanwalk.services.doctor import Report, examine_all
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Installation as Incarnation
from spanwalk.storage.tables import Operation, Photo, Record, Site, SiteSum, db
from spanwalk.sync.canonical import operation_hash
from spanwalk.words import say


@pytest.fixture(scope="module")
def here(back_end: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    """A site with floors, rooms, a removed one, a settled and an open conflict, a child under what was removed, photos."""
    with installed(tmp_path_factory.mktemp("doctor") / "data", back_end) as made:
        furnish(made)
        yield made


def furnish(here: Installation) -> None:
    floor = here.floor()
    rooms = [new_id() for _ in range(4)]
    for number, room in enumerate(rooms):
        to = {"number": str(number), "parent": floor}
        here.push("surveyor", here.operation("surveyor", room, "room", "identity", to))
    identity = {record["id"]: record["facets"]["identity"]["op"] for record in here.pull("surveyor")["records"]}
    renamed = {"number": "9", "parent": floor}
    seen = identity[rooms[0]]
    for name in ("surveyor", "manager", "owner"):
        to = renamed | {"number": name}
        here.push(name, here.operation(name, rooms[0], "room", "identity", to, seen=seen))
    remove = here.operation("manager", rooms[1], "room", "life", kind="remove", seen={"identity": identity[rooms[1]]})
    assert here.push("manager", remove)[0]["result"] == "applied"
    kind = new_id()
    here.push("surveyor", here.operation("surveyor", kind, "kind", "identity", {"mark": "K1", "parent": here.site}))
    for room in rooms[1:3]:
        to = {"parent": room, "kind": kind}
        here.push("surveyor", here.operation("surveyor", new_id(), "group", "identity", to))
    for _ in range(2):
        data = jpeg()
        path = f"/api/sites/{{site}}/photos/{hashlib.sha256(data).hexdigest()}"
        assert here.call("surveyor", "PUT", path, data=data).status_code == 201


def examined(here: Installation, damage: Callable[[Session], Any] | None = None, read_photos: bool = False) -> Report:
    """What the doctor says of the data with some damage in it, which is taken back afterwards."""
    with here.app.app_context(), Session(db.engine) as session:
        if damage is not None:
            damage(session)
            session.flush()
        report = examine_all(session, here.app.extensions["spanwalk-photos"], read_photos)
        session.rollback()
    return report


def codes(report: Report) -> set[str]:
    return {finding.code.removeprefix("doctor.") for finding in report.findings}


def test_a_whole_installation_is_well(here: Installation) -> None:
    report = examined(here, read_photos=True)
    assert report.findings == []
    assert (report.sites, report.photos) == (1, 2)
    assert report.records == 9, "the site, a floor, four rooms, a kind, two groups"
    assert report.operations == 14


def of(here: Installation, type_: str, conflicts: bool = False) -> Any:
    """A record of a type, as its row."""
    with here.app.app_context(), reading() as session:
        query = select(Record).where(Record.site == here.site, Record.type == type_, Record.removed.is_(False))
        rows = session.execute(query.order_by(Record.seq)).scalars().all()
    return next(row for row in rows if not conflicts or row.conflicts != "[]")


def set_record(here: Installation, type_: str, **values: Any) -> Callable[[Session], Any]:
    row = of(here, type_)
    return lambda session: session.execute(update(Record).where(Record.id == row.id).values(**values))


def facets_with(here: Installation, type_: str, facet: str, **changed: Any) -> Callable[[Session], Any]:
    facets = orjson.loads(of(here, type_).facets)
    facets[facet] |= changed
    return set_record(here, type_, facets=orjson.dumps(facets).decode())


def wrong_value(here: Installation, type_: str, **changed: Any) -> Callable[[Session], Any]:
    value = orjson.loads(of(here, type_).facets)["identity"]["value"]
    return facets_with(here, type_, "identity", value=value | changed)


def without(here: Installation, type_: str) -> Callable[[Session], Any]:
    row = of(here, type_)
    return lambda session: session.execute(delete(Record).where(Record.id == row.id))


def forget_operation(here: Installation, id: str) -> Callable[[Session], Any]:
    return lambda session: session.execute(delete(Operation).where(Operation.id == id))


def head(here: Installation, by: int) -> Callable[[Session], Any]:
    return lambda session: session.execute(update(Site).where(Site.id == here.site).values(head=Site.head + by))


def photo_row(here: Installation, sha256: str) -> Callable[[Session], Any]:
    values = {"site": here.site, "sha256": sha256, "bytes": 3, "width_px": 1, "height_px": 1}
    about = {"person": here.people["owner"], "received_at": "2026-01-01T00:00:00Z"}
    return lambda session: session.execute(insert(Photo).values(**values, **about))


def all_photo_rows(here: Installation) -> Callable[[Session], Any]:
    return lambda session: session.execute(delete(Photo).where(Photo.site == here.site))


def resequenced(here: Installation) -> Callable[[Session], Any]:
    """Two operations under one sequence, as a server without the site's lock would give."""
    with here.app.app_context(), reading() as session:
        query = select(Operation.id, Operation.seq).where(Operation.result == "conflict").order_by(Operation.seq)
        first, second = session.execute(query).all()[:2]
    return lambda session: session.execute(update(Operation).where(Operation.id == second.id).values(seq=first.seq))


def newer_applied(here: Installation) -> Callable[[Session], Any]:
    """A losing operation that the log says was applied: its record was not written with it."""
    conflict = orjson.loads(of(here, "room", conflicts=True).conflicts)[0]["id"]
    return lambda session: session.execute(update(Operation).where(Operation.id == conflict).values(result="applied"))


NOWHERE = "00000000-0000-4000-8000-000000000000"
DAMAGE: dict[str, Callable[[Installation], Callable[[Session], Any]]] = {
    "no-incarnation": lambda here: lambda session: session.execute(delete(Incarnation)),
    "site-without-record": lambda here: without(here, "site"),
    "head-differs": lambda here: head(here, +1),
    "operation-beyond-head": lambda here: head(here, -1),
    "sequence-twice": resequenced,
    "record-lost": lambda here: without(here, "group"),
    "facet-lost": lambda here: set_record(here, "site", facets="{}"),
    "parent-missing": lambda here: without(here, "floor"),
    "parent-differs": lambda here: set_record(here, "floor", parent=NOWHERE),
    "removed-differs": lambda here: set_record(here, "group", removed=True),
    "reference-missing": lambda here: without(here, "kind"),
    "facet-not-in-log": lambda here: forget_operation(here, orjson.loads(of(here, "floor").facets)["identity"]["op"]),
    "facet-not-newest": newer_applied,
    "facet-beyond-record": lambda here: set_record(here, "kind", seq=0),
    "sum-differs": lambda here: (
        lambda session: session.execute(update(SiteSum).where(SiteSum.type == "floor").values(lines=SiteSum.lines + 1))
    ),
    "hash-differs": lambda here: set_record(here, "floor", line_hash="0" * 64),
    "value-differs": lambda here: wrong_value(here, "floor", name="by another hand"),
    "conflict-not-in-log": lambda here: forget_operation(
        here, orjson.loads(of(here, "room", conflicts=True).conflicts)[0]["id"]
    ),
    "photo-missing": lambda here: photo_row(here, "ab" * 32),
    "photo-unreferenced": all_photo_rows,
}


@pytest.mark.parametrize("code", DAMAGE)
def test_each_sort_of_damage_is_found_and_said(here: Installation, code: str) -> None:
    report = examined(here, DAMAGE[code](here))
    assert code in codes(report)
    for finding in report.findings:
        sentence = say(finding.code, finding.facts)
        missing = set(re.findall(r"\{(\w+)\}", say(finding.code, {}))) - set(finding.facts)
        assert sentence != finding.code
        assert not missing, f"{finding.code} lacks {missing}"
    assert examined(here).findings == [], "the damage was to be taken back"


def test_every_sentence_is_of_a_finding_that_a_test_makes() -> None:
    from spanwalk.words import words

    elsewhere = {"proxy-untrusted", "well", "not-well", "tables-old", "row-orphaned", "database-damaged"}
    photos = {"photos-as-sent", "photo-damaged", "photo-half-written", "photo-store-failing"}
    said = {code.removeprefix("doctor.") for code in words("en") if code.startswith("doctor.")}
    assert said == DAMAGE.keys() | elsewhere | photos


def test_a_photo_whose_bytes_are_others_is_found_by_reading_it(here: Installation) -> None:
    store = here.app.extensions["spanwalk-photos"]
    named = next(name for name in store.names())
    whole = store.get(named)
    store.put(named, whole[:-10])
    assert codes(examined(here)) == set(), "looking for it is not reading it"
    assert codes(examined(here, read_photos=True)) == {"photo-damaged"}
    store.put(named, whole)


def test_what_a_crash_left_of_a_photo_in_a_folder_is_found(tmp_path: Path) -> None:
    with installed(tmp_path / "data") as made:
        left = tmp_path / "data" / "photos" / "ab" / f".{'ab' * 32}.0badcafe"
        left.parent.mkdir(parents=True)
        left.write_bytes(b"\xff\xd8")
        assert codes(examined(made)) == {"photo-half-written"}


# -- the command


def doctor(here: Installation, *more: str) -> subprocess.CompletedProcess[str]:
    settings = here.app.extensions["spanwalk"]
    where = {"SPANWALK_DATABASE_URL": settings.database_url, "SPANWALK_PHOTO_URL": settings.photo_url}
    return run_doctor(settings.data, where | dict(settings.extra), *more)


def run_doctor(data: Path, where: dict[str, str], *more: str) -> subprocess.CompletedProcess[str]:
    return spanwalk("doctor", "--data-only", "--data", str(data), *more, env=where)


def test_the_command_is_content_or_says_each_finding_and_ends_with_one(here: Installation) -> None:
    done = doctor(here, "--read-photos")
    assert (done.returncode, done.stdout) == (0, "All is well: 1 site, 9 records, 14 operations, 2 photos.\n"), (
        done.stderr
    )
    with here.app.app_context(), writing() as session:
        head(here, +1)(session)
    try:
        done = doctor(here)
    finally:
        with here.app.app_context(), writing() as session:
            head(here, -1)(session)
    first, last = done.stdout.splitlines()
    assert done.returncode == 1
    assert first.startswith(f"Site {here.site} says that its last sequence is")
    assert last.startswith("1 found in 1 site, 9 records")


def test_without_tables_it_says_so_and_makes_none(tmp_path: Path) -> None:
    done = run_doctor(tmp_path, {})
    assert done.returncode == 1
    assert "start this version once" in done.stdout


def test_a_damaged_file_is_said_to_be_damaged(tmp_path: Path) -> None:
    with installed(tmp_path / "data") as made:
        furnish(made)
    file = tmp_path / "data" / "spanwalk.db"
    size = file.stat().st_size
    with file.open("r+b") as handle:
        for page in range(2, size // 4096):
            handle.seek(page * 4096)
            handle.write(b"\x7f" * 64)
    for wal in tmp_path.glob("data/spanwalk.db-*"):
        wal.unlink()
    done = run_doctor(tmp_path / "data", {})
    assert done.returncode == 1, done.stdout + done.stderr
    assert "The database file is damaged" in done.stdout


def test_a_store_that_does_not_answer_is_said_and_the_database_is_looked_at_all_the_same(tmp_path: Path) -> None:
    from tests.support.back_ends import there
    from tests.support.object_store import store

    there(store)
    with installed(tmp_path / "data") as made:
        furnish(made)
    elsewhere = store().settings() | {"SPANWALK_S3_SECRET": "not the secret"}
    done = run_doctor(tmp_path / "data", elsewhere)
    assert done.returncode == 1
    assert "The photo store does not answer" in done.stdout
    assert "9 records" in done.stdout


def test_what_came_again_under_another_name_is_no_sequence_given_twice(back_end: str, tmp_path: Path) -> None:
    with installed(tmp_path / "data", back_end) as here:
        floor = here.floor()
        first, second = ({"name": name, "parent": here.site} for name in ("Upper", "Lower"))
        lost = here.operation("surveyor", floor, "floor", "identity", first)
        assert here.push("surveyor", lost)[0]["result"] == "conflict"
        won = here.operation("surveyor", new_id(), "floor", "identity", second)
        assert here.push("surveyor", won)[0]["result"] == "applied"
        for number, each in enumerate((lost, won), 1):
            told = {"id": each["id"], "hash": operation_hash(each)}
            (answer,) = here.push("surveyor", each | {"id": f"{new_id()}.0000000f.{number}", "formerly": told})
            assert answer["result"] == ("conflict" if each is lost else "same")
        assert examined(here).findings == []
        late = here.operation("surveyor", floor, "floor", "identity", {"name": "Late", "parent": here.site})
        told = {"id": late["id"], "hash": operation_hash(late)}
        for each in (late | {"id": f"{new_id()}.0000000f.9", "formerly": told}, late):
            assert here.push("surveyor", each)[0]["result"] == "conflict"
        assert examined(here).findings == []


def test_what_an_old_outbox_brought_as_text_is_no_other_value(here: Installation) -> None:
    """Spec 1 wrote choices as English text: the log keeps it, the record has the code."""
    room, floor = new_id(), here.floor()
    operations = (
        here.operation("surveyor", room, "room", "identity", {"name": "Store", "parent": floor}),
        here.operation("surveyor", room, "room", "ceiling", {"ceiling": "metal deck"}, spec=1),
    )
    assert [each["result"] for each in here.push("surveyor", *operations)] == ["applied", "applied"]
    assert "value-differs" not in codes(examined(here))


def test_a_new_incarnation_counts_the_sums_anew(back_end: str, tmp_path: Path) -> None:
    with installed(tmp_path / "data", back_end) as here:
        furnish(here)
        right = here.pull("surveyor", "limit=2000")["sum"]
        with here.app.app_context(), writing() as session:
            session.execute(update(SiteSum).values(total="0" * 64, lines=1))
            session.execute(update(Record).values(line_hash=None))
        assert here.pull("surveyor", "limit=2000")["sum"] != right
        assert {each.code for each in examined(here).findings} == {"doctor.sum-differs", "doctor.hash-differs"}
        with here.app.app_context():
            begin_incarnation()
        assert here.pull("surveyor", "limit=2000")["sum"] == right
        assert {each.code for each in examined(here).findings} <= {"doctor.photo-missing"}
