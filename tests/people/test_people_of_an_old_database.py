"""People and sign-ins of a database from before there were states, links and folded names."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
import sqlalchemy.orm
from sqlalchemy.pool import NullPool

from spanwalk.services.people.people import person_named
from spanwalk.services.people.signing_in import token_hash, who_is
from spanwalk.storage.database import prepare_sqlite
from spanwalk.storage.migrating import upgrade
from spanwalk.storage.tables import Person

BEFORE = "0003"
PERSON = "INSERT INTO person (id, name, name_key, owner, created_at) VALUES (:id, :name, :key, :owner, :at)"
SESSION = "INSERT INTO session (token_hash, person, created_at, expires_at) VALUES (:hash, :person, :at, '2999-01-01')"


def test_they_sign_in_again_on_a_phone_and_are_found_under_their_folded_names(tmp_path: Path) -> None:
    engine = sa.create_engine(f"sqlite:///{tmp_path / 'old.db'}", poolclass=NullPool)
    prepare_sqlite(engine)
    upgrade(engine, BEFORE)
    people = {
        "1": ("of\ufb01ce", "of\ufb01ce"),
        "2": ("\uff21nna", "\uff41nna"),
        "3": ("Anna", "anna"),
    }
    with engine.begin() as connection:
        for id, (name, key) in people.items():
            told = {"id": id, "name": name, "key": key, "owner": id == "1", "at": f"2026-01-0{id}"}
            connection.execute(sa.text(PERSON), told)
        connection.execute(sa.text(SESSION), {"hash": token_hash("a token"), "person": "1", "at": "2026-01-01"})
    upgrade(engine)
    with sa.orm.Session(engine) as session:
        assert who_is(session, "a token") is None, "a sign-in of before phones is worth nothing"
        person = session.execute(sa.select(Person).where(Person.id == "1")).scalar_one()
        assert (person.owner, person.language, person.units) == (True, None, None)
        assert person_named(session, "OFFICE") == "1"
        assert person_named(session, "anna") == "3"
        assert person_named(session, "\uff41nna") == "2", "two of one name: who was there keeps the key they had"
