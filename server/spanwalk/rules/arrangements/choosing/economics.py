"""What a candidate costs and saves for the whole group."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from spanwalk.rules.arrangements import layout as layouts
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.candidate import Candidate
from spanwalk.rules.arrangements.choosing.kept_up import Upkeeps
from spanwalk.rules.arrangements.choosing.taken_out import containers_of, taken_out
from spanwalk.rules.arrangements.now import Now, has_led_tubes
from spanwalk.rules.arrangements.plan_types import Part
from spanwalk.rules.arrangements.wiring import wiring_parts
from spanwalk.rules.arrangements.wiring.controls import sensors_of
from spanwalk.rules.gear.driver_in_body import NOT_SEEN
from spanwalk.rules.money import energy, money
from spanwalk.rules.money.charges_entered import charges_of, incomplete
from spanwalk.rules.money.job_charges import CREW_DAY, Bare, Charges, alone
from spanwalk.rules.money.job_money import JobTerms
from spanwalk.rules.record_view import Facet, Tables
from spanwalk.rules.said import Facts, Said


@dataclass(frozen=True)
class Saved:
    """Energy of a year [kWh], load [kW] and emissions [kg] of a candidate; None where it cannot be told.

    Parameters
    ----------
    kwh_now, kwh_then : float or None
        The lights' own energy.
    lights_kw : float or None
        The lights' own load that is saved.
    kwh, kw : float or None
        What the meter saves, with what cooling makes of it.
    heating_kwh : float or None
        Fuel that heating takes more.
    emission_kg : float or None
        Emissions saved, of the meter and the fuel together.
    """

    kwh_now: float | None = None
    kwh_then: float | None = None
    lights_kw: float | None = None
    kwh: float | None = None
    kw: float | None = None
    heating_kwh: float | None = None
    emission_kg: float | None = None


@dataclass(frozen=True)
class Worth:
    """What a candidate costs and saves. None where a price, hours or a tariff is missing, which `missing` names."""

    saved: Saved
    parts: tuple[Part, ...]
    minutes: float
    cost: float | None
    missing: tuple[str, ...]
    rebate: float | None = None
    result: money.Result | None = None
    saving_energy_year: float | None = None
    terms: money.Terms | None = None
    job: JobTerms | None = None
    told: tuple[Said, ...] = ()


BoughtKey = tuple[object, ...]


class Bought(NamedTuple):
    """Items with number and price, minutes to fit them [min], the codes without a price, and what all come to; None where one has none."""

    parts: list[Part]
    minutes: float
    unpriced: list[str]
    goods: float | None


@dataclass(frozen=True)
class OfSite:
    """What is the same for all groups of a site.

    Parameters
    ----------
    terms : Terms or None
        Its terms of money; None where something is missing for them.
    missing : list of str
        What is.
    charges : Charges
        What is charged on the job.
    factor, kw_factor, heating_share : float or None
        See `interactions`.
    ratchet_share : float or None
        Share of the old peak that is billed at least.
    savings : mapping
        Control -> share of energy that it saves.
    """

    terms: money.Terms | None
    missing: list[str]
    charges: Charges
    factor: float | None
    kw_factor: float | None
    heating_share: float | None
    ratchet_share: float | None
    savings: Mapping[str, float]

    @classmethod
    def of(cls, set_: Facet, tables: Tables) -> OfSite:
        """What a site's money record and tables say."""
        ratchet = float(set_["ratchet_pct"]) / 100 if "ratchet_pct" in set_ else None
        return cls(*terms_of(set_), charges_of(set_), *interactions(set_), ratchet, savings_by_control(tables))


