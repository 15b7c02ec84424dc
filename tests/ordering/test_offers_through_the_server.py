"""Offers, change orders and rebate figures of the demo building: every sum is the plan's, to the cent."""

from __future__ import annotations

import os
from io import BytesIO
from pathlib import Path
from typing import Any

import pymupdf
import pytest
from openpyxl import load_workbook
from tests.open_points.complete_site import Hand
from tests.releases.test_through_the_server import Site, released_groups
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import started
from tests.support.server import Client

Json = Any
Rows = list[list[Any]]
SHOTS = os.environ.get("SHOTS")


@pytest.fixture(scope="module")
def site(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Any:
    running = started(ONE_MACHINE, demo_data, tmp_path_factory.mktemp("offers") / "data")
    client = Client(running.url, "manager")
    yield Site(Hand(client, client.site_id()))
    running.stop()


def taken(site: Site, path: str) -> bytes:
    content: bytes = site.client.get(f"/api/sites/{site.hand.site}/{path}")
    return content


def sheets(data: bytes) -> dict[str, Rows]:
    book = load_workbook(BytesIO(data))
    return {each.title: [list(row) for row in each.iter_rows(values_only=True)] for each in book.worksheets}


def column(rows: Rows, head: str) -> dict[str, Any]:
    """First cell -> cell of a column, below the row in which its head stands."""
    top = next(place for place, row in enumerate(rows) if head in row)
    at = rows[top].index(head)
    return {str(row[0]): row[at] for row in rows[top + 1 :]}


def text_of(data: bytes, name: str) -> str:
    document = pymupdf.open(stream=data, filetype="pdf")
    if SHOTS:
        for page in document:
            page.get_pixmap(dpi=80).save(f"{SHOTS}/{name}-{page.number + 1}.png")
    return "\n".join(page.get_text() for page in document)


@pytest.fixture(scope="module")
def offered(site: Site) -> dict[str, Rows]:
    return sheets(taken(site, "offer.xlsx?days=45"))


def test_what_is_offered_comes_to_the_sums_of_the_plan(site: Site, offered: dict[str, Rows]) -> None:
    totals = site.client.get(f"/api/sites/{site.hand.site}/plan")["totals"]
    told = column(offered["Side by side"], "As offered")
    money, energy = totals["money"], totals["energy"]
    assert told["Price without tax [USD]"] == money["cost"]
    assert told["Price less rebate [USD]"] == money["net_cost"]
    assert told["Saved in a year [USD]"] == money["saving_year"]
    assert told["Cost of all years looked at [USD]"] == money["lcc"]
    assert (told["Energy today [kWh a year]"], told["Energy then [kWh a year]"]) == (
        energy["kwh_now"],
        energy["kwh_then"],
    )
    assert told["Fixtures converted"] == totals["fixtures"]


def test_the_rooms_add_up_to_the_price_to_the_cent(offered: dict[str, Rows]) -> None:
    head, *rows, together = offered["What is done, room by room"]
    at = head.index("Price [USD]")
    assert round(sum(row[at] for row in rows), 2) == together[at]
    assert together[at] == column(offered["Side by side"], "As offered")["Price without tax [USD]"]
    lights = [row[head.index("Light then [lx]")] for row in rows]
    assert any(" to " in str(each) for each in lights), "light is a range"


def test_the_least_to_pay_costs_no_more_and_leaving_it_costs_what_today_costs(offered: dict[str, Rows]) -> None:
    rows = offered["Side by side"]
    price, years = "Price without tax [USD]", "Cost of all years looked at [USD]"
    assert column(rows, "Least to pay now")[price] <= column(rows, "As offered")[price]
    assert column(rows, "Least to pay now")[years] >= column(rows, "As offered")[years], "the plan has the least"
    assert column(rows, "Leave as it is")[price] == 0
    assert (
        column(rows, "Leave as it is")["Energy then [kWh a year]"]
        == column(rows, "As offered")["Energy today [kWh a year]"]
    )


def test_an_offer_says_on_what_it_rests_what_is_not_in_it_and_where_to_sign(
    site: Site, offered: dict[str, Rows]
) -> None:
    rests = str(offered["On what it rests"])
    money = site.records("money")[0]["facets"]["identity"]["value"]
    assert f"Energy price: {money['tariff_per_kwh']:g} per kWh (set for this site by" in rests
    out = str(offered["What is not included"])
    assert "They are not in the price." in out
    assert "Tax." in out
    text = text_of(taken(site, "offer.pdf?days=45&note=Kettle%20stays"), "offer")
    for words in ("valid until", "Signature", "Kettle stays", "licensed people", "Where figures are from"):
        assert words in " ".join(text.split())


def test_a_rebate_sheet_has_the_figures_that_were_chosen_and_no_others(site: Site) -> None:
    asks = ["asks-meter", "asks-kwh-saved", "asks-areas", "asks-watts-now", "asks-watts-then", "asks-listing"]
    programme = site.hand.make("programme", site.hand.site, {"name": "County relight (invented)", "asks": asks})
    told = sheets(taken(site, f"programmes/{programme}.xlsx"))
    totals = site.client.get(f"/api/sites/{site.hand.site}/plan")["totals"]
    facts = column(told["Of the whole"], "Value")
    assert facts == {
        "meter number": facts["meter number"],
        "energy saved in a year [kWh]": totals["energy"]["kwh_saved"],
    }
    assert told["Line by line"][0] == [
        "floors and rooms",
        "watts today",
        "watts then",
        "energy saved in a year [kWh]",
    ]
    assert len(told["Line by line"]) - 1 == totals["groups"]
    assert {row[3] for row in told["Items"][1:]} == {"not said"}
    text = text_of(taken(site, f"programmes/{programme}.pdf"), "programme")
    assert "price" not in text.lower()


def test_a_change_order_tells_what_differs_and_both_sums(site: Site) -> None:
    first = site.release()
    group = released_groups(first, site)[0]
    count = site.hand.state(group)["facets"]["count"]["value"]["count"]
    site.lay_over(group, "count", count=count + 6)
    site.release()
    differs = site.client.get(f"/api/sites/{site.hand.site}/releases/differences?from=1&to=2")
    told = sheets(taken(site, "change-order.xlsx?from=1&to=2&reason=six%20more%20found"))
    rows = told["Sums of both"]
    cost = next(each for each in differs["money"] if each["name"] == "cost")
    sums = next(row for row in rows if row[0] == "Price without tax [USD]")
    assert sums[1:4] == [cost["from"], cost["to"], cost["more"]]
    assert round(sums[2] - sums[1], 2) == sums[3]
    assert next(row for row in rows if row[0] == "Fixtures converted")[3] == 6
    assert len(told["What changes, room by room"]) - 1 == len(differs["groups"])
    assert f"fixtures: {count} to {count + 6}" in str(told["What changes, room by room"])
    text = " ".join(text_of(taken(site, "change-order.pdf?from=1&to=2&reason=six%20more%20found"), "change").split())
    assert "Why: six more found" in text
    assert "Signature" in text
    options = sheets(taken(site, "offer.xlsx"))["Side by side"]
    released = column(options, "As released to crews")
    assert released["Price without tax [USD]"] == cost["to"]


def test_who_does_not_decide_takes_no_offer_away(site: Site) -> None:
    for name in ("crew", "surveyor"):
        status, told = Client(site.client.url, name).call("GET", f"/api/sites/{site.hand.site}/offer.pdf")
        assert (status, told["code"]) == (403, "role-not-enough")
