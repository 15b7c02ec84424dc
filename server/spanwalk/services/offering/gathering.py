"""All that an offer tells, gathered once: areas, options, money with its assumptions, cautions, what is not in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.arrangements.plan_types import PlanInShort, proposal_of
from spanwalk.rules.money.charges_entered import charges_of, not_asked
from spanwalk.rules.money.job_charges import CONTAINERS, CostLine
from spanwalk.rules.money.job_money import Share
from spanwalk.rules.record_types import KindView, RoomView
from spanwalk.rules.survey import Survey, facet, mark_of, name_of_room
from spanwalk.services.days import day_of, today_in, zone_of
from spanwalk.services.handover.figures import sources
from spanwalk.services.offering.options import (
    LEANEST,
    PLANNED,
    WHOLE_MOST,
    Option,
    leanest_of,
    option_of,
    released_option,
    today_option,
)
from spanwalk.services.offering.rests_on import NOT_OF_AN_OFFER, document, used_by
from spanwalk.services.planning.plans import SitePlan, site_plan
from spanwalk.services.planning.totals import job_of_site
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.sums import releases_of
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.cost_lines import for_customers
from spanwalk.services.text.explaining import sentence
from spanwalk.services.text.read_as import marked, unit_text
from spanwalk.storage.tables import Person
from spanwalk.words import FIRST, choice_text, reading_language, say, title_text

READY = "ready"
STATES = ("open", "not-by-this-method", "nothing-passes")
"""States of groups that are not ready, for which there is a sentence."""


@dataclass(frozen=True)
class AreaGroup:
    """A group of fixtures in a room as the offer tells it.

    Parameters
    ----------
    cost : float or None
        Its part of the job's cost [currency]; the parts of all groups add up to the job to the cent.
    lux : tuple or None
        Light then, from and to [lx]; None where it cannot be told.
    share_pct : float or None
        Light then against today's [%].
    """

    floor: str
    room: str
    mark: str
    fixtures: int
    fitted: str
    watts_now: float | None
    watts_then: float
    lux: tuple[int, int] | None
    share_pct: float | None
    cost: float | None


@dataclass(frozen=True)
class Offer:
    """What an offer tells; `head` is the site's sequence that it holds for.

    `lines` are what the price is made of; empty of offers made before there were any. One that is kept has a `number` and the fingerprint of its `content`; `intact`: what is kept is what was made;
    `content_before`: its fingerprint before a person's name was taken out of it, where one was. Its sentences are in its `language`, and so is its paper whenever it is made again.
    """

    site: str
    firm: str
    call: str
    customer: str
    address: str
    inches: bool
    made_on: str
    valid_until: str
    head: int
    note: str
    currency: str
    groups: tuple[AreaGroup, ...]
    options: tuple[Option, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    not_included: tuple[str, ...]
    sources: tuple[str, ...]
    number: int = 0
    content: str = ""
    intact: bool = True
    language: str = FIRST
    lines: tuple[CostLine, ...] = ()
    content_before: str = ""

    @property
    def planned(self) -> Option:
        """What is offered."""
        return next(each for each in self.options if each.name == PLANNED)


def offer_of(session: Session, site_id: str, days: int, note: str = "") -> Offer:
    """All that an offer of a site tells, in the language that is read in.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    days : int
        How long it is valid [days].
    note : str
        What else is said to the customer.

    Raises
    ------
    NotThere
        Not one group is ready to be converted.
    """
    found = site_plan(session, site_id)
    plans = [plan for plan in found.plans.values() if plan["state"] == READY]
    if not plans:
        raise NotThere("offer.nothing-ready")
    planned = option_of(found, PLANNED, plans)
    survey, today = found.survey, today_in(zone_of(found.survey.site()))
    site, customer, notice = survey.site(), facet(survey.site(), "customer"), facet(survey.site(), "notice")
    return Offer(
        site=str(facet(site, "identity").get("name", "")),
        firm=str(notice.get("firm", "")),
        call=str(notice.get("call", "")),
        customer=str(customer.get("customer", "")),
        address=" ".join(str(customer.get("address", "")).split()),
        inches=facet(site, "settings").get("units") == "inches",
        made_on=today,
        valid_until=(date.fromisoformat(today) + timedelta(days=days)).isoformat(),
        head=found.head,
        note=note,
        currency=str(found.inputs.money.get("currency", "")),
        groups=tuple(_groups(found, plans)),
        options=tuple(_options(session, site_id, found, plans, planned)),
        assumptions=tuple(_assumptions(session, site_id, found, plans)),
        cautions=tuple(dict.fromkeys(say(code) for plan in plans for code in plan["cautions"])),
        not_included=tuple(_not_included(found)),
        sources=_sources(found, plans),
        language=reading_language(),
        lines=tuple(for_customers(job_of_site(found).totals["money"]["lines"])),
    )


def _sources(found: SitePlan, plans: Sequence[PlanInShort]) -> tuple[str, ...]:
    """Where the figures are from, of the lamps, gear, bodies and rooms that are in the offer."""
    survey = found.survey
    ids = dict.fromkeys(id for plan in plans for id in (plan["kind"], plan["room"]))
    standard = str(facet(survey.site(), "settings").get("light_standard", ""))
    return sources(NOT_OF_AN_OFFER, used_by([survey.by_id[id] for id in ids], standard), document)


def _options(
    session: Session, site_id: str, found: SitePlan, plans: Sequence[PlanInShort], planned: Option
) -> Iterator[Option]:
    yield today_option(planned)
    yield planned
    lean = leanest_of(found, plans)
    if lean is not None and any(
        one["proposal"] is not other["proposal"] for one, other in zip(lean, plans, strict=True)
    ):
        yield option_of(found, LEANEST, lean)
    kept = Survey(site_records(session, site_id, types=("site", "release", "release_sums", "conversion")))
    released = released_option(releases_of(kept))
    if released is not None:
        yield released


def _groups(found: SitePlan, plans: Sequence[PlanInShort]) -> Iterator[AreaGroup]:
    shares = job_of_site(found).shares
    for plan in plans:
        yield _group(found, plan, shares.get(plan["group"]), len(plans) <= WHOLE_MOST)


def _group(found: SitePlan, plan: PlanInShort, share: Share | None, whole: bool) -> AreaGroup:
    survey, proposal = found.survey, proposal_of(plan)
    room = cast("RoomView", survey.by_id[plan["room"]])
    told = plan_group(found.body(plan["group"]))["proposal"] if whole else None
    band = (told or proposal)["light"].get("range_lux")
    return AreaGroup(
        floor=str(facet(survey.floor_of(room), "identity").get("name", "")),
        room=name_of_room(room),
        mark=mark_of(cast("KindView", survey.by_id[plan["kind"]])),
        fixtures=plan["fixtures"],
        fitted=fitted_text(plan),
        watts_now=plan["now"]["watts"],
        watts_then=proposal["watts"],
        lux=(band[0], band[1]) if band else None,
        share_pct=proposal["light"].get("share_of_today_pct"),
        cost=share["cost"] if share else None,
    )


def fitted_text(plan: PlanInShort) -> str:
    """What is fitted into the group, item by item."""
    return ", ".join(f"{part['count']} × {part['code']}" for part in proposal_of(plan)["parts"])


def _assumptions(session: Session, site_id: str, found: SitePlan, plans: Sequence[PlanInShort]) -> Iterator[str]:
    """Each figure of money with its value and where it is from; then figures of the site's own."""
    yield say("offer.rests.groups")
    names = {row.id: row.name for row in session.execute(select(Person.id, Person.name))}
    fields = records.spec().types["money"].facets["identity"].fields
    for each in site_records(session, site_id, types=("money",), who=True):
        said = facet(each, "identity") if not each["removed"] else {}
        for name, field in fields.items():
            if name in said and name != "currency":
                yield say(
                    "offer.rests.money",
                    {
                        "title": title_text(f"spec.money.identity.{name}"),
                        "value": choice_text(said[name]) if isinstance(said[name], str) else marked(f"{said[name]:g}"),
                        "unit": unit_text(field.unit),
                        "by": names.get(each["by"]["identity"], "–"),
                        "day": day_of(each["at"]["identity"], zone_of(found.survey.site())),
                    },
                )
    settings = facet(found.survey.site(), "settings")
    yield say("offer.rests.spares", {"pct": marked(f"{float(settings.get('spare_pct', 0)):g}")})
    yield from dict.fromkeys(sentence(value) for plan in plans for value in plan["site_values"])


