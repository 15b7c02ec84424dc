"""The sums of one release are those of seed_data/demo/worked.md: items, packs, spares, platform days, rebate, peak, value."""

from __future__ import annotations

import re
from math import ceil
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.support.charges import CHARGES

from spanwalk.package_folders import seed_folder
from spanwalk.rules.ordering.ordering import bought
from spanwalk.rules.ordering.schedule import Work, cost_of, shifts_of
from spanwalk.rules.survey import facet
from spanwalk.services.planning.job_sums import basis_of
from spanwalk.services.planning.plans import make_plans
from spanwalk.services.planning.totals import terms_of_items
from spanwalk.services.releases.sums import Figures, figures_of, needed, sums

WORKED = (seed_folder() / "demo" / "worked.md").read_text(encoding="utf-8")
(ROOMS, TABLE) = re.findall(r"<!-- release (.+) -->\n\n\| figure .*\n\| --- .*\n((?:\| .+\n?)+)", WORKED)[0]
BY_HAND = re.findall(r"^\| (.+?) \| (-?[\d.]+) \| ([\d.]+) \|$", TABLE, re.MULTILINE)
ITEMS = re.findall(
    r"^\| ([A-Z]+-\w+) \| (?:.+ = )?(\d+) \| (?:.+ → )?(\d+) \| (\d+) \| (\d+) → (\d+) × (\d+) \| (\d+) \| ([\d.]+).*? \| ([\d.]+) \|$",
    WORKED,
    re.MULTILINE,
)
(CHARGED_TABLE,) = re.findall(r"<!-- charged .+ -->\n\n\| figure .*\n\| --- .*\n((?:\| .+\n?)+)", WORKED)
CHARGED_BY_HAND = re.findall(r"^\| (.+?) \| (-?[\d.]+) \| ([\d.]+) \|$", CHARGED_TABLE, re.MULTILINE)
SET = {"rebate_cap_application": 1_100, "ratchet_pct": 80, "meter_peak_kw": 12}
CHARGED = {**CHARGES, "pcb_ballast_container_each": 480, "pcb_ballast_container_holds": 120}
SPARE_PCT, SHIFT_MIN, PEOPLE = 3, 480, 2


@pytest.fixture(scope="module")
def release() -> Any:
    return planned({})


def planned(charged: dict[str, Any]) -> Any:
    """Frozen figures of the rooms, the site's records, and its money with what the page sets besides."""
    records = demo_records()
    next(each for each in records if each["type"] == "money")["facets"]["identity"] |= charged
    made = make_plans(records)
    numbers = {id: facet(made.survey.by_id[plan["room"]], "identity")["number"] for id, plan in made.plans.items()}
    figures = {id: figures_of(made, made.plans[id], "") for id, number in numbers.items() if number in ROOMS.split()}
    assert len(figures) == len(ROOMS.split())
    return figures, made.survey, {**made.inputs.money, **SET}


def platform_days(figures: dict[str, Figures]) -> int:
    works = [
        Work(id, ceil(each["minutes"] / PEOPLE), each["floor"], fixtures=each["fixtures"])
        for id, each in figures.items()
    ]
    return cost_of(works, shifts_of(works, SHIFT_MIN)).platform_days


def test_each_sum_of_the_release_is_the_one_worked_by_hand(release: Any) -> None:
    figures, survey, money = release
    need = needed(figures.values(), SPARE_PCT)
    sold = terms_of_items([each["item"] for each in need], survey)
    found = sums(figures, basis_of(money), sold, SPARE_PCT)
    told = found["sums"]
    of_page = {
        "items bought": sum(bought(each["order"], sold[each["item"]])["sum"] or 0 for each in need),
        "platform days alone": found["days_alone"],
        "platform days of the job": found["days"],
        "platform days of the schedule": platform_days(figures),
        "cost": told["cost"],
        "rebate": told["rebate"],
        "net cost": told["net_cost"],
        "first year lacks": told["first_year_short"],
        "saving of energy a year": told["saving_energy_year"],
        "saving a year": told["saving_year"],
        "present value": told["npv"],
        "life-cycle cost as it is": told["lcc_as_is"],
        "life-cycle cost then": told["lcc"],
    }
    assert [name for name, *_ in BY_HAND] == list(of_page)
    for name, by_hand, within in BY_HAND:
        assert of_page[name] == pytest.approx(float(by_hand), abs=float(within)), name


def test_each_item_is_bought_as_it_was_worked_by_hand(release: Any) -> None:
    figures, survey, _ = release
    need = needed(figures.values(), SPARE_PCT)
    sold = terms_of_items([each["item"] for each in need], survey)
    found = []
    for each in need:
        buys = bought(each["order"], sold[each["item"]])
        counts = (each["fitted"], each["spare"], each["for_misfits"], each["order"])
        found.append(
            (each["code"], *counts, buys["packs"], buys["pack_size"], buys["bought"], buys["price"], buys["sum"])
        )
    assert len(ITEMS) == 5
    assert found == [(code, *map(int, counts[:7]), float(counts[7]), float(counts[8])) for code, *counts in ITEMS]


def test_the_orders_of_the_release_are_by_supplier(release: Any) -> None:
    """Drivers by one supplier, bars by another: 3,327.00 and 3,339.00, as the page has them."""
    figures, survey, _ = release
    need = needed(figures.values(), SPARE_PCT)
    sold = terms_of_items([each["item"] for each in need], survey)
    by_supplier: dict[str, float] = {}
    for each in need:
        terms = sold[each["item"]]
        by_supplier[terms.supply["supplier"]] = by_supplier.get(terms.supply["supplier"], 0) + (
            bought(each["order"], terms)["sum"] or 0
        )
    assert sorted(by_supplier.values()) == [3327.00, 3339.00]


def test_what_is_charged_on_the_release_is_the_one_worked_by_hand() -> None:
    figures, survey, money = planned(CHARGED)
    need = needed(figures.values(), SPARE_PCT)
    sold = terms_of_items([each["item"] for each in need], survey)
    found = sums(figures, basis_of(money), sold, SPARE_PCT)
    lines = {each["what"]: each["amount"] for each in found["lines"]}
    (p01,) = [id for id, each in figures.items() if each["fixtures"] == 42]
    of_page = {
        "travel": lines["crew-day"],
        "containers for short lamps": lines["short-lamps"],
        "containers for ballasts with PCB": lines["pcb-ballasts"],
        "mobilisation": lines["mobilisation"],
        "permit": lines["permit"],
        "tax": lines["tax"],
        "cost with all this": found["sums"]["cost"],
        "rebate with all this": found["sums"]["rebate"],
        "present value with all this": found["sums"]["npv"],
        "P01 by itself": figures[p01]["money"]["cost"],
        "P01's part of the job": found["shares"][p01]["cost"],
    }
    assert [name for name, *_ in CHARGED_BY_HAND] == list(of_page)
    for name, by_hand, within in CHARGED_BY_HAND:
        assert of_page[name] == pytest.approx(float(by_hand), abs=float(within)), name