class Worths:
    """What the candidates of one group are worth; what is the same for all of them is worked out once.

    Cost: bars, drivers, clips, accessories and wiring parts at their prices, minutes to fit at the price of labour, whole
    days of an access platform where the room needs one, disposal of lamps and ballasts; its part of travel and waste
    containers, permit and tax by their shares. What a job pays once is in no group's cost. Bill: energy of
    the hours, less what controls save, and demand times coincidence. A control that is there stays
    unless another is wanted.

    Parameters
    ----------
    body : Body
        The group.
    current : Now
        As it is.
    bought : dict, optional
        Goods and minutes that were counted before for groups of this catalogue, by candidate and all else that they hang on; it grows.
    of_site : OfSite, optional
        What is the same for all groups of the site, where that is at hand.
    """

    def __init__(
        self,
        body: Body,
        current: Now,
        bought: dict[BoughtKey, tuple[float | None, float]] | None = None,
        of_site: OfSite | None = None,
    ) -> None:
        set_, site = body.money, of_site or OfSite.of(body.money, body.tables)
        self._bought = bought
        self._body, self._current = body, current
        self._savings = _savings_of(body, site.savings)
        self._terms, self._no_terms = site.terms, site.missing
        self._clips = body.catalogue.accessory("screw-clips") if layouts.needs_clips(body) else None
        self._sensors = sensors_of(body)
        self._upkeeps = Upkeeps(body, current)
        self._platform = body.of_room("ceiling").get("access") == "platform"
        self._labour_per_h, self._lift_per_day = float(set_.get("labour_per_h", 0)), float(set_.get("lift_per_day", 0))
        self._demand_per_kw_month = float(set_.get("demand_per_kw_month", 0))
        self._limits = _Rebates.of(body)
        lamps = 0 if has_led_tubes(body) else body.fixtures * body.lamps_each
        self._lamps = lamps * float(set_.get("lamp_waste_each", 0))
        self._ballasts = body.fixtures * current.ballasts_each * float(set_.get("ballast_waste_each", 0))
        self._charges = site.charges
        self._peak_share = _peak_share(body)
        self._peak = energy.demand_year(1.0, self._demand_per_kw_month) * self._peak_share
        self._factor, self._kw_factor, self._heating = site.factor, site.kw_factor, site.heating_share
        fuel = (self._heating or 0.0) * float(set_.get("heating_per_kwh", 0))
        self._kwh_worth = float(set_.get("tariff_per_kwh", 0)) * (1.0 if self._factor is None else self._factor) - fuel
        self._ratchet = site.ratchet_share
        self._later: dict[int, float] = {}

    @property
    def fewer_watts_cost_less(self) -> bool:
        """Whether of candidates with the same parts the one of fewest watts surely has the least life-cycle cost.

        It has where energy saved is worth more than the fuel that heating takes more for it: load saved pays in each year
        what a ratchet takes back of it in the first, and a rebate never falls with what is saved.
        """
        return self._kwh_worth > 0 and (self._kw_factor is None or self._kw_factor >= 0)

    def roughly(self, candidate: Candidate) -> float | None:
        """Life-cycle cost of a candidate but for what all of the group have alike, and the last bits of a float; None where it is not known.

        It tells in a fifth of the time for which of many the whole sum is worth its while.
        """
        body, now_w, terms = self._body, self._current.watts, self._terms
        goods, minutes = self._goods_and_minutes(candidate)
        if goods is None or terms is None or now_w is None or body.hours_year is None:
            return None
        bare = self._bare(goods, minutes)
        cost, kw_factor = self._charged(goods, minutes, bare), 1.0 if self._kw_factor is None else self._kw_factor
        then_w, (before, after) = candidate.watts_each * body.fixtures, self._savings
        kwh = (now_w * (1 - before) - then_w * (1 - after)) * body.hours_year / 1000
        lights_kw = (now_w - then_w) / 1000
        kw = lights_kw * kw_factor
        saved = kwh * self._kwh_worth + kw * self._peak
        short = energy.demand_lost_to_ratchet(kw, self._peak / energy.MONTHS, self._ratchet, now_w / 1000)
        asked = self._limits.asked(lights_kw)
        rebate = self._limits.paid(self._before_tax(bare, minutes), asked) if asked else 0.0
        later = self._paid_later(candidate, terms)
        return cost - rebate + later - saved * money.savings_factor(terms) + short / (1 + terms.discount_share)

    def _paid_later(self, candidate: Candidate, terms: money.Terms) -> float:
        """What is paid again within the years looked at, less what is left after them, at today's worth [currency]."""
        kept = self._upkeeps.of(candidate).kept
        # Candidates with the same drivers and pack have it in common, and it lives as long as this does.
        if id(kept) not in self._later:
            self._later[id(kept)] = money.replaced_worth(kept, terms) - money.residual_worth(kept, terms)
        return self._later[id(kept)]

    def of(self, candidate: Candidate) -> Worth:
        """Energy, cost and life-cycle cost of a candidate for the whole group."""
        body, current, terms = self._body, self._current, self._terms
        parts, minutes, unpriced, goods = self._counted(candidate)
        saved, missing = self._energy(candidate)
        missing = [*unpriced, *missing, *self._no_terms]
        if missing or terms is None or current.watts is None or saved.kwh_now is None or saved.kwh_then is None:
            cost = None
            if goods is not None and "labour_per_h" in body.money:
                cost = self._charged(goods, minutes, self._bare(goods, minutes))
            return Worth(saved, tuple(parts), minutes, cost, tuple(dict.fromkeys(missing)))
        assert goods is not None
        bare = self._bare(goods, minutes)
        cost = self._charged(goods, minutes, bare)
        asked = self._limits.asked(saved.lights_kw or 0.0)
        back = self._limits.paid(self._before_tax(bare, minutes), asked)
        price, kept = float(body.money["tariff_per_kwh"]), self._upkeeps.of(candidate)
        bill_now = saved.kwh_now * price + current.watts / 1000 * self._peak
        fuel = (saved.heating_kwh or 0.0) * float(body.money.get("heating_per_kwh", 0))
        saved_energy, kw = (saved.kwh or 0.0) * price - fuel, saved.kw or 0.0
        bill_then = bill_now - saved_energy - kw * self._peak
        short = energy.demand_lost_to_ratchet(kw, self._peak / energy.MONTHS, self._ratchet, current.watts / 1000)
        return Worth(
            saved,
            tuple(parts),
            minutes,
            cost,
            (),
            back,
            money.reckon(cost, back, bill_now, bill_then, terms, short, kept.kept),
            saved_energy,
            terms,
            self._for_the_job(goods, minutes, bare, asked, kw),
            (
                *(() if self._sensors is None else (self._sensors.told,)),
                *kept.told,
                *self._charges_told(bare, minutes, cost),
            ),
        )

    def _for_the_job(self, goods: float, minutes: float, bare: float, asked: float, kw_saved: float) -> JobTerms:
        """What is reckoned again when the group is done together with others."""
        kw_now = (self._current.watts or 0.0) / 1000
        return {
            "goods": round(goods, 2),
            "hire_minutes": minutes if self._platform else 0.0,
            "hire_per_day": self._lift_per_day,
            "rebate_asked": round(asked, 2),
            "peak_kw": kw_now * self._peak_share,
            "peak_saved_kw": kw_saved * self._peak_share,
            "demand_kw_month": self._demand_per_kw_month,
            "bare": round(bare, 2),
            "disposal": round(self._lamps + self._ballasts, 2),
            "shared": self._shared(minutes),
        }

    def _shared(self, minutes: float) -> dict[str, float]:
        """What the group needs of what the groups of a job share."""
        return {CREW_DAY: minutes, **self._pieces}

    @cached_property
    def _pieces(self) -> dict[str, float]:
        return containers_of(taken_out(self._body, self._current))

    def _goods_and_minutes(self, candidate: Candidate) -> tuple[float | None, float]:
        """What the items of a candidate come to, None where one has no price, and minutes to fit them; looked up where it was counted before."""
        bought, key = self._bought, (id(candidate), *self._counted_by)
        if bought is None or key not in bought:
            counted = self._counted(candidate)
            if bought is None:
                return counted.goods, counted.minutes
            bought[key] = (counted.goods, counted.minutes)
        return bought[key]

    @cached_property
    def _counted_by(self) -> tuple[object, ...]:
        """What of the group the number of a candidate's parts hangs on."""
        body, sensors = self._body, self._sensors
        return (
            body.fixtures,
            body.emergency_fixtures,
            self._clips is not None,
            None if sensors is None else (sensors.item["id"], sensors.number),
            body.place.control_wanted,
            body.of_kind("wiring").get("control_pair", NOT_SEEN),
        )

    def _counted(self, candidate: Candidate) -> Bought:
        body, fixtures, sold = self._body, self._body.fixtures, self._body.catalogue.sold
        number = {id: count * fixtures for id, count in candidate.own_number.items()}
        if candidate.drivers:
            number[candidate.driver["id"]] = candidate.drivers * fixtures
        if self._clips is not None:
            number[self._clips["id"]] = len(candidate.own_bars) * fixtures
        if candidate.packed is not None and body.emergency_fixtures:
            number[candidate.packed.pack["id"]] = body.emergency_fixtures
        if self._sensors is not None:
            number[self._sensors.item["id"]] = self._sensors.number
        number |= wiring_parts.of_group(body, candidate.wiring.drivers if candidate.drivers else ())
        parts: list[Part] = []
        minutes, goods, unpriced = 0.0, 0.0, list[str]()
        for item_id, count in number.items():
            code, each, fit_minutes = sold[item_id]
            minutes += fit_minutes * count
            parts.append({"item": item_id, "code": code, "count": count, "each": each})
            if each is None:
                unpriced.append(f"price of {code}")
            else:
                goods += count * each
        return Bought(parts, minutes, unpriced, None if unpriced else float(goods))

    def _labour_and_hire(self, minutes: float) -> tuple[float, float]:
        labour = minutes / 60 * self._labour_per_h
        return labour, money.hire_days(minutes) * self._lift_per_day if self._platform else 0.0

    def _bare(self, goods: float, minutes: float) -> float:
        """Cost before travel, containers, permit and tax."""
        labour, hire = self._labour_and_hire(minutes)
        return goods + labour + hire + self._lamps + self._ballasts

    def _charged(self, goods: float, minutes: float, bare: float) -> float:
        """What the group costs by itself: see `job_charges.alone`."""
        if self._charges.is_none:
            return bare
        labour, hire = self._labour_and_hire(minutes)
        return alone(Bare(goods, labour, hire, self._lamps + self._ballasts, self._shared(minutes)), self._charges)

    def _charges_told(self, bare: float, minutes: float, cost: float) -> Iterator[Said]:
        """What of the group's own cost is charged on it, and that what the job pays once is not."""
        charges, amounts = self._charges, self._shared(minutes)
        if charges.is_none:
            return
        parts = {name: each.in_part(amounts.get(name, 0.0)) for name, each in charges.shared.items()}
        before = bare + sum(parts.values())
        facts: Facts = {
            "currency": self._body.money.get("currency", ""),
            "travel_money": round(parts.pop(CREW_DAY, 0.0), 2),
            "containers_money": round(sum(parts.values()), 2),
            "permit_money": round(before * charges.permit_share, 2),
            "tax_money": round(cost - before * charges.before_tax, 2),
        }
        yield {"code": "plan.charged", "facts": facts}

    def _before_tax(self, bare: float, minutes: float) -> float:
        """The same without tax: what a rebate's share of the cost is of."""
        charges = self._charges
        if charges.is_none:
            return bare
        amounts = self._shared(minutes)
        shared = sum(each.in_part(amounts.get(name, 0.0)) for name, each in charges.shared.items())
        return (bare + shared) * charges.before_tax

    def _energy(self, candidate: Candidate) -> tuple[Saved, list[str]]:
        """Energy, load and emissions, and what is missing for them."""
        body, now_w = self._body, self._current.watts
        if now_w is None:
            return Saved(), ["watts today"]
        then_w = candidate.watts_each * body.fixtures
        lights_kw = (now_w - then_w) / 1000
        kw = energy.interactive_kw(lights_kw, self._kw_factor)
        if body.hours_year is None:
            return Saved(lights_kw=lights_kw, kw=kw), ["hours"]
        before, after = self._savings
        kwh_now = energy.energy_kwh_year(now_w, body.hours_year, before)
        kwh_then = energy.energy_kwh_year(then_w, body.hours_year, after)
        kwh = energy.interactive_kwh(kwh_now - kwh_then, self._factor)
        fuel = energy.heating_kwh(kwh_now - kwh_then, self._heating)
        return Saved(kwh_now, kwh_then, lights_kw, kwh, kw, fuel, _emission_saved_kg(body, kwh, fuel)), []