def _not_included(found: SitePlan) -> Iterator[str]:
    out = [plan for plan in found.plans.values() if plan["state"] != READY]
    counted: dict[str, int] = {}
    for plan in out:
        counted[plan["state"]] = counted.get(plan["state"], 0) + plan["fixtures"]
    for state, fixtures in counted.items():
        name = state.replace(" ", "-")
        code = f"offer.not.{name}" if name in STATES else "offer.not.groups"
        yield say(code, {"fixtures": fixtures, "state": choice_text(state)})
    missing = not_asked(found.inputs.money)
    for name in missing:
        yield say(f"offer.not.{name}")
    if "containers" not in missing:
        yield from _containers_not_priced(found)
    for name in ("repairs", "hazards", "emergency", "controls", "out-of-hours", "rebate"):
        yield say(f"offer.not.{name}")


def _containers_not_priced(found: SitePlan) -> Iterator[str]:
    """Containers for what comes out of the ready groups that have no price, where others have one."""
    priced = charges_of(found.inputs.money).shared
    terms = (proposal_of(plan)["money"].get("job") for plan in found.plans.values() if plan["state"] == READY)
    out = {sort for each in terms if each is not None for sort in each.get("shared", {})}
    for sort in CONTAINERS:
        if sort in out and sort not in priced:
            yield say("offer.not.container", {"what": say(f"job.line.{sort}")})


def money_of(option: Option) -> Mapping[str, float | None]:
    """Figures of an option by name."""
    return cast("Mapping[str, float | None]", option.money)


__all__ = ["AreaGroup", "Offer", "fitted_text", "money_of", "offer_of"]
