"""Who signed for what, and what has changed since, as the report and the screen tell it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import cast

from spanwalk.rules.installing.acceptance import Statement, acceptances, is_as_signed, lines_signed, since
from spanwalk.rules.record_types import AcceptanceView, FloorView, RoomView
from spanwalk.rules.survey import Survey, facet, name_of_room
from spanwalk.services.days import minute_of, zone_of
from spanwalk.services.handover.pictures import BySubject, told_photo
from spanwalk.services.handover.told import AcceptedTold
from spanwalk.words import choice_text, say

SignedNow = Callable[[str], Statement]
"""What would be signed of a site, floor or room now, by its id."""
SIGNATURE = "signature"


def accepted(
    survey: Survey, signed_now: SignedNow, photos: BySubject, arrived: frozenset[str]
) -> tuple[AcceptedTold, ...]:
    """Every signature, the oldest first."""
    return tuple(_accepted(survey, each, signed_now, photos, arrived) for each in acceptances(survey))


def _accepted(
    survey: Survey, each: AcceptanceView, signed_now: SignedNow, photos: BySubject, arrived: frozenset[str]
) -> AcceptedTold:
    said, zone = facet(each, "identity"), zone_of(survey.site())
    changed = since(each, signed_now(said["subject"]))
    drawn = [photo for photo in photos.get(each["id"], ()) if facet(photo, "identity").get("purpose") == SIGNATURE]
    return AcceptedTold(
        id=each["id"],
        covers=covers(survey, said["subject"]),
        name=said["name"],
        day=minute_of(said.get("noted_at"), zone),
        how=choice_text(said["signed_by"]),
        content=said["content"],
        whole=is_as_signed(each),
        fixtures=int(said.get("fixtures") or 0),
        done=int(said.get("done") or 0),
        open=int(said.get("open") or 0),
        lines=tuple(lines_signed(each)),
        was=tuple(line_texts(survey, changed.was)),
        now=tuple(line_texts(survey, changed.now)),
        signature=told_photo(drawn[-1], arrived, zone) if drawn else None,
    )


def covers(survey: Survey, subject: str) -> str:
    """What a signature covers, in words."""
    record = survey.by_id.get(subject)
    if record is None:
        return say("acceptance.covers.gone")
    if record["type"] == "room":
        return say("acceptance.covers.room", {"room": name_of_room(cast("RoomView", record))})
    if record["type"] == "floor":
        floor = facet(cast("FloorView", record), "identity").get("name", "")
        return say("acceptance.covers.floor", {"floor": floor})
    return say("acceptance.covers.site")


def line_texts(survey: Survey, lines: tuple[str, ...]) -> Iterator[str]:
    """Lines of a signed content as sentences; what a later form has is told as it stands."""
    for line in lines:
        kind, *fields = line.split("\t")
        if kind == "fixtures" and len(fields) == 5:
            group, mark, positions, state, items = fields
            facts = {"room": _room_of(survey, group), "mark": mark, "positions": positions, "items": items}
            code = "fixtures-with" if items else "fixtures"
            yield say(f"acceptance.line.{code}", facts | {"state": choice_text(state)})
        elif kind == "light" and len(fields) == 4:
            room, point, when, lux = fields
            facts = {"room": _room_of(survey, room), "point": point, "when": choice_text(when), "lux": lux}
            yield say("acceptance.line.light", facts)
        elif kind == "point" and len(fields) == 6:
            room, sort, _, positions, how, _ = fields
            facts = {"room": _room_of(survey, room), "sort": say(f"acceptance.sort.{sort}"), "positions": positions}
            yield say(f"acceptance.line.{'point-at' if positions else 'point'}", facts | {"how": choice_text(how)})
        else:
            yield " · ".join(each for each in fields[1:] if each) or line


def _room_of(survey: Survey, record_id: str) -> str:
    record = survey.by_id.get(record_id)
    return name_of_room(survey.room_of(record)) if record is not None else record_id
