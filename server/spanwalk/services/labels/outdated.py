"""Which printed labels say what is not so any more: their room's name, kind, place or release changed since.

What a label said is told by the log: what stood there when it was noted as printed.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypedDict, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.rules.record_types import ConversionView, GroupView, KindView, ReleaseView, RoomView
from spanwalk.rules.record_view import Facet, Record
from spanwalk.rules.survey import Survey, facet, mark_of, name_of_room, newest_conversions
from spanwalk.services.labels.labels import LabelInShort
from spanwalk.services.sync.state import seqs_of, values_of
from spanwalk.storage import json_text
from spanwalk.storage.database import among
from spanwalk.storage.tables import Operation
from spanwalk.sync.model import APPLIED

Why = Literal["release", "place", "room", "kind"]
PRE_PRINTED = "pre-printed"
"""Origin of a label that was printed without a fixture: it bears its code only."""
WITHDRAWN = ("conversion", "release")
"""Types of record that are withdrawn."""


class OutdatedLabel(TypedDict):
    """A label that says what is not so any more: why, and what it said and what is so, where those are words."""

    code: str
    why: Why
    said: str
    now: str


Values = tuple[list[int], list[Facet | None]]
"""What was said, one after another, from which sequence on; before the first in the log, what that was said in place of."""


@dataclass(frozen=True)
class _Printed:
    """When a label was printed and bound, by sequence and clock, and whether it bears its code only."""

    at: str
    seq: int
    bound: int
    is_bare: bool


@dataclass(frozen=True)
class _Read:
    """What is compared: labels by record, sequences at which something was withdrawn, and what was said before, by record."""

    printed: Mapping[str, _Printed]
    withdrawn: Mapping[str, int]
    before: Mapping[str, Values]

    def was(self, record: str, seq: int) -> Facet | None:
        """What was said of a record when a label was printed; None where the log does not tell."""
        seqs, values = self.before.get(record, ([0], [None]))
        return values[bisect_right(seqs, seq) - 1]


def outdated(
    session: Session, site_id: str, survey: Survey, labels: Sequence[LabelInShort]
) -> dict[str, OutdatedLabel]:
    """By record the labels on fixtures that were printed and say what is not so any more, each with the first reason.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    survey : Survey
        With floors, rooms, kinds, groups, conversions, and releases with when they were made.
    labels : sequence of LabelInShort
        Those of the site.
    """
    wanted = [each for each in labels if each.is_printed and each.at is not None and not each.is_void]
    if not wanted:
        return {}
    read, conversions = _read(session, site_id, survey, wanted), newest_conversions(survey)
    found = ((label, _why(survey, conversions, read, label)) for label in wanted)
    return {label.record: said for label, said in found if said is not None}


def _read(session: Session, site_id: str, survey: Survey, wanted: Sequence[LabelInShort]) -> _Read:
    said = {
        id: (str(at or ""), origin == PRE_PRINTED)
        for id, _, _, (at, origin) in values_of(session, site_id, "label", (("printed", "at"), ("identity", "origin")))
    }
    seqs = dict(seqs_of(session, site_id, "label", ("printed", "binding")))
    withdrawn = {id: seq for type_ in WITHDRAWN for id, (seq,) in seqs_of(session, site_id, type_, ("withdrawn",))}
    printed = {}
    for label in wanted:
        seq, bound = seqs[label.record]
        at, is_bare = said[label.record]
        printed[label.record] = _Printed(at, seq, bound, is_bare)
    return _Read(printed, withdrawn, _said_before(session, site_id, survey, wanted))


def _said_before(
    session: Session, site_id: str, survey: Survey, wanted: Sequence[LabelInShort]
) -> Mapping[str, Values]:
    """What was said of the identity of rooms, kinds and groups with a label, in the order in which it came."""
    groups = [survey.by_id[each.at[0]] for each in wanted if each.at is not None and each.at[0] in survey.by_id]
    ids = {str(id) for group in groups for id in (group["id"], group["parent"], _kind_of(group))}
    query = (
        select(Operation.record, Operation.seq, Operation.body)
        .where(Operation.site == site_id, among(Operation.record, ids), Operation.facet == "identity")
        .where(Operation.result == APPLIED, Operation.seq.is_not(None))
        .order_by(Operation.seq)
    )
    found: dict[str, Values] = {}
    for record, seq, body in session.execute(query):
        told = json_text.loads(body)
        seqs, values = found.setdefault(record, ([0], [told.get("from")]))
        seqs.append(seq or 0)
        values.append(told.get("to"))
    return found


def _kind_of(group: Record) -> object:
    return facet(cast("GroupView", group), "identity").get("kind", "")


def _why(
    survey: Survey, conversions: Mapping[str, ConversionView], read: _Read, label: LabelInShort
) -> OutdatedLabel | None:
    group = cast("GroupView | None", survey.by_id.get(label.at[0])) if label.at is not None else None
    printed = read.printed[label.record]
    if group is None or group["removed"]:
        return None
    if printed.bound > printed.seq:
        return None if printed.is_bare else {"code": label.code, "why": "place", "said": "", "now": ""}
    if _is_released_since(survey, conversions.get(group["id"]), read, printed):
        return {"code": label.code, "why": "release", "said": "", "now": ""}
    return _renamed(survey, read, group, printed.seq, label.code)


def _is_released_since(survey: Survey, conversion: ConversionView | None, read: _Read, printed: _Printed) -> bool:
    """Whether the newest release of a group was made, or withdrawn, after a label was printed."""
    if conversion is None:
        return False
    release = str(facet(conversion, "identity").get("release", ""))
    made_at = str(facet(cast("ReleaseView | None", survey.by_id.get(release)), "identity").get("made_at", ""))
    withdrawn = max(read.withdrawn.get(id, 0) for id in (conversion["id"], release))
    return made_at > printed.at or withdrawn > printed.seq


def _renamed(survey: Survey, read: _Read, group: GroupView, seq: int, code: str) -> OutdatedLabel | None:
    """A label of a group that is in another room or of another kind now, or whose room or kind is called otherwise."""
    room, kind = survey.room_of(group), survey.kind_of(group)
    was = read.was(group["id"], seq) or {}
    if was.get("parent", group["parent"]) != group["parent"]:
        return {"code": code, "why": "place", "said": "", "now": ""}
    if was.get("kind", kind and kind["id"]) != (kind and kind["id"]):
        return {"code": code, "why": "kind", "said": "", "now": mark_of(kind)}
    for why, record, said_by, now in (
        ("room", room, _named, name_of_room(room)),
        ("kind", kind, _mark, mark_of(kind)),
    ):
        then = read.was(record["id"], seq) if record is not None else None
        if then is not None and said_by(then) != now:
            return {"code": code, "why": cast("Why", why), "said": said_by(then), "now": now}
    return None


def _named(identity: Facet) -> str:
    return name_of_room(cast("RoomView", {"facets": {"identity": identity}}))


def _mark(identity: Facet) -> str:
    return mark_of(cast("KindView", {"facets": {"identity": identity}}))


__all__ = ["OutdatedLabel", "outdated"]
