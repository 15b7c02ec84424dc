"""Orders for the demo building's releases: numbers are those of the release, frozen, and only what differs is ordered again."""

from __future__ import annotations

import csv
from io import BytesIO, StringIO
from typing import Any
from uuid import uuid4

import pytest
from openpyxl import load_workbook
from tests.open_points.complete_site import Hand
from tests.releases.test_through_the_server import Moment, Site, released_groups, sold_singly
from tests.support import back_ends, demo_server
from tests.support.server import Client, Server

Json = Any
back_end = back_ends.on_both()
server = demo_server.on_both()
SUPPLIER = "Quayside Electrical Wholesale (invented)"
WANTED = {"wanted_on": "2027-03-01", "floors": [{"floor": "Undercroft", "on": "2027-02-01"}]}


@pytest.fixture(scope="module")
def site(server: Server) -> Site:
    client = Client(server.url, "manager")
    return Site(Hand(client, client.site_id()))


def draft_of(site: Site) -> Json:
    status, told = site.call("POST", "orders/draft", WANTED)
    assert status == 200, told
    return told


def order(site: Site) -> list[Json]:
    """Order what is to be ordered; the records of the orders made."""
    content = draft_of(site)["content"]
    status, made = site.call("POST", "orders", {**WANTED, "content": content, "note": "mark each box"})
    assert status == 201, made
    ids = {each["order"] for each in made["orders"]}
    return [each for each in site.records("order") if each["id"] in ids]


def said(record: Json, facet: str = "identity") -> Json:
    return record["facets"][facet]["value"]


def by_item(orders: list[Json]) -> dict[str, int]:
    found: dict[str, int] = {}
    for each in orders:
        for line in said(each)["lines"]:
            found[line["code"]] = found.get(line["code"], 0) + line["pieces"]
    return found


def sheet(site: Site, order_id: str, ends: str) -> bytes:
    content: bytes = site.client.get(f"/api/sites/{site.hand.site}/orders/{order_id}.{ends}")
    return content


def rows_of_workbook(data: bytes) -> list[dict[str, Json]]:
    rows = [list(row) for row in load_workbook(BytesIO(data)).worksheets[0].iter_rows(values_only=True)]
    head = next(place for place, row in enumerate(rows) if row[0] == "Your number")
    return [dict(zip(rows[head], row, strict=True)) for row in rows[head + 1 :]]


@pytest.fixture(scope="module")
def both(site: Site) -> tuple[Json, Json]:
    """Two releases, each ordered: bars come from a supplier in packs of 10, all else from nobody said; then six fixtures more."""
    status, told = site.call("POST", "orders/draft", WANTED)
    assert (status, told["code"]) == (404, "order-no-release")
    sold_singly(site)
    for each in site.records("catalogue_item"):
        if said(each)["item"] == "bar":
            supply = {
                "supplier": SUPPLIER,
                "supplier_number": f"no-{said(each)['code']}",
                "pack_size": 10,
                "lead_days": 120,
            }
            site.hand.save(each["id"], "catalogue_item", supply=supply)
    first = {**site.release(), "draft": draft_of(site), "orders": order(site)}
    first |= {"then": Moment.of(site), "again": draft_of(site)}
    first["refused"] = site.call("POST", "orders", {**WANTED, "content": first["again"]["content"]})
    group = released_groups(first, site)[0]
    count = site.hand.state(group)["facets"]["count"]["value"]["count"]
    site.lay_over(group, "count", count=count + 6)
    return first, {**site.release(), "draft": draft_of(site), "orders": order(site), "group": group}


@pytest.fixture(scope="module")
def first(both: tuple[Json, Json]) -> Json:
    return both[0]


@pytest.fixture(scope="module")
def second(both: tuple[Json, Json]) -> Json:
    return both[1]


