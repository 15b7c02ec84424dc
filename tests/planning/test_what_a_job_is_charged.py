"""Mobilisation, permit, travel, waste containers and tax: charged once for the job, in whole days and containers.

One-off investment costs at the base date are not discounted (NIST Handbook 135, edition 1995, from memory). What a permit's share
and a tax are of, and that travel and containers are paid whole: common practice, no source. Sums are by hand, and by properties
against an independent reckoning in whole numbers.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.planning.test_money_of_the_job import MONEY, groups_of_a_site, terms
from tests.support.charges import CHARGES

from spanwalk.rules.arrangements.choosing.taken_out import containers_of
from spanwalk.rules.gear.waste import waste_of
from spanwalk.rules.money.charges_entered import charges_of, incomplete, not_asked
from spanwalk.rules.money.job_charges import CREW_DAY, Bare, Charges, SharedCost, alone, lines_of
from spanwalk.rules.money.job_money import Alone, Limits, job, shares_of
from spanwalk.services.planning.job_sums import JobBasis, OfGroup, basis_of, frozen, job_sums, thawed

ASKED = {"labour_per_h": 68, **CHARGES}
"""Invented."""


def group(minutes: float, lamps: int, goods: float, charges: Charges, route: str = "ground") -> Alone:
    """A group of items, an hour of work at 60, and lamps for containers; no platform."""
    labour, shared = round(minutes, 2), {CREW_DAY: minutes, "short-lamps": float(lamps)}
    cost = round(alone(Bare(goods, labour, 0.0, 0.0, shared), charges), 2)
    return Alone(route, cost, 0.0, 0.0, terms(goods=goods, bare=goods + labour, disposal=0.0, shared=shared))


def line(found: Any, what: str) -> float:
    return next((each["amount"] for each in found["lines"] if each["what"] == what), 0.0)


def test_a_crew_that_works_an_hour_over_three_days_travels_on_four() -> None:
    """2 people × 7 h are 840 min a day; 2,580 min are three days and an hour: 4 × (2 × 1 h × 68 + 48) = 4 × 184 = 736."""
    charges = charges_of({**ASKED, "mobilisation": 0})
    at, below = (job([group(minutes, 0, 0.0, charges)], Limits(), None, charges) for minutes in (2_580, 2_520))
    assert (line(at, CREW_DAY), line(below, CREW_DAY)) == (736, 552)


def test_containers_are_whole_for_the_job_and_not_for_each_group() -> None:
    """60 + 60 lamps fill one container of 120; one lamp more takes a second."""
    charges = charges_of(ASKED)
    groups = [group(60, 60, 100.0, charges), group(60, 60, 100.0, charges)]
    assert line(job(groups, Limits(), None, charges), "short-lamps") == 95
    assert line(job([*groups, group(60, 1, 100.0, charges)], Limits(), None, charges), "short-lamps") == 190


@pytest.mark.parametrize(
    ("lamps", "sort"),
    [
        ({"cap": "G13", "nominal_ft": "4-ft"}, "short-lamps"),
        ({"cap": "Fa8", "nominal_ft": "8-ft"}, "long-lamps"),
        ({"cap": "U-bend", "nominal_ft": "2-ft"}, "other-lamps"),
        ({}, "long-lamps"),
        ({"fitted": "led-tube-on-mains", "nominal_ft": "4-ft"}, None),
    ],
)
def test_lamps_go_into_the_container_of_their_class(lamps: dict[str, str], sort: str | None) -> None:
    """Ten fixtures with two lamps and one electronic ballast each; LED tubes hold no mercury."""
    out = waste_of(10, 2, lamps, {"ballast": "electronic"}, 1, 0, 1)
    assert containers_of(out) == {"ballasts": 10.0, **({sort: 20.0} if sort else {})}


@pytest.mark.parametrize("ballast", [{"ballast": "magnetic", "pcb_mark": "no-mark"}, {}])
def test_ballasts_that_may_hold_pcb_or_of_which_nobody_knows_go_apart(ballast: dict[str, str]) -> None:
    out = waste_of(10, 2, {"cap": "G13", "nominal_ft": "4-ft"}, ballast, 1, 0, 1)
    assert containers_of(out) == {"pcb-ballasts": 10.0, "short-lamps": 20.0}


@pytest.mark.parametrize(
    ("taxed", "tax"),
    [("materials", 80.0), ("materials-and-labour", 80.0 + 40.0 + 8.0), ("all-costs", 8 / 100 * 2_144.0)],
)
def test_tax_is_on_what_was_said_before_any_rebate(taxed: str, tax: float) -> None:
    """Items 1,000, work 500, travel 100, mobilisation 400, disposal 60; permit 24 + 60 in all others: 2,144 before tax."""
    charges = Charges(400.0, 24.0, 60 / 2_060, {CREW_DAY: SharedCost(500.0, 100.0)}, 0.08, taxed)
    found = lines_of(Bare(1_000.0, 500.0, 0.0, 60.0, {CREW_DAY: 500.0}), charges)
    amounts = {each["what"]: each["amount"] for each in found}
    assert amounts["permit"] == 84
    assert amounts["tax"] == round(tax, 2)


def test_a_rebate_pays_its_share_of_the_cost_without_tax() -> None:
    """Items 1,000 with 20 % tax cost 1,200; half of the cost is 500."""
    charges = Charges(tax_share=0.2)
    one = Alone("g", 1_200.0, 500.0, 0.0, terms(goods=1_000.0, bare=1_000.0, rebate_asked=900.0, shared={}))
    found = job([one], Limits(cap_share=0.5), None, charges)
    assert (found["cost"], found["rebate"]) == (1_200, 500)


def test_what_is_paid_once_is_in_no_groups_own_cost_and_in_every_groups_part() -> None:
    """Two groups alike: alone neither pays the 450, together each bears half of it."""
    charges = Charges(450.0)
    groups = {name: group(60, 0, 100.0, charges) for name in "ab"}
    found = job(list(groups.values()), Limits(), None, charges)
    assert [each.cost for each in groups.values()] == [160, 160]
    assert [each["cost"] for each in shares_of(groups, found, charges=charges).values()] == [385, 385]
    assert found["steps"] == [{"what": "mobilisation", "by": 450}]


def test_where_nothing_is_converted_nothing_is_charged() -> None:
    assert job([], Limits(), 0.0, Charges(450.0, 85.0))["cost"] == 0


def test_what_nobody_entered_or_entered_in_part_is_not_counted_and_named() -> None:
    assert charges_of({}).is_none
    assert not_asked({}) == ["mobilisation", "permit", "travel", "containers", "tax"]
    assert not_asked(ASKED) == []
    for name, what in (("crew_people", "travel"), ("crew_day_h", "travel"), ("tax_on", "tax")):
        partly = {field: value for field, value in ASKED.items() if field != name}
        assert (incomplete(partly), not_asked(partly)) == ([what], [what])
    for name in ("short_lamp_container_each", "short_lamp_container_holds"):
        partly = {field: value for field, value in ASKED.items() if field != name}
        assert (incomplete(partly), not_asked(partly)) == (["short-lamps"], ["containers"])


def test_what_is_charged_is_frozen_with_a_release_and_read_again() -> None:
    basis = basis_of({**ASKED, "discount_pct": 5})
    assert thawed(frozen(basis)) == basis
    assert "charges" not in frozen(basis_of({"discount_pct": 5}))


def test_no_sum_hides_that_a_group_of_an_old_release_lacks_what_is_charged_on_it() -> None:
    old = OfGroup("g", MONEY, terms(hire_minutes=200.0, rebate_asked=100.0))
    found = job_sums({"a": old}, JobBasis(Limits(), 0.05, charges=charges_of(ASKED)), None)
    assert (found["sums"]["cost"], found["sums"]["npv"], found["lines"]) == (None, None, [])
    assert found["alone"]["cost"] == 1_000
    assert job_sums({"a": old}, JobBasis(Limits(), 0.05), None)["sums"]["cost"] == 1_000


charges_at_random = st.builds(
    Charges,
    st.sampled_from([0.0, 450.0, 333.33]),
    st.sampled_from([0.0, 85.0]),
    st.sampled_from([0.0, 0.012, 0.0333]),
    st.fixed_dictionaries(
        {},
        optional={
            CREW_DAY: st.sampled_from([SharedCost(840.0, 184.0), SharedCost(450.0, 61.37)]),
            "short-lamps": st.just(SharedCost(120.0, 95.0)),
            "pcb-ballasts": st.just(SharedCost(7.0, 480.01)),
        },
    ),
    st.sampled_from([0.0, 0.08, 0.21, 0.0725]),
    st.sampled_from(["materials", "materials-and-labour", "all-costs"]),
)


def charged(each: Alone, charges: Charges, disposal: float, lamps: int, ballasts: int) -> Alone:
    """A group as the planner tells it where something is charged on it: its bare cost, and what it costs by itself."""
    shared = {CREW_DAY: each.terms["hire_minutes"] + 30.0, "short-lamps": float(lamps), "pcb-ballasts": float(ballasts)}
    hire = ceil(each.terms["hire_minutes"] / 420) * each.terms["hire_per_day"]
    goods, bare = each.terms["goods"], round(each.cost + disposal, 2)
    cost = round(alone(Bare(goods, bare - goods - hire - disposal, hire, disposal, shared), charges), 2)
    return replace(each, cost=cost, terms={**each.terms, "bare": bare, "disposal": disposal, "shared": shared})


@given(groups_of_a_site, charges_at_random, st.data())
def test_groups_rooms_floors_site_and_the_lines_of_a_release_add_up_to_the_cent(
    bare: dict[str, Alone], charges: Charges, data: st.DataObject
) -> None:
    counts = st.tuples(st.sampled_from([0.0, 2.5, 37.21]), st.integers(0, 300), st.integers(0, 40))
    groups = {name: charged(each, charges, *data.draw(counts)) for name, each in bare.items()}
    goods = round(sum(each.terms["goods"] for each in groups.values()) + data.draw(st.sampled_from([0.0, 18.8])), 2)
    npvs = {name: data.draw(st.integers(-500_000, 500_000)) / 100 for name in groups}
    of_groups = {
        name: OfGroup(
            each.route,
            {
                **MONEY,
                "cost": each.cost,
                "rebate": each.rebate,
                "net_cost": round(each.cost - each.rebate, 2),
                "npv": npvs[name],
            },
            each.terms,
        )
        for name, each in groups.items()
    }
    found = job_sums(of_groups, JobBasis(Limits(most=1_000.0), 0.05, 0.02, 12, charges), goods)
    cost, rebate, npv = (cents(found["sums"][name]) for name in ("cost", "rebate", "npv"))  # type: ignore[literal-required]
    assert sum(cents(each["amount"]) for each in found["lines"]) == cost
    assert cents(found["alone"]["cost"]) + sum(cents(each["by"]) for each in of_cost(found["steps"])) == cost
    assert set(found["shares"]) == set(groups)
    for place in ("route", "room", "site"):
        parts: dict[str, list[int]] = {}
        for name, share in found["shares"].items():
            at = {"route": groups[name].route, "room": f"{groups[name].route} {name[0]}", "site": ""}[place]
            into = parts.setdefault(at, [0, 0, 0])
            for number, amount in enumerate((share["cost"], share["rebate"], share["npv"])):
                into[number] += cents(amount)
        assert [sum(each) for each in zip(*parts.values(), strict=True)] == [cost, rebate, npv], place
    assert cost == pytest.approx(reckoned_apart(groups, charges, goods) * 100, abs=3), "two lines are rounded"


def cents(amount: float | None) -> int:
    assert amount is not None
    return round(amount * 100)


def of_cost(steps: list[Any]) -> list[Any]:
    return [each for each in steps if each["what"] not in ("rebate", "ratchet")]


def reckoned_apart(groups: dict[str, Alone], charges: Charges, goods: float) -> float:
    """The job's cost by exact fractions, line after line, written apart from the rule."""
    exact = {"goods": Fraction(str(goods)), "hire": Fraction(0), "disposal": Fraction(0), "labour": Fraction(0)}
    minutes: dict[str, Fraction] = {}
    for each in groups.values():
        own = Fraction(str(each.terms["hire_minutes"]))
        minutes[each.route] = minutes.get(each.route, Fraction(0)) + own
        exact["disposal"] += Fraction(str(each.terms["disposal"]))
        left = Fraction(str(each.terms["bare"])) - Fraction(str(each.terms["goods"])) - ceil(own / 420) * 240
        exact["labour"] += left - Fraction(str(each.terms["disposal"]))
    exact["hire"] = sum((Fraction(ceil(every / 420) * 240) for every in minutes.values()), Fraction(0))
    for name, shared in charges.shared.items():
        amount = sum((Fraction(str(each.terms["shared"][name])) for each in groups.values()), Fraction(0))
        exact[name] = ceil(amount / Fraction(str(shared.holds))) * Fraction(str(shared.each))
    exact["mobilisation"] = Fraction(str(charges.mobilisation))
    exact["permit"] = Fraction(str(charges.permit)) + Fraction(str(charges.permit_share)) * sum(exact.values())
    taxed = {"materials": ["goods"], "materials-and-labour": ["goods", "labour", CREW_DAY], "all-costs": list(exact)}
    base = sum((exact.get(name, Fraction(0)) for name in taxed[charges.taxed]), Fraction(0))
    return float(sum(exact.values()) + Fraction(str(charges.tax_share)) * base)
