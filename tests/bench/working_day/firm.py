"""The firm of the day: so many sites of so many records, and a person for each phone, put straight into the tables."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from argon2 import PasswordHasher
from sqlalchemy import delete, update

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.bootstrap import prepare_database
from spanwalk.services.labels.labels import draw_code, label_id
from spanwalk.services.people import passwords
from spanwalk.services.people.people import add_person, set_role
from spanwalk.services.sites import add_site
from spanwalk.services.sync.state import state_of
from spanwalk.services.sync.sums import Sum, hash_of, written
from spanwalk.storage.database import insert_many, writing
from spanwalk.storage.tables import Record, Site, SiteSum, db
from tests.planning.demo_records import SITE
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import _row

PASSWORD = "walk the span"
RECORDS_A_GROUP = 2.9
"""What an invented site holds for each of its groups, about: the group, its readings, a share of its room."""
SHOWS = {"shows": ["takes-no-lamps", "whom-to-call"]}


@dataclass(frozen=True)
class Place:
    """A site as its phones need it: a reading to make others like, and a label to scan."""

    id: str
    code: str
    group: str
    reading: dict[str, Any]
    records: int


@dataclass(frozen=True)
class Firm:
    """Its sites, and the name of the person of each phone."""

    places: list[Place]
    phones: list[str]
    manager: str = "manager"


def found(env: dict[str, str], folder: Path, sites: int, records: int, phones: int) -> Firm:
    """Make the firm in a new database.

    Parameters
    ----------
    env : dict
        Settings of its servers.
    folder : Path
        A data folder.
    sites, records : int
        How many sites, and about how many records on each.
    phones : int
        How many people; phone n works on site n modulo sites.
    """
    passwords.HASHER = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    app = create_app(read_settings(env, folder))
    views = invented_site(max(8, round(records / RECORDS_A_GROUP)))
    names = [f"phone {number}" for number in range(phones)]
    with app.app_context():
        prepare_database()
        with writing() as session:
            people = {
                name: add_person(session, name, PASSWORD, owner=name == "owner")
                for name in ("owner", "manager", *names)
            }
            made = [add_site(session, f"Site {number}", people["owner"]) for number in range(sites)]
            for number, site in enumerate(made):
                set_role(session, site, people["manager"], "manager")
                for name in names[number::sites]:
                    set_role(session, site, people[name], "surveyor")
        places = [_furnish(site, views, people["manager"]) for site in made]
        db.engine.dispose()
    return Firm(places, names)


def _furnish(site: str, views: list[dict[str, Any]], person: str) -> Place:
    code = draw_code()
    group = next(each["id"] for each in views if each["type"] == "group")
    binding = {
        "identity": {"parent": SITE, "code": code, "origin": "printed"},
        "binding": {"group": group, "position": 1},
    }
    label = {
        "id": label_id(code),
        "type": "label",
        "parent": SITE,
        "removed": False,
        "facets": binding,
        "conflicts": [],
    }
    shown = [{**each, "facets": {**each["facets"], "anyone": SHOWS}} if each["id"] == SITE else each for each in views]
    about = SimpleNamespace(site=site, people={"surveyor": person})
    rows = [_row(about, number, each) for number, each in enumerate([*shown, label], 1)]  # type: ignore[arg-type]
    sums: dict[str, Sum] = defaultdict(Sum)
    for row in rows:
        row["removed"] = False
        row["line_hash"] = hash_of(state_of(SimpleNamespace(**row, line_hash=None)))  # type: ignore[arg-type]
        sums[row["type"]].add(row["line_hash"])
    totals = [
        {"site": site, "type": name, "lines": each.lines, "total": written(each.total)} for name, each in sums.items()
    ]
    with writing() as session:
        session.execute(delete(Record).where(Record.site == site))
        session.execute(delete(SiteSum).where(SiteSum.site == site))
        insert_many(session.connection(), Record.__table__, rows)
        insert_many(session.connection(), SiteSum.__table__, totals)
        session.execute(update(Site).where(Site.id == site).values(head=len(rows)))
    reading = next(each for each in views if each["type"] == "cavity_reading")
    return Place(site, code, group, {**reading["facets"]["identity"], "parent": reading["parent"]}, len(rows))