@pytest.fixture(scope="module")
def called_off(site: Site, second: Json) -> Json:
    """What is called off once the bars of the group that grew are not needed any more; and after all of one item has come."""
    conversion = site.conversions(second["group"])[-1]
    site.hand.save(conversion["id"], "conversion", withdrawn={"reason": "the tenant stays dark"})
    told = draft_of(site)
    line = next(line for each in told["orders"] for line in each["lines"])
    orders = [each for each in site.records("order") if any(its["item"] == line["item"] for its in said(each)["lines"])]
    for each in orders:
        came = next(its["pieces"] for its in said(each)["lines"] if its["item"] == line["item"])
        identity = {"parent": each["id"], "item": line["item"], "slip": "1"}
        site.hand.save(str(uuid4()), "delivery", identity=identity, count={"good": came})
    return {"told": told, "came": line["code"], "after": draft_of(site)}


def test_orders_are_numbered_dated_by_supplier_and_told_to_all_without_prices(first: Json) -> None:
    site = first["then"]
    ours, unsaid = first["orders"]
    assert [said(each)["number"] for each in first["orders"]] == [1, 2]
    assert (said(ours)["supplier"], said(ours)["sort"]) == (SUPPLIER, "first-order")
    assert "supplier" not in said(unsaid)
    crew = site.records("order", "crew")
    assert [each["id"] for each in crew] == [each["id"] for each in first["orders"]]
    assert "price" not in str(crew)
    for name in ("crew", "surveyor"):
        assert site.records("order_prices", name) == []
    assert len(site.records("order_prices")) == 2


def test_orders_come_to_the_sums_of_the_release_item_by_item(first: Json) -> None:
    site = first["then"]
    lines = site.whole(1)["order"]
    assert by_item(first["orders"]) == {each["code"]: each["order"] for each in lines if each["order"]}
    prices = {
        line["item"]: line["sum"] for each in site.records("order_prices") for line in said(each)["figures"]["lines"]
    }
    assert prices == {each["item"]: each["sum"] for each in lines if each["order"]}


def test_a_line_is_the_sum_of_its_floors_spares_and_what_is_left_over(first: Json) -> None:
    lines = [line for each in first["orders"] for line in said(each)["lines"]]
    assert lines
    for line in lines:
        parts = sum(each["pieces"] for each in line["floors"]) + line["spare"] + line["for_misfits"] + line["left_over"]
        assert parts == line["pieces"] == line["packs"] * line["pack_size"]
    bars = said(first["orders"][0])["lines"]
    assert all(line["pieces"] % 10 == 0 for line in bars)
    days = {each["floor"]: each["wanted_on"] for line in bars for each in line["floors"]}
    assert days["Undercroft"] == "2027-02-01"
    assert set(days.values()) == {"2027-02-01", "2027-03-01"}


def test_the_workbook_that_a_supplier_gets_has_the_numbers_of_the_order(site: Site, first: Json) -> None:
    order = first["orders"][0]
    rows = rows_of_workbook(sheet(site, order["id"], "xlsx"))
    assert {row["Our code"]: row["Pieces"] for row in rows} == by_item([order])
    assert {row["Your number"] for row in rows} == {f"no-{row['Our code']}" for row in rows}
    sums = [row["Sum [USD]"] for row in rows]
    figures = next(said(each)["figures"] for each in site.records("order_prices") if each["parent"] == order["id"])
    assert round(sum(sums), 2) == figures["sum"]


def test_csv_and_pdf_tell_the_same(site: Site, first: Json) -> None:
    order = first["orders"][0]
    rows = list(csv.reader(StringIO(sheet(site, order["id"], "csv").decode("utf-8-sig"))))
    head = next(place for place, row in enumerate(rows) if row[0] == "Your number")
    assert {row[1]: int(row[4]) for row in rows[head + 1 :]} == by_item([order])
    pdf = sheet(site, order["id"], "pdf")
    assert pdf.startswith(b"%PDF")


