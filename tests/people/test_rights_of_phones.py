"""The matrix of rights once more, by phone: every endpoint that wants somebody signed in × role × how their phone stands.

`python -m tests.people.test_rights_of_phones` says how many cells there are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from flask.testing import FlaskClient
from sqlalchemy import update
from sqlalchemy.orm import Session as Transaction
from tests.people.test_rights import ENDPOINTS, filled
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, installed, phone_of

from spanwalk.records import ROLES
from spanwalk.services.people.people import add_person, set_role
from spanwalk.services.people.phones import note_on_site, phone_of_secret
from spanwalk.services.sites import add_site
from spanwalk.storage.database import writing
from spanwalk.storage.tables import Phone, PhoneOnSite, Session
from spanwalk.web.request.auth import ROLES_WITH, Right

STRANGER = "stranger"
LEFT = "left"
WHO = (*ROLES, STRANGER, LEFT)
OWN, HERE, ELSEWHERE, ALL = "own", "shut out here", "shut out elsewhere", "shut out of all"
AGAIN, BEFORE = "let in again", "signed in before phones were enrolled"
STANDS = (OWN, HERE, ELSEWHERE, ALL, AGAIN, BEFORE)
OF_A_SHUT_OUT_PHONE = {
    ("POST", "/api/sites/<uuid:site_id>/push"),
    ("PUT", "/api/sites/<uuid:site_id>/photos/<sha256>"),
    ("GET", "/api/session"),
}
"""What is left to a phone that is shut out: to hand in what it has, and to hear who is signed in on it."""
GUARDED = [(method, path, right) for method, path, right in ENDPOINTS if right not in (None, Right.OPEN)]
REFUSALS = {"not-signed-in", "site-unknown", "site-left", "role-not-enough", "owner-only", "device-revoked"}
LETS_IN = "lets in"


@dataclass(frozen=True)
class Cell:
    """Who asks for what, on which phone."""

    method: str
    path: str
    right: Right
    who: str
    stands: str


def cells() -> list[Cell]:
    return [Cell(*endpoint, who, stands) for endpoint in GUARDED for who in WHO for stands in STANDS]


def expected(cell: Cell) -> str:
    """The code of the refusal, or that one is let in, by the rules as they are told: rights first, then the phone."""
    if cell.stands == BEFORE:
        return "not-signed-in"
    of_site = cell.right in ROLES_WITH
    if cell.right is Right.SERVER and cell.who != "owner":
        return "owner-only"
    if of_site and cell.who == STRANGER:
        return "site-unknown"
    if of_site and cell.who == LEFT and cell.right is not Right.PUSH:
        return "site-left"
    if of_site and cell.who != LEFT and cell.who not in ROLES_WITH[cell.right]:
        return "role-not-enough"
    out = cell.stands == ALL or (cell.stands == HERE and "site_id" in cell.path)
    return "device-revoked" if out and (cell.method, cell.path) not in OF_A_SHUT_OUT_PHONE else LETS_IN


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("phones") / "data") as made:
        yield made


@pytest.fixture(scope="module")
def clients(alone: Installation) -> dict[tuple[str, str], FlaskClient]:
    """Somebody for each role and each way in which a phone may stand, signed in on a phone that stands so."""
    with alone.app.app_context(), writing() as session:
        other = add_site(session, "Elsewhere", alone.people["owner"])
        for who in WHO:
            for stands in STANDS:
                person = add_person(session, f"{who} {stands}", PASSWORD, owner=who == "owner")
                alone.people[f"{who} {stands}"] = person
                for site in (alone.site, other) if who != STRANGER else ():
                    set_role(session, site, person, "surveyor" if who == LEFT else who)
                if who == LEFT:
                    set_role(session, alone.site, person, None)
    made = {(who, stands): alone.signed_in(f"{who} {stands}") for who in WHO for stands in STANDS}
    with alone.app.app_context(), writing() as session:
        for (who, stands), client in made.items():
            phone = str(phone_of_secret(session, phone_of(client)))
            stand(session, stands, phone, alone.people[f"{who} {stands}"], here=alone.site, elsewhere=other)
    return made


def stand(session: Transaction, stands: str, phone: str, person: str, here: str, elsewhere: str) -> None:
    """Shut a phone out, as it is to stand."""
    if stands in (HERE, AGAIN):
        note_on_site(session, here, phone, person, shut_out_by=person)
    if stands == ELSEWHERE:
        note_on_site(session, elsewhere, phone, person, shut_out_by=person)
    if stands == AGAIN:
        session.execute(update(PhoneOnSite).where(PhoneOnSite.phone == phone).values(shut_out_at=None))
    if stands == ALL:
        session.execute(update(Phone).where(Phone.id == phone).values(shut_out_at="2026-03-01T09:00:00Z"))
    if stands == BEFORE:
        session.execute(update(Session).where(Session.phone == phone).values(phone=None))


def test_each_endpoint_lets_in_by_role_and_phone_as_it_says(
    alone: Installation, clients: dict[tuple[str, str], FlaskClient]
) -> None:
    surprises = []
    told: Counter[str] = Counter()
    for cell in cells():
        client = clients[cell.who, cell.stands]
        answer = client.open(filled(cell.path, alone.site), method=cell.method, headers=OWN_PAGE)
        code = answer.json.get("code") if answer.is_json and isinstance(answer.json, dict) else None
        found = code if code in REFUSALS and answer.status_code in (401, 403, 404) else LETS_IN
        told[found] += 1
        if found != expected(cell) or answer.status_code >= 500:
            surprises.append((cell, found, expected(cell), answer.status_code))
    assert surprises == []
    assert told.keys() == REFUSALS | {LETS_IN}


def test_the_matrix_is_as_large_as_what_it_walks() -> None:
    assert len(cells()) == len(GUARDED) * len(WHO) * len(STANDS) > 2500


def test_only_what_hands_work_in_is_left_to_a_phone_that_is_shut_out(alone: Installation) -> None:
    rules = alone.app.url_map.iter_rules()
    views = alone.app.view_functions
    left = {
        (method, str(rule))
        for rule in rules
        if getattr(views[rule.endpoint], "of_shut_out", False)
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    assert left == OF_A_SHUT_OUT_PHONE


if __name__ == "__main__":
    print(f"{len(GUARDED)} endpoints × {len(WHO)} roles × {len(STANDS)} phones: {len(cells())} cells")
