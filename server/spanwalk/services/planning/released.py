"""Which groups are released: their newest conversion is not withdrawn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.rules.record_types import ConversionView, GroupView
from spanwalk.rules.record_view import Record
from spanwalk.rules.since_release.standing import newest_of
from spanwalk.rules.survey import Survey, facet, has
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.sync.state import records_in_part

IN_FORCE_BY = (("identity", "number"), ("identity", "release"), ("withdrawn",))
"""What of a conversion says whether it is in force."""
ARRANGEMENT = ("identity", "frozen", "arrangement")


def released_by(session: Session, site_id: str, *fields: Sequence[str]) -> list[Record]:
    """Releases and conversions of a site as far as they say what is in force, and some other values of conversions."""
    releases = records_in_part(session, site_id, "release", [("withdrawn",)])
    return [*releases, *records_in_part(session, site_id, "conversion", [*IN_FORCE_BY, *fields])]


def conversion_in_force(done: Survey, group: GroupView) -> ConversionView | None:
    """The conversion by which a group is released; None where there is none, or it or its release is withdrawn."""
    newest = newest_of(done, group)
    if newest is None or has(newest, "withdrawn"):
        return None
    release = done.by_id.get(facet(newest, "identity").get("release", ""))
    return None if release is not None and has(release, "withdrawn") else newest


def released_as_planned(session: Session, site_id: str, found: SitePlan) -> set[str]:
    """Ready groups that are released with the arrangement that is planned for them today.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    found : SitePlan
        Its plans.
    """
    done = Survey(released_by(session, site_id, ARRANGEMENT))
    return {id for id in _ready(found) if _arrangement(done, found, id) == _planned(found, id)}


def _ready(found: SitePlan) -> Iterable[str]:
    return (id for id, plan in found.plans.items() if plan["state"] == "ready")


def _planned(found: SitePlan, id: str) -> str | None:
    proposal = found.plans[id]["proposal"]
    return None if proposal is None else proposal["arrangement"]


def _arrangement(done: Survey, found: SitePlan, id: str) -> str | None:
    conversion = conversion_in_force(done, cast("GroupView", found.survey.by_id[id]))
    return None if conversion is None else str(facet(conversion, "identity").get("frozen", {}).get("arrangement", ""))


__all__ = ["conversion_in_force", "released_as_planned", "released_by"]
