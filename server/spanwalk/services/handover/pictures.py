"""Which photos show a group before and after; each is fetched, small, only when its place on a page is drawn."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from spanwalk.rules.record_types import GroupView, PhotoView
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.days import day_of, zone_of
from spanwalk.services.handover.told import PhotoTold
from spanwalk.services.photos.photos import thumbnail
from spanwalk.services.refusals import Refusal
from spanwalk.storage.photos import PhotoStore, StoreFails

AFTER, OF_KIND = "after", "whole-fixture"
NOT_SHOWN = frozenset({"problem", "damage", "signature", "floor-plan", "other"})
"""What such photos are of is told in words, or stands on a screen of its own."""
BySubject = Mapping[str, Sequence[PhotoView]]


def by_subject(photos: Iterable[PhotoView]) -> dict[str, list[PhotoView]]:
    """Photos by the record that they are of, the earliest first."""
    found: dict[str, list[PhotoView]] = {}
    for each in sorted(photos, key=lambda photo: (str(facet(photo, "identity").get("taken_at", "")), photo["id"])):
        said = facet(each, "identity")
        if said.get("subject") and said.get("sha256"):
            found.setdefault(str(said["subject"]), []).append(each)
    return found


def photos_of(survey: Survey, group: GroupView, photos: BySubject, arrived: frozenset[str]) -> tuple[PhotoTold, ...]:
    """Photos of a group: those before (of the group itself, else of its kind), then those after, by fixture."""
    own = photos.get(group["id"], ())
    before = [(each, None) for each in own if _purpose(each) not in {AFTER, *NOT_SHOWN}]
    if not before:
        kind = survey.kind_of(group)
        of_kind = photos.get(kind["id"], ()) if kind is not None else ()
        before = [(each, None) for each in of_kind if _purpose(each) == OF_KIND]
    zone = zone_of(survey.site())
    after: list[tuple[PhotoView, int | None]] = [(each, None) for each in own if _purpose(each) == AFTER]
    for noted in survey.children(group, "installation"):
        position = facet(noted, "identity").get("position")
        after += [(each, position) for each in photos.get(noted["id"], ()) if _purpose(each) not in NOT_SHOWN]
    after.sort(key=lambda each: each[1] or 0)
    return (
        *(told_photo(each, arrived, zone, False, position) for each, position in before),
        *(told_photo(each, arrived, zone, True, position) for each, position in after),
    )


def _purpose(photo: PhotoView) -> str:
    return str(facet(photo, "identity").get("purpose"))


def told_photo(
    photo: PhotoView, arrived: frozenset[str], zone: str, after: bool = True, position: int | None = None
) -> PhotoTold:
    """A photo with what is said below it, of a site in a time zone."""
    said = facet(photo, "identity")
    return PhotoTold(
        sha256=str(said["sha256"]),
        after=after,
        position=position,
        day=day_of(said.get("taken_at"), zone),
        caption=str(facet(photo, "caption").get("caption") or ""),
        arrived=said["sha256"] in arrived,
    )


def small_picture(store: PhotoStore, photo: PhotoTold) -> bytes | None:
    """A photo's small picture, a JPEG; None where it has not arrived, is damaged, or cannot be had now."""
    if not photo.arrived:
        return None
    try:
        return thumbnail(store, photo.sha256)
    except (Refusal, StoreFails):
        return None
