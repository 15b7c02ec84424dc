"""A crew's card made from a body, as a release makes it from a site."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.card.crew_card import crew_card

Json = Any


def card_of(body: Body, plan: Mapping[str, Json]) -> dict[str, Json]:
    """The card of a plan in short."""
    return crew_card(plan, body.group, body.kind, body.catalogue.by_id)


def at(told: list[dict[str, Json]], position: int) -> list[dict[str, Json]]:
    """What of a card is for one fixture."""
    return [each for each in told if position in each.get("positions", [position])]


def steps_at(card: Mapping[str, Json], position: int) -> list[str]:
    """Names of the steps of one fixture, in order."""
    return [step["code"].removeprefix("plan.step.") for step in at(card["steps"], position)]