def interactions(set_: Facet) -> tuple[float | None, float | None, float | None]:
    """What cooling makes of saved energy and load, as factors, and heating's fuel as a share of it; None where not set.

    Load takes the factor of energy where it has none of its own.

    >>> interactions({"interactive_pct": 10}), interactions({"interactive_pct": 10, "interactive_kw_pct": 25, "heating_pct": 30})
    ((1.1, 1.1, None), (1.1, 1.25, 0.3))
    >>> interactions({})
    (None, None, None)
    """
    factor = 1 + float(set_["interactive_pct"]) / 100 if "interactive_pct" in set_ else None
    kw_factor = 1 + float(set_["interactive_kw_pct"]) / 100 if "interactive_kw_pct" in set_ else factor
    return factor, kw_factor, float(set_["heating_pct"]) / 100 if "heating_pct" in set_ else None


def _emission_saved_kg(body: Body, kwh: float, fuel_kwh: float) -> float | None:
    """Emissions saved at the meter less those of the fuel [kg CO₂e]; None where the site has no factor."""
    if "emission_kg_per_kwh" not in body.money:
        return None
    fuel = energy.emission_kg(fuel_kwh, float(body.money.get("heating_kg_per_kwh", 0)))
    return energy.emission_kg(kwh, float(body.money["emission_kg_per_kwh"])) - fuel


