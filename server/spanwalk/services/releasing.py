"""A release: the plan frozen for crews, as records that travel in the same pull as everything else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.crew_card import crew_card
from spanwalk.rules.judging import RULES_VERSION
from spanwalk.rules.survey import Record, Survey, facet, newest_conversions
from spanwalk.services.clock import now
from spanwalk.services.planning import SitePlan, short, site_plan
from spanwalk.services.pushing import lock_site, server_push
from spanwalk.services.refusals import InTheWay
from spanwalk.services.state import site_records
from spanwalk.words import say

Json = Any


def release(session: Session, site_id: str, by: str, note: str = "") -> dict[str, Json]:
    """Freeze the proposal of each ready group whose conversion has changed since the last release.

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

    Returns
    -------
    dict
        ``{"release", "number", "released": [group ids], "unchanged": [group ids], "left_out": [short plans with
        blockers]}``.

    Raises
    ------
    InTheWay
        Not one group is ready and changed; its facts say how many are left out and why most are.
    """
    lock_site(session, site_id)
    found = site_plan(session, site_id)
    released = Survey(site_records(session, site_id, types=("release", "conversion")))
    before = newest_conversions(released)
    ready = {id: plan for id, plan in found.plans.items() if plan["state"] == "ready"}
    cards = {id: _card(found, plan) for id, plan in ready.items()}
    changed = {id: card for id, card in cards.items() if _frozen(before.get(id)) != card}
    left_out = [short_left_out(found, plan) for id, plan in found.plans.items() if id not in ready]
    if not changed:
        raise InTheWay("release-nothing-ready", ready=len(ready), left_out=len(left_out))
    number = 1 + max((facet(each, "identity").get("number", 0) for each in released.of_type("release")), default=0)
    release_id = str(uuid4())
    operations = [_release_operation(release_id, site_id, number, note, changed, ready, found.head)]
    operations += [_conversion_operation(release_id, number, ready[id], card) for id, card in changed.items()]
    answers = server_push(session, site_id, operations, by=by)
    refused = [each for each in answers if each["result"] not in ("applied", "same")]
    if refused:
        raise RuntimeError(f"the server refused its own release: {refused[0]}")
    unchanged = [id for id in ready if id not in changed]
    return {"release": release_id, "number": number, "released": list(changed), "unchanged": unchanged, "left_out": left_out}


def short_left_out(found: SitePlan, plan: Mapping[str, Json]) -> dict[str, Json]:
    """A group that is not released, with the reasons."""
    return {name: value for name, value in short(found.survey, plan).items() if name in LEFT_OUT_TELLS}


LEFT_OUT_TELLS = ("group", "room", "room_name", "floor_name", "mark", "fixtures", "state", "blockers", "instead")


def _frozen(conversion: Record | None) -> Json:
    return facet(conversion, "identity").get("frozen")


def _card(found: SitePlan, plan: Mapping[str, Json]) -> dict[str, Json]:
    by_id = found.survey.by_id
    return crew_card(plan, by_id[plan["group"]], by_id[plan["kind"]], by_id)


def _release_operation(
    release_id: str,
    site_id: str,
    number: int,
    note: str,
    changed: Mapping[str, Json],
    ready: Mapping[str, Mapping[str, Json]],
    head: int,
) -> dict[str, Json]:
    identity: dict[str, Json] = {
        "parent": site_id,
        "number": number,
        "made_at": now(),
        "groups": len(changed),
        "fixtures": sum(ready[id]["fixtures"] for id in changed),
        "head": head,
        "rules_version": RULES_VERSION,
    }
    if note:
        identity["note"] = note
    return {"record": release_id, "type": "release", "facet": "identity", "to": identity}


def _conversion_operation(
    release_id: str, number: int, plan: Mapping[str, Json], card: Mapping[str, Json]
) -> dict[str, Json]:
    identity = {
        "parent": plan["group"],
        "release": release_id,
        "number": number,
        "arrangement": card["arrangement"],
        "summary": summary(card),
        "frozen": card,
    }
    return {"record": str(uuid4()), "type": "conversion", "facet": "identity", "to": identity}


def summary(card: Mapping[str, Json]) -> str:
    """What to fit into one fixture, in a line for label and list.

    >>> summary({"rows": [{"bars": [{"name": "B-4"}], "cavities": 1}] * 2, "driver": {"name": "D", "number": 1, "setting_ma": 700}})
    '2 × B-4, D at 700 mA'
    """
    number: dict[str, int] = {}
    for row in card["rows"]:
        for bar in row["bars"]:
            number[bar["name"]] = number.get(bar["name"], 0) + row["cavities"]
    bars = ", ".join(f"{count} × {name}" for name, count in number.items())
    driver = card["driver"]
    if driver is None:
        return say("plan.summary.fed", {"bars": bars})
    several = f"{driver['number']} × " if driver["number"] > 1 else ""
    return say("plan.summary.driver", {"bars": bars, "driver": several + driver["name"], "setting_ma": driver["setting_ma"]})
