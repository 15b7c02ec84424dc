"""What is asked of a scenario, and what it comes to beside today."""

from __future__ import annotations

from marshmallow import fields, validate

from spanwalk.messages.forms import Amount, ListOf, Message, Number, Text, Whole, identifier

ITEMS_MOST = 5_000
POLICIES = ("keep-a-share-of-todays-light", "meet-the-target-of-the-space")


def _number(about: str, least: float, most: float) -> Number:
    return Number(about, least=least, most=most, required=False, allow_none=True)


class ScenarioIn(Message):
    """Figures that are otherwise than the site has them; what is left out stays."""

    tariff_per_kwh = _number("Energy price [currency per kWh]", 0, 10)
    escalation_pct = _number("Energy price rises a year [%]", -10, 20)
    discount_pct = _number("Discount rate [%]", 0, 30)
    labour_per_h = _number("Labour [currency per hour]", 0, 1000)
    hours_pct = _number("Hours lit a year, of those of today [%]", 10, 300)
    light_policy = Text(
        "one of " + ", ".join(POLICIES), "Light wanted", among=POLICIES, required=False, allow_none=True
    )
    keep_light_pct = _number("Share of today's light to keep [%]", 30, 150)
    budget = Amount("Most that the job may cost before rebates [currency]", required=False, allow_none=True)
    without = ListOf(
        identifier("a catalogue item's id"),
        "a list of catalogue items' ids",
        "Items that cannot be had",
        validate=validate.Length(max=ITEMS_MOST),
        required=False,
        allow_none=True,
    )


class ScenarioOut(Message):
    """A scenario beside today."""

    head = Whole("a sequence", "What was planned from")
    currency = Text("a currency", "Empty where nobody said")
    today = fields.Dict(required=True, metadata={"description": "What the plan comes to today"})
    then = fields.Dict(required=True, metadata={"description": "The same in the scenario"})
    changed = Whole("a count", "Groups that become something else")
    over_budget = fields.Boolean(
        required=True, metadata={"description": "Whether it costs more than the budget all the same"}
    )
    edits = ListOf(fields.Dict(), "edits", "What applying it writes: record, type, facet, value")
    decided = ListOf(fields.Dict(), "decisions", "What applying it decides, so that the budget holds")
