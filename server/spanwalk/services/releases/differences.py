"""What differs between two releases, or between a release and today: by group, by item to order, in money."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypedDict, cast

from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.ordering import ordering
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.since_release.seen import Change
from spanwalk.rules.since_release.standing import newest_of, standing_of
from spanwalk.rules.survey import Survey, facet, floor_order, walk_order
from spanwalk.services.planning.job_sums import SUMMED, JobBasis, basis_of
from spanwalk.services.planning.plan_answers import Quantity
from spanwalk.services.planning.plans import SitePlan, site_plan
from spanwalk.services.planning.totals import terms_of_items
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.releasing import drafts_of, records_with_releases
from spanwalk.services.releases.sums import (
    Figures,
    Released,
    after,
    basis_frozen,
    figures_of,
    needed,
    releases_of,
    sold_frozen,
    sums,
)
from spanwalk.words import say

TODAY = "today"
NOTHING: Figures = {}
COMPARED = ("fixtures", "summary", "arrangement", "gone", "setting_ma")
"""What of a group's figures is told when it differs, beside money."""


FieldDifference = TypedDict("FieldDifference", {"name": str, "from": object, "to": object})
"""A figure of a group that is otherwise."""
ItemDifference = TypedDict("ItemDifference", {"item": str, "code": str, "from": int, "to": int, "more": int})
"""An item of which another number is to be ordered."""
SumDifference = TypedDict(
    "SumDifference", {"name": str, "from": float | None, "to": float | None, "more": float | None}
)
"""A sum of money on both sides; None where a group lacks it."""


class GroupDifference(TypedDict):
    """A group that is otherwise in one of the two: `what` is `added`, `gone` or `changed`; `fields` tell what, from what to what."""

    group: str
    floor_name: str
    room_name: str
    mark: str
    what: str
    fields: list[FieldDifference]
    cost_from: float | None
    cost_to: float | None
    standing: str | None
    changes: list[Change]


class Side(TypedDict):
    """One of the two that are compared: `number` is None for today; `missing` are releases without frozen sums."""

    name: str
    number: int | None
    made_at: str
    groups: int
    fixtures: int
    missing: list[int]


Differences = TypedDict(
    "Differences",
    {
        "from": Side,
        "to": Side,
        "currency": str,
        "groups": list[GroupDifference],
        "same": int,
        "items": list[ItemDifference],
        "money": list[SumDifference],
    },
)
"""What differs between two sides: see `differences`."""


def differences(session: Session, site_id: str, one: str, other: str) -> Differences:
    """What differs between what is in force after two releases, or today.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    one, other : str
        Numbers of releases; `other` may be `today`: the plan as it is now.

    Returns
    -------
    dict
        ``{"from": Side, "to": Side, "currency", "groups": [GroupDifference], "same": number of groups, "items": [{"code",
        "from", "to", "more"}], "money": [{"name", "from", "to", "more"}]}``; a sum is None where a group lacks it.

    Raises
    ------
    NotThere
        There is no release of that number.
    """
    found, survey = site_plan(session, site_id), records_with_releases(session, site_id)
    releases = releases_of(survey)
    sides = [_state(found, releases, name) for name in (one, other)]
    (before, from_side), (now, to_side) = sides
    spare_pct = float(facet(found.survey.site(), "settings").get("spare_pct", 0))
    told = [
        each
        for each in (_group(survey, id, before.get(id), now.get(id)) for id in {**before, **now})
        if each is not None
    ]
    told.sort(key=lambda each: _walk(survey, each["group"]))
    return {
        "from": from_side,
        "to": to_side,
        "currency": found.inputs.money.get("currency", ""),
        "groups": told,
        "same": len({**before, **now}) - len(told),
        "items": _items(needed(before.values(), spare_pct), needed(now.values(), spare_pct)),
        "money": _money(found, releases, (one, before), (other, now)),
    }


def _state(found: SitePlan, releases: Sequence[Released], name: str) -> tuple[dict[str, Figures], Side]:
    """Figures by group after a release, or of today's ready groups."""
    if name == TODAY:
        figures: dict[str, Figures] = {
            id: figures_of(found, draft.plan, draft.summary) for id, draft in drafts_of(found)[0].items()
        }
        return figures, _side(say("differences.today"), None, "", figures, [])
    release = next((each for each in releases if str(each.number) == name), None)
    if release is None:
        raise NotThere("release-unknown", value=name)
    figures = after(releases, release.number)
    missing = [
        each.number for each in releases if each.number <= release.number and not each.whole and not each.is_withdrawn
    ]
    return figures, _side(
        say("differences.release", {"number": release.number}),
        release.number,
        str(facet(release.record, "identity").get("made_at", "")),
        figures,
        missing,
    )


