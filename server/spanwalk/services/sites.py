"""Sites: made by an owner; each begins with its own record, so that its settings sync like all else."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from sqlalchemy import insert
from sqlalchemy.orm import Session

from spanwalk.services.clock import now
from spanwalk.services.people.people import set_role
from spanwalk.services.refusals import WrongInput
from spanwalk.services.sync.server_operations import server_push
from spanwalk.storage.tables import Site

SETTINGS = {"units": "inches"}


def add_site(session: Session, name: str, by: str, role: str = "owner", settings: dict[str, Any] | None = None) -> str:
    """Make a site and put its maker on it; its id.

    Parameters
    ----------
    session : Session
        A writing transaction.
    name : str
        The site's name.
    by : str
        The person who makes it.
    role : str
        Their role on it.
    settings : dict, optional
        The `settings` facet of the site's record.

    Raises
    ------
    WrongInput
        A name or settings that the spec does not allow.
    """
    site_id = str(uuid4())
    session.execute(insert(Site).values(id=site_id, head=0, created_at=now()))
    set_role(session, site_id, by, role)
    about = {"record": site_id, "type": "site"}
    answers = server_push(
        session,
        site_id,
        [
            about | {"facet": "identity", "to": {"name": name}},
            about | {"facet": "settings", "to": settings or SETTINGS},
        ],
        by=by,
    )
    for answer in answers:
        if answer["result"] == "refused":
            raise WrongInput(answer["code"], **answer["facts"])
    return site_id
