"""From a release to a change order: ordered at the desk, counted in the yard without a signal, told to rooms and crews."""

from __future__ import annotations

import os
from io import BytesIO
from pathlib import Path

from openpyxl import load_workbook
from playwright.sync_api import Browser, Page, expect
from tests.conftest import PHONE, WITHOUT_WORKER, go, sign_in
from tests.desk.conftest import NewDesk
from tests.open_points.complete_site import Hand
from tests.releases.test_through_the_server import Site, released_groups
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Server

SUPPLIER = "Quayside Electrical Wholesale (invented)"
SHOTS = os.environ.get("SHOTS")


def shot(page: Page, name: str) -> None:
    """Pictures to be looked at by a person, where a folder is named for them."""
    if SHOTS:
        size = page.viewport_size
        for width in (360, 1280):
            page.set_viewport_size({"width": width, "height": 900})
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
                page.wait_for_timeout(200)
                page.screenshot(path=f"{SHOTS}/{name}-{width}-{scheme}.png", full_page=True)
        page.emulate_media(color_scheme="light")
        if size:
            page.set_viewport_size(size)


def test_a_release_is_ordered_received_in_part_and_changed(
    new_desk: NewDesk, server: Server, browser: Browser, tmp_path: Path
) -> None:
    desk = new_desk()
    site = Site(Hand(desk.client, desk.site))
    for each in site.records("catalogue_item"):
        said = each["facets"]["identity"]["value"]
        if said["item"] == "bar":
            supply = {"supplier": SUPPLIER, "supplier_number": f"q-{said['code']}", "pack_size": 10, "lead_days": 28}
            site.hand.save(each["id"], "catalogue_item", supply=supply)
    first = site.release()

    page = desk.open("/orders")
    to_order = page.get_by_role("region", name="To be ordered")
    expect(to_order.get_by_role("heading", name=SUPPLIER)).to_be_visible()
    expect(to_order.get_by_text("The catalogue names no supplier for")).to_be_visible()
    to_order.get_by_label("All floors").fill("2026-12-01")
    expect(to_order.get_by_text("come later than they are wanted")).to_be_visible()
    shot(page, "to-order")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    to_order.get_by_role("button", name="Make 2 orders").click()
    expect(to_order.get_by_text("There is nothing to order.")).to_be_visible()
    page.get_by_role("link", name="Order 1 ·").click()
    with page.expect_download() as taken:
        page.get_by_role("link", name="Workbook (XLSX)").click()
    taken.value.save_as(tmp_path / "order.xlsx")
    book = load_workbook(BytesIO((tmp_path / "order.xlsx").read_bytes()))
    assert SUPPLIER in str(list(book.worksheets[0].iter_rows(values_only=True)))
    page.get_by_label("Sent on").fill("2026-11-30")
    page.get_by_label("Promised for").fill("2026-12-20")
    page.get_by_role("button", name="Save").first.click()
    expect(page.get_by_text("Saved.", exact=True)).to_be_visible()
    shot(page, "order")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))

    context = browser.new_context(**{**PHONE, **WITHOUT_WORKER})
    yard = sign_in(context.new_page(), server.url, "crew")
    yard.get_by_role("link", name="Cannery").click()
    go(yard, f"/s/{desk.site}/today/picking")
    expect(yard.get_by_text("Some of it has not come yet.")).to_be_visible()
    expect(yard.get_by_text("not here yet").first).to_be_visible()
    shot(yard, "picking")
    go(yard, f"/s/{desk.site}/receive")
    yard.get_by_role("link", name="Order 1 ·").click()
    expect(yard.get_by_label("Number of the delivery note")).to_be_visible()
    context.set_offline(True)
    yard.get_by_label("Number of the delivery note").fill("dn 17")
    yard.get_by_label("Number of the delivery note").blur()
    line = yard.get_by_role("group").first
    line.get_by_role("button", name="All ").click()
    ordered = int(line.get_by_label("Good", exact=True).input_value())
    line.get_by_label("Good", exact=True).fill(str(ordered - 1))
    line.get_by_text("Damaged, wrong or missing").click()
    line.get_by_label("Damaged", exact=True).fill("1")
    shot(yard, "receive")
    yard.get_by_role("button", name="Save the count").click()
    expect(yard.get_by_text("Saved on this phone.")).to_be_visible()
    expect(yard.get_by_text(f"{ordered - 1} came, 1 to come")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(yard, widths=(320, 360))
    context.set_offline(False)
    go(yard, f"/s/{desk.site}/unsent")
    expect(yard.get_by_text("All sent.")).to_be_visible()

    page.goto(f"{desk.url}/s/{desk.site}/stock")
    expect(page.get_by_role("heading", name="Rooms that wait")).to_be_visible()
    expect(page.get_by_text("1 to send back (1 damaged, 0 wrong).")).to_be_visible()
    expect(page.get_by_text("not here.").first).to_be_visible()
    page.get_by_role("button", name="Keep things for").first.click()
    expect(page.get_by_text("kept", exact=True)).to_be_visible()
    shot(page, "stock")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    context.close()

    group = released_groups(first, site)[0]
    count = site.hand.state(group)["facets"]["count"]["value"]["count"]
    site.lay_over(group, "count", count=count + 6)
    site.release()
    page = desk.open("/orders")
    to_order = page.get_by_role("region", name="To be ordered")
    expect(to_order.get_by_text("From release 1 to release 2").first).to_be_visible()
    shot(page, "change-order")
    to_order.get_by_role("button", name="Make").click()
    expect(to_order.get_by_text("There is nothing to order.")).to_be_visible()
    expect(page.get_by_text("change order ·").first).to_be_visible()
