"""What several groups come to together: items to order, money, energy, waste."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple, cast

from spanwalk.rules.arrangements.choosing.economics import terms_of
from spanwalk.rules.arrangements.choosing.looks import looks_of_mixed_rooms, mixed_looks
from spanwalk.rules.arrangements.plan_types import Misfits, proposal_of
from spanwalk.rules.fit.spares import enough_spares, for_breakage
from spanwalk.rules.money import money
from spanwalk.rules.money.job_money import Share
from spanwalk.rules.money.life_cycle import kept_of
from spanwalk.rules.ordering import ordering
from spanwalk.rules.points.found import RoomFacts
from spanwalk.rules.record_types import RoomView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.said import Said
from spanwalk.rules.survey import Survey, facet, name_of_room
from spanwalk.services.planning.job_sums import JobSums, OfGroup, basis_of, job_sums, together
from spanwalk.services.planning.plan_answers import (
    MisfitSums,
    Needs,
    Quantity,
    QuantityBought,
    Totals,
    WasteSums,
)
from spanwalk.services.planning.plans import Plan, SitePlan


class JobOfSite(NamedTuple):
    """What several groups come to together, and each group's part of cost and rebate."""

    totals: Totals
    shares: Mapping[str, Share]


def totals(found: SitePlan, states: tuple[str, ...] = ("ready",)) -> Totals:
    """What groups come to together: see `job_of_site`."""
    return job_of_site(found, states).totals


def job_of_site(found: SitePlan, states: tuple[str, ...] = ("ready",)) -> JobOfSite:
    """What the ready groups come to together: quantities with spares, energy, money and waste.

    Sums are left out (None) as soon as one group lacks the figure, so that no total hides a gap. The groups are one
    job: platform days, limits of a rebate, the meter's ratchet, spares and whole packs are reckoned once (`rules.money.job_money`).
    Spares are the site's percentage of each item, rounded up, and shorter bars for misfits. What is ordered is rounded up
    to whole packs; `order_sum` is at the prices of that many, None as soon as one item has no price.
    """
    if states not in found.told:
        found.told[states] = _job_of_site(found, states)
    return cast("JobOfSite", found.told[states])


def _job_of_site(found: SitePlan, states: tuple[str, ...]) -> JobOfSite:
    plans = [plan for plan in found.plans.values() if plan["state"] in states]
    settings = facet(found.survey.site(), "settings")
    proposals = [proposal_of(plan) for plan in plans]
    needs: list[Needs] = [{"proposal": proposal_of(plan), "misfits": plan.get("misfits")} for plan in plans]
    ordered = with_packs(quantities(needs, float(settings.get("spare_pct", 0))), found.survey)
    order_sum = together(each["sum"] for each in ordered)
    job = job_of(found, plans, order_sum)
    told: Totals = {
        "groups": len(plans),
        "fixtures": sum(plan["fixtures"] for plan in plans),
        "quantities": ordered,
        "order_sum": order_sum,
        "without_shorter": without_shorter(needs),
        "energy": {
            "kwh_now": together(each["energy"]["kwh_now"] for each in proposals),
            "kwh_then": together(each["energy"]["kwh_then"] for each in proposals),
            "kw_saved": together(each["energy"]["kw_saved"] for each in proposals),
            "emission_saved_kg": together(each["energy"]["emission_saved_kg"] for each in proposals),
            "kwh_saved": together(each["energy"].get("kwh_saved") for each in proposals),
            "heating_kwh": together(each["energy"].get("heating_kwh") for each in proposals),
        },
        "money": {
            **job["sums"],
            "sensitivity": _sensitivity(job, found.inputs.money),
            "life": job["life"],
            "alone": job["alone"],
            "steps": job["steps"],
            "days_alone": job["days_alone"],
            "days": job["days"],
        },
        "minutes": together(each["minutes"] for each in proposals),
        "waste": waste_in_all(plans),
        "site_values": [*{str(each): each for plan in plans for each in plan["site_values"]}.values()],
        "mixed_looks": _mixed_looks(found, plans),
        "from_memory": [*{str(each): each for plan in plans for each in plan["from_memory"]}.values()],
    }
    return JobOfSite(told, job["shares"])


