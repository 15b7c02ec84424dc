"""Make an installation ready: tables, incarnation."""

from __future__ import annotations

from uuid import uuid4

from sqlalchemy import insert, select, update

from spanwalk.storage.database import writing
from spanwalk.storage.migrating import upgrade
from spanwalk.storage.tables import Installation, db


def prepare_database() -> None:
    """Run the migrations that the database has not seen, and name its first incarnation."""
    upgrade(db.engine)
    with writing() as session:
        if session.execute(select(Installation.id)).first() is None:
            session.execute(insert(Installation).values(id=1, incarnation=str(uuid4())))


def begin_incarnation() -> str:
    """Give the database a new incarnation: it has been set back, and phones must know."""
    made = str(uuid4())
    with writing() as session:
        session.execute(update(Installation).values(incarnation=made))
    return made
