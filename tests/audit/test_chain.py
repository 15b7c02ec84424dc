"""The audit: everything that is done stands in it, and what was changed behind the server's back is found."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text
from tests.support.installation import DEVICES, Installation, installed, new_id

from spanwalk import cli
from spanwalk.services.audit.chain import FIRM
from spanwalk.services.audit.verifying import Verified, verify_all
from spanwalk.services.backups.backing_up import back_up
from spanwalk.services.backups.restoring import put_back
from spanwalk.services.people.people import set_role
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import db


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        yield made


@pytest.fixture
def worked(here: Installation) -> Installation:
    """A site with three pushes of three, two and one, by two people."""
    for count in (3, 2):
        here.push("surveyor", *(floor(here, "surveyor") for _ in range(count)))
    here.push("manager", floor(here, "manager"))
    return here


def floor(here: Installation, name: str, **more: Any) -> dict[str, Any]:
    to = {"name": f"Floor {new_id()[:4]}", "parent": here.site}
    return here.operation(name, new_id(), "floor", "identity", to, **more)


def verified(here: Installation) -> dict[str, Verified]:
    with here.app.app_context(), reading() as session:
        return {each.scope: each for each in verify_all(session)}


def first_break(here: Installation) -> str | None:
    breaks = verified(here)[here.site].breaks
    return breaks[0].code if breaks else None


def entries(here: Installation, scope: str) -> list[Any]:
    with here.app.app_context(), reading() as session:
        query = text("SELECT * FROM audit_entry WHERE scope = :scope ORDER BY number")
        return list(session.execute(query, {"scope": scope}).all())


def tampered(here: Installation, statement: str, **values: Any) -> None:
    with here.app.app_context(), writing() as session:
        done = session.execute(text(statement), {"site": here.site, **values})
        assert done.rowcount > 0, "nothing was planted"


def test_every_operation_is_vouched_for_by_an_entry_and_all_is_whole(worked: Installation) -> None:
    found = verified(worked)
    assert found[worked.site].breaks == ()
    assert found[worked.site].operations == 2 + 6
    assert [entry.what for entry in entries(worked, worked.site)] == ["by-server", "pushed", "pushed", "pushed"]
    assert found[FIRM].breaks == ()


def test_an_entry_says_who_by_whom_from_which_phone_and_when(worked: Installation) -> None:
    entry = entries(worked, worked.site)[1]
    assert (entry.person, entry.sender, entry.device) == (
        worked.people["surveyor"],
        worked.people["surveyor"],
        DEVICES["surveyor"],
    )
    assert (entry.entered_first, entry.entered_last) == ("2026-03-01T09:00:00Z",) * 2
    assert entry.at > "2026"


PLANTS: list[tuple[str, str, str]] = [
    (
        "a value of an operation changed",
        "UPDATE operation SET body = replace(body, 'Floor', 'Flaw') WHERE site = :site AND entry = 2 AND place = 1",
        "operation-changed",
    ),
    (
        "an operation said to be another's",
        "UPDATE operation SET person = (SELECT id FROM person WHERE name = 'crew') WHERE site = :site AND entry = 4",
        "operation-changed",
    ),
    (
        "an operation said to have arrived earlier",
        "UPDATE operation SET received_at = '2025-01-01T00:00:00.000000Z' WHERE site = :site AND entry = 3 AND place = 0",
        "operation-changed",
    ),
    (
        "an operation removed",
        "DELETE FROM operation WHERE site = :site AND entry = 3 AND place = 1",
        "operation-missing",
    ),
    (
        "an operation inserted as one from before the audit",
        "INSERT INTO operation (site, id, device, person, sender, record, facet, seq, received_at, place, hash, body,"
        " result) SELECT site, id || '9', device, person, sender, record, facet, seq, received_at, place, hash, body,"
        " result FROM operation WHERE site = :site AND entry = 4",
        "old-operations",
    ),
    (
        "an operation inserted into an entry",
        "INSERT INTO operation (site, id, device, person, sender, record, facet, seq, received_at, place, hash, body,"
        " result, entry) SELECT site, id || '9', device, person, sender, record, facet, seq, received_at, 7, hash, body,"
        " result, entry FROM operation WHERE site = :site AND entry = 4",
        "operation-inserted",
    ),
    (
        "two operations in each other's place",
        "UPDATE operation SET place = 1 - place WHERE site = :site AND entry = 3",
        "operation-changed",
    ),
    (
        "two operations in each other's entry",
        "UPDATE operation SET entry = 5 - entry WHERE site = :site AND entry IN (2, 3) AND place = 0",
        "operation-changed",
    ),
    ("an entry removed", "DELETE FROM audit_entry WHERE scope = :site AND number = 3", "entry-missing"),
    ("the last entry removed", "DELETE FROM audit_entry WHERE scope = :site AND number = 4", "end-missing"),
    ("the first entry removed", "DELETE FROM audit_entry WHERE scope = :site AND number = 1", "entry-missing"),
    (
        "an entry said to be of somebody else",
        "UPDATE audit_entry SET sender = (SELECT id FROM person WHERE name = 'crew') WHERE scope = :site AND number = 3",
        "entry-changed",
    ),
    (
        "an entry said to be of another time",
        "UPDATE audit_entry SET at = '2025-01-01T00:00:00.000000Z' WHERE scope = :site AND number = 2",
        "entry-changed",
    ),
    (
        "an entry inserted at the end",
        "INSERT INTO audit_entry SELECT scope, 5, at, what, person, sender, device, entered_first, entered_last, about,"
        " leaves, content, hash FROM audit_entry WHERE scope = :site AND number = 4",
        "entry-changed",
    ),
    (
        "what an entry vouches for emptied",
        "UPDATE audit_entry SET leaves = NULL WHERE scope = :site AND number = 3",
        "entry-changed",
    ),
]


@pytest.mark.parametrize(("statement", "code"), [plant[1:] for plant in PLANTS], ids=[plant[0] for plant in PLANTS])
def test_planted_tampering_is_found(worked: Installation, statement: str, code: str) -> None:
    tampered(worked, statement)
    assert first_break(worked) == code


def test_two_entries_in_each_others_place_are_found(worked: Installation) -> None:
    for number, other in ((2, 99), (3, 2), (99, 3)):
        tampered(worked, "UPDATE audit_entry SET number = :b WHERE scope = :site AND number = :a", a=number, b=other)
    assert first_break(worked) == "entry-changed"


def test_a_chain_made_anew_is_found_by_what_was_written_down_elsewhere(worked: Installation) -> None:
    from spanwalk.services.audit.chain import begin_chain

    head = verified(worked)[worked.site]
    with worked.app.app_context(), writing() as session:
        for table in ("audit_entry", "audit_head"):
            session.execute(text(f"DELETE FROM {table} WHERE scope = :site"), {"site": worked.site})
        session.execute(text("DELETE FROM operation WHERE entry = 4"))
        session.execute(text("UPDATE operation SET entry = NULL"))
        begin_chain(session, worked.site)
    assert first_break(worked) is None
    with worked.app.app_context(), reading() as session:
        found = {each.scope: each for each in verify_all(session, {worked.site: (head.number, head.hash)})}
    assert [each.code for each in found[worked.site].breaks] == ["not-as-written-down"]


def test_an_installation_from_before_the_audit_has_its_log_vouched_for_from_then_on(worked: Installation) -> None:
    from spanwalk.services.bootstrap import prepare_database

    with worked.app.app_context():
        with writing() as session:
            for statement in ("DELETE FROM audit_entry", "DELETE FROM audit_head", "UPDATE operation SET entry = NULL"):
                session.execute(text(statement))
        prepare_database()
    assert verified(worked)[worked.site].operations == 8
    assert first_break(worked) is None
    tampered(worked, "UPDATE operation SET person = sender || 'x' WHERE site = :site AND seq = 4")
    assert first_break(worked) == "old-operations"


@pytest.mark.parametrize("old", [False, True], ids=["vouched for", "from before the audit"])
@pytest.mark.parametrize("how", ["release", "refuse"])
def test_held_work_that_is_settled_leaves_the_chain_whole(here: Installation, how: str, old: bool) -> None:
    for role in ("surveyor", None):
        with here.app.app_context(), writing() as session:
            set_role(session, here.site, here.people["stranger"], role)
    held = here.push("stranger", floor(here, "stranger"), floor(here, "stranger"))
    assert {each["result"] for each in held} == {"held"}
    if old:
        from spanwalk.services.bootstrap import prepare_database

        with here.app.app_context():
            with writing() as session:
                for statement in (
                    "DELETE FROM audit_entry",
                    "DELETE FROM audit_head",
                    "UPDATE operation SET entry = NULL",
                ):
                    session.execute(text(statement))
            prepare_database()
    body = {how: [each["id"] for each in held]}
    assert here.call("manager", "POST", "/api/sites/{site}/held", json=body).status_code == 200
    assert verified(here)[here.site].breaks == ()
    assert "settled" in [entry.what for entry in entries(here, here.site)]
    tampered(here, "DELETE FROM operation WHERE site = :site AND id = :id", id=held[0]["id"])
    assert first_break(here) == "operation-missing"


def test_a_restore_is_entered_and_the_chain_goes_on_from_the_live_one(worked: Installation, tmp_path: Path) -> None:
    settings = worked.app.extensions["spanwalk"]
    with worked.app.app_context():
        back_up(settings, tmp_path / "backup")
    since = floor(worked, "surveyor")
    worked.push("surveyor", since)
    with worked.app.app_context():
        put_back(settings, tmp_path / "backup", replace=True)
    worked.clients.clear()
    found = verified(worked)
    assert found[worked.site].breaks == ()
    assert found[FIRM].breaks == ()
    told = [entry.what for entry in entries(worked, worked.site)]
    assert told == ["by-server", "pushed", "pushed", "pushed", "pushed", "restored"]
    worked.push("surveyor", since)
    assert verified(worked)[worked.site].breaks == ()
    assert verified(worked)[worked.site].operations == 9
    tampered(worked, "DELETE FROM operation WHERE site = :site AND entry = 7")
    assert first_break(worked) == "operation-missing"


def run(here: Installation, *arguments: str) -> int:
    with here.app.app_context():
        db.engine.dispose()
    return cli.main([*arguments, "--data", str(here.app.extensions["spanwalk"].data)])


def test_the_command_says_that_all_is_whole_or_where_the_first_break_is(
    worked: Installation, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(worked, "audit", "verify") == 0
    assert "whole" in capsys.readouterr().out
    tampered(worked, "DELETE FROM operation WHERE site = :site AND entry = 3 AND place = 1")
    tampered(worked, "UPDATE operation SET record = 'x' WHERE site = :site AND entry = 4")
    assert run(worked, "audit", "verify") == 1
    told = capsys.readouterr()
    assert "entry 3" in told.out
    assert "2 " in told.out


def test_a_backup_is_what_a_chain_can_be_held_against(
    worked: Installation, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(worked, "backup", str(tmp_path / "backup")) == 0
    assert run(worked, "audit", "verify", "--against", str(tmp_path / "backup")) == 0
    tampered(worked, "UPDATE audit_entry SET hash = 'x' || substr(hash, 2) WHERE scope = :site AND number = 4")
    tampered(worked, "UPDATE audit_head SET hash = 'x' || substr(hash, 2) WHERE scope = :site")
    assert run(worked, "audit", "verify", "--against", str(tmp_path / "backup")) == 1
