"""Open points of kinds: what only an open cover shows, said once for all their groups. Twin: pwa/rules/points/kinds.js."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

from spanwalk.rules.fit.not_converted import is_never
from spanwalk.rules.gear.mains import NOT_SEEN, lamp_watts_doubt, mains_hz
from spanwalk.rules.points.found import Found, Seen, alike
from spanwalk.rules.record_types import GroupView, KindView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.survey import facet, is_seen, mark_of


def duplicate_kind_mark(seen: Seen) -> Iterator[Found]:
    """Marks that two or more kinds bear; one point for a mark."""
    for kinds in alike(seen.survey.of_type("kind"), "mark"):
        yield Found(kinds[0]["id"], None, {"mark": mark_of(kinds[0]), "kinds": len(kinds)})


def lamps_not_seen(seen: Seen) -> Iterator[Found]:
    """Kinds in use of which nobody has said what lamps are in them, and in how many rows of how many."""
    for kind in _kinds_in_use(seen):
        lamps = facet(kind, "lamps")
        if not all(
            is_seen(lamps.get(field))
            for field in ("fitted", "diameter", "cap", "nominal_ft", "rows", "lamps_end_to_end")
        ):
            yield Found(kind["id"], None, {"mark": mark_of(kind)})


def lamp_watts_not_seen(seen: Seen) -> Iterator[Found]:
    """Kinds in use whose lamp watts nobody read and nobody can take: another lamp of the same length may well be in them."""
    settings = facet(seen.survey.site(), "settings")
    asked: dict[str, str] = {}
    for group in seen.survey.groups_to_convert():
        kind = seen.survey.kind_of(group)
        if kind is not None and seen.survey.is_live(kind) and (why := _doubt(group, kind, settings)):
            asked.setdefault(kind["id"], why)
    for id in sorted(asked):
        mark = mark_of(cast("KindView", seen.survey.by_id[id]))
        yield Found(id, None, {"mark": mark, "why": asked[id]})


def _doubt(group: GroupView, kind: KindView, settings: Facet) -> str | None:
    ballast = facet(kind, "ballast")
    fed = facet(kind, "wiring").get("neighbour_leads") == "fed-from-the-neighbours-ballast"
    gear = "electronic" if fed else str(ballast.get("ballast", NOT_SEEN))
    return lamp_watts_doubt(facet(kind, "lamps"), gear, mains_hz(facet(group, "supply"), ballast, settings))


def no_ballast_space(seen: Seen) -> Iterator[Found]:
    """Kinds in use whose ballast space has not been measured whole."""
    for kind in _kinds_to_open(seen):
        space = facet(kind, "ballast_space")
        if not all(space.get(side) is not None for side in ("length_ticks", "width_ticks", "height_ticks")):
            yield Found(kind["id"], None, {"mark": mark_of(kind)})


def feeds_not_seen(seen: Seen) -> Iterator[Found]:
    """Kinds in use of which nobody has seen how many supply feeds come into the body."""
    for kind in _kinds_to_open(seen):
        if not is_seen(facet(kind, "wiring").get("feeds")):
            yield Found(kind["id"], None, {"mark": mark_of(kind)})


def _kinds_to_open(seen: Seen) -> Iterator[KindView]:
    """Kinds in use whose cover somebody has to open: not those that are never by this method, in which no driver will lie."""
    return (kind for kind in _kinds_in_use(seen) if not is_never(kind))


def _kinds_in_use(seen: Seen) -> Iterator[KindView]:
    """Kinds of the groups that are to be converted, each once."""
    used = {kind["id"]: kind for group in seen.survey.groups_to_convert() if (kind := seen.survey.kind_of(group))}
    return (used[id] for id in sorted(used) if seen.survey.is_live(used[id]))
