"""What a scenario sets otherwise than the site has it; what is not said stays as it is."""

from __future__ import annotations

from typing import TypedDict

NAME_LETTERS_MOST = 80


class ScenarioAsked(TypedDict, total=False):
    """Figures of a scenario.

    Parameters
    ----------
    tariff_per_kwh : float
        Energy price [currency per kWh].
    escalation_pct, discount_pct : float
        Energy price rises a year; discount rate [%].
    labour_per_h : float
        Labour [currency per hour].
    hours_pct : float
        Hours lit a year, of those that the site has [%].
    light_policy : str
        Light wanted, as the site's settings have it.
    keep_light_pct : float
        Share of today's light to keep [%].
    budget : float
        Most that the job may cost before rebates [currency]; groups are then left for later.
    without : list of str
        Items that cannot be had, by id.
    """

    tariff_per_kwh: float | None
    escalation_pct: float | None
    discount_pct: float | None
    labour_per_h: float | None
    hours_pct: float | None
    light_policy: str | None
    keep_light_pct: float | None
    budget: float | None
    without: list[str] | None


OF_MONEY = ("tariff_per_kwh", "escalation_pct", "discount_pct", "labour_per_h")
OF_SETTINGS = ("light_policy", "keep_light_pct")
FIELDS = (*OF_MONEY, "hours_pct", *OF_SETTINGS, "budget", "without")
