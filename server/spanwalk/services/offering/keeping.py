"""Offers and change orders kept as records: numbered, frozen with a fingerprint, and read again as they were told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, TypedDict, cast
from uuid import uuid4

from sqlalchemy.orm import Session

from spanwalk.rules.money.job_charges import CostLine
from spanwalk.rules.record_types import OfferLinesView, OfferView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.survey import Survey, facet, has
from spanwalk.services.clock import now
from spanwalk.services.days import day_of, zone_of
from spanwalk.services.offering.change import ChangeTold, OfferNamed, change_of
from spanwalk.services.offering.gathering import AreaGroup, Offer, offer_of
from spanwalk.services.offering.options import Option
from spanwalk.services.ordering.drafting import fingerprint
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.sums import releases_of
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.server_operations import ServerOperation, server_push
from spanwalk.services.sync.state import site_records
from spanwalk.storage import json_text
from spanwalk.words import FIRST, reading_in

CUSTOMER_OFFER, CHANGE_ORDER = "customer-offer", "change-order"
TYPES = ("offer", "offer_lines")
BEFORE = "content_before"
"""Where the fingerprint stands that an offer had before a name was taken out of it."""
OF_THE_RECORD = ("number", "content", "intact", BEFORE)
"""What names the record that keeps an offer, or what became of it since; nothing of this is offered."""
LINES_EACH = 200
"""Lines that one record holds, so that none grows with the site."""
# Any: what was told, as JSON; its fingerprint says whether it is what was written.
Told = dict[str, Any]


class Made(TypedDict):
    """An offer that was made."""

    offer: str
    number: int


@dataclass(frozen=True)
class Kept:
    """An offer or a change order as it was made; `intact`: its fingerprint is that of its content."""

    number: int
    intact: bool
    told: Offer | ChangeTold


def make_offer(session: Session, site_id: str, by: str, days: int, note: str, language: str = FIRST) -> Made:
    """Keep what is ready by today's plan as an offer.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    by : str
        The person who offers.
    days : int
        How long it is valid [days].
    note : str
        What else the customer is told.
    language : str
        In which it is made, now and whenever it is made again.

    Raises
    ------
    NotThere
        Not one group is ready to be converted.
    """
    lock_site(session, site_id)
    with reading_in(language):
        offer = offer_of(session, site_id, days, note)
    told = _as_json(offer)
    said = {"sort": CUSTOMER_OFFER, "valid_until": offer.valid_until, **({"note": note} if note else {})}
    return _keep(session, site_id, by, said, told, told.pop("groups"))


def make_change(
    session: Session,
    site_id: str,
    by: str,
    one: str,
    other: str,
    reason: str,
    changes: str | None,
    language: str = FIRST,
) -> Made:
    """Keep what differs between two releases as a change order.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    by : str
        The person who offers it.
    one, other : str
        Numbers of the releases.
    reason : str
        Why it changed, in the firm's words.
    changes : str or None
        Id of the offer that it changes.
    language : str
        In which it is made, now and whenever it is made again.

    Raises
    ------
    NotThere
        There is no release of that number, or no such offer.
    """
    lock_site(session, site_id)
    survey = Survey(site_records(session, site_id, types=("site", "release", "release_sums", "conversion", *TYPES)))
    ids = {str(each.number): each.record["id"] for each in releases_of(survey)}
    for value in (one, other):
        if value not in ids:
            raise NotThere("release-unknown", value=value)
    changed = None if changes is None else named(_offer(survey, changes), zone_of(survey.site()))
    with reading_in(language):
        told = _as_json(change_of(session, site_id, one, other, reason, changed))
    said = {"sort": CHANGE_ORDER, "against": ids[one], "release": ids[other]}
    more = {"note": reason, "changes": changes}
    lines = told["differs"].pop("groups")
    return _keep(session, site_id, by, said | {name: value for name, value in more.items() if value}, told, lines)


def _keep(
    session: Session, site_id: str, by: str, said: Mapping[str, object], told: Told, lines: Sequence[object]
) -> Made:
    offers = Survey(site_records(session, site_id, types=TYPES)).of_type("offer")
    number = 1 + max((int(facet(each, "identity")["number"]) for each in offers), default=0)
    id = str(uuid4())
    identity = {
        "parent": site_id,
        "number": number,
        "made_at": now(),
        "told": told,
        "content": content_of(number, str(said["sort"]), told, lines),
        **said,
    }
    operations: list[ServerOperation] = [{"record": id, "type": "offer", "facet": "identity", "to": identity}]
    for place, at in enumerate(range(0, len(lines), LINES_EACH)):
        part = {"parent": id, "place": place, "lines": lines[at : at + LINES_EACH]}
        operations.append({"record": str(uuid4()), "type": "offer_lines", "facet": "identity", "to": part})
    refused = [each for each in server_push(session, site_id, operations, by=by) if each["result"] != "applied"]
    if refused:
        raise RuntimeError(f"the server refused its own offer: {refused[0]}")
    return {"offer": id, "number": number}


def _as_json(what: Offer | ChangeTold) -> Told:
    """What is told as JSON has it, but for what names the record that keeps it."""
    told = cast("Told", json_text.loads(json_text.dumps(asdict(what))))
    return {name: value for name, value in told.items() if name not in OF_THE_RECORD}


def content_of(number: int, sort: str, told: object, lines: object) -> str:
    """Fingerprint of what is offered."""
    return fingerprint({"number": number, "sort": sort, "told": told, "lines": lines})


def refingerprinted(before: Facet, lines_before: object, after: Facet, lines_after: object) -> Facet:
    """An offer's identity after a name was taken out, with the fingerprint of what is left and the one that it had.

    What was not what was made before, is not made good by this.

    Parameters
    ----------
    before, after : mapping
        The identity with the name, and without.
    lines_before, lines_after : list
        Its lines, likewise.
    """
    number, sort = int(before["number"]), str(before["sort"])
    if content_of(number, sort, before["told"], lines_before) != before["content"]:
        return after
    told = {**after["told"], BEFORE: before["told"].get(BEFORE) or before["content"]}
    return {**after, "told": told, "content": content_of(number, sort, told, lines_after)}


def kept_offer(session: Session, site_id: str, offer_id: str) -> Kept:
    """An offer or a change order as it was made.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id, offer_id : str
        The site and the offer.

    Raises
    ------
    NotThere
        There is no such offer.
    """
    survey = Survey(site_records(session, site_id, types=TYPES))
    record = _offer(survey, offer_id)
    said = facet(record, "identity")
    parts = cast("list[OfferLinesView]", [each for each in survey.children(record) if each["type"] == "offer_lines"])
    parts.sort(key=lambda each: int(facet(each, "identity")["place"]))
    lines = [line for each in parts for line in cast("list[Told]", facet(each, "identity")["lines"])]
    number, sort, told = int(said["number"]), str(said["sort"]), cast("Told", said["told"])
    intact = content_of(number, sort, told, lines) == said["content"]
    read = _offer_told(told, lines) if sort == CUSTOMER_OFFER else _change_told(told, lines)
    return Kept(number, intact, replace(read, number=number, content=str(said["content"]), intact=intact))


def _offer(survey: Survey, offer_id: str) -> OfferView:
    record = survey.by_id.get(offer_id)
    if record is None or record["type"] != "offer" or record["removed"]:
        raise NotThere("offer.unknown")
    return cast("OfferView", record)


def named(offer: OfferView, zone: str) -> OfferNamed:
    """An offer as another paper names it, with the customer's answer where there is one."""
    said, answered = facet(offer, "identity"), facet(offer, "answered") if has(offer, "answered") else {}
    return {
        "number": int(said["number"]),
        "made_on": day_of(said["made_at"], zone),
        "answer": str(answered.get("answer", "")),
        "answered_on": str(answered.get("answered_on", "")),
        "by_whom": str(answered.get("by_whom", "")),
    }