def _side(name: str, number: int | None, made_at: str, figures: Mapping[str, Figures], missing: list[int]) -> Side:
    fixtures = sum(int(each.get("fixtures", 0)) for each in figures.values())
    return {
        "name": name,
        "number": number,
        "made_at": made_at,
        "groups": len(figures),
        "fixtures": fixtures,
        "missing": missing,
    }


def _group(survey: Survey, group_id: str, before: Figures | None, now: Figures | None) -> GroupDifference | None:
    either: Figures = now or before or {}
    fields = (
        []
        if before is None or now is None
        else [each for each in (_field(name, before.get(name), now.get(name)) for name in COMPARED) if each]
    )
    costs = [None if each is None else (each.get("money") or {}).get("cost") for each in (before, now)]
    if before is not None and now is not None and not fields and costs[0] == costs[1]:
        return None
    group = cast("GroupView | None", survey.by_id.get(group_id))
    conversion = newest_of(survey, group) if group is not None else None
    stands = standing_of(survey, conversion, tables()) if conversion is not None else None
    return {
        "group": group_id,
        "floor_name": either.get("floor_name", ""),
        "room_name": either.get("room_name", ""),
        "mark": either.get("mark", ""),
        "what": "added" if before is None else "gone" if now is None else "changed",
        "fields": fields
        or [{"name": "summary", "from": (before or NOTHING).get("summary"), "to": (now or NOTHING).get("summary")}],
        "cost_from": costs[0],
        "cost_to": costs[1],
        "standing": stands["standing"] if stands else None,
        "changes": list(stands["changes"]) if stands else [],
    }


def _field(name: str, before: object, now: object) -> FieldDifference | None:
    return None if before == now else {"name": name, "from": before, "to": now}


def _walk(survey: Survey, group_id: str) -> tuple[int, int, str]:
    group = cast("GroupView | None", survey.by_id.get(group_id))
    room = survey.room_of(group) if group is not None else None
    return (floor_order(survey.floor_of(room) if room else None), walk_order(room), group_id)


def _items(before: Sequence[Quantity], now: Sequence[Quantity]) -> list[ItemDifference]:
    """Items of which another number is to be ordered, spares with them, by code."""
    numbers = [{each["item"]: each for each in side} for side in (before, now)]
    codes = {item: each["code"] for side in numbers for item, each in side.items()}
    found: list[ItemDifference] = []
    for item, code in sorted(codes.items(), key=lambda each: (each[1], each[0])):
        one, other = (side[item]["order"] if item in side else 0 for side in numbers)
        if one != other:
            found.append({"item": item, "code": code, "from": one, "to": other, "more": other - one})
    return found


def _money(
    found: SitePlan,
    releases: Sequence[Released],
    one: tuple[str, dict[str, Figures]],
    other: tuple[str, dict[str, Figures]],
) -> list[SumDifference]:
    """Sums of both sides as one job each, by the limits, packs and prices that were known then."""
    spare_pct = float(facet(found.survey.site(), "settings").get("spare_pct", 0))
    before, now = (
        sums(figures, _basis(found, releases, name), _sold(found, releases, name, figures), spare_pct)["sums"]
        for name, figures in (one, other)
    )
    told: Sequence[Mapping[str, float | None]] = [cast("Mapping[str, float | None]", each) for each in (before, now)]
    return [_sum(name, told[0][name], told[1][name]) for name in SUMMED]


def _basis(found: SitePlan, releases: Sequence[Released], name: str) -> JobBasis:
    """What holds for the job today, or held at a release."""
    if name == TODAY:
        return basis_of(found.inputs.money)
    return basis_frozen(next(each for each in releases if str(each.number) == name))


def _sold(
    found: SitePlan, releases: Sequence[Released], name: str, figures: Mapping[str, Figures]
) -> Mapping[str, ordering.Terms]:
    """How items were sold: today, or at the release and those before it, the newest first."""
    if name == TODAY:
        return terms_of_items([each["item"] for each in needed(figures.values(), 0)], found.survey)
    return sold_frozen(releases, int(name))


def _sum(name: str, before: float | None, now: float | None) -> SumDifference:
    more = None if before is None or now is None else round(now - before, 2)
    return {"name": name, "from": before, "to": now, "more": more}
