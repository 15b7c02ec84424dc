"""Make an installation ready: tables, incarnation."""

from __future__ import annotations

from contextlib import suppress
from uuid import uuid4

from sqlalchemy import insert, select, update
from sqlalchemy.exc import IntegrityError

from spanwalk.services.audit.chain import begin_chains
from spanwalk.services.sync.sums import recount
from spanwalk.storage.database import writing
from spanwalk.storage.migrating import upgrade
from spanwalk.storage.tables import Installation, Site, db


def prepare_database() -> None:
    """Run the migrations that the database has not seen, and name its first incarnation."""
    upgrade(db.engine)
    with suppress(IntegrityError), writing() as session:  # another server may name it in the same moment
        if session.execute(select(Installation.id)).first() is None:
            session.execute(insert(Installation).values(id=1, incarnation=str(uuid4())))
    with suppress(IntegrityError), writing() as session:
        begin_chains(session)


def begin_incarnation() -> str:
    """Give the database a new incarnation: it has been set back, and phones must know. Its sums are counted anew."""
    made = str(uuid4())
    with writing() as session:
        session.execute(update(Installation).values(incarnation=made))
        for site in session.execute(select(Site.id).order_by(Site.id).with_for_update()).scalars().all():
            recount(session, site)
    return made
