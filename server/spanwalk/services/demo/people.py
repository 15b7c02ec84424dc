"""The people of the demo, and how to sign in as each."""

from __future__ import annotations

from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk.services.people.people import add_person, person_named, sites_of

PEOPLE = {
    "surveyor": "surveyor",
    "second surveyor": "surveyor",
    "crew": "crew",
    "manager": "manager",
    "owner": "owner",
}
PASSWORD = "walk the span"


def add_demo_people(session: Session, password: str = PASSWORD) -> dict[str, str]:
    """Make the demo's people where they are not there yet; their ids by name."""
    return {
        name: person_named(session, name) or add_person(session, name, password, owner=role == "owner")
        for name, role in PEOPLE.items()
    }


class PersonOfDemo(TypedDict):
    """A person of the demo, and their role."""

    name: str
    role: str


def demo_people(session: Session) -> list[PersonOfDemo]:
    """Names and roles of the demo's people."""
    found: list[PersonOfDemo] = []
    for name in PEOPLE:
        person_id = person_named(session, name)
        if person_id is not None:
            roles = {site["role"] for site in sites_of(session, person_id)}
            found.append({"name": name, "role": ", ".join(sorted(roles)) or "no site"})
    return found
