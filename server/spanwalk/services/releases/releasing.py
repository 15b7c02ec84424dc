"""A release: the plan frozen for crews, as records that travel in the same pull as everything else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypedDict, cast
from uuid import uuid4

from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.card.card_types import CardDriver, CrewCard
from spanwalk.rules.arrangements.card.crew_card import crew_card
from spanwalk.rules.arrangements.card.frozen_facts import FrozenFacts, FrozenItem, frozen_facts, frozen_item
from spanwalk.rules.arrangements.plan_types import Instead, PlanInShort, proposal_of
from spanwalk.rules.arrangements.site_figures import figure_named
from spanwalk.rules.installing.last_word import last_words
from spanwalk.rules.judging.judging import RULES_VERSION
from spanwalk.rules.record_types import CatalogueItemView, ConversionView, GroupView, KindView
from spanwalk.rules.said import Said
from spanwalk.rules.since_release.seen import Change
from spanwalk.rules.since_release.standing import IN_FORCE, WITHDRAWN, newest_of, number_of, standing_of
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.clock import now
from spanwalk.services.planning.job_sums import basis_of, frozen
from spanwalk.services.planning.plans import PLANNED_FROM, SitePlan, site_plan
from spanwalk.services.planning.told import short
from spanwalk.services.planning.totals import terms_of_items
from spanwalk.services.refusals import InTheWay, WrongInput
from spanwalk.services.releases.sums import (
    DoneBefore,
    Price,
    Sums,
    Whole,
    after,
    figures_of,
    items_ordered,
    needed,
    order_lines,
    releases_of,
    sums,
)
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.server_operations import ServerOperation, server_push
from spanwalk.services.sync.state import site_records
from spanwalk.words import say

RELEASE_TYPES = ("release", "conversion", "release_sums", "installation")


class PlacedGroup(TypedDict):
    """A group, where it is, and how many of its fixtures are meant."""

    group: str
    room: str
    room_name: str
    floor_name: str
    mark: str
    fixtures: int


class LeftOut(PlacedGroup):
    """A group that is not released, with the reasons."""

    state: str
    blockers: list[Said]
    instead: list[Instead]


class StillOut(TypedDict):
    """A group that was left out and has a conversion from before, with how that stands."""

    group: str
    room_name: str
    mark: str
    standing: str
    number: int
    changes: list[Change]


class ReleaseAnswer(TypedDict):
    """What became of a release: see `release`."""

    release: str
    number: int
    released: list[str]
    unchanged: list[str]
    left_out: list[LeftOut]
    done: list[DoneBefore]
    out: list[StillOut]


@dataclass(frozen=True)
class Draft:
    """What a release would freeze of one group."""

    plan: PlanInShort
    card: CrewCard
    facts: FrozenFacts

    @property
    def summary(self) -> str:
        """What to fit, in a line."""
        return summary(self.card)


def release(
    session: Session, site_id: str, by: str, note: str = "", from_memory_seen: Iterable[str] = ()
) -> ReleaseAnswer:
    """Freeze the proposal of each ready group whose conversion has changed since the last release.

    Bodies on one ballast are released together or not at all. What was in force for a group is superseded.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    by : str
        The person who releases.
    note : str
        What to tell the crews.
    from_memory_seen : iterable of str
        Figures from memory that the person has seen, as `site_figures.figure_named` names them.

    Returns
    -------
    dict
        ``{"release", "number", "released": [group ids], "unchanged": [group ids], "left_out": [short plans with
        blockers], "done": [{"group", "release", "positions"}], "out": [{"group", "standing", "changes"}]}``: `done` are
        fixtures of groups released anew that were noted as done before; `out` are groups left out that have a conversion
        from before, with how it stands.

    Raises
    ------
    InTheWay
        Not one group is ready and changed; its facts say how many are left out and why most are.
    WrongInput
        It rests on figures from memory that are not among those seen; its facts name them.
    """
    lock_site(session, site_id)
    found = site_plan(session, site_id)
    survey = records_with_releases(session, site_id)
    drafts, left_out = drafts_of(found)
    changed = _changed(found, survey, drafts)
    if not changed:
        raise InTheWay("release-nothing-ready", ready=len(drafts), left_out=len(left_out))
    remembered = _from_memory(changed)
    _must_be_seen(remembered, from_memory_seen)
    releases = releases_of(survey)
    number = 1 + max((each.number for each in releases), default=0)
    release_id = str(uuid4())
    operations = [_release_operation(release_id, site_id, number, note, changed, survey, found.head)]
    operations += [_conversion_operation(release_id, number, draft) for draft in changed.values()]
    operations += _sums_operations(release_id, found, survey, changed)
    answers = server_push(session, site_id, operations, by=by)
    refused = [each for each in answers if each["result"] not in ("applied", "same")]
    if refused:
        raise RuntimeError(f"the server refused its own release: {refused[0]}")
    return {
        "release": release_id,
        "number": number,
        "released": list(changed),
        "unchanged": [id for id in drafts if id not in changed],
        "left_out": left_out,
        "done": done_before(survey, changed),
        "out": _still_out(survey, left_out),
    }


def _from_memory(changed: Mapping[str, Draft]) -> list[Said]:
    """Every figure from memory that groups released now rest on, each once."""
    return [*{figure_named(each): each for draft in changed.values() for each in draft.plan["from_memory"]}.values()]


def _must_be_seen(remembered: Iterable[Said], seen: Iterable[str]) -> None:
    known = set(seen)
    unseen = [name for each in remembered if (name := figure_named(each)) not in known]
    if unseen:
        raise WrongInput("release-from-memory", number=len(unseen), figures=unseen)


def records_with_releases(session: Session, site_id: str) -> Survey:
    """The records that a plan is made from, with releases and what was done, and whose word each facet is."""
    return Survey(site_records(session, site_id, types=(*PLANNED_FROM, *RELEASE_TYPES), who=True))


def drafts_of(found: SitePlan) -> tuple[dict[str, Draft], list[LeftOut]]:
    """What a release would freeze of each ready group, in the order of the walk, and the groups left out with the reasons."""
    ready = {id: plan for id, plan in found.plans.items() if plan["state"] == "ready"}
    alone = {id for id in ready if (partner := found.inputs.partners.get(id)) is not None and partner not in ready}
    drafts = {id: _draft(found, plan) for id, plan in ready.items() if id not in alone}
    left_out = [short_left_out(found, plan, id in alone) for id, plan in found.plans.items() if id not in drafts]
    return drafts, left_out


def _draft(found: SitePlan, plan: PlanInShort) -> Draft:
    by_id, id = found.survey.by_id, plan["group"]
    group, items = cast("GroupView", by_id[id]), cast("Mapping[str, CatalogueItemView]", by_id)
    card = crew_card(plan, group, cast("KindView", by_id[plan["kind"]]), items)
    inputs, (kind, room) = found.inputs, found.inputs.places[id]
    # Nothing of it is judged here: that was done when it was planned.
    body = Body(group, kind, room, found.survey.site(), {}, inputs.catalogue, inputs.money, inputs.tables)
    return Draft(plan, card, frozen_facts(plan, body, inputs.to_judge[id], items, inputs.partners.get(id)))


def _changed(found: SitePlan, survey: Survey, drafts: Mapping[str, Draft]) -> dict[str, Draft]:
    """Groups to be released anew: with another card, with facts that changed, withdrawn, or not released so far; pairs together."""
    changed = {id for id, draft in drafts.items() if _differs(survey, id, draft)}
    changed |= {partner for id in changed if (partner := found.inputs.partners.get(id)) is not None}
    return {id: draft for id, draft in drafts.items() if id in changed}


def _differs(survey: Survey, group_id: str, draft: Draft) -> bool:
    before = newest_of(survey, cast("GroupView", survey.by_id[group_id]))
    identity = facet(before, "identity")
    if before is None or identity.get("frozen") != draft.card or "facts" not in identity:
        return True
    return standing_of(survey, before, tables())["standing"] != IN_FORCE


def done_before(survey: Survey, groups: Iterable[str]) -> list[DoneBefore]:
    """Fixtures that were noted as done, by group and the release they were done under."""
    found: dict[tuple[str, int], list[int]] = {}
    for id in groups:
        noted = last_words(survey.children(survey.by_id[id], "installation"))
        for position, each in noted.items():
            said = facet(each, "identity")
            if said["outcome"] == "done":
                conversion = cast("ConversionView | None", survey.by_id.get(said.get("conversion", "")))
                found.setdefault((id, number_of(conversion)), []).append(position)
    return [
        {"group": id, "release": number, "positions": sorted(positions)} for (id, number), positions in found.items()
    ]


def _still_out(survey: Survey, left_out: Iterable[LeftOut]) -> list[StillOut]:
    """Groups that were left out and have a conversion that is not withdrawn, with how it stands."""
    found: list[StillOut] = []
    for each in left_out:
        conversion = newest_of(survey, cast("GroupView", survey.by_id[each["group"]]))
        if conversion is not None and (stands := standing_of(survey, conversion, tables()))["standing"] != WITHDRAWN:
            found.append(
                {
                    "group": each["group"],
                    "room_name": each["room_name"],
                    "mark": each["mark"],
                    "standing": stands["standing"],
                    "number": stands["release"],
                    "changes": list(stands["changes"]),
                }
            )
    return found


def short_left_out(found: SitePlan, plan: PlanInShort, is_alone: bool = False) -> LeftOut:
    """A group that is not released, with the reasons; `is_alone`: it is ready, its neighbour on the same ballast is not."""
    told = short(found.survey, plan)
    why: list[Said] = [{"code": "plan.blocked.partner-not-released", "facts": {}}] if is_alone else []
    return {
        "group": told["group"],
        "room": told["room"],
        "room_name": told["room_name"],
        "floor_name": told["floor_name"],
        "mark": told["mark"],
        "fixtures": told["fixtures"],
        "state": told["state"],
        "blockers": [*told["blockers"], *why],
        "instead": told["instead"],
    }


def _release_operation(
    release_id: str, site_id: str, number: int, note: str, changed: Mapping[str, Draft], survey: Survey, head: int
) -> ServerOperation:
    identity: dict[str, object] = {
        "parent": site_id,
        "number": number,
        "made_at": now(),
        "groups": len(changed),
        "fixtures": sum(draft.plan["fixtures"] for draft in changed.values()),
        "head": head,
        "rules_version": RULES_VERSION,
        "items": {id: _item(cast("CatalogueItemView", survey.by_id[id])) for id in _items(changed)},
    }
    version = facet(survey.site(), "catalogue").get("name")
    seen = [figure_named(each) for each in _from_memory(changed)]
    named = (("note", note), ("catalogue", version), ("from_memory_seen", seen))
    identity |= {name: said for name, said in named if said}
    return {"record": release_id, "type": "release", "facet": "identity", "to": identity}


def _items(changed: Mapping[str, Draft]) -> list[str]:
    """Ids of all catalogue items that are fitted."""
    return sorted({part["item"] for draft in changed.values() for part in proposal_of(draft.plan)["parts"]})


def _item(item: CatalogueItemView) -> FrozenItem:
    """An item as it is frozen, with the sequence of what it rests on: its version in the catalogue."""
    return {**frozen_item(item, tables()), "seq": max(item["seqs"].values())}


def _conversion_operation(release_id: str, number: int, draft: Draft) -> ServerOperation:
    identity = {
        "parent": draft.plan["group"],
        "release": release_id,
        "number": number,
        "arrangement": draft.card["arrangement"],
        "summary": draft.summary,
        "frozen": draft.card,
        "facts": draft.facts,
    }
    return {"record": str(uuid4()), "type": "conversion", "facet": "identity", "to": identity}


def _sums_operations(
    release_id: str, found: SitePlan, survey: Survey, changed: Mapping[str, Draft]
) -> list[ServerOperation]:
    """What crews do not read: each group's parts, prices and sums, and what the release as a whole orders."""
    releases = releases_of(survey)
    figures = {id: figures_of(found, draft.plan, draft.summary) for id, draft in changed.items()}
    settings, money = facet(found.survey.site(), "settings"), found.inputs.money
    spare_pct = float(settings.get("spare_pct", 0))
    in_force = after(releases, max((each.number for each in releases), default=0)) | figures
    need = needed(in_force.values(), spare_pct)
    sold = terms_of_items(items_ordered(need, releases), survey)
    basis = basis_of(money)
    job = sums(figures, basis, sold, spare_pct)
    whole: Whole = {
        "order": order_lines(need, releases, sold),
        "spare_pct": spare_pct,
        "currency": money.get("currency", ""),
        "money": cast("Sums", job["sums"]),
        "alone": cast("Sums", job["alone"]),
        "lines": job["lines"],
        "steps": job["steps"],
        "basis": frozen(basis),
        "sold": {id: {"supply": terms.supply, "price": terms.price} for id, terms in sold.items()},
        "prices": {id: _price(survey, id) for id in _items(changed)},
        "floors": list(dict.fromkeys(each["floor_name"] for each in figures.values())),
        "without_order": [each.number for each in releases if not each.whole],
        "from_memory": _from_memory(changed),
        "done": done_before(survey, changed),
        "rules_version": RULES_VERSION,
    }
    parts: list[dict[str, object]] = [{"group": id, "figures": each} for id, each in figures.items()]
    parts.append({"figures": whole})
    return [
        {"record": str(uuid4()), "type": "release_sums", "facet": "identity", "to": {"parent": release_id, **part}}
        for part in parts
    ]


