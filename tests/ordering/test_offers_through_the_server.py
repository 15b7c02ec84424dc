"""Offers, change orders and rebate figures of the demo building: every sum is the plan's, to the cent."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any

import pymupdf
import pytest
from openpyxl import load_workbook
from tests.open_points.complete_site import Hand
from tests.releases.test_through_the_server import Site, released_groups
from tests.support.back_ends import ONE_MACHINE
from tests.support.charges import CHARGES
from tests.support.demo_server import started
from tests.support.server import PASSWORD, Client

from spanwalk import records

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


def jcs(value: Any) -> bytes:
    """A JSON value as RFC 8785 writes it: names in order, no blanks, whole numbers without a point."""

    def whole(each: Any) -> Any:
        if isinstance(each, dict):
            return {name: whole(inner) for name, inner in each.items()}
        if isinstance(each, list):
            return [whole(inner) for inner in each]
        return int(each) if isinstance(each, float) and each.is_integer() else each

    return json.dumps(whole(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def text_of(data: bytes, name: str) -> str:
    document = pymupdf.open(stream=data, filetype="pdf")
    if SHOTS:
        for page in document:
            page.get_pixmap(dpi=80).save(f"{SHOTS}/{name}-{page.number + 1}.png")
    return "\n".join(page.get_text() for page in document)


def make(site: Site, path: str = "offers", **body: Any) -> Json:
    status, made = site.call("POST", path, body)
    assert status == 201, made
    return made


@pytest.fixture(scope="module")
def first(site: Site) -> Json:
    """The first offer, and the sums of the plan that it was made of."""
    totals = site.client.get(f"/api/sites/{site.hand.site}/plan")["totals"]
    return make(site, days=45, note="Kettle stays") | {"totals": totals}


@pytest.fixture(scope="module")
def offered(site: Site, first: Json) -> dict[str, Rows]:
    return sheets(taken(site, f"offers/{first['offer']}.xlsx"))


def test_what_is_offered_comes_to_the_sums_of_the_plan(first: Json, offered: dict[str, Rows]) -> None:
    totals = first["totals"]
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
    site: Site, first: Json, offered: dict[str, Rows]
) -> None:
    rests = str(offered["On what it rests"])
    money = site.records("money")[0]["facets"]["identity"]["value"]
    assert f"Energy price: {money['tariff_per_kwh']:g} per kWh (set for this site by" in rests
    out = str(offered["What is not included"])
    assert "They are not in the price." in out
    for words in ("Mobilisation: ", "Permits and their fees.", "Travel to the site.", "Containers for lamps", "Tax."):
        assert words in out
    text = text_of(taken(site, f"offers/{first['offer']}.pdf"), "offer")
    for words in (
        "Offer 1:",
        site.hand.state(first["offer"])["facets"]["identity"]["value"]["content"],
        "valid until",
        "Signature",
        "Kettle stays",
        "licensed people",
        "Where figures are from",
    ):
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


def test_an_offer_stays_as_it_was_made_whatever_the_plan_says_by_then(site: Site, first: Json) -> None:
    """The same bytes before and after the tariff, and with it every sum, is another; the next offer has the next number."""
    forms = {form: taken(site, f"offers/{first['offer']}.{form}") for form in ("pdf", "xlsx")}
    money = site.records("money")[0]
    site.lay_over(money["id"], "identity", tariff_per_kwh=0.29)
    last = max(each["facets"]["identity"]["value"]["number"] for each in site.records("offer"))
    second = make(site, days=10)
    site.lay_over(money["id"], "identity", tariff_per_kwh=money["facets"]["identity"]["value"]["tariff_per_kwh"])
    assert second["number"] == last + 1
    for form, before in forms.items():
        assert taken(site, f"offers/{first['offer']}.{form}") == before, form
    dearer = column(sheets(taken(site, f"offers/{second['offer']}.xlsx"))["Side by side"], "As offered")
    told = column(sheets(forms["xlsx"])["Side by side"], "As offered")
    assert dearer["Saved in a year [USD]"] > told["Saved in a year [USD]"]


def test_what_was_offered_can_be_proved_by_its_fingerprint_reckoned_apart(site: Site, first: Json) -> None:
    """SHA-256 over the canonical text (RFC 8785: names in order, no blanks) by the standard library alone."""
    said = site.hand.state(first["offer"])["facets"]["identity"]["value"]
    parts = [each for each in site.records("offer_lines") if each["parent"] == first["offer"]]
    parts.sort(key=lambda each: each["facets"]["identity"]["value"]["place"])
    lines = [line for each in parts for line in each["facets"]["identity"]["value"]["lines"]]
    assert lines
    whole = {"number": said["number"], "sort": said["sort"], "told": said["told"], "lines": lines}
    assert sha256(jcs(whole)).hexdigest() == said["content"]


ANSWERED = {
    "answer": "accepted",
    "option": "as-offered",
    "answered_on": "2026-11-29",
    "by_whom": "R. Quill (invented)",
}


def test_a_customers_answer_is_noted_and_leaves_the_paper_as_it_was(site: Site, first: Json) -> None:
    before = taken(site, f"offers/{first['offer']}.pdf")
    site.hand.save(first["offer"], "offer", answered=ANSWERED)
    assert site.hand.state(first["offer"])["facets"]["answered"]["value"] == ANSWERED
    assert taken(site, f"offers/{first['offer']}.pdf") == before


def test_wrong_days_and_an_offer_that_is_not_there_are_refused(site: Site) -> None:
    for days in (0, 366):
        status, told = site.call("POST", "offers", {"days": days})
        assert (status, told["field"], told["value"]) == (422, "days", days)
    status, told = site.call("GET", "offers/00000000-0000-4000-8000-000000000000.pdf")
    assert (status, told["code"]) == (404, "offer.unknown")
    status, told = site.call("POST", "offers/change", {"from": "9", "to": "today"})
    assert (status, told["code"]) == (404, "release-unknown")


def test_a_change_order_tells_what_differs_both_sums_and_which_offer_it_changes(site: Site, first: Json) -> None:
    site.hand.save(first["offer"], "offer", answered=ANSWERED)
    group = released_groups(site.release(), site)[0]
    count = site.hand.state(group)["facets"]["count"]["value"]["count"]
    site.lay_over(group, "count", count=count + 6)
    site.release()
    differs = site.client.get(f"/api/sites/{site.hand.site}/releases/differences?from=1&to=2")
    body = {"from": "1", "to": "2", "reason": "six more found", "changes": first["offer"]}
    change = make(site, "offers/change", **body)
    told = sheets(taken(site, f"offers/{change['offer']}.xlsx"))
    rows = told["Sums of both"]
    cost = next(each for each in differs["money"] if each["name"] == "cost")
    sums = next(row for row in rows if row[0] == "Price without tax [USD]")
    assert sums[1:4] == [cost["from"], cost["to"], cost["more"]]
    assert round(sums[2] - sums[1], 2) == sums[3]
    assert next(row for row in rows if row[0] == "Fixtures converted")[3] == 6
    assert len(told["What changes, room by room"]) - 2 == len(differs["groups"])
    assert "these columns do not add up" in str(told["What changes, room by room"][0])
    assert f"fixtures: {count} to {count + 6}" in str(told["What changes, room by room"])
    text = " ".join(text_of(taken(site, f"offers/{change['offer']}.pdf"), "change").split())
    assert "Why: six more found" in text
    assert "Whole packs and what is paid once for the job are in the sums above alone" in text
    assert f"Changes offer {first['number']} of" in text
    assert "accepted on 2026-11-29 by R. Quill (invented)" in text
    assert "Signature" in text
    options = site.client.get(f"/api/sites/{site.hand.site}/offers/draft")["options"]
    released = next(each for each in options if each["name"] == "released")
    assert released["money"]["cost"] == cost["to"]


def test_who_does_not_decide_makes_no_offer_and_takes_none_away(site: Site, first: Json) -> None:
    for name in ("crew", "surveyor"):
        other, at = Client(site.client.url, name), f"/api/sites/{site.hand.site}/offers"
        for method, path in (("GET", f"{at}/{first['offer']}.pdf"), ("POST", at), ("GET", f"{at}/draft")):
            status, told = other.call(method, path, None if method == "GET" else {"days": 3})
            assert (status, told["code"]) == (403, "role-not-enough")


@pytest.fixture
def charged(site: Site, first: Json) -> Iterator[None]:
    """All is charged on the job but a permit's sum; afterwards its money is as it was."""
    (money,) = site.records("money")
    was = money["facets"]["identity"]["value"]
    some = {name: value for name, value in CHARGES.items() if name not in ("permit_sum", "travel_h_per_day")}
    site.hand.save(money["id"], "money", identity={**was, **some})
    yield
    # As of today's spec: what a phone of an older one does not know is kept.
    site.hand.push(site.hand.operation(money["id"], "money", "identity", was, spec=records.spec().number))


