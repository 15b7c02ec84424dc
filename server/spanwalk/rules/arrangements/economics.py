"""What a candidate costs and saves for the whole group."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import cast

from spanwalk.rules import energy, money
from spanwalk.rules.arrangements import layout as layouts
from spanwalk.rules.arrangements import wiring_parts
from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import Candidate
from spanwalk.rules.arrangements.now import Now
from spanwalk.rules.arrangements.plan_types import Part
from spanwalk.rules.driver import NOT_SEEN
from spanwalk.rules.job_money import JobTerms
from spanwalk.rules.record_view import Facet


@dataclass(frozen=True)
class Worth:
    """What a candidate costs and saves. None where a price, hours or a tariff is missing, which `missing` names."""

    kwh_now: float | None
    kwh_then: float | None
    kw_saved: float | None
    parts: tuple[Part, ...]
    minutes: float
    cost: float | None
    rebate: float | None
    result: money.Result | None
    saving_energy_year: float | None
    terms: money.Terms | None
    emission_saved_kg: float | None
    missing: tuple[str, ...]
    job: JobTerms | None = None


class Worths:
    """What the candidates of one group are worth; what is the same for all of them is worked out once.

    Cost: bars, drivers, clips, accessories and wiring parts at their prices, minutes to fit at the price of labour, whole
    days of an access platform where the room needs one, disposal of lamps and ballasts. Bill: energy of
    the hours, less what controls save, and demand times coincidence. A control that is there stays
    unless another is wanted.

    Parameters
    ----------
    body : Body
        The group.
    current : Now
        As it is.
    """

    def __init__(self, body: Body, current: Now) -> None:
        set_ = body.money
        self._body, self._current = body, current
        self._savings = control_savings(body)
        self._terms, self._no_terms = terms_of(body.money)
        self._clips = body.catalogue.accessory("screw-clips") if layouts.needs_clips(body) else None
        self._sensor = sensor_wanted(body)
        self._platform = body.of_room("ceiling").get("access") == "platform"
        self._lamps = body.fixtures * body.lamps_each * float(set_.get("lamp_waste_each", 0))
        self._ballasts = body.fixtures * current.ballasts_each * float(set_.get("ballast_waste_each", 0))
        self._peak_share = _peak_share(body)
        self._peak = energy.demand_year(1.0, float(set_.get("demand_per_kw_month", 0))) * self._peak_share
        self._factor = 1 + float(set_["interactive_pct"]) / 100 if "interactive_pct" in set_ else None
        self._ratchet = float(set_["ratchet_pct"]) / 100 if "ratchet_pct" in set_ else None

    def of(self, candidate: Candidate) -> Worth:
        """Energy, cost and life-cycle cost of a candidate for the whole group."""
        body, current, terms = self._body, self._current, self._terms
        parts, minutes, unpriced = self._parts(candidate)
        kwh_now, kwh_then, kw_saved, missing = self._energy(candidate)
        missing = [*unpriced, *missing, *self._no_terms]
        if missing or terms is None or kwh_now is None or kwh_then is None or kw_saved is None or current.watts is None:
            cost = None if unpriced or "labour_per_h" not in body.money else self._cost(parts, minutes)
            return Worth(
                kwh_now,
                kwh_then,
                kw_saved,
                tuple(parts),
                minutes,
                cost,
                None,
                None,
                None,
                None,
                None,
                tuple(dict.fromkeys(missing)),
            )
        cost = self._cost(parts, minutes)
        asked = _rebate_asked(body, kw_saved)
        back = _rebate(body, cost, asked)
        price = float(body.money["tariff_per_kwh"])
        bill_now = kwh_now * price + current.watts / 1000 * self._peak
        saved_energy = energy.interactive_kwh(kwh_now - kwh_then, self._factor) * price
        saved = saved_energy + kw_saved * self._peak
        short = energy.demand_lost_to_ratchet(kw_saved, self._peak / energy.MONTHS, self._ratchet, current.watts / 1000)
        result = money.reckon(cost, back, bill_now, bill_now - saved, terms, short)
        emission = body.money.get("emission_kg_per_kwh")
        saved_kg = None if emission is None else energy.emission_kg(kwh_now - kwh_then, float(emission))
        return Worth(
            kwh_now,
            kwh_then,
            kw_saved,
            tuple(parts),
            minutes,
            cost,
            back,
            result,
            saved_energy,
            terms,
            saved_kg,
            (),
            self._for_the_job(parts, minutes, asked, current.watts / 1000, kw_saved),
        )

    def _for_the_job(self, parts: list[Part], minutes: float, asked: float, kw_now: float, kw_saved: float) -> JobTerms:
        """What is reckoned again when the group is done together with others."""
        set_ = self._body.money
        return {
            "goods": round(_goods(parts), 2),
            "hire_minutes": minutes if self._platform else 0.0,
            "hire_per_day": float(set_.get("lift_per_day", 0)),
            "rebate_asked": round(asked, 2),
            "peak_kw": kw_now * self._peak_share,
            "peak_saved_kw": kw_saved * self._peak_share,
            "demand_kw_month": float(set_.get("demand_per_kw_month", 0)),
        }

    def _parts(self, candidate: Candidate) -> tuple[list[Part], float, list[str]]:
        """What is bought for the group: items with number, price and minutes; and the codes without a price."""
        number: dict[str, int] = {}
        fixtures, catalogue = self._body.fixtures, self._body.catalogue
        for bar in candidate.own_bars:
            number[bar["id"]] = number.get(bar["id"], 0) + fixtures
        if candidate.drivers:
            number[candidate.driver["id"]] = candidate.drivers * fixtures
        if self._clips is not None:
            number[self._clips["id"]] = len(candidate.own_bars) * fixtures
        if candidate.packed is not None and self._body.emergency_fixtures:
            number[candidate.packed.pack["id"]] = self._body.emergency_fixtures
        sensor = catalogue.accessory(self._sensor) if self._sensor else None
        if sensor is not None:
            number[sensor["id"]] = fixtures
        number |= wiring_parts.of_group(self._body, candidate.wiring.drivers if candidate.drivers else ())
        parts: list[Part] = []
        minutes, unpriced = 0.0, []
        for item_id, count in number.items():
            code, price = code_of(catalogue.by_id[item_id]), catalogue.prices.get(item_id)
            each = None if price is None else price["each"]
            minutes += float((price or {}).get("fit_minutes", 0)) * count
            parts.append({"item": item_id, "code": code, "count": count, "each": each})
            if each is None:
                unpriced.append(f"price of {code}")
        return parts, minutes, unpriced

    def _cost(self, parts: list[Part], minutes: float) -> float:
        set_ = self._body.money
        labour = minutes / 60 * float(set_["labour_per_h"])
        hire = money.hire_days(minutes) * float(set_.get("lift_per_day", 0)) if self._platform else 0.0
        return _goods(parts) + labour + hire + self._lamps + self._ballasts

    def _energy(self, candidate: Candidate) -> tuple[float | None, float | None, float | None, list[str]]:
        """kWh now and then, kW saved (connected load), and what is missing for them."""
        body, now_w = self._body, self._current.watts
        if now_w is None:
            return None, None, None, ["watts today"]
        then_w = candidate.watts_each * body.fixtures
        saved_kw = (now_w - then_w) / 1000
        if body.hours_year is None:
            return None, None, saved_kw, ["hours"]
        before, after = self._savings
        kwh_now = energy.energy_kwh_year(now_w, body.hours_year, before)
        return kwh_now, energy.energy_kwh_year(then_w, body.hours_year, after), saved_kw, []


UNCOUNTED = {
    "demand_per_kw_month": "demand price",
    "lamp_waste_each": "disposal of lamps",
    "ballast_waste_each": "disposal of ballasts",
}
"""Prices that count as nothing where nobody entered them, and are said to."""


def uncounted(body: Body, parts: Iterable[Part]) -> list[str]:
    """What is left out of the money of a plan, for want of a price or of minutes.

    Parameters
    ----------
    body : Body
        The group.
    parts : iterable of mapping
        Items that are bought for it, each with `item` and `code`.
    """
    found = [words for name, words in UNCOUNTED.items() if name not in body.money]
    access = body.of_room("ceiling").get("access", NOT_SEEN)
    if access == NOT_SEEN or (access == "platform" and "lift_per_day" not in body.money):
        found.append("access platform")
    return found + [
        f"minutes to fit {part['code']}"
        for part in parts
        if "fit_minutes" not in body.catalogue.prices.get(part["item"], {})
    ]


def sensor_wanted(body: Body) -> str | None:
    """The sensor that the group's duty asks for, one for each fixture; None where it asks for none."""
    return {"occupancy": "occupancy-sensor", "daylight": "daylight-sensor"}.get(body.place.control_wanted)


