"""A pre-approval sheet for a rebate: the figures that the firm chose for a programme, and no others; nobody's own form."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.plan_types import PlanInShort, proposal_of
from spanwalk.rules.record_types import KindView, RoomView
from spanwalk.rules.survey import Survey, facet, mark_of, name_of_room
from spanwalk.services.days import today_in, zone_of
from spanwalk.services.files.sheets_out import OutTable, as_workbook
from spanwalk.services.handover.paper import SMALL_PT, Paper
from spanwalk.services.offering.cells import printed
from spanwalk.services.offering.gathering import fitted_text
from spanwalk.services.planning.plan_answers import Totals
from spanwalk.services.planning.plans import SitePlan, site_plan
from spanwalk.services.planning.totals import totals
from spanwalk.services.refusals import NotThere
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.neutral import Out
from spanwalk.words import choice_text, say

READY = "ready"
ASKS = "asks-"
Fact = tuple[str, Out]


@dataclass(frozen=True)
class Sheet:
    """What a sheet tells: facts of the whole, a line for each group, and the items; what was not chosen is empty."""

    name: str
    note: str
    site: str
    inches: bool
    made_on: str
    facts: tuple[Fact, ...]
    heads: tuple[str, ...]
    groups: tuple[tuple[Out, ...], ...]
    item_heads: tuple[str, ...]
    items: tuple[tuple[Out, ...], ...]


@dataclass(frozen=True)
class Basis:
    """The plan and the site of which a sheet tells."""

    found: SitePlan
    plans: Sequence[PlanInShort]
    told: Totals

    @property
    def survey(self) -> Survey:
        """The site's records."""
        return self.found.survey

    @property
    def currency(self) -> str:
        """The site's currency; empty where nobody said."""
        return str(self.found.inputs.money.get("currency", ""))

    def customer(self, name: str) -> Out:
        """What the site's customer says."""
        return " ".join(str(facet(self.survey.site(), "customer").get(name, "")).split())


def _contact(basis: Basis) -> Out:
    told = [basis.customer("contact"), basis.customer("contact_phone")]
    return ", ".join(str(each) for each in told if each)


def _out(basis: Basis) -> Out:
    waste = basis.told["waste"]
    found = [say("programme-sheet.out", {"n": n, "what": lamp}) for lamp, n in waste["lamps"].items()]
    ballasts = sum(waste["ballasts"].values())
    return ", ".join([*found, say("programme-sheet.out", {"n": ballasts, "what": say("files.waste.ballasts")})])


FACTS: Mapping[str, Callable[[Basis], Out]] = {
    "customer": lambda basis: basis.customer("customer"),
    "address": lambda basis: basis.customer("address"),
    "contact": _contact,
    "account": lambda basis: basis.customer("utility_account"),
    "meter": lambda basis: basis.customer("utility_meter"),
    "firm": lambda basis: str(facet(basis.survey.site(), "notice").get("firm", "")),
    "fixtures": lambda basis: basis.told["fixtures"],
    "kwh-saved": lambda basis: basis.told["energy"]["kwh_saved"],
    "kw-saved": lambda basis: basis.told["energy"]["kw_saved"],
    "price": lambda basis: basis.told["money"]["cost"],
    "rebate-asked": lambda basis: basis.told["money"]["rebate"],
    "disposal": _out,
}
"""What can be asked of the whole, in the order of the sheet."""


def _area(basis: Basis, plan: PlanInShort) -> Out:
    room = cast("RoomView", basis.survey.by_id[plan["room"]])
    floor = str(facet(basis.survey.floor_of(room), "identity").get("name", ""))
    kind = mark_of(cast("KindView", basis.survey.by_id[plan["kind"]]))
    return ", ".join(each for each in (floor, name_of_room(room), kind) if each)


def _hours(plan: PlanInShort) -> Out:
    watts, kwh = plan["now"]["watts"], proposal_of(plan)["energy"]["kwh_now"]
    return None if not watts or kwh is None else round(kwh * 1000 / watts)


LINES: Mapping[str, Callable[[Basis, PlanInShort], Out]] = {
    "areas": _area,
    "fixtures": lambda _, plan: plan["fixtures"],
    "lamps-now": lambda _, plan: say(
        "programme-sheet.lamps", {"lamps": plan["waste"]["lamps"], "lamp": plan["waste"]["lamp"]}
    ),
    "watts-now": lambda _, plan: plan["now"]["watts"],
    "items": lambda _, plan: fitted_text(plan),
    "watts-then": lambda _, plan: proposal_of(plan)["watts"],
    "hours-a-year": lambda _, plan: _hours(plan),
    "kwh-saved": lambda _, plan: proposal_of(plan)["energy"].get("kwh_saved"),
}
"""What can be asked of each group, in the order of its columns."""
NEEDS_LINES = frozenset({"areas", "lamps-now", "watts-now", "items", "watts-then", "hours-a-year"})
MONEY = frozenset({"price", "rebate-asked"})