def rooms_of_mixed_looks(found: SitePlan, states: tuple[str, ...] = ("ready",)) -> list[RoomFacts]:
    """Rooms of a site in which bars of more than one look are proposed, with the looks; as open points tell them."""
    plans = [each for each in found.plans.values() if each["state"] in states]
    mixed = looks_of_mixed_rooms(plans, found.inputs.catalogue.by_id)
    return [{"room": room, "facts": {"looks": looks}} for room, looks in mixed.items()]


def _mixed_looks(found: SitePlan, plans: Iterable[Plan]) -> list[Said]:
    """Rooms of a site in which bars of more than one look are proposed."""
    rooms = {each["id"]: name_of_room(each) for each in found.survey.of_type("room")}
    return mixed_looks(plans, found.inputs.catalogue.by_id, rooms)


def job_of(found: SitePlan, plans: Sequence[Plan], goods_bought: float | None) -> JobSums:
    """Money of several plans done as one job; one platform serves a floor."""
    survey = found.survey
    groups = {
        plan["group"]: OfGroup(
            route_of(survey, cast("RoomView", survey.by_id[plan["room"]])),
            cast("Mapping[str, float | None]", proposal_of(plan)["money"]),
            proposal_of(plan)["money"].get("job"),
            proposal_of(plan)["money"].get("life"),
        )
        for plan in plans
    }
    return job_sums(groups, basis_of(found.inputs.money), goods_bought)


def route_of(survey: Survey, room: RoomView) -> str:
    """What one platform serves without being brought again: the room's floor; the room itself where it stands on none."""
    floor = survey.floor_of(room)
    return room["id"] if floor is None else floor["id"]


def _sensitivity(job: JobSums, terms_from: Facet) -> money.Sensitivity | None:
    """What the sums together hang on, as `money.sensitivity` has it; None where one of them is missing."""
    sums, life = job["sums"], job["life"]
    needed = [sums["cost"], sums["rebate"], sums["saving_energy_year"], sums["saving_year"], sums["first_year_short"]]
    terms, _ = terms_of(terms_from)
    if terms is None or any(each is None for each in needed):
        return None
    cost, rebate, energy, saving, short = (each or 0.0 for each in needed)
    kept = money.NOTHING_KEPT if life is None else kept_of(life["terms"])
    return money.sensitivity(cost, rebate, energy, saving - energy - kept.saved_year, terms, short, kept)


def quantities(plans: Iterable[Needs], spare_pct: float) -> list[Quantity]:
    """Items to order, by code: number fitted, spare for breakage (rounded up), for misfits, and together.

    Bars for misfits are of the next shorter row, enough at 95 % for all groups that would take the same
    (`spares.enough_spares`); `why` says for how many cavities that is, null where there are none.

    >>> quantities([{"proposal": {"parts": [{"item": "b", "code": "B", "count": 40}]}}], 3)
    [{'item': 'b', 'code': 'B', 'fitted': 40, 'spare': 2, 'for_misfits': 0, 'order': 42, 'why': None}]
    """
    plans = list(plans)
    fitted: dict[str, tuple[str, int]] = {}
    for plan in plans:
        for part in plan["proposal"]["parts"]:
            fitted[part["item"]] = (part["code"], fitted.get(part["item"], ("", 0))[1] + part["count"])
    ready = _ready_for_misfits(plans)
    for item, (code, _, _) in ready.items():
        fitted.setdefault(item, (code, 0))
    found: list[Quantity] = []
    for item, (code, number) in sorted(fitted.items(), key=lambda each: each[1]):
        spare = for_breakage(number, spare_pct)
        _, for_misfits, why = ready.get(item, (code, 0, None))
        found.append(
            {
                "item": item,
                "code": code,
                "fitted": number,
                "spare": spare,
                "for_misfits": for_misfits,
                "order": number + spare + for_misfits,
                "why": why,
            }
        )
    return found