def _price(survey: Survey, item_id: str) -> Price:
    """An item's price with its version: the sequence of the price's record."""
    price = next((each for each in survey.children(survey.by_id[item_id], "price") if facet(each, "identity")), None)
    if price is None:
        return {}
    said = facet(price, "identity")
    found: Price = {"seq": price["seqs"]["identity"]}
    if "each" in said:
        found["each"] = said["each"]
    if "fit_minutes" in said:
        found["fit_minutes"] = said["fit_minutes"]
    return found


def summary(card: CrewCard) -> str:
    """What to fit into one fixture, in a line for label and list.

    >>> summary({"rows": [{"bars": [{"name": "B-4"}], "cavities": 1}] * 2, "driver": {"name": "D", "number": 1, "setting_ma": 700}})
    '2 × B-4, D at 700 mA'
    """
    bars, driver = bars_of(card), card["driver"]
    if driver is None:
        return say("plan.summary.fed", {"bars": bars})
    facts = {"bars": bars, "driver": driver_of(driver), "setting_ma": driver["setting_ma"]}
    return say("plan.summary.driver", facts)


def bars_of(card: CrewCard) -> str:
    """The bars of one fixture in a line.

    >>> bars_of({"rows": [{"bars": [{"name": "B-4"}], "cavities": 1}] * 2})
    '2 × B-4'
    """
    number: dict[str, int] = {}
    for row in card["rows"]:
        for bar in row["bars"]:
            number[bar["name"]] = number.get(bar["name"], 0) + row["cavities"]
    return ", ".join(f"{count} × {name}" for name, count in number.items())


def driver_of(driver: CardDriver) -> str:
    """The drivers of one fixture in a line.

    >>> driver_of({"name": "D-40", "number": 2})
    '2 × D-40'
    """
    several = f"{driver['number']} × " if driver["number"] > 1 else ""
    return several + driver["name"]
