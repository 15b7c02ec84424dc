"""Which version of the firm's catalogue a site has, what has changed since, and taking it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypedDict, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.records import IDENTITY, PARENT
from spanwalk.rules.record_types import CatalogueItemView, PriceView, SiteView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import facet
from spanwalk.services.catalogue.firm import firm_catalogue
from spanwalk.services.clock import now
from spanwalk.services.refusals import InTheWay, NotThere
from spanwalk.services.sites import CATALOGUE
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.server_operations import ServerOperation, server_push
from spanwalk.services.sync.state import site_head, site_records
from spanwalk.storage.tables import Site
from spanwalk.sync.model import REMOVE, RESTORE

ITEM, PRICE = "catalogue_item", "price"
TAKEN = "taken"
OWN_OF_A_SITE = frozenset({TAKEN})
"""Facets of an item that are never taken: they say when it was."""
FIRM, OWN = "firm", "own"
"""Whose a difference is: the firm changed it since it was taken; or the site has set it otherwise itself."""


class FieldChange(TypedDict):
    """A field that differs: of which record and facet, what the site has and what the firm's catalogue has (None: nothing)."""

    type: str
    facet: str
    field: str
    here: object
    firm: object


class ItemDifference(TypedDict):
    """An item that differs.

    `change` is `new` (the site has not got it), `changed`, `removed` (by the firm) or `removed-here`; `whose` is `firm`
    or `own`; `same_code` is true where the site has another live item of that code.
    """

    item: str
    sort: str
    code: str
    name: str
    change: str
    whose: str
    same_code: bool
    fields: list[FieldChange]


class Version(TypedDict):
    """The version that a site took last, as its record says; `left` counts changed items that were not taken then."""

    catalogue: str
    sequence: int
    name: str
    left: int


class FirmNow(TypedDict):
    """The firm's catalogue as it is now: its site, sequence and number of live items."""

    id: str
    head: int
    items: int


class ChangedSince(TypedDict):
    """How a site stands to the firm's catalogue: see `changed_since`."""

    taken: Version | None
    items: int
    firm: FirmNow | None
    own_items: int
    differences: list[ItemDifference]


class Taken(TypedDict):
    """How many items were taken, in how many operations, and the version that the site has now."""

    items: int
    operations: int
    version: Version | None


@dataclass(frozen=True)
class Items:
    """Catalogue items of a site with their prices, removed ones too, as `site_records` with `who` has them."""

    items: Mapping[str, CatalogueItemView]
    prices: Mapping[str, PriceView]
    by_item: Mapping[str, list[PriceView]] = field(default_factory=dict)

    @classmethod
    def of(cls, records: Iterable[Record]) -> Items:
        """Those among the records of a site."""
        found = list(records)
        items = {each["id"]: cast("CatalogueItemView", each) for each in found if each["type"] == ITEM}
        prices = {each["id"]: cast("PriceView", each) for each in found if each["type"] == PRICE}
        by_item: dict[str, list[PriceView]] = {}
        for price in prices.values():
            by_item.setdefault(price["parent"], []).append(price)
        return cls(items, prices, by_item)

    def parts(self, item: str) -> list[Record]:
        """An item and its prices."""
        return [self.items[item], *self.by_item.get(item, ())]

    def codes(self) -> dict[str, set[str]]:
        """Code -> ids of live items."""
        found: dict[str, set[str]] = {}
        for id, each in self.items.items():
            if not each["removed"]:
                found.setdefault(str(facet(each, "identity").get("code", "")), set()).add(id)
        return found


def read_items(session: Session, site_id: str) -> Items:
    """The catalogue items of a site with their prices."""
    return Items.of(site_records(session, site_id, types=(ITEM, PRICE), who=True))


# -- what differs


def differing(firm: Items, here: Items) -> list[ItemDifference]:
    """What of the firm's catalogue a site has otherwise, by code; items that only the site has are its own."""
    codes = here.codes()
    found = [
        _item_difference(firm, here, id, codes)
        for id in firm.items
        if not (firm.items[id]["removed"] and (id not in here.items or here.items[id]["removed"]))
    ]
    return sorted((each for each in found if each is not None), key=lambda each: (each["code"], each["item"]))


