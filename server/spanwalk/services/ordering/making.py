"""Orders made: one for each supplier, numbered, frozen with a fingerprint, as records that travel in the same pull."""

from __future__ import annotations

from typing import TypedDict
from uuid import uuid4

from sqlalchemy.orm import Session

from spanwalk.services.clock import now
from spanwalk.services.days import today_at
from spanwalk.services.ordering.drafting import Basis, DraftOrder, Wanted, basis_of, draft_of, fingerprint
from spanwalk.services.refusals import InTheWay
from spanwalk.services.releases.stopped import StoppedGroup
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.server_operations import ServerOperation, server_push


class Made(TypedDict):
    """An order that was made."""

    order: str
    number: int
    supplier: str


class OrdersMade(TypedDict):
    """The orders that were made, by supplier; groups they are for that must not be converted for now."""

    orders: list[Made]
    stopped: list[StoppedGroup]


def make_orders(session: Session, site_id: str, by: str, wanted: Wanted, content: str, note: str = "") -> OrdersMade:
    """Order what the newest release needs and the orders that stand do not cover: one order for each supplier.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    by : str
        The person who orders.
    wanted : Wanted
        When things are wanted.
    content : str
        Fingerprint of the draft that they saw.
    note : str
        What suppliers are told.

    Raises
    ------
    NotThere
        There is no release that stands.
    InTheWay
        Nothing is to be ordered, or it is no longer what they saw.
    """
    lock_site(session, site_id)
    at = now()
    found = basis_of(session, site_id, today_at(session, site_id))
    draft = draft_of(found, wanted)
    if not draft["orders"]:
        raise InTheWay("orders.nothing", release=draft["release"])
    if draft["content"] != content:
        raise InTheWay("orders.changed", release=draft["release"])
    first = 1 + max((each.number for each in found.orders), default=0)
    made: list[Made] = []
    operations: list[ServerOperation] = []
    for number, each in enumerate(draft["orders"], first):
        id = str(uuid4())
        made.append({"order": id, "number": number, "supplier": each["supplier"]})
        operations += _operations(id, site_id, number, each, found, wanted, note, at)
    refused = [each for each in server_push(session, site_id, operations, by=by) if each["result"] != "applied"]
    if refused:
        raise RuntimeError(f"the server refused its own order: {refused[0]}")
    return {"orders": made, "stopped": draft["stopped"]}


def _operations(
    id: str, site_id: str, number: int, told: DraftOrder, found: Basis, wanted: Wanted, note: str, at: str
) -> list[ServerOperation]:
    identity: dict[str, object] = {
        "parent": site_id,
        "number": number,
        "sort": told["sort"],
        "release": found.release.record["id"],
        "made_at": at,
        "lines": told["lines"],
        "content": content_of(number, told["supplier"], told["lines"]),
    }
    against = next((each.record["id"] for each in found.releases if each.number == told["against"]), None)
    more = {"against": against, "supplier": told["supplier"], "wanted_on": wanted.on, "note": note}
    identity |= {name: said for name, said in more.items() if said}
    figures = told["figures"]
    prices = {
        "parent": id,
        "figures": figures,
        "content": fingerprint({"order": identity["content"], "figures": figures}),
    }
    return [
        {"record": id, "type": "order", "facet": "identity", "to": identity},
        {"record": str(uuid4()), "type": "order_prices", "facet": "identity", "to": prices},
    ]


def content_of(number: int, supplier: str, lines: object) -> str:
    """Fingerprint of what an order asks of a supplier."""
    return fingerprint({"number": number, "supplier": supplier, "lines": lines})


__all__ = ["Made", "OrdersMade", "content_of", "make_orders"]