UNCOUNTED = {
    "demand_per_kw_month": "demand price",
    "lamp_waste_each": "disposal of lamps",
    "ballast_waste_each": "disposal of ballasts",
}
"""Prices that count as nothing where nobody entered them, and are said to."""
UNCOUNTED_OF_HEATING = {"heating_per_kwh": "price of heating fuel", "heating_kg_per_kwh": "emissions of heating fuel"}
"""The same, of heating that takes the lamps' place."""

UNCOUNTED_IN_PART = {
    "travel": "travel, of which people in a crew or hours of a day are missing",
    "short-lamps": "containers for lamps up to 4 ft, of which price or number is missing",
    "long-lamps": "containers for longer lamps, of which price or number is missing",
    "other-lamps": "containers for other lamps, of which price or number is missing",
    "ballasts": "containers for ballasts, of which price or number is missing",
    "pcb-ballasts": "containers for ballasts with PCB, of which price or number is missing",
    "tax": "tax, of which is not said what it is on",
}
"""What was entered in part: see `job_charges.incomplete`."""


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
    if body.money.get("heating_pct"):
        found += [words for name, words in UNCOUNTED_OF_HEATING.items() if name not in body.money]
    found += [UNCOUNTED_IN_PART[name] for name in incomplete(body.money)]
    access = body.of_room("ceiling").get("access", NOT_SEEN)
    if access == NOT_SEEN or (access == "platform" and "lift_per_day" not in body.money):
        found.append("access platform")
    return found + [
        f"minutes to fit {part['code']}"
        for part in parts
        if "fit_minutes" not in body.catalogue.prices.get(part["item"], {})
    ]