@pytest.mark.usefixtures("charged")
def test_what_is_charged_on_the_job_stands_in_lines_that_add_up_to_the_price(site: Site, first: Json) -> None:
    before = taken(site, f"offers/{first['offer']}.pdf")
    told = site.client.get(f"/api/sites/{site.hand.site}/plan")["totals"]["money"]
    offered = make(site, days=30)
    book = sheets(taken(site, f"offers/{offered['offer']}.xlsx"))
    _, *lines, together = book["What the price is made of"]
    amounts = {row[0]: row[2] for row in lines}
    assert [*amounts] == [
        "Items, labour, platforms and disposal",
        "Travel",
        "Containers for lamps up to 4 ft",
        "Mobilisation",
        "Permit",
        "Tax",
    ]
    assert round(sum(amounts.values()), 2) == together[2] == told["cost"]
    assert column(book["Side by side"], "As offered")["Price with tax [USD]"] == told["cost"]
    assert column(book["Side by side"], "As offered")["Of it, tax [USD]"] == amounts["Tax"]
    head, *rooms, sum_of_rooms = book["What is done, room by room"]
    assert round(sum(row[head.index("Price [USD]")] for row in rooms), 2) == sum_of_rooms[-1] == told["cost"]
    assert "Containers for ballasts without PCB." in str(book["What is not included"])
    assert not any(
        words in str(book["What is not included"]) for words in ("Tax.", "Mobilisation", "Travel", "Permits")
    )
    text = " ".join(text_of(taken(site, f"offers/{offered['offer']}.pdf"), "charged").split())
    assert "of it is tax." in text
    assert "450.00" in text
    assert taken(site, f"offers/{first['offer']}.pdf") == before, "what was offered stays as it was"


