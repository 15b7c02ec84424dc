"""An order as its sheet tells it: to whom, for where, what, when, and at which prices; frozen, so that it is always the same."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.rules.record_types import OrderView, ReleaseView
from spanwalk.rules.survey import Survey, facet, has
from spanwalk.services.days import day_of, zone_of
from spanwalk.services.ordering.drafting import fingerprint
from spanwalk.services.ordering.making import content_of
from spanwalk.services.ordering.ordered import TYPES, OrderedLine, OrderFigures, PricedLine
from spanwalk.services.refusals import NotThere
from spanwalk.services.sync.state import site_records
from spanwalk.storage.tables import Person

READ = ("site", "release", *TYPES)


@dataclass(frozen=True)
class OrderTold:
    """What the sheet of an order tells.

    Parameters
    ----------
    number, release, against : int
        Numbers of the order, of its release, and of the release that was ordered for before; None: of none.
    lines, prices : tuple
        A line for each item, and its price beside it.
    intact : bool
        Whether what is kept is what was made: its fingerprints are those of its content.
    """

    number: int
    sort: str
    release: int
    against: int | None
    supplier: str
    made_on: str
    made_by: str
    wanted_on: str
    note: str
    cancelled: str
    lines: tuple[OrderedLine, ...]
    prices: tuple[PricedLine, ...]
    currency: str
    sum: float | None
    content: str
    intact: bool
    inches: bool
    site: str
    firm: str
    call: str
    address: str
    contact: str
    access: str


def order_told(session: Session, site_id: str, order_id: str) -> OrderTold:
    """What the sheet of an order tells.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id, order_id : str
        The site and the order.

    Raises
    ------
    NotThere
        There is no such order.
    """
    survey = Survey(site_records(session, site_id, types=READ, who=True))
    record = survey.by_id.get(order_id)
    if record is None or record["type"] != "order" or record["removed"]:
        raise NotThere("orders.unknown")
    order = cast("OrderView", record)
    said, lines = facet(order, "identity"), _lines(order)
    prices = [facet(each, "identity") for each in survey.children(order, "order_prices")]
    figures = cast("OrderFigures", prices[0]["figures"]) if prices else {"currency": "", "lines": [], "sum": None}
    by_item = {each["item"]: each for each in figures["lines"]}
    site, customer, notice = survey.site(), facet(survey.site(), "customer"), facet(survey.site(), "notice")
    contact = ", ".join(str(customer[name]) for name in ("contact", "contact_phone") if customer.get(name))
    return OrderTold(
        number=int(said["number"]),
        sort=str(said["sort"]),
        release=_number(survey, said["release"]) or 0,
        against=_number(survey, said.get("against")),
        supplier=str(said.get("supplier", "")),
        made_on=day_of(said["made_at"], zone_of(site)),
        made_by=_name(session, record["by"].get("identity", "")),
        wanted_on=str(said.get("wanted_on", "")),
        note=str(said.get("note", "")),
        cancelled=str(facet(order, "cancelled").get("reason", "")) if has(order, "cancelled") else "",
        lines=lines,
        prices=tuple(by_item.get(each["item"], {"item": each["item"], "price": None, "sum": None}) for each in lines),
        currency=figures["currency"],
        sum=figures["sum"],
        content=str(said["content"]),
        intact=_is_intact(order, str(prices[0]["content"]) if prices else "", figures),
        inches=facet(site, "settings").get("units") == "inches",
        site=str(facet(site, "identity").get("name", "")),
        firm=str(notice.get("firm", "")),
        call=str(notice.get("call", "")),
        address=str(customer.get("address", "")),
        contact=contact,
        access=str(customer.get("access_note", "")),
    )


def _lines(order: OrderView) -> tuple[OrderedLine, ...]:
    return tuple(cast("list[OrderedLine]", facet(order, "identity").get("lines") or []))


def _is_intact(order: OrderView, priced: str, figures: OrderFigures) -> bool:
    said = facet(order, "identity")
    content = content_of(int(said["number"]), str(said.get("supplier", "")), said["lines"])
    return content == said["content"] and fingerprint({"order": content, "figures": figures}) == priced


def _number(survey: Survey, release: str | None) -> int | None:
    found = cast("ReleaseView | None", survey.by_id.get(release or ""))
    return None if found is None else int(facet(found, "identity").get("number", 0))


def _name(session: Session, person: str) -> str:
    return str(session.execute(select(Person.name).where(Person.id == person)).scalar() or "")


__all__ = ["OrderTold", "order_told"]
