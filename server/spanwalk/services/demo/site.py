"""See that the demo's people and building are there, once."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec

from sqlalchemy import select, update

from spanwalk.services.demo.own_folder import check_demo_database
from spanwalk.services.demo.people import PEOPLE, add_demo_people
from spanwalk.services.people.people import set_role
from spanwalk.services.sites import add_site
from spanwalk.storage.database import writing
from spanwalk.storage.tables import Installation, Site


def ensure_demo() -> None:
    """Make people and building unless a site is there already, and mark the database as the demo's.

    Raises
    ------
    SettingWrong
        The database is somebody's.
    """
    with writing() as session:
        check_demo_database(session)
        session.execute(update(Installation).values(demo=True))
        people = add_demo_people(session)
        if session.execute(select(Site.id)).first() is not None:
            return
        if find_spec("spanwalk.services.demo.making") is not None:
            import_module("spanwalk.services.demo.making").load_demo(session, people)
            return
        site = add_site(session, "Demo building (invented)", people["owner"])
        for name, role in PEOPLE.items():
            set_role(session, site, people[name], role)