def sheet_of(session: Session, site_id: str, programme_id: str) -> Sheet:
    """The sheet of a programme, by today's plan.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id, programme_id : str
        The site and the programme.

    Raises
    ------
    NotThere
        There is no such programme, or not one group is ready.
    """
    programmes = Survey(site_records(session, site_id, types=("site", "programme")))
    record = programmes.by_id.get(programme_id)
    if record is None or record["type"] != "programme" or record["removed"]:
        raise NotThere("offer.programme-unknown")
    found = site_plan(session, site_id)
    plans = [plan for plan in found.plans.values() if plan["state"] == READY]
    if not plans:
        raise NotThere("offer.nothing-ready")
    basis, said = Basis(found, plans, totals(found)), facet(record, "identity")
    asked = {str(each).removeprefix(ASKS) for each in said.get("asks") or ()}
    columns = [name for name in LINES if name in asked] if asked & NEEDS_LINES else []
    return Sheet(
        name=str(said.get("name", "")),
        note=str(said.get("note", "")),
        site=str(facet(found.survey.site(), "identity").get("name", "")),
        inches=facet(found.survey.site(), "settings").get("units") == "inches",
        made_on=today_in(zone_of(found.survey.site())),
        facts=tuple(_facts(basis, asked)),
        heads=tuple(_title(basis, name) for name in columns),
        groups=tuple(tuple(_said(LINES[name](basis, plan)) for name in columns) for plan in plans) if columns else (),
        item_heads=tuple(_say(f"head.{name}") for name in ("item", "name", "pieces", "listing")),
        items=tuple(_items(basis)) if "listing" in asked else (),
    )


def _facts(basis: Basis, asked: set[str]) -> Iterator[Fact]:
    """What is asked of the whole; below a price the tax in it, which a programme may leave out."""
    tax = next((each["amount"] for each in basis.told["money"]["lines"] if each["what"] == "tax"), 0.0)
    for name, of in FACTS.items():
        if name in asked:
            yield _title(basis, name), _said(of(basis))
        if name in asked and name == "price" and tax:
            yield _title(basis, name).replace(choice_text(f"{ASKS}price"), say("offer-sheet.row.tax")), tax


def _title(basis: Basis, name: str) -> str:
    currency = f" [{basis.currency}]" if name in MONEY and basis.currency else ""
    unit = {"kwh-saved": " [kWh]", "kw-saved": " [kW]"}.get(name, currency)
    return choice_text(ASKS + name) + unit


def _items(basis: Basis) -> Iterator[tuple[Out, ...]]:
    for each in basis.told["quantities"]:
        record = basis.survey.by_id.get(each["item"])
        listing = facet(record, "supply").get("listing")
        yield each["code"], facet(record, "identity").get("name", ""), each["fitted"], _said(listing)


def _said(value: Out) -> Out:
    return _say("not-said") if value is None or value == "" else value


def sheet_pdf(sheet: Sheet) -> bytes:
    """The sheet as a PDF."""
    foot = {"name": sheet.name, "site": sheet.site, "day": sheet.made_on}
    paper = Paper(_title_of(sheet), sheet.inches, lambda page: _say("page", {**foot, "n": page}))
    paper.heading(_title_of(sheet))
    for each in _about(sheet):
        paper.say(each, size=SMALL_PT if each != sheet.note else 9.5)
    if sheet.facts:
        paper.heading(_say("facts"), 2)
        paper.table([_say("figure"), _say("value")], [(name, printed(value)) for name, value in sheet.facts], (2, 4))
    for title, heads, rows in (
        (_say("groups"), sheet.heads, sheet.groups),
        (_say("items"), sheet.item_heads, sheet.items),
    ):
        if rows:
            paper.heading(title, 2)
            numbers = [at for at in range(len(heads)) if not _is_long(rows, at)]
            wide = [1.6 if at in numbers else 4.0 for at in range(len(heads))]
            digits = [2 if any(isinstance(row[at], float) for row in rows) else 0 for at in range(len(heads))]
            cells = [[_printed(cell, digits[at]) for at, cell in enumerate(row)] for row in rows]
            paper.table(heads, cells, wide, numbers)
    return paper.finished()


def _printed(value: Out, digits: int) -> str:
    """A cell with as many digits as the others of its column."""
    return printed(float(value) if digits and isinstance(value, int) else value, digits)


def _is_long(rows: Sequence[Sequence[Out]], at: int) -> bool:
    return any(isinstance(row[at], str) for row in rows)


def sheet_workbook(sheet: Sheet) -> bytes:
    """The same as a workbook."""
    facts = [[name, value] for name, value in sheet.facts]
    tables = [
        OutTable("facts", _say("facts"), [_say("figure"), _say("value")], facts, [_title_of(sheet), *_about(sheet)])
    ]
    if sheet.groups:
        tables.append(OutTable("groups", _say("groups"), sheet.heads, sheet.groups))
    if sheet.items:
        tables.append(OutTable("items", _say("items"), sheet.item_heads, sheet.items))
    return as_workbook(tables)


def _title_of(sheet: Sheet) -> str:
    return _say("title", {"name": sheet.name, "site": sheet.site})


def _about(sheet: Sheet) -> list[str]:
    return [each for each in (_say("about", {"day": sheet.made_on}), sheet.note) if each]


def _say(code: str, facts: dict[str, object] | None = None) -> str:
    return say(f"programme-sheet.{code}", facts or {})


__all__ = ["FACTS", "LINES", "Sheet", "sheet_of", "sheet_pdf", "sheet_workbook"]
