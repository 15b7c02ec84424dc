"""Which records some fixtures are remembered by: a label of a large building is scanned without reading all the others."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from typing import cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.rules.record_view import Facet
from spanwalk.rules.record_view import Record as View
from spanwalk.services.sync.state import COLUMNS, records_by, records_in_part, site_records, view_record
from spanwalk.storage import json_text
from spanwalk.storage.tables import Record

OF_ALL = ("site", "floor", "kind", "catalogue_item", "release")
"""Types of record that every fixture may hang on; a site has few of each."""
IN_A_GROUP = ("conversion", "installation", "failure", "function_test", "emergency_test")
TOLD_ITEMS = ("conversion", "installation", "failure")
"""Types of record that name items and their numbers."""
ALL_TYPES = (*OF_ALL, "room", "group", *IN_A_GROUP, "claim_step")
SEEN_ON_IT = ("label", "photo")
"""Types of record that only who is told of a single fixture asks for: a building has most of these."""
ORDERED = frozenset({"installation", "function_test", "emergency_test"})
"""Types of record of which the last word counts."""
FROM_SPARES_WRITTEN = {"installation": '"spare":', "failure": "from-spares"}
"""What stands in every record by which a spare was used, by its type."""
ORDERED_BY = (("identity", "group"), ("identity", "figures", "order"))
"""What spares are counted by of the sums that a release froze: of one group, which have no order, or of the whole release."""
IN_WORDS_ONLY = '"fitted":'
"""What stands in every note of what was fitted that may be in words only."""
TEXTS = re.compile(r'"([^"\\]+)"')
"""Texts that are written in a record as they are: ids among them."""


def records_of_all(session: Session, site_id: str, seen_on_it: bool) -> list[View]:
    """The records by which all fixtures of a site are remembered, with their labels and photos or without."""
    types = (*ALL_TYPES, *SEEN_ON_IT) if seen_on_it else ALL_TYPES
    plain = [each for each in types if each not in ORDERED]
    ordered = site_records(session, site_id, types=ORDERED, who=True)
    return [*site_records(session, site_id, types=plain), *ordered]


def records_of(session: Session, site_id: str, groups: Collection[str]) -> list[View]:
    """Those by which the fixtures of some groups are remembered: their own, and what the site has few of."""
    found = [*site_records(session, site_id, types=OF_ALL), *_in_groups(session, site_id, groups)]
    failures = {each["id"] for each in found if each["type"] == "failure"}
    steps = records_by(session, site_id, "parent", failures, types=("claim_step",))
    labels = _naming(session, site_id, "label", groups)
    return [*found, *steps, *labels, *_naming(session, site_id, "photo", failures)]


def _in_groups(session: Session, site_id: str, groups: Collection[str]) -> list[View]:
    """Some groups with their rooms, and what was released and noted in them."""
    own = records_by(session, site_id, "id", groups)
    rooms = records_by(session, site_id, "id", {str(each["parent"]) for each in own})
    return [*own, *rooms, *records_by(session, site_id, "parent", groups, who=ORDERED, types=IN_A_GROUP)]


def _naming(session: Session, site_id: str, type_name: str, ids: Collection[str]) -> list[View]:
    """The records of a type in which one of some ids is written."""
    wanted = frozenset(ids)
    if not wanted:
        return []
    query = select(*COLUMNS).where(Record.site == site_id, Record.type == type_name)
    if len(wanted) == 1:
        query = query.where(Record.facets.contains(next(iter(wanted))))
    rows = session.execute(query)
    return [view_record(row) for row in rows if not wanted.isdisjoint(TEXTS.findall(row.facets))]


def groups_that_failed(session: Session, site_id: str) -> set[str]:
    """Groups in which a failure was reported."""
    return {str(each["parent"]) for each in site_records(session, site_id, types=("failure",))}


def groups_that_name(session: Session, site_id: str, texts: Iterable[str]) -> set[str]:
    """Groups of which a release, or what was noted in them, names all of some items' codes or numbers, letters large or small."""
    wanted = [json_text.dumps(text)[1:-1].casefold() for text in texts if text]
    where = (Record.site == site_id, Record.type.in_(TOLD_ITEMS))
    found: dict[str, set[str]] = {}
    for parent, facets in session.execute(select(Record.parent, Record.facets).where(*where)):
        written = facets.casefold()
        found.setdefault(str(parent), set()).update(text for text in wanted if text in written)
    return {group for group, seen in found.items() if len(seen) == len(set(wanted))}


def groups_in_words_only(session: Session, site_id: str) -> set[str]:
    """Groups in which what was fitted may have been said in words only, so that no item's code or number is written."""
    where = (Record.site == site_id, Record.type == "installation", Record.facets.contains(IN_WORDS_ONLY))
    return {str(parent) for parent in session.execute(select(Record.parent).where(*where)).scalars()}


def records_of_spares(session: Session, site_id: str) -> list[View]:
    """Those by which spares are counted: what releases ordered and fit, and all that may have been taken from the spares since."""
    groups: set[str] = set()
    for type_name, written in FROM_SPARES_WRITTEN.items():
        where = (Record.site == site_id, Record.type == type_name, Record.facets.contains(written))
        groups.update(str(parent) for parent in session.execute(select(Record.parent).where(*where)).scalars())
    sums = records_in_part(session, site_id, "release_sums", ORDERED_BY)
    whole = [each for each in sums if "figures" in cast("Facet", each["facets"].get("identity") or {})]
    few = site_records(session, site_id, types=("site", "floor", "release"))
    return [*few, *whole, *_in_groups(session, site_id, groups)]