def test_what_the_catalogue_does_not_say_is_said_to_be_missing(site: Site, first: Json) -> None:
    cautions = {each["code"] for each in first["draft"]["cautions"]}
    assert {"orders.caution.supplier", "orders.caution.number", "orders.caution.lead"} <= cautions
    rows = rows_of_workbook(sheet(site, first["orders"][1]["id"], "xlsx"))
    assert {row["Your number"] for row in rows} == {"not said"}


def test_what_was_ordered_is_not_ordered_again_and_an_old_draft_is_refused(first: Json) -> None:
    assert first["again"]["orders"] == []
    status, refused = first["refused"]
    assert (status, refused["code"]) == (409, "orders.nothing")


def test_a_changed_catalogue_does_not_move_an_order(site: Site, first: Json) -> None:
    order = first["orders"][0]
    before = sheet(site, order["id"], "csv")
    item = said(order)["lines"][0]["item"]
    identity = site.hand.state(item)["facets"]["identity"]["value"]
    site.lay_over(item, "identity", name="renamed since")
    site.lay_over(item, "supply", lead_days=7)
    try:
        assert sheet(site, order["id"], "csv") == before
    finally:
        site.hand.save(
            item,
            "catalogue_item",
            identity={k: v for k, v in identity.items() if k != "parent"} | {"parent": site.hand.site},
        )
        site.lay_over(item, "supply", lead_days=120)


def test_a_change_order_orders_only_what_differs_between_two_releases(site: Site, first: Json, second: Json) -> None:
    assert {said(each)["sort"] for each in second["orders"]} == {"change-order"}
    release = next(each["id"] for each in site.records("release") if said(each)["number"] == 1)
    assert {said(each)["against"] for each in second["orders"]} == {release}
    assert by_item(second["orders"]) == {
        each["code"]: each["order"] for each in site.whole(2)["order"] if each["order"]
    }
    everything = by_item([*first["orders"], *second["orders"]])
    need = {each["code"]: each["need"] for each in site.whole(2)["order"] if each["need"]}
    assert {code: everything[code] >= number for code, number in need.items()} == dict.fromkeys(need, True)


def test_what_is_no_longer_needed_is_called_off_in_whole_packs_unless_it_has_come(called_off: Json) -> None:
    """The bars of the group that grew are not needed any more; of one item all has come, so nothing of that is called off."""
    fewer = {line["code"]: line for each in called_off["told"]["orders"] for line in each["lines"]}
    assert fewer
    assert {line["change"] for line in fewer.values()} == {"fewer"}
    assert all(line["pieces"] < 0 and line["pieces"] == line["packs"] * line["pack_size"] for line in fewer.values())
    now = {its["code"] for each in called_off["after"]["orders"] for its in each["lines"]}
    assert now == set(fewer) - {called_off["came"]}
    assert called_off["came"] in {each["code"] for each in called_off["after"]["over"]}


def test_a_cancelled_order_covers_nothing_but_what_came(site: Site, called_off: Json) -> None:
    lines = [its for each in called_off["after"]["orders"] for its in each["lines"]]
    before = {its["code"]: its["pieces"] for its in lines}
    to_call_off = {its["item"] for its in lines}
    order = next(
        each for each in site.records("order") if any(its["item"] in to_call_off for its in said(each)["lines"])
    )
    site.hand.save(order["id"], "order", cancelled={"reason": "supplier has none"})
    after = {its["code"]: its["pieces"] for each in draft_of(site)["orders"] for its in each["lines"]}
    assert after != before
    assert b"supplier has none" in sheet(site, order["id"], "csv")


def test_crew_and_surveyor_neither_order_nor_take_an_order_away(site: Site, first: Json) -> None:
    for name in ("crew", "surveyor"):
        client = Client(site.client.url, name)
        answers = [
            client.call("POST", f"/api/sites/{site.hand.site}/orders/draft", WANTED),
            client.call("GET", f"/api/sites/{site.hand.site}/orders/{first['orders'][0]['id']}.csv"),
        ]
        assert [(status, told["code"]) for status, told in answers] == [(403, "role-not-enough")] * 2
