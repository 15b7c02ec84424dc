"""Which fixtures an item or a batch is in, with rooms and how to get there: to be printed, and as CSV."""

from __future__ import annotations

from collections.abc import Sequence

from spanwalk.services.handover.paper import Paper
from spanwalk.services.memory.told import Remembered
from spanwalk.services.refusals import WrongInput
from spanwalk.services.text.neutral import csv_text
from spanwalk.words import choice_text, say

HEADS = ("floor", "room", "fixture", "label", "access", "items", "fitted-on", "emergency")


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
            say("memory.yes") if each["emergency"] else "",
        ]
        for each in fixtures
    ]


def _item(code: str, number: int, serials: Sequence[str]) -> str:
    return f"{number} × {code}" + (f" ({', '.join(serials)})" if serials else "")


def heads() -> list[str]:
    """Heads of the table."""
    return [say(f"memory.recall.{name}") for name in HEADS]


def recall_csv(fixtures: Sequence[Remembered]) -> str:
    """The table as CSV."""
    return csv_text([heads(), *rows_of(fixtures)])


def recall_pdf(site_name: str, inches: bool, what: str, fixtures: Sequence[Remembered], today: str) -> bytes:
    """The table on paper, with what to heed before a fixture is opened."""
    title = say("memory.recall.title", {"what": what, "site": site_name})
    paper = Paper(title, inches, lambda page: say("memory.letter.foot", {"site": site_name, "page": page}))
    paper.heading(title)
    paper.say(say("memory.recall.counted", {"count": len(fixtures), "day": today}))
    for code in dict.fromkeys(code for each in fixtures for code in each["cautions"]):
        paper.say(say(code), bold=True)
    if fixtures:
        paper.table(heads(), rows_of(fixtures), (2, 3, 2, 2, 2, 5, 2, 1.5))
    if paper.has_squares:
        paper.say(say("memory.letter.squares"))
    return paper.finished()