def terms_of_items(items: Iterable[str], survey: Survey) -> dict[str, ordering.Terms]:
    """Item id -> in which packs, at which prices and how soon it is sold; of an item that is gone, nothing."""
    found: dict[str, ordering.Terms] = {}
    for item in items:
        record = survey.by_id.get(item)
        prices = [] if record is None else survey.children(record, "price")
        price: Facet = next((said for each in prices if (said := facet(each, "identity"))), {})
        found[item] = ordering.Terms(facet(record, "supply"), price)
    return found


def with_packs(needed: Sequence[Quantity], survey: Survey) -> list[QuantityBought]:
    """Items to order with what has to be bought for each: whole packs at the price of that many."""
    terms: Mapping[str, ordering.Terms] = terms_of_items([each["item"] for each in needed], survey)
    return [{**each, **ordering.bought(each["order"], terms[each["item"]])} for each in needed]


def _ready_for_misfits(plans: Iterable[Needs]) -> dict[str, tuple[str, int, Said]]:
    """Item id -> code, bars that lie ready for misfits, and why, for those that need any."""
    groups: dict[tuple[str, str, int], list[Misfits]] = {}
    for misfits in _misfits(plans):
        for each in misfits["spare"]:
            groups.setdefault((each["item"], each["code"], each["count"]), []).append(misfits)
    found: dict[str, tuple[str, int, Said]] = {}
    for (item, code, count), theirs in sorted(groups.items()):
        facts = _misfits_together(theirs)
        bars = count * (enough_spares(facts["expected"]) + facts["accepted"] + facts["aside"])
        if bars:
            before = found[item][1] if item in found else 0
            found[item] = (code, before + bars, {"code": "plan.spares.misfits", "facts": facts})
    return found


def _misfits(plans: Iterable[Needs]) -> list[Misfits]:
    return [misfits for plan in plans if (misfits := plan.get("misfits"))]


def _misfits_together(theirs: Sequence[Misfits]) -> MisfitSums:
    return {
        "cavities": sum(each["cavities"] for each in theirs),
        "expected": round(sum(each["expected"] for each in theirs), 2),
        "accepted": sum(each["accepted"] for each in theirs),
        "aside": sum(each["aside"] for each in theirs),
    }


def without_shorter(plans: Iterable[Needs]) -> Said | None:
    """Misfits for which the catalogue has no shorter row of bars, as a code and facts; None where none is to be ready for."""
    theirs = [each for each in _misfits(plans) if not each["spare"]]
    facts = _misfits_together(theirs)
    number = enough_spares(facts["expected"]) + facts["accepted"] + facts["aside"]
    return {"code": "plan.spares.none-shorter", "facts": {**facts, "number": number}} if number else None


def waste_in_all(plans: Iterable[Plan]) -> WasteSums:
    """Lamps by length, ballasts by suspicion and batteries by what is in them, counted over groups; ballasts that nobody counted apart."""
    lamps: dict[str, int] = {}
    ballasts = {"suspect": 0, "not suspect": 0, "not known": 0}
    batteries: dict[str, int] = {}
    classes: dict[str, int] = {}
    assumed = starters = 0
    for waste in (plan["waste"] for plan in plans):
        lamps[waste["lamp"]] = lamps.get(waste["lamp"], 0) + waste["lamps"]
        classes[waste["lamp_class"]] = classes.get(waste["lamp_class"], 0) + waste["lamps"]
        starters += waste["starters"]
        ballasts[waste["suspicion"]] += waste["ballasts"]
        if waste["batteries"]:
            batteries[waste["battery"]] = batteries.get(waste["battery"], 0) + waste["batteries"]
        assumed += waste["ballasts"] if waste["count_assumed"] else 0
    return {
        "lamps": dict(sorted(lamps.items())),
        "ballasts": ballasts,
        "ballasts_assumed": assumed,
        "batteries": dict(sorted(batteries.items())),
        "lamp_classes": dict(sorted(classes.items())),
        "starters": starters,
    }
