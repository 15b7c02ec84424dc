"""The figures of the years on the desk's plan: each is opened to its terms, and the terms add up."""

from __future__ import annotations

import re

from playwright.sync_api import Locator, expect
from tests.desk.conftest import NewDesk
from tests.support.looks import BEYOND, SMALL, assert_fits_and_can_be_hit_and_read, found_at_rest


def cents(row: Locator) -> int:
    """The amount in a row, in cents."""
    digits = re.sub(r"[^\d.]", "", row.get_by_role("cell").first.inner_text())
    return round(float(digits) * 100)


def test_each_figure_of_the_job_is_opened_to_terms_that_add_up_to_the_cent(new_desk: NewDesk) -> None:
    desk = new_desk()
    [money] = desk.records("money")
    priced = {
        "lamp_each": 3.4,
        "lamp_change_min": 12,
        "ballast_each": 19,
        "ballast_change_min": 35,
        "call_out_each": 45,
    }
    page = desk.open("/money")
    page.get_by_role("button", name="Open all parts").click()
    for name, value in priced.items():
        page.locator(f"[name={name}], #{name}").first.fill(str(value))
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("status").filter(has_text="Saved")).to_be_visible()
    desk.open()
    assert desk.records("money")[0]["identity"]["lamp_each"] == priced["lamp_each"]
    page = desk.open("/plan")
    life = desk.told("plan")["totals"]["money"]["life"]
    assert money["identity"]["study_years"] == life["study_years"]
    page.get_by_text("Figures over the years, and what each is made of").first.click()
    terms = page.get_by_role("table", name="Net present value").first
    row = {
        name: terms.get_by_role("row", name=re.compile(f"^{name}"))
        for name in (
            "Energy and demand",
            "Upkeep saved",
            "Savings together",
            "Investment together",
            "Net present value",
        )
    }
    expect(row["Upkeep saved"]).to_be_visible()
    assert cents(row["Energy and demand"]) + cents(row["Upkeep saved"]) == cents(row["Savings together"])
    assert cents(row["Savings together"]) - cents(row["Investment together"]) == cents(row["Net present value"])
    assert cents(row["Net present value"]) == round(life["measures"]["npv"] * 100)
    years = page.get_by_role("table", name=re.compile("^Money by year")).first
    expect(years.get_by_role("row")).to_have_count(life["study_years"] + 2)
    assert found_at_rest(page, BEYOND) == []
    assert found_at_rest(page, SMALL) == []
    assert_fits_and_can_be_hit_and_read(page, (360, 1280))
