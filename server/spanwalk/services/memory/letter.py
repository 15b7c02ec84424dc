"""The letter of a claim: what failed, where, since when it was in, under which warranty, with what evidence; as a PDF."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.installing.replaced import split_serials
from spanwalk.services.handover.paper import Paper, Picture
from spanwalk.services.memory.claims import step_cells
from spanwalk.services.memory.told import FailureTold, ItemNow, Remembered
from spanwalk.services.photos.photos import thumbnail
from spanwalk.services.refusals import NotThere
from spanwalk.storage.photos import PhotoStore
from spanwalk.words import choice_text, say

PICTURE_PT = 150.0
ACROSS = 3
PHOTOS_MOST = 24
"""Of one letter, so that it can be sent by mail."""


def letter(site_name: str, inches: bool, fixture: Remembered, failure_id: str, store: PhotoStore, today: str) -> bytes:
    """The letter of a failure's claim.

    Parameters
    ----------
    site_name : str
        The building.
    inches : bool
        Whether the paper is Letter; else it is A4.
    fixture : Remembered
        Where it was.
    failure_id : str
        Which failure.
    store : PhotoStore
        Where its photos lie.
    today : str
        The day of the letter.

    Raises
    ------
    NotThere
        No such failure was reported on the fixture.
    """
    failure = next((each for each in fixture["failures"] if each["id"] == failure_id), None)
    if failure is None:
        raise NotThere("memory.no-failure")
    title = say("memory.letter.title", {"site": site_name})
    paper = Paper(title, inches, lambda page: say("memory.letter.foot", {"site": site_name, "page": page}))
    paper.heading(title)
    paper.say(say("memory.letter.day", {"day": today}))
    paper.say(say("memory.letter.to", {"firm": fixture["firm"] or say("memory.letter.the-firm")}))
    paper.say(say("memory.letter.about"))
    paper.heading(say("memory.letter.what"), 2)
    paper.table(
        [say("memory.letter.head"), say("memory.letter.said")], list(_facts(site_name, fixture, failure)), (1, 3)
    )
    paper.heading(say("memory.letter.warranty"), 2)
    for item in failed(fixture, failure):
        paper.say(warranty_sentence(item, failure["on"]), bullet=True)
    if not failed(fixture, failure):
        paper.say(say("memory.letter.not-known"))
    if failure["steps"]:
        paper.heading(say("memory.letter.so-far"), 2)
        heads = [say(f"memory.claims.{name}") for name in ("step", "on", "by", "reference", "note")]
        paper.table(heads, [step_cells(each) for each in failure["steps"]], (2, 1.5, 2, 2, 4))
    paper.heading(say("memory.letter.evidence"), 2)
    shown, left = failure["photos"][:PHOTOS_MOST], failure["photos"][PHOTOS_MOST:]
    paper.pictures([_picture(each, store) for each in shown], ACROSS, PICTURE_PT, say("memory.letter.no-photo"))
    if left:
        paper.say(say("memory.letter.photos-left", {"count": len(left)}))
    if not failure["photos"]:
        paper.say(say("memory.letter.no-photos"))
    paper.heading(say("memory.letter.before"), 2)
    for code in fixture["cautions"]:
        paper.say(say(code), bold=True)
    if paper.has_squares:
        paper.say(say("memory.letter.squares"))
    return paper.finished()


def _facts(site_name: str, fixture: Remembered, failure: FailureTold) -> Iterator[list[str]]:
    place = ", ".join(each for each in (fixture["floor_name"], fixture["room_name"]) if each)
    told = {
        "site": site_name,
        "place": place,
        "fixture": say("memory.fixture", {"mark": fixture["mark"], "position": fixture["position"]}),
        "label": fixture["code"],
        "access": choice_text(fixture["access"]),
        "seen-on": failure["on"],
        "sign": choice_text(failure["sign"]),
        "item": failure["item"],
        "serials": failure["serials"],
        "fitted-on": ", ".join(dict.fromkeys(each["fitted_on"] for each in failed(fixture, failure)))
        or fixture["fitted_on"],
        "hours": str(failure["hours"]) if failure["hours"] is not None else "",
        "note": failure["note"],
        "replaced": choice_text(failure["replaced"]) if failure["replaced"] else "",
        "replaced-by": " ".join(
            each for each in (failure["replaced_item"], failure["replaced_serials"], failure["replaced_on"]) if each
        ),
    }
    for name, value in told.items():
        yield [say(f"memory.letter.{name}"), value or say("memory.not-said")]


def failed(fixture: Remembered, failure: FailureTold) -> list[ItemNow]:
    """Items that a failure may be of: in the fixture when it was seen, named by it; where it names a number, that one's.

    What was put in for it, and what was taken out for an earlier one, are none of them.
    """
    there = [each for each in fixture["items"] or () if _was_in(each, failure)]
    of_code = [each for each in there if not failure["item"] or each["code"] == failure["item"]]
    numbers = set(split_serials(failure["serials"]))
    return [each for each in of_code if numbers & set(each["serials"])] or of_code


def _was_in(item: ItemNow, failure: FailureTold) -> bool:
    """Whether a piece of an item was in the fixture when a failure was seen."""
    gone = [each for each in item["taken_out"] if each["failure"] != failure["id"] and each["on"] <= failure["on"]]
    is_later = item["put_in_by"] != "" and item["fitted_on"] > failure["on"]
    return item["put_in_by"] != failure["id"] and not is_later and len(gone) < item["number"]


def warranty_sentence(item: ItemNow, seen_on: str) -> str:
    """Whether an item was under warranty on the day that it was seen to fail."""
    facts = {"item": item["code"], "years": item["warranty_years"], "ends": item["warranty_ends"], "on": seen_on}
    if item["warranty_ends"] is None:
        return say("memory.warranty.not-known", facts)
    return say("memory.warranty.holds" if seen_on <= item["warranty_ends"] else "memory.warranty.over", facts)


def _picture(sha256: str, store: PhotoStore) -> Picture:
    def jpeg() -> bytes | None:
        try:
            return thumbnail(store, sha256)
        except NotThere:
            return None

    return Picture(sha256, sha256[:12], jpeg)
