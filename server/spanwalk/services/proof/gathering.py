"""What proof packs are made of: the report of the site, what its plan rests on now, attachments and what was collected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.now import Now, now
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.record_types import AttachmentView, ConversionView, GroupView, RoomView, WasteCollectionView
from spanwalk.rules.record_view import Facet, Row, Tables
from spanwalk.rules.survey import Survey, facet, newest_conversions
from spanwalk.services.attachments.attachments import attachments_arrived
from spanwalk.services.handover.gathering import report_of
from spanwalk.services.handover.told import Report
from spanwalk.services.planning.inputs import Inputs
from spanwalk.services.planning.plans import site_plan
from spanwalk.services.releases.sums import Figures, after, releases_of
from spanwalk.services.sync.state import site_records

TYPES = (
    "site", "money", "floor", "room", "kind", "group", "conversion", "release", "release_sums", "catalogue_item",
    "attachment", "waste_collection",
)  # fmt: skip


@dataclass(frozen=True)
class GroupBasis:
    """On what the figures of a group rest: the conversion in force, what was frozen of it, and the group as it is now."""

    group: GroupView
    conversion: ConversionView
    frozen: Figures
    current: Now | None
    hours_space: Row | None

    @property
    def watts_row(self) -> Row | None:
        """The row of the table from which the watts before are; None where the survey or the table has changed since."""
        told = self.frozen.get("watts_now")
        here = self.current
        if here is None or here.watts is None or told is None or round(here.watts, 3) != round(told, 3):
            return None
        return here.ballast_row

    @property
    def facts(self) -> Mapping[str, Facet]:
        """What the survey said of the group, its kind and room when it was released, by record."""
        return cast("Mapping[str, Facet]", facet(self.conversion, "identity").get("facts") or {})


@dataclass(frozen=True)
class Proof:
    """All that proof packs tell."""

    report: Report
    survey: Survey
    inputs: Inputs
    groups: Mapping[str, GroupBasis]
    attachments: tuple[AttachmentView, ...]
    arrived: Mapping[str, str]
    collected: tuple[WasteCollectionView, ...]
    money: Facet

    @property
    def tables(self) -> Tables:
        """Reference tables with the site's own figures."""
        return self.inputs.tables

    def room(self, room_id: str) -> RoomView:
        """A room by its id."""
        return cast("RoomView", self.survey.by_id[room_id])

    @property
    def listings(self) -> dict[str, str]:
        """Code of a catalogue item -> its listing number, where it has one."""
        items = self.survey.of_type("catalogue_item")
        told = {facet(each, "identity").get("code"): facet(each, "supply").get("listing") for each in items}
        return {str(code): str(listing) for code, listing in told.items() if code and listing}


def proof_of(session: Session, site_id: str, role: str) -> Proof:
    """All that proof packs tell of a site.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    role : str
        Who asks; a role that reads the sums of releases.

    Raises
    ------
    NotThere
        Nothing has been released on the site.
    """
    report = report_of(session, site_id, role, with_money=False)
    inputs = site_plan(session, site_id).inputs
    survey = Survey(site_records(session, site_id, types=TYPES))
    frozen = after(releases := releases_of(survey), releases[-1].number)
    conversions = newest_conversions(survey)
    groups = {
        group: _basis(survey, inputs, group, conversions[group], figures)
        for group, figures in frozen.items()
        if group in conversions
    }
    money = survey.of_type("money")
    return Proof(
        report=report,
        survey=survey,
        inputs=inputs,
        groups=groups,
        attachments=tuple(survey.of_type("attachment")),
        arrived=attachments_arrived(session, site_id),
        collected=tuple(sorted(survey.of_type("waste_collection"), key=_collected_on)),
        money=facet(money[0], "identity") if money else {},
    )


def _collected_on(each: WasteCollectionView) -> tuple[str, str]:
    return str(facet(each, "identity").get("collected_on") or ""), each["id"]


def _basis(survey: Survey, inputs: Inputs, group_id: str, conversion: ConversionView, frozen: Figures) -> GroupBasis:
    group = cast("GroupView", survey.by_id[group_id])
    body = body_of(inputs, group_id)
    current = None if body is None else now(body)
    return GroupBasis(group, conversion, frozen, current, None if body is None else body.space_row)


def body_of(inputs: Inputs, group_id: str) -> Body | None:
    """A group as the plan sees it, without a judgement; None where the plan does not know it."""
    if group_id not in inputs.places:
        return None
    kind, room = inputs.places[group_id]
    survey = inputs.survey
    group = cast("GroupView", survey.by_id[group_id])
    return Body(group, kind, room, survey.site(), NOT_JUDGED, inputs.catalogue, inputs.money, inputs.tables)


NOT_JUDGED: Judgement = {}
"""No judgement: the watts and the room do not hang on what was read of cavities."""