def _offer_told(told: Told, lines: Sequence[Told]) -> Offer:
    texts = ("assumptions", "cautions", "not_included", "sources")
    return Offer(
        **{
            **told,
            **{name: tuple(told[name]) for name in texts},
            "groups": tuple(_group(each) for each in lines),
            "options": tuple(_option(each) for each in told["options"]),
            "lines": tuple(_line(each) for each in told.get("lines", ())),
        }
    )


def _group(told: Told) -> AreaGroup:
    floats = {name: _float(told[name]) for name in ("watts_now", "watts_then", "share_pct", "cost")}
    return AreaGroup(**{**told, **floats, "lux": None if told["lux"] is None else tuple(told["lux"])})


def _option(told: Told) -> Option:
    share = told["share_pct"]
    return Option(
        **{
            **told,
            "kwh_now": _float(told["kwh_now"]),
            "kwh_then": _float(told["kwh_then"]),
            "share_pct": None if share is None else tuple(map(float, share)),
            "money": {name: _float(value) for name, value in told["money"].items()},
            "tax": float(told.get("tax", 0.0)),
        }
    )


def _line(told: Told) -> CostLine:
    facts = {name: value if isinstance(value, str) else float(value) for name, value in told.get("facts", {}).items()}
    return cast("CostLine", {**told, "amount": float(told["amount"]), **({"facts": facts} if facts else {})})


def _change_told(told: Told, lines: Sequence[Told]) -> ChangeTold:
    groups = [{**each, **{name: _float(each[name]) for name in ("cost_from", "cost_to")}} for each in lines]
    money = [
        {**each, **{name: _float(each[name]) for name in ("from", "to", "more")}} for each in told["differs"]["money"]
    ]
    return ChangeTold(**{**told, "differs": {**told["differs"], "groups": groups, "money": money}})


def _float(value: float | None) -> float | None:
    """A figure with a fraction, whatever JSON made of it: so it is printed as it was."""
    return None if value is None else float(value)


__all__ = [
    "CHANGE_ORDER",
    "CUSTOMER_OFFER",
    "Kept",
    "Made",
    "content_of",
    "kept_offer",
    "make_change",
    "make_offer",
    "named",
    "refingerprinted",
]
