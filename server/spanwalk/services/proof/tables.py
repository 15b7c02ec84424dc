"""Tables of a pack as a workbook and as pages, the same rows in either."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from spanwalk.services.files.sheets_out import OutTable, as_workbook
from spanwalk.services.handover.numbers import number
from spanwalk.services.handover.paper import SMALL_PT, Paper
from spanwalk.services.text.neutral import Out
from spanwalk.services.text.read_as import marked
from spanwalk.words import choice_text, say

Row = list[Out]
FIGURE_DIGITS = 3


@dataclass(frozen=True)
class Pack:
    """A pack: its name for files, its title, what is to be said first, and its tables."""

    name: str
    title: str
    notes: tuple[str, ...]
    tables: tuple[OutTable, ...]


class Sources:
    """Where figures are from, each named once by a short key: `S1`, `S2`; rows name the key, a table of its own the text."""

    def __init__(self) -> None:
        self._keys: dict[tuple[str, str, str], str] = {}

    def key(self, source: object, edition: object = "", how_known: object = "") -> str:
        """The key of a source; the same source has the same key."""
        told = (str(source or "–"), str(edition or "–"), str(how_known or "–"))
        return self._keys.setdefault(told, f"S{len(self._keys) + 1}")

    def table(self) -> OutTable:
        """Each key with its source, edition and how it is known."""
        rows: list[Row] = [[key, *map(choice_text, told)] for told, key in self._keys.items()]
        return table("sources", ("key", "source", "edition", "how_known"), rows)


def table(code: str, heads: Sequence[str], rows: Sequence[Row], notes: Sequence[str] = ()) -> OutTable:
    """A table by its code; heads by theirs."""
    return OutTable(code, say(f"proof.table.{code}"), [head(each) for each in heads], rows, notes)


def head(code: str) -> str:
    """The heading of a column."""
    return say(f"proof.head.{code}")


def workbook_of(pack: Pack) -> bytes:
    """A pack as a workbook, its notes on a sheet of their own."""
    about = OutTable("about", say("proof.table.about"), [], [], [pack.title, *pack.notes])
    return as_workbook([about, *pack.tables])


def pages_of(pack: Pack, site: str, day: str, inches: bool) -> bytes:
    """A pack as pages on their side; a table with many columns has small letters, and goes on overleaf with its heads."""
    title = say("handover-report.of", {"title": pack.title, "site": site})
    foot = {"site": site, "day": day}
    paper = Paper(title, inches, lambda page: say("handover-report.page", {**foot, "n": page}), lying=True)
    paper.heading(title)
    for note in pack.notes:
        paper.say(note, bullet=True)
    for each in pack.tables:
        paper.heading(each.title, 2, keep=80)
        for note in each.notes:
            paper.say(note, size=SMALL_PT)
        if each.rows:
            numbers = [at for at in range(len(each.heads)) if any(_is_number(row[at]) for row in each.rows)]
            shown = [[cell(value) for value in row] for row in each.rows]
            paper.table(each.heads, shown, _shares(each.heads, shown), numbers)
        else:
            paper.say(say("proof.nothing"))
    if paper.has_squares:
        paper.say(say("handover-report.summary.squares"))
    return paper.finished()


MOST_SHARE, MANY, MOST_OF_MANY, BESIDE, BOLD_SHARE = 30, 12, 18, 3, 1.25
"""Letters of the widest column, and of the widest where there are many; what is left beside each; how much wider heads are."""


def _shares(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[float]:
    """Widths of columns: as wide as the longest word of the head and the longest cell, up to a most."""
    most = MOST_SHARE if len(heads) <= MANY else MOST_OF_MANY
    return [
        max(_longest(head.split()) * BOLD_SHARE, float(min(most, _longest(row[at] for row in rows)))) + BESIDE
        for at, head in enumerate(heads)
    ]


def _longest(texts: Iterable[str]) -> int:
    return max(map(len, texts), default=0)


def _is_number(value: Out) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def cell(value: Out) -> str:
    """What stands in a cell of a page: '–' where nothing is known, numbers with at most three digits behind the point."""
    if value is None or value == "":
        return "–"
    if isinstance(value, bool):
        return choice_text("yes" if value else "no")
    if isinstance(value, float):
        return marked(f"{value:,.{FIGURE_DIGITS}f}".rstrip("0").rstrip("."))
    return number(value) if isinstance(value, int) else str(value)
