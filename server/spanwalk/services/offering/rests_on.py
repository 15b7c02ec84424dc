"""Which rows of the reference tables a site's offer rests on: those of its lamps, gear, bodies and rooms, no others."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping

from spanwalk.rules.figures import BETWEEN, WHOLE_TABLE, Figure
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import facet

NOT_OF_AN_OFFER = frozenset({"lamps", "instruments", "expansion", "prediction"})
"""Tables by which lengths are judged: no figure of an offer is from them."""
NAMED_BY: Mapping[str, int] = {"lumens": 2, "ballasts": 2, "bodies": 1, "spaces": 1}
"""Of which tables only rows are told whose first words, so many, stand in one record: lamp and length, body, space."""
TARGETS = "targets/"
OF_A_ROW = re.compile(r",? (?:row|of) '[^']*'")
"""Which row of a source a figure is from: the hand-over report tells it, an offer the source alone."""


def used_by(records: Iterable[Record], standard: str) -> Callable[[Figure], bool]:
    """Whether a figure is one that a site's plan may rest on.

    Parameters
    ----------
    records : iterable of RecordView
        Kinds and rooms of what is offered.
    standard : str
        From which standard light is wanted; empty where nobody said.
    """
    said = [frozenset(_words(each)) for each in records]

    def used(figure: Figure) -> bool:
        if figure.name.startswith(TARGETS) and not figure.name.startswith(f"{TARGETS}{standard}/"):
            return False
        words = NAMED_BY.get(figure.table)
        if words is None or figure.row == WHOLE_TABLE:
            return True
        named = set(figure.row.split(BETWEEN)[:words])
        return any(named <= each for each in said)

    return used


def document(source: str) -> str:
    """A source without the row of it.

    >>> document("tables of a standard, row 'office work (writing)'"), document("schedule of 'office': hours")
    ('tables of a standard', 'schedule: hours')
    """
    return OF_A_ROW.sub("", source)


def _words(record: Record) -> Iterable[str]:
    for name in record["facets"]:
        for value in facet(record, name).values():
            yield from map(str, value if isinstance(value, list) else [value])


__all__ = ["NOT_OF_AN_OFFER", "document", "used_by"]
