"""What goes into the audit: sign-ins, roles, phones, exports, deletions, by whom; on screen for managers and owners, in a file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import select
from tests.support.installation import DEVICES, OWN_PAGE, PASSWORD, Installation, installed, new_id

from spanwalk.services.audit.chain import FIRM
from spanwalk.services.audit.verifying import verify_all
from spanwalk.storage.database import reading
from spanwalk.storage.tables import AuditEntry, Base
from spanwalk.web.request.auditing import PASSED_OVER


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        yield made


def told(here: Installation, path: str = "/api/sites/{site}/audit", name: str = "owner") -> list[Any]:
    """Entries, the oldest first."""
    answer = here.call(name, "GET", path)
    assert answer.status_code == 200, answer.text
    entries: list[Any] = answer.json["entries"]
    return entries[::-1]


def firm(here: Installation) -> list[tuple[str, str | None]]:
    return [(each["what"], each["person"]) for each in told(here, "/api/audit")]


def test_sign_ins_and_refused_ones_are_entered_without_the_name_that_was_typed(here: Installation) -> None:
    here.client("surveyor")
    wrong = here.app.test_client()
    for name in ("manager", "nobody of that name"):
        body = {"name": name, "password": "not the password"}
        assert wrong.post("/api/session", json=body, headers=OWN_PAGE).status_code == 401
    here.client("surveyor").delete("/api/session", headers=OWN_PAGE)
    found = firm(here)
    for each in [
        ("signed-in", here.people["surveyor"]),
        ("sign-in-refused", here.people["manager"]),
        ("sign-in-refused", None),
        ("signed-out", here.people["surveyor"]),
    ]:
        assert each in found
    with here.app.app_context(), reading() as session:
        rows = session.execute(select(AuditEntry)).scalars().all()
        assert "nobody of that name" not in repr([vars(row) for row in rows])


def test_a_role_a_phone_and_held_work_are_entered_on_the_site(here: Installation) -> None:
    here.floor()
    body = {"name": "stranger", "role": "crew"}
    assert here.call("manager", "PUT", "/api/sites/{site}/people", json=body).status_code == 200
    assert here.call("manager", "DELETE", f"/api/sites/{{site}}/devices/{DEVICES['surveyor']}").status_code == 204
    role, phone = told(here)[-2:]
    assert (role["what"], role["person"], role["facts"]) == (
        "people.put_on_site",
        here.people["manager"],
        {"role": "crew", "person": here.people["stranger"]},
    )
    assert (phone["what"], phone["facts"]) == ("people.revoke", {"device_id": DEVICES["surveyor"]})


def test_what_is_taken_away_is_entered_with_its_name(here: Installation) -> None:
    for path in ("walk.csv", "tables/rooms.xlsx", "copy.zip", "audit.csv"):
        assert here.call("owner", "GET", f"/api/sites/{{site}}/{path}").status_code == 200
    taken = [each["facts"]["file"] for each in told(here) if each["what"] == "export"]
    assert taken == ["walk.csv", "rooms.xlsx", "copy.zip", "audit.csv"]


def test_a_deleted_site_stands_in_the_audit_of_the_firm_and_has_none_of_its_own(here: Installation) -> None:
    body = {"name": "Test building"}
    assert here.call("owner", "DELETE", "/api/sites/{site}", json=body).status_code == 204
    entry = told(here, "/api/audit")[-1]
    assert (entry["what"], entry["facts"]["site"]) == ("sites.remove", here.site)
    with here.app.app_context(), reading() as session:
        assert session.execute(select(AuditEntry.number).where(AuditEntry.scope == here.site)).all() == []
        assert [each.scope for each in verify_all(session)] == [FIRM]


def test_what_is_refused_or_only_looked_at_is_not_entered(here: Installation) -> None:
    before = len(told(here))
    here.call("manager", "PUT", "/api/sites/{site}/people", json={"name": "stranger", "role": "emperor"})
    here.call("surveyor", "GET", "/api/sites/{site}/audit")
    here.pull("surveyor")
    assert len(told(here)) == before


def test_every_endpoint_that_changes_something_is_entered_or_passed_over_by_name(here: Installation) -> None:
    endpoints = changing(here.app)
    assert endpoints >= PASSED_OVER
    assert {"people.put_on_site", "own.password", "releasing.make_release", "sites.archive"} <= endpoints - PASSED_OVER


def test_whatever_is_done_to_people_phones_and_proofs_has_its_words(here: Installation) -> None:
    """On the screen 'second_factor.take_off' stood as it is called in here."""
    from spanwalk.words import words

    about = ("people", "phones", "second_factor", "own", "links", "privacy", "sites")
    entered = {each for each in changing(here.app) - PASSED_OVER if each.split(".")[0] in about}
    assert len(entered) > 25
    assert {each for each in entered if f"audit.what.{each}" not in words("en")} == set()


def changing(app: Flask) -> set[str]:
    return {
        str(rule.endpoint)
        for rule in app.url_map.iter_rules()
        if (rule.methods or set()) & {"POST", "PUT", "PATCH", "DELETE"} and str(rule).startswith("/api/")
    }


def test_a_name_that_hands_in_for_another_is_told_beside_the_other(here: Installation) -> None:
    one = here.operation("surveyor", new_id(), "floor", "identity", {"name": "One", "parent": here.site})
    here.push("manager", one)
    entry = told(here)[-1]
    (operation,) = here.call("owner", "GET", f"/api/sites/{{site}}/audit/{entry['number']}").json["operations"]
    assert entry["sender"] == here.people["manager"]
    assert operation["person"] == here.people["surveyor"]
    assert (operation["type"], operation["facet"], operation["entered"]) == (
        "floor",
        "identity",
        "2026-03-01T09:00:00Z",
    )


def test_entries_are_found_by_person_sort_and_day(here: Installation) -> None:
    here.floor("surveyor")
    here.floor("manager")
    person = here.people["surveyor"]
    assert {each["person"] for each in told(here, f"/api/sites/{{site}}/audit?person={person}")} == {person}
    assert {each["what"] for each in told(here, "/api/sites/{site}/audit?what=pushed")} == {"pushed"}
    today = told(here)[0]["at"][:10]
    assert len(told(here, f"/api/sites/{{site}}/audit?first_day={today}&last_day={today}")) == len(told(here)) > 2
    assert told(here, "/api/sites/{site}/audit?last_day=2020-01-01") == []
    assert [each["number"] for each in told(here, "/api/sites/{site}/audit?before=2")] == [1]


def test_the_file_has_a_line_for_each_operation_with_both_names(here: Installation) -> None:
    here.push(
        "surveyor",
        *(
            here.operation("surveyor", new_id(), "floor", "identity", {"name": f"{n}", "parent": here.site})
            for n in range(3)
        ),
    )
    text = here.call("owner", "GET", "/api/sites/{site}/audit.csv").data.decode("utf-8-sig")
    rows = [row for row in csv.DictReader(io.StringIO(text)) if row["What"] == "Work handed in"]
    assert [(row["Who"], row["Handed in by"], row["Phone"]) for row in rows] == [
        ("surveyor", "surveyor", DEVICES["surveyor"])
    ] * 3
    assert {row["Entered"] for row in rows} == {"2026-03-01T09:00:00Z"}


# -- what is kept of a person


def leave(here: Installation, name: str) -> str:
    person = here.people[name]
    assert here.call("owner", "PUT", f"/api/people/{person}", json={"state": "left"}).status_code == 200
    return person


@pytest.fixture
def named(tmp_path: Path) -> Iterator[Installation]:
    """A site whose records name 'Fiona Walker' in notes, a sign-off and an old value, by her own account and typed."""
    with installed(tmp_path / "data") as here:
        assert here.call("surveyor", "PUT", "/api/me", json={"name": "Fiona Walker"}).status_code == 200
        note = new_id()
        to = {"name": "Ground, by Fiona Walker", "parent": here.site}
        first = here.operation("surveyor", note, "floor", "identity", to)
        here.push("surveyor", first)
        here.push(
            "surveyor",
            here.operation(
                "surveyor", note, "floor", "identity", to | {"name": "fiona  walker's floor"}, seen=first["id"]
            ),
        )
        here.call("manager", "POST", "/api/sites/{site}/invites", json={"role": "crew", "note": "for a friend"})
        yield here


def everything(here: Installation) -> str:
    with here.app.app_context(), reading() as session:
        return repr([session.execute(select(table)).all() for table in Base.metadata.sorted_tables])


def test_the_name_of_somebody_who_left_goes_everywhere_and_the_chain_stays_whole(named: Installation) -> None:
    assert everything(named).casefold().count("fiona") >= 4
    person = leave(named, "surveyor")
    before = named.pull("manager")["next"]
    assert named.call("owner", "POST", f"/api/people/{person}/anonymised").status_code == 204
    assert "fiona" not in everything(named).casefold()
    files = named.app.extensions["spanwalk"].data.glob("spanwalk.db*")
    assert [path.name for path in files if b"fiona" in path.read_bytes().lower()] == []
    with named.app.app_context(), reading() as session:
        assert [each.breaks for each in verify_all(session)] == [(), ()]
    (changed,) = named.pull("manager", f"since={before}")["records"]
    assert changed["facets"]["identity"]["value"]["name"].startswith("Former colleague"), "phones follow"
    assert "rewritten" in {each["what"] for each in told(named)}


def test_a_backup_from_before_does_not_bring_the_name_back(named: Installation, tmp_path: Path) -> None:
    from spanwalk.services.backups.backing_up import back_up
    from spanwalk.services.backups.restoring import put_back

    settings = named.app.extensions["spanwalk"]
    with named.app.app_context():
        back_up(settings, tmp_path / "backup")
    person = leave(named, "surveyor")
    assert named.call("owner", "POST", f"/api/people/{person}/anonymised").status_code == 204
    with named.app.app_context():
        put_back(settings, tmp_path / "backup", replace=True)
        with reading() as session:
            assert [each.breaks for each in verify_all(session)] == [(), ()]
    assert "fiona" not in everything(named).casefold()


def test_who_has_not_left_keeps_the_name(named: Installation) -> None:
    answer = named.call("owner", "POST", f"/api/people/{named.people['surveyor']}/anonymised")
    assert (answer.status_code, answer.json["code"]) == (409, "person-not-left")


def test_whose_name_was_taken_out_is_told_so_and_not_let_in_again(named: Installation) -> None:
    person = leave(named, "surveyor")

    def told_of() -> bool:
        people = named.call("owner", "GET", "/api/people").json["people"]
        return next(bool(each["anonymised"]) for each in people if each["id"] == person)

    assert not told_of()
    assert named.call("owner", "POST", f"/api/people/{person}/anonymised").status_code == 204
    assert told_of()
    answer = named.call("owner", "PUT", f"/api/people/{person}", json={"state": "active"})
    assert (answer.status_code, answer.json["code"]) == (409, "person-anonymised")
    assert "signs in no more" in answer.json["detail"]


def test_the_log_of_an_archived_site_loses_the_name_too_and_it_stays_archived(named: Installation) -> None:
    named.call("owner", "PUT", "/api/sites/{site}/archived", json={"archived": True})
    person = leave(named, "surveyor")
    assert named.call("owner", "POST", f"/api/people/{person}/anonymised").status_code == 204
    assert "fiona" not in everything(named).casefold()
    (site,) = (each for each in named.call("owner", "GET", "/api/sites").json["sites"] if each["id"] == named.site)
    assert site["archived_at"] is not None


def test_one_takes_away_all_that_is_kept_of_oneself_and_no_secret(named: Installation) -> None:
    import json
    import zipfile

    answer = named.call("surveyor", "GET", "/api/me/data.zip")
    assert answer.status_code == 200, answer.text
    parts = zipfile.ZipFile(io.BytesIO(answer.data))
    data = json.loads(parts.read("data.json"))
    assert data["account"]["name"] == "Fiona Walker"
    assert [each["site"] for each in data["operations"]] == ["Test building"] * 2
    assert {each["site"] for each in data["membership"]} == {named.site}
    assert any(each["what"] == "pushed" for each in data["audit"])
    text = parts.read("data.json").decode()
    with named.app.app_context(), reading() as session:
        hashes = session.execute(select(Base.metadata.tables["person"].c.password_hash)).scalars().all()
        tokens = session.execute(select(Base.metadata.tables["session"].c.token_hash)).scalars().all()
    assert len(hashes) + len(tokens) > 5
    assert [each for each in (*hashes, *tokens) if each in text] == []


def test_an_owner_takes_it_away_for_them_and_nobody_else_does(named: Installation) -> None:
    path = f"/api/people/{named.people['surveyor']}/data.zip"
    assert named.call("owner", "GET", path).status_code == 200
    assert named.call("manager", "GET", path).json["code"] == "owner-only"


def test_what_has_served_its_time_is_let_go_and_the_chain_stays_whole(named: Installation) -> None:
    from spanwalk.services.privacy.keeping import let_go_old
    from spanwalk.storage.database import writing

    settings = named.app.extensions["spanwalk"]
    with named.app.app_context():
        assert let_go_old(settings).links == 0
        with writing() as session:
            table = Base.metadata.tables["one_time_link"]
            session.execute(table.update().values(expires_at="2020-01-01T00:00:00.000000Z"))
        signed_in = [each for each in told(named, "/api/audit") if each["what"] == "signed-in"]
        gone = let_go_old(replace(settings, keep_sign_ins_days=-1))
        assert (gone.links, gone.sign_ins) == (1, len(signed_in))
        with reading() as session:
            assert [each.breaks for each in verify_all(session)] == [(), ()]
            kept = session.execute(select(AuditEntry).where(AuditEntry.what == "signed-in")).scalars().all()
    assert [(each.person, each.about) for each in kept] == [(None, None)] * len(signed_in)


def test_a_deleted_site_is_gone_from_the_very_file_of_the_database(here: Installation) -> None:
    here.push(
        "surveyor",
        here.operation("surveyor", new_id(), "floor", "identity", {"name": "Zanzibar mezzanine", "parent": here.site}),
    )
    data = here.app.extensions["spanwalk"].data

    def found() -> bool:
        return any(b"Zanzibar" in path.read_bytes() for path in data.glob("spanwalk.db*"))

    assert found()
    assert here.call("owner", "DELETE", "/api/sites/{site}", json={"name": "Test building"}).status_code == 204
    assert not found()


def test_nobody_signs_in_by_the_old_name(named: Installation) -> None:
    person = leave(named, "surveyor")
    named.call("owner", "POST", f"/api/people/{person}/anonymised")
    body = {"name": "Fiona Walker", "password": PASSWORD}
    assert named.app.test_client().post("/api/session", json=body, headers=OWN_PAGE).status_code == 401


def test_of_somebody_who_left_no_second_factor_code_or_guess_stays_behind(named: Installation) -> None:
    from spanwalk.services.clock import later
    from spanwalk.services.files.imports import packed
    from spanwalk.services.people.sealed import hidden_name
    from spanwalk.storage.database import writing
    from spanwalk.storage.tables import Enrolment, FileImport, PasskeyChallenge, RecoveryCode, SecondFactor, SignInTry

    person = named.people["surveyor"]
    kept = {"person": person, "made_at": later(0)}
    with named.app.app_context(), writing() as session:
        session.add_all(
            [
                SecondFactor(id=new_id(), kind="passkey", name="Fiona Walker's phone", credential="c", **kept),
                RecoveryCode(person=person, code_hash="a hash"),
                PasskeyChallenge(challenge="a challenge", person=person, expires_at=later(60)),
                Enrolment(id=new_id(), secret_hash="h", session="s", expires_at=later(60), **kept),
                SignInTry(id=new_id(), name_key=hidden_name(session, "fiona walker"), place="192.0.2.7", at=later(0)),
                FileImport(
                    id=new_id(), site=named.site, kind="rooms", name="Fiona Walker rooms.csv", state="done",
                    read=packed({"rows": [["G01", "Fiona Walker"]]}), undo=packed([]), changed_at=later(0), asked="{}", told='{"by": "fiona walker"}', **kept,
                ),
            ]
        )  # fmt: skip
    leave(named, "surveyor")
    assert named.call("owner", "POST", f"/api/people/{person}/anonymised").status_code == 204
    assert "fiona" not in everything(named).casefold()
    with named.app.app_context(), reading() as session:
        for table in (SecondFactor, RecoveryCode, PasskeyChallenge, Enrolment):
            assert session.execute(select(table).where(table.person == person)).all() == []
        assert session.execute(select(SignInTry)).all() == []
        assert session.execute(select(FileImport.read, FileImport.undo)).all() == [(None, None)]
