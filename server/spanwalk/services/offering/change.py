"""A change order for the customer: what differs between two releases, room by room, with the sums of both."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk.rules.survey import Survey, facet
from spanwalk.services.days import today_in, zone_of
from spanwalk.services.files.sheets_out import OutTable, as_workbook
from spanwalk.services.handover.paper import SMALL_PT, Paper, numbered
from spanwalk.services.offering.cells import intactness, or_unknown, printed
from spanwalk.services.offering.signing import to_sign
from spanwalk.services.releases.differences import (
    Differences,
    FieldDifference,
    GroupDifference,
    SumDifference,
    differences,
)
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.neutral import Out
from spanwalk.words import FIRST, choice_text, reading_language, say

TOLD = ("cost", "rebate", "net_cost", "saving_year", "npv", "lcc")
"""Sums that a customer is told, in their order."""
CHARGED, TAX = "line.", "line.tax"
"""How the names of what the cost is made of begin; of them tax."""


class OfferNamed(TypedDict):
    """An offer as another paper names it; what the customer answered is empty where nobody noted it."""

    number: int
    made_on: str
    answer: str
    answered_on: str
    by_whom: str


@dataclass(frozen=True)
class ChangeTold:
    """What a change order tells; `changes` is the offer that it changes. For what is kept, and its language, see `Offer`."""

    site: str
    customer: str
    firm: str
    inches: bool
    made_on: str
    reason: str
    differs: Differences
    changes: OfferNamed | None = None
    number: int = 0
    content: str = ""
    intact: bool = True
    language: str = FIRST
    content_before: str = ""


def change_of(
    session: Session, site_id: str, one: str, other: str, reason: str, changes: OfferNamed | None = None
) -> ChangeTold:
    """What differs between two releases, for the customer, in the language that is read in.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    one, other : str
        Numbers of the releases.
    reason : str
        Why it changed, in the firm's words.
    changes : dict or None
        The offer that it changes.

    Raises
    ------
    NotThere
        There is no release of that number.
    """
    survey = Survey(site_records(session, site_id, types=("site",)))
    site = survey.site()
    return ChangeTold(
        site=str(facet(site, "identity").get("name", "")),
        customer=str(facet(site, "customer").get("customer", "")),
        firm=str(facet(site, "notice").get("firm", "")),
        inches=facet(site, "settings").get("units") == "inches",
        made_on=today_in(zone_of(site)),
        reason=reason,
        differs=differences(session, site_id, one, other),
        changes=changes,
        language=reading_language(),
    )


def change_pdf(told: ChangeTold) -> bytes:
    """The change order as a PDF; each page says of how many it is one, for it is signed."""
    return numbered(lambda pages: _paper(told, pages))


def _paper(told: ChangeTold, pages: int) -> Paper:
    foot = {"number": told.number, "site": told.site, "day": told.made_on, "pages": pages}
    paper = Paper(title_of(told), told.inches, lambda page: _say("page", {**foot, "n": page}))
    paper.heading(title_of(told))
    for each in about(told):
        paper.say(each)
    paper.heading(_say("sums"), 2)
    paper.say(_say("sums.about"), size=SMALL_PT)
    paper.table(sum_heads(told), [[*map(printed, row)] for row in sum_rows(told)], (3, 2, 2, 2), (1, 2, 3))
    paper.heading(_say("rooms"), 2)
    if told.differs["groups"]:
        paper.say(_say("rooms.about"), size=SMALL_PT)
        paper.table(
            room_heads(told), [[*map(printed, row)] for row in room_rows(told)], (2, 3, 1.2, 1.6, 5, 2, 2), (5, 6)
        )
    else:
        paper.say(_say("rooms.none"))
    to_sign(paper, _say("sign.about"), ("day",))
    paper.say(say("offer-sheet.content", {"content": told.content}), size=SMALL_PT)
    return paper


def change_workbook(told: ChangeTold) -> bytes:
    """The same as a workbook."""
    notes = [title_of(told), *about(told), say("offer-sheet.content", {"content": told.content})]
    return as_workbook(
        [
            OutTable("sums", _say("sums"), sum_heads(told), [*sum_rows(told)], notes),
            OutTable("rooms", _say("rooms"), room_heads(told), [*room_rows(told)], [_say("rooms.about")]),
        ],
        told.made_on,
    )


def title_of(told: ChangeTold) -> str:
    """What it is called."""
    sides = {"one": told.differs["from"]["name"], "other": told.differs["to"]["name"]}
    return _say("title", {"number": told.number, "site": told.site, **sides})


def about(told: ChangeTold) -> Iterator[str]:
    """For whom, by whom, of when, why, and which offer it changes."""
    yield from intactness(told.intact, told.content_before)
    for name, value in (("for", told.customer), ("by", told.firm), ("why", told.reason)):
        if value:
            yield _say(name, {"value": value})
    if told.changes is not None:
        yield _say(f"changes.{told.changes['answer'] or 'open'}", dict(told.changes))
    yield _say("made", {"day": told.made_on, "same": told.differs["same"], "groups": len(told.differs["groups"])})


def sum_heads(told: ChangeTold) -> list[str]:
    """The figure, both sides, and what changes."""
    return [_say("figure"), told.differs["from"]["name"], told.differs["to"]["name"], _say("more")]


def sum_rows(told: ChangeTold) -> Iterator[list[Out]]:
    """Fixtures, then the sums of both sides."""
    one, other = told.differs["from"]["fixtures"], told.differs["to"]["fixtures"]
    yield [_say("row.fixtures"), one, other, other - one]
    currency = f" [{told.differs['currency']}]" if told.differs["currency"] else ""
    by_name = {each["name"]: each for each in told.differs["money"]}
    charges = [name for name in by_name if name.startswith(CHARGED)]
    for name in TOLD:
        code = "cost-with-tax" if name == "cost" and TAX in charges else name
        yield [say(f"offer-sheet.row.{code}") + currency, *_sides(by_name[name])]
        if name == "cost":
            for charge in charges:
                what = say(f"job.{charge}")
                yield [_say("row.of-it", {"what": what}) + currency, *_sides(by_name[charge])]


def _sides(each: SumDifference) -> Iterator[Out]:
    return (or_unknown(value) for value in (each["from"], each["to"], each["more"]))


def room_heads(told: ChangeTold) -> list[str]:
    """Heads of the rooms."""
    currency = f" [{told.differs['currency']}]" if told.differs["currency"] else ""
    names = ("floor", "room", "kind", "change", "what")
    return [
        *(_say(f"head.{name}") for name in names),
        *(_say(f"head.{name}") + currency for name in ("cost-from", "cost-to")),
    ]


def room_rows(told: ChangeTold) -> Iterator[list[Out]]:
    """A row for each group that is otherwise; costs are of the group by itself."""
    for each in told.differs["groups"]:
        yield [
            each["floor_name"],
            each["room_name"],
            each["mark"],
            _say(f"change.{each['what']}"),
            "; ".join(_field(field) for field in _fields(each)),
            "" if each["cost_from"] is None else each["cost_from"],
            "" if each["cost_to"] is None else each["cost_to"],
        ]


def _fields(each: GroupDifference) -> list[FieldDifference]:
    """What a customer reads of it: how many fixtures, and what is fitted."""
    return [field for field in each["fields"] if field["name"] in ("fixtures", "summary")]


def _field(field: FieldDifference) -> str:
    return _say(f"field.{field['name']}", {"one": _said(field["from"]), "other": _said(field["to"])})


def _said(value: object) -> str:
    return "–" if value is None or value == "" else choice_text(str(value))


def _say(code: str, facts: dict[str, object] | None = None) -> str:
    return say(f"change-sheet.{code}", facts or {})


__all__ = ["ChangeTold", "change_of", "change_pdf", "change_workbook", "room_rows", "sum_rows"]