def _goods(parts: Iterable[Part]) -> float:
    """Items at the price of one."""
    return float(sum(part["count"] * cast("float", part["each"]) for part in parts))


def _rebate_asked(body: Body, kw_saved: float) -> float:
    """Rebate before any limit."""
    set_ = body.money
    dark_fixtures = body.dark_lamps // body.lamps_each if body.lamps_each else 0
    each, per_kw = float(set_.get("rebate_per_fixture", 0)), float(set_.get("rebate_per_kw", 0))
    return money.rebate(0.0, body.fixtures - dark_fixtures, kw_saved, each, per_kw, None)


def _rebate(body: Body, cost: float, asked: float) -> float:
    """Rebate of a group alone, held to both limits."""
    set_ = body.money
    cap = set_.get("rebate_cap_pct")
    found = asked if cap is None else min(asked, float(cap) / 100 * cost)
    most = set_.get("rebate_cap_application")
    return found if most is None else money.rebate_of_application(found, float(most))


def control_savings(body: Body) -> tuple[float, float]:
    """Shares of energy that controls save now and then. One that is there stays unless another is wanted.

    'Not seen' counts as a switch: nothing is credited that nobody saw.
    """
    shares = {row["control"]: float(row["saving_share"]) for row in body.tables["controls"]["rows"]}
    before = shares.get(body.of_group("duty").get("control_now", "switch"), 0.0)
    return before, shares[body.place.control_wanted] if body.place.control_wanted != "none" else before


def _peak_share(body: Body) -> float:
    """Share of the group's load that counts at the meter's peak."""
    row = energy.coincidence_row(body.hours_year or 0, body.space_type, body.tables["controls"]["coincidence"])
    return float(row["share"])


def terms_of(set_: Facet) -> tuple[money.Terms | None, list[str]]:
    """Discount, rise of prices and years from a site's money record; None, and what is missing, where anything needed is.

    Parameters
    ----------
    set_ : mapping
        `identity` facet of the money record; empty where nobody set it.
    """
    needed = {
        "tariff_per_kwh": "tariff",
        "discount_pct": "discount rate",
        "study_years": "years looked at",
        "labour_per_h": "price of labour",
    }
    missing = [name for field, name in needed.items() if field not in set_]
    if missing:
        return None, missing
    return money.Terms(
        float(set_["discount_pct"]) / 100, float(set_.get("escalation_pct", 0)) / 100, int(set_["study_years"])
    ), []
