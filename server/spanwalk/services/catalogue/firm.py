"""The firm's catalogue: a site of its own kind, one for an installation, kept by owners and who they put on it."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.services.people.people import set_role
from spanwalk.services.sites import CATALOGUE, add_site
from spanwalk.storage.tables import Installation, Membership, Person, Site
from spanwalk.words import say


def firm_catalogue(session: Session) -> str | None:
    """The id of the site that holds the firm's catalogue; None where nobody has made it."""
    made = select(Site.id).where(Site.kind == CATALOGUE).order_by(Site.created_at, Site.id).limit(1)
    return session.execute(made).scalar_one_or_none()


def keep_catalogue(session: Session, owner: str, name: str | None = None) -> str:
    """See that the firm's catalogue is there and that an owner is on it; its id.

    Parameters
    ----------
    session : Session
        A writing transaction.
    owner : str
        An owner of the server; the others are put on it with them when it is made.
    name : str, optional
        What it is called when it is made.
    """
    session.execute(select(Installation.id).with_for_update())  # two owners may ask in one moment
    there = firm_catalogue(session)
    if there is None:
        there = add_site(session, name or say("catalogue.name"), owner, kind=CATALOGUE)
        for other in session.execute(select(Person.id).where(Person.owner)).scalars():
            set_role(session, there, other, "owner")
    elif not _is_on(session, there, owner):
        set_role(session, there, owner, "owner")
    return there


def _is_on(session: Session, site: str, person: str) -> bool:
    on = select(Membership.person).where(
        Membership.site == site, Membership.person == person, Membership.ended_at.is_(None)
    )
    return session.execute(on).first() is not None