def _item_difference(firm: Items, here: Items, id: str, codes: Mapping[str, set[str]]) -> ItemDifference | None:
    identity, ours = facet(firm.items[id], "identity"), here.items.get(id)
    changes: list[tuple[FieldChange, bool]] = []
    if firm.items[id]["removed"]:
        change, whose = "removed", FIRM
    elif ours is None:
        change, whose = "new", FIRM
    elif ours["removed"]:
        change, whose = "removed-here", OWN
    else:
        changes = list(_field_changes(firm, here, id, int(facet(ours, "taken").get("sequence", 0))))
        change, whose = "changed", FIRM if any(since for _, since in changes) else OWN
        if not changes:
            return None
    code = str(identity.get("code", ""))
    return {
        "item": id,
        "sort": str(identity.get("item", "")),
        "code": code,
        "name": str(identity.get("name", "")),
        "change": change,
        "whose": whose,
        "same_code": bool(codes.get(code, set()) - {id}),
        "fields": [each for each, _ in changes],
    }


def _field_changes(firm: Items, here: Items, id: str, taken: int) -> Iterator[tuple[FieldChange, bool]]:
    """Fields that differ, each with whether the firm wrote its facet after the site took the item."""
    ours = {each["id"]: each for each in here.parts(id)}
    for theirs in firm.parts(id):
        mine = ours.get(theirs["id"])
        if theirs["removed"] and (mine is None or mine["removed"]):
            continue
        for name in _facets(theirs, mine):
            wanted = {} if theirs["removed"] else _value(theirs, name)
            has = {} if mine is None or mine["removed"] else _value(mine, name)
            since = theirs["removed"] or mine is None or theirs["seqs"].get(name, 0) > taken
            for each in sorted(set(wanted) | set(has)):
                if wanted.get(each) != has.get(each):
                    told: FieldChange = {
                        "type": theirs["type"],
                        "facet": name,
                        "field": each,
                        "here": has.get(each),
                        "firm": wanted.get(each),
                    }
                    yield told, since


def _facets(theirs: Record, mine: Record | None) -> list[str]:
    """Facets of either; what makes the record first."""
    names = [IDENTITY, *theirs["facets"], *(mine["facets"] if mine is not None else ())]
    return [name for name in dict.fromkeys(names) if name not in OWN_OF_A_SITE]


def _value(record: Record, name: str) -> dict[str, object]:
    """A facet's value without where the record hangs: that is of each site its own."""
    return {field: value for field, value in facet(record, name).items() if field != PARENT}


# -- what is asked


def version_of(session: Session, site_id: str) -> Version | None:
    """The version that a site took last; None: none."""
    site = next(iter(site_records(session, site_id, types=("site",))), None)
    return version_in(cast("SiteView | None", site))


def version_in(site: SiteView | None) -> Version | None:
    """The version that the record of a site names."""
    said = facet(site, "catalogue")
    if not said:
        return None
    return {
        "catalogue": said["catalogue"],
        "sequence": said["sequence"],
        "name": said["name"],
        "left": said.get("left", 0),
    }


def changed_since(session: Session, site_id: str) -> ChangedSince:
    """How a site stands to the firm's catalogue.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        A building's site.

    Returns
    -------
    dict
        ``{"taken": Version | None, "firm": {"id", "head", "items"} | None, "items", "own_items", "differences"}``:
        `items` live items of the site, `own_items` those that the firm's catalogue has not got.
    """
    here, firm_id = read_items(session, site_id), firm_catalogue(session)
    live = {id for id, each in here.items.items() if not each["removed"]}
    told: ChangedSince = {
        "taken": version_of(session, site_id),
        "items": len(live),
        "firm": None,
        "own_items": len(live),
        "differences": [],
    }
    if firm_id is None or firm_id == site_id:
        return told
    firm = read_items(session, firm_id)
    about: FirmNow = {
        "id": firm_id,
        "head": site_head(session, firm_id),
        "items": sum(not each["removed"] for each in firm.items.values()),
    }
    return {
        **told,
        "firm": about,
        "own_items": len(live - set(firm.items)),
        "differences": differing(firm, here),
    }


# -- taking