def test_an_offer_from_which_a_name_was_taken_out_is_still_what_was_made(site: Site) -> None:
    """Who entered prices is named in every offer: when they left, all offers said that they were not to be sent."""
    owner = Client(site.client.url, "owner")
    status, person = owner.call("POST", "/api/people", {"name": "Fiona Walker", "password": PASSWORD})
    assert status == 201
    put = {"name": "Fiona Walker", "role": "manager"}
    assert owner.call("PUT", f"/api/sites/{site.hand.site}/people", put)[0] in (200, 204)
    (money,) = (
        each for each in site.client.get(f"/api/sites/{site.hand.site}/pull")["records"] if each["type"] == "money"
    )
    hers = Hand(Client(site.client.url, "Fiona Walker"), site.hand.site)
    hers.save(money["id"], "money", identity={**money["facets"]["identity"]["value"], "tariff_per_kwh": 0.19})
    made = make(site, days=30, note="Ask Fiona Walker.")
    said = text_of(taken(site, f"offers/{made['offer']}.pdf"), "named")
    assert said.count("Fiona Walker") > 1
    (was,) = re.findall(r"[0-9a-f]{64}", said)
    assert owner.call("PUT", f"/api/people/{person['id']}", {"state": "left"})[0] == 200
    assert owner.call("POST", f"/api/people/{person['id']}/anonymised")[0] == 204
    said = text_of(taken(site, f"offers/{made['offer']}.pdf"), "former")
    assert "Fiona" not in said
    assert "is not what was made" not in said
    before, now = re.findall(r"[0-9a-f]{64}", said)
    assert before == was != now