class _Rebates(NamedTuple):
    """What a group's rebate hangs on: fixtures that burn, what is paid for each and for a kW, its share of the cost and its sum at most."""

    fixtures: int
    each: float
    per_kw: float
    cap_pct: float | None
    most: float | None

    @classmethod
    def of(cls, body: Body) -> _Rebates:
        """What a group's money says of it."""
        set_ = body.money
        dark_fixtures = body.dark_lamps // body.lamps_each if body.lamps_each else 0
        cap, most = set_.get("rebate_cap_pct"), set_.get("rebate_cap_application")
        return cls(
            body.fixtures - dark_fixtures,
            float(set_.get("rebate_per_fixture", 0)),
            float(set_.get("rebate_per_kw", 0)),
            None if cap is None else float(cap),
            None if most is None else float(most),
        )

    def asked(self, kw_saved: float) -> float:
        """Rebate before any limit."""
        return money.rebate(0.0, self.fixtures, kw_saved, self.each, self.per_kw, None)

    def paid(self, cost: float, asked: float) -> float:
        """Rebate of the group alone, held to both limits."""
        found = asked if self.cap_pct is None else min(asked, self.cap_pct / 100 * cost)
        return found if self.most is None else money.rebate_of_application(found, self.most)


def control_savings(body: Body) -> tuple[float, float]:
    """Shares of energy that controls save now and then. One that is there stays unless another is wanted.

    'Not seen' counts as a switch: nothing is credited that nobody saw.
    """
    return _savings_of(body, savings_by_control(body.tables))


def savings_by_control(tables: Tables) -> dict[str, float]:
    """Control -> share of energy that it saves."""
    return {row["control"]: float(row["saving_share"]) for row in tables["controls"]["rows"]}


def _savings_of(body: Body, shares: Mapping[str, float]) -> tuple[float, float]:
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