def take(
    session: Session, site_id: str, by: str, chosen: Sequence[str] | None = None, seen: int | None = None
) -> Taken:
    """Copy what has changed in the firm's catalogue into a site, under the same record ids; done again it changes nothing.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        A building's site.
    by : str
        Whose operations they are.
    chosen : sequence of str, optional
        Ids of items; None: all that the firm changed. What the site has set otherwise itself is only taken where it is
        chosen.
    seen : int, optional
        Sequence of the firm's catalogue whose differences were looked at.

    Returns
    -------
    dict
        ``{"items", "operations", "version"}``: how many were taken, and the version that the site has now.

    Raises
    ------
    InTheWay
        There is no catalogue, the site is the catalogue, or it has moved since it was looked at.
    NotThere
        The catalogue has no item of a chosen id.
    """
    firm_id = _firm_of(session, site_id)
    head = lock_site(session, firm_id)  # before the building's: whoever locks both locks in this order
    lock_site(session, site_id)
    if seen is not None and seen != head:
        raise InTheWay("catalogue-moved", value=seen, head=head)
    firm, here = read_items(session, firm_id), read_items(session, site_id)
    differences = differing(firm, here)
    wanted = _wanted(firm, differences, chosen)
    marked = [*wanted, *(_unmarked(firm, here, differences) if chosen is None else ())]
    operations = [each for id in wanted for each in _copies(firm, here, id, site_id)]
    operations += [_mark(id, head) for id in marked if not firm.items[id]["removed"]]
    left = sum(each["whose"] == FIRM and each["item"] not in set(wanted) for each in differences)
    before = version_of(session, site_id)
    if operations or before is None:
        operations.append(_version(site_id, firm_id, head, left))
        _push(session, site_id, operations, by)
    return {"items": len(wanted), "operations": len(operations), "version": version_of(session, site_id)}


def _firm_of(session: Session, site_id: str) -> str:
    if session.execute(select(Site.kind).where(Site.id == site_id)).scalar_one() == CATALOGUE:
        raise InTheWay("catalogue-itself")
    firm_id = firm_catalogue(session)
    if firm_id is None:
        raise InTheWay("catalogue-none")
    return firm_id


def _wanted(firm: Items, differences: Iterable[ItemDifference], chosen: Sequence[str] | None) -> list[str]:
    if chosen is None:
        return [each["item"] for each in differences if each["whose"] == FIRM]
    for id in chosen:
        if id not in firm.items:
            raise NotThere("catalogue-item-unknown", value=id)
    return [each["item"] for each in differences if each["item"] in set(chosen)]


def _unmarked(firm: Items, here: Items, differences: Iterable[ItemDifference]) -> list[str]:
    """Items that are the same in both, and of which the site does not say yet that it took them."""
    different = {each["item"] for each in differences}
    same = (id for id in firm.items if id in here.items and id not in different)
    return [id for id in same if not here.items[id]["removed"] and not facet(here.items[id], "taken")]


def _copies(firm: Items, here: Items, id: str, site_id: str) -> Iterator[ServerOperation]:
    """What makes a site's item and prices say what the firm's do."""
    parts = {each["id"]: each for each in here.parts(id)} if id in here.items else {}
    wholly = firm.items[id]["removed"]
    gone = {each["id"] for each in firm.parts(id) if each["removed"]} | (set(parts) if wholly else set())
    for part in reversed(parts.values()):  # a price before its item
        if part["id"] in gone and not part["removed"]:
            yield {"record": part["id"], "type": part["type"], "kind": REMOVE}
    for theirs in firm.parts(id):
        if wholly or theirs["id"] in gone:
            continue
        mine = parts.get(theirs["id"])
        about: ServerOperation = {"record": theirs["id"], "type": theirs["type"]}
        if mine is not None and mine["removed"]:
            yield {**about, "kind": RESTORE}
        for name in _facets(theirs, mine):
            value = _value(theirs, name)
            if mine is not None and _value(mine, name) == value:
                continue
            parent = {PARENT: site_id if theirs["type"] == ITEM else id} if name == IDENTITY else {}
            yield {**about, "facet": name, "to": value | parent}


def _mark(id: str, head: int) -> ServerOperation:
    return {"record": id, "type": ITEM, "facet": TAKEN, "to": {"sequence": head}}


def _version(site_id: str, firm_id: str, head: int, left: int) -> ServerOperation:
    said: Version = {"catalogue": firm_id, "sequence": head, "name": f"{now()[:10]} · {head}", "left": left}
    return {"record": site_id, "type": "site", "facet": "catalogue", "to": said}


def _push(session: Session, site_id: str, operations: Sequence[ServerOperation], by: str) -> None:
    answers = server_push(session, site_id, operations, by=by)
    refused = next((each for each in answers if each["result"] not in ("applied", "same")), None)
    if refused is not None:
        raise InTheWay("catalogue-not-taken", why={"code": refused.get("code", ""), "facts": refused.get("facts", {})})


__all__ = [
    "ChangedSince",
    "FieldChange",
    "FirmNow",
    "ItemDifference",
    "Items",
    "Taken",
    "Version",
    "changed_since",
    "differing",
    "read_items",
    "take",
    "version_in",
    "version_of",
]
