"""Which fixtures an item or a batch is in, with rooms and how to get there: to be printed, and as CSV."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from spanwalk.rules.installing.replaced import PUT_IN
from spanwalk.rules.survey import facet
from spanwalk.services.handover.paper import Paper
from spanwalk.services.memory.gathering import groups_in_words_only, groups_that_name
from spanwalk.services.memory.remembering import ANY_DAY, Days, may_have, memory_of, with_item
from spanwalk.services.memory.told import FailureTold, Remembered
from spanwalk.services.refusals import WrongInput
from spanwalk.services.text.neutral import csv_text
from spanwalk.words import choice_text, say

HEADS = ("floor", "room", "fixture", "label", "access", "items", "fitted-on", "replaced", "emergency")
WIDTHS = (2, 3, 2, 2, 2, 4.5, 2, 2.5, 2.2)


@dataclass(frozen=True)
class Recalled:
    """What a recall finds: the fixtures that an item or a batch is in as it was noted, and those that it may be in."""

    found: Sequence[Remembered]
    unsure: Sequence[Remembered]
    spares: dict[str, int]
    inches: bool


def named(code: str, serial: str) -> tuple[str, str]:
    """The item or the batch that fixtures are looked for by, without blanks around them.

    Raises
    ------
    WrongInput
        Neither is named.
    """
    if not (code.strip() or serial.strip()):
        raise WrongInput("memory.recall.what", field="item")
    return code.strip(), serial.strip()


def recalled(session: Session, site_id: str, today: date, code: str, serial: str, days: Days = ANY_DAY) -> Recalled:
    """Fixtures of an item, or of a batch; of a batch also those in which the item's number was not noted.

    Of the item's code and the number one may be ''; where only a number is named, the items are those that it was noted for.
    Of `days` only what was fitted then, or on a day that nobody noted. Warranties are counted by `today`.
    """
    groups = groups_that_name(session, site_id, (code, serial))
    memory = memory_of(session, site_id, today, groups)
    fixtures = list(memory.fixtures())
    found = with_item(fixtures, code, serial, days)
    codes = {code} if code else _codes_of(with_item(fixtures, code, serial), serial)
    wide = groups_in_words_only(session, site_id).union(
        *(groups_that_name(session, site_id, (each,)) for each in codes)
    )
    known = {_place(each) for each in found}
    # An item is named by the same groups as before: what they remember is not made a second time.
    further = fixtures if wide <= groups else memory_of(session, site_id, today, wide).fixtures()
    may = may_have(further, codes if serial else (), days)
    unsure = [each for each in may if _place(each) not in known]
    spares = {each: left for each, left in memory.spares.items() if each.casefold() in _folded(codes) and left > 0}
    return Recalled(found, unsure, spares, facet(memory.survey.site(), "settings").get("units") == "inches")


def _codes_of(fixtures: Iterable[Remembered], serial: str) -> set[str]:
    """Codes of the items that a number was noted for."""
    items = (item for each in fixtures for item in each["items"] or ())
    return {item["code"] for item in items if serial.casefold() in _folded(item["serials"])}


def _folded(texts: Iterable[str]) -> set[str]:
    return {each.casefold() for each in texts}


def _place(fixture: Remembered) -> tuple[str, int]:
    return fixture["group"], fixture["position"]


def rows_of(fixtures: Sequence[Remembered]) -> list[list[str]]:
    """Fixtures as rows of the table."""
    return [
        [
            each["floor_name"],
            each["room_name"],
            say("memory.fixture", {"mark": each["mark"], "position": each["position"]}),
            each["code"],
            choice_text(each["access"]),
            "; ".join(_item(item["code"], item["number"], item["serials"]) for item in each["items"] or ()),
            each["fitted_on"],
            "; ".join(_replacement(failure) for failure in each["failures"] if failure["replaced"] in PUT_IN),
            say("memory.yes") if each["emergency"] else "",
        ]
        for each in fixtures
    ]


def _item(code: str, number: int, serials: Sequence[str]) -> str:
    return f"{number} × {code}" + (f" ({', '.join(serials)})" if serials else "")


def _replacement(failure: FailureTold) -> str:
    """What was put in instead, and when."""
    serials = [failure["replaced_serials"]] if failure["replaced_serials"] else []
    what = _item(failure["replaced_item"], 1, serials) if failure["replaced_item"] else ""
    return " ".join(part for part in (failure["replaced_on"], what) if part)


def recall_days(days: Days) -> str:
    """Between which days the item was fitted, in words; '' where nobody asked."""
    if not (days.first or days.last):
        return ""
    return say("memory.recall.days", {"first": days.first or "…", "last": days.last or "…"})


def heads() -> list[str]:
    """Heads of the table."""
    return [say(f"memory.recall.{name}") for name in HEADS]


def spares_text(of: Recalled) -> str:
    """Which of the spares may be of the batch too; '' where there are none."""
    told = ", ".join(_item(code, left, ()) for code, left in of.spares.items())
    return say("memory.recall.spares", {"spares": told}) if told else ""


def recall_csv(of: Recalled) -> str:
    """The table as CSV; its last column says what was not noted."""
    sure = [[*row, ""] for row in rows_of(of.found)]
    unsure = [[*row, say("memory.recall.may")] for row in rows_of(of.unsure)]
    return csv_text([[*heads(), say("memory.recall.sure")], *sure, *unsure])


def recall_pdf(site_name: str, what: str, of: Recalled, today: str) -> bytes:
    """The table on paper, with what to heed before a fixture is opened."""
    title = say("memory.recall.title", {"what": what, "site": site_name})
    paper = Paper(title, of.inches, lambda page: say("memory.letter.foot", {"site": site_name, "page": page}))
    paper.heading(title)
    paper.say(say("memory.recall.counted", {"count": len(of.found), "day": today}))
    if spares := spares_text(of):
        paper.say(spares)
    for code in dict.fromkeys(code for each in (*of.found, *of.unsure) for code in each["cautions"]):
        paper.say(say(code), bold=True)
    if of.found:
        paper.table(heads(), rows_of(of.found), WIDTHS)
    if of.unsure:
        paper.heading(say("memory.recall.unsure", {"count": len(of.unsure)}), 2)
        paper.say(say("memory.recall.unsure-about"))
        paper.table(heads(), rows_of(of.unsure), WIDTHS)
    if paper.has_squares:
        paper.say(say("memory.letter.squares"))
    return paper.finished()
