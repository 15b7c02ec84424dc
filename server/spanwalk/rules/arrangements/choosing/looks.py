"""One room, one look: bars of different colour temperature or colour rendering in a room are an open point."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from spanwalk.rules.arrangements.plan_types import PlanInShort
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

Look = tuple[int | None, int | None]
"""Colour temperature [K] and colour rendering index of a bar; None where its sheet was not entered."""


def mixed_looks(
    plans: Iterable[PlanInShort], items: Mapping[str, CatalogueItemView], rooms: Mapping[str, str]
) -> list[Said]:
    """Rooms in which bars of more than one look are proposed, each with the looks, as code and facts.

    Bars of which nothing was entered are of no look: they neither mix nor agree.

    Parameters
    ----------
    plans : iterable of mapping
        Plans of groups.
    items : mapping
        Catalogue items by id.
    rooms : mapping
        Room id -> its name.

    Returns
    -------
    list of dict
        By name of room.
    """
    told = [
        {"room": rooms.get(room, room), "looks": looks} for room, looks in looks_of_mixed_rooms(plans, items).items()
    ]
    return [{"code": "world.mixed-looks", "facts": facts} for facts in sorted(told, key=lambda each: str(each["room"]))]


def looks_of_mixed_rooms(plans: Iterable[PlanInShort], items: Mapping[str, CatalogueItemView]) -> dict[str, list[str]]:
    """Looks to read of each room, by its id, in which bars of more than one are proposed; see `mixed_looks`."""
    found: dict[str, set[Look]] = {}
    for plan in plans:
        proposal = plan["proposal"]
        bars = [] if proposal is None else [items[each] for each in proposal["fill_items"] if each in items]
        found.setdefault(plan["room"], set()).update(look for bar in bars if (look := look_of(bar)) is not None)
    return {room: [called(look) for look in _in_order(looks)] for room, looks in found.items() if len(looks) > 1}


def look_of(item: CatalogueItemView) -> Look | None:
    """A bar's colour temperature and rendering; None where neither was entered."""
    bar = facet(item, "bar")
    look = (bar.get("cct_k"), bar.get("cri"))
    return None if look == (None, None) else look


def called(look: Look) -> str:
    """A look to read.

    >>> called((4000, 80)), called((3000, None))
    ('4000 K CRI 80', '3000 K')
    """
    cct_k, cri = look
    return " ".join([*([] if cct_k is None else [f"{cct_k} K"]), *([] if cri is None else [f"CRI {cri}"])])


def _in_order(looks: Iterable[Look]) -> list[Look]:
    return sorted(looks, key=lambda look: (look[0] or 0, look[1] or 0))


__all__ = ["called", "look_of", "looks_of_mixed_rooms", "mixed_looks"]
