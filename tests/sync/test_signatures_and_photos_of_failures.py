"""Held work that is let in changes no signature; a facility manager adds photos to failures and to nothing else."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.photos.test_taking_photos_in import jpeg
from tests.support.installation import Installation, installed, new_id

from spanwalk import records
from spanwalk.rules.installing.acceptance import acceptances, is_as_signed, since, statement
from spanwalk.rules.survey import Survey
from spanwalk.services.people.members import find_member
from spanwalk.services.people.people import set_role
from spanwalk.services.sync.incoming import parse_operation
from spanwalk.services.sync.photos_of_failures import judge_photos
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading, writing
from spanwalk.sync.model import Gathered, Operation, State

Json = dict[str, Any]
LINES = ["spanwalk-acceptance 1", "site"]
CONTENT = hashlib.sha256("".join(f"{line}\n" for line in LINES).encode()).hexdigest()
SUBJECTS = records.spec().types["photo"].facets["identity"].fields["subject"].choices


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        made.add_facility()
        yield made


def push(here: Installation, name: str, type: str, facet: str, record: str, to: Json | None, **more: Any) -> Json:
    (answer,) = here.push(name, here.operation(name, record, type, facet, to, spec=99, **more))
    return dict(answer)


def make(here: Installation, name: str, type: str, to: Json) -> str:
    record = new_id()
    answer = push(here, name, type, "identity", record, to)
    assert answer["result"] == "applied", answer
    return record


def facets_of(here: Installation, record: str) -> Json:
    return dict(next(each["facets"] for each in here.pull("manager")["records"] if each["id"] == record))


def a_signature(here: Installation) -> Json:
    return {
        "parent": here.site, "subject": here.site, "name": "Ines Okafor", "signed_by": "typed-name", "content": CONTENT,
        "shown": LINES, "fixtures": 0, "done": 0, "open": 0, "noted_at": "2026-04-02T09:00:00Z",
    }  # fmt: skip


def shut_out(here: Installation, role: str | None) -> None:
    with here.app.app_context(), writing() as session:
        set_role(session, here.site, here.people["crew"], role)


def held(here: Installation, *operations: Json) -> list[str]:
    answers = here.push("crew", *operations)
    assert {each["result"] for each in answers} == {"held"}, answers
    return [each["id"] for each in operations]


def let_in(here: Installation, ids: list[str]) -> list[Json]:
    answer = here.call("manager", "POST", "/api/sites/{site}/held", json={"release": ids})
    assert answer.status_code == 200, answer.text
    return list(answer.json["answers"])


def survey_of(here: Installation) -> Survey:
    with here.app.app_context(), reading() as session:
        return Survey(site_records(session, here.site))


@pytest.mark.parametrize("type_name", ["acceptance", "sign_off"])
def test_held_work_that_would_change_or_remove_a_signature_is_refused_when_it_is_let_in(
    here: Installation, type_name: str
) -> None:
    signed = a_signature(here)
    if type_name == "sign_off":
        del signed["shown"]
        signed["subject"] = here.floor()
    record = make(here, "manager", type_name, signed)
    before = facets_of(here, record)["identity"]
    shut_out(here, None)
    other = signed | {"name": "Somebody else", "fixtures": 9}
    ids = held(
        here,
        here.operation("crew", record, type_name, "identity", other, spec=99, seen=before["op"]),
        here.operation(
            "crew", record, type_name, "life", None, spec=99, kind="remove", seen={"identity": before["op"]}
        ),
    )
    assert [each["code"] for each in let_in(here, ids)] == ["acceptance-stands"] * 2
    assert facets_of(here, record)["identity"] == before


def test_no_second_picture_and_none_of_anybody_else_comes_to_a_signature(here: Installation) -> None:
    record = make(here, "manager", "acceptance", a_signature(here) | {"signed_by": "drawn-signature"})
    picture = {"parent": here.site, "subject": record, "purpose": "signature", "sha256": "a" * 64}
    shut_out(here, None)
    ids = held(here, here.operation("crew", new_id(), "photo", "identity", picture))
    assert [each["code"] for each in let_in(here, ids)] == ["acceptance-stands"]
    make(here, "manager", "photo", picture)
    again = push(here, "manager", "photo", "identity", new_id(), picture | {"sha256": "b" * 64})
    assert (again["result"], again["code"]) == ("refused", "acceptance-stands")
    of_the_room = picture | {"purpose": "room", "subject": here.site}
    assert push(here, "manager", "photo", "identity", new_id(), of_the_room)["result"] == "applied"


def test_work_of_a_phone_that_was_shut_out_stands_beside_what_was_signed_and_never_in_it(here: Installation) -> None:
    floor = here.floor()
    room = make(here, "surveyor", "room", {"parent": floor, "name": "Hall", "number": "1"})
    shut_out(here, None)
    about = {"parent": room, "words": "A cover hangs loose", "noted_at": "2026-04-01T09:00:00Z"}
    ids = held(here, here.operation("crew", new_id(), "punch_point", "identity", about, spec=99))
    shown = statement(survey_of(here), here.site)
    lines = list(shown["lines"])
    content = hashlib.sha256("".join(f"{line}\n" for line in lines).encode()).hexdigest()
    signature = make(here, "manager", "acceptance", a_signature(here) | {"shown": lines, "content": content})
    before = facets_of(here, signature)
    assert [each["result"] for each in let_in(here, ids)] == ["applied"]
    survey = survey_of(here)
    (signed,) = acceptances(survey)
    assert is_as_signed(signed)
    assert facets_of(here, signature) == before
    changed = since(signed, statement(survey, here.site))
    assert not changed.holds
    assert [line for line in changed.now if line.startswith(f"point\t{room}\t")]
    text = here.call("manager", "GET", f"/api/sites/{{site}}/acceptances/{signature}.txt").data
    assert hashlib.sha256(text).hexdigest() == content


def a_failure(here: Installation) -> str:
    floor = here.floor()
    room = make(here, "surveyor", "room", {"parent": floor, "name": "Hall", "number": "1"})
    kind = make(here, "surveyor", "kind", {"parent": here.site, "mark": "A"})
    group = make(here, "surveyor", "group", {"parent": room, "kind": kind})
    return make(here, "facility", "failure", {"parent": group, "position": 1, "sign": "dark"})


def test_a_facility_manager_adds_photos_to_failures_only_and_removes_no_other(here: Installation) -> None:
    failure = a_failure(here)
    data = jpeg()
    sha256 = hashlib.sha256(data).hexdigest()
    photo = {"parent": here.site, "subject": failure, "purpose": "damage", "sha256": sha256}
    path = f"/api/sites/{{site}}/photos/{sha256}"
    early = here.call("facility", "PUT", path, data=data)
    assert (early.status_code, early.json["code"]) == (409, "photo-of-no-failure")
    mine = make(here, "facility", "photo", photo)
    assert here.call("facility", "PUT", path, data=data).status_code == 201
    floor = here.floor()
    other = push(here, "facility", "photo", "identity", new_id(), photo | {"subject": floor})
    assert (other["result"], other["code"], other["facts"]["value"]) == ("refused", "photo-of-no-failure", "Floor")
    moved = facets_of(here, mine)["identity"]["op"]
    away = push(here, "facility", "photo", "identity", mine, photo | {"subject": floor}, seen=moved)
    assert away["code"] == "photo-of-no-failure"
    theirs = make(here, "surveyor", "photo", photo | {"subject": floor})
    seen = {"identity": facets_of(here, theirs)["identity"]["op"]}
    gone = push(here, "facility", "photo", "life", theirs, None, kind="remove", seen=seen)
    assert (gone["result"], gone["code"]) == ("refused", "photo-of-no-failure")
    assert push(here, "facility", "photo", "life", mine, None, kind="remove", seen={"identity": moved})["result"] == (
        "applied"
    )


def a_photo(here: Installation, by: str, subject: str) -> Operation:
    to: Json = {"parent": here.site, "subject": subject, "purpose": "other", "sha256": "a" * 64}
    body = here.operation(by, new_id(), "photo", "identity", to)
    operation = parse_operation(body)
    assert operation is not None
    return operation


@pytest.mark.parametrize("by", ["facility", "crew"])
def test_of_whatever_else_a_photo_can_be_the_facility_managers_is_refused_and_the_crews_is_not(
    here: Installation, by: str
) -> None:
    """All that the spec names, so that a subject which is new there is refused as well."""
    ids = {name: new_id() for name in SUBJECTS}
    gathered = Gathered(here.site, 1, {id: State(id, name, None, 1, False, {}, []) for name, id in ids.items()})
    photos = {name: a_photo(here, by, id) for name, id in ids.items()}
    with here.app.app_context(), reading() as session:
        member = find_member(session, here.site, here.people[by], by)
        assert member is not None
        judge_photos(session, member, gathered, list(photos.values()))
    assert len(SUBJECTS) > 10
    refused = {name for name, each in photos.items() if each.flaw is not None}
    assert refused == (set(SUBJECTS) - {"failure"} if by == "facility" else set())


def test_what_a_facility_manager_hands_in_for_another_waits_for_the_firm(here: Installation) -> None:
    """The phone was a surveyor's: no right is gained by it."""
    floor = State(new_id(), "floor", None, 1, False, {}, [])
    photo = a_photo(here, "surveyor", floor.id)
    with here.app.app_context(), reading() as session:
        member = find_member(session, here.site, here.people["facility"], "facility")
        assert member is not None
        judge_photos(session, member, Gathered(here.site, 1, {floor.id: floor}), [photo])
    assert (photo.flaw, photo.held) == (None, True)
