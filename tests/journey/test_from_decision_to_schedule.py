"""The demo building decided, offered, ordered, received and scheduled: at the desk, and in the yard without a signal."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from openpyxl import load_workbook
from playwright.sync_api import Browser, BrowserContext, Page, expect
from tests.conftest import PHONE, WITHOUT_WORKER, go, sign_in
from tests.desk.conftest import Desk, NewDesk
from tests.open_points.complete_site import Hand
from tests.releases.test_through_the_server import Site, released_groups
from tests.support.looks import assert_fits_and_can_be_hit_and_read, shot
from tests.support.server import Server

from spanwalk.words import say

SUPPLIER = "Quayside Electrical Wholesale (invented)"


def decided(desk: Desk) -> None:
    """Stairs are left as they are, with a reason."""
    page = desk.open("/plan")
    page.get_by_role("link", name="Choose for many groups").click()
    page.get_by_label("What to do").select_option("leave")
    page.get_by_label("Use of the room").select_option("stair")
    page.get_by_role("button", name="Show what changes").click()
    page.get_by_label("Reason").fill("The stairs are rebuilt next year")
    page.get_by_role("button", name="Take it: decide for").click()
    expect(page.get_by_text("Taken:")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()


def offered(desk: Desk, folder: Path) -> None:
    """An offer is made, taken away, and its acceptance noted."""
    page = desk.open("/offer")
    expect(page.get_by_text("No offer was made yet.")).to_be_visible()
    page.get_by_label("Valid for so many days").fill("45")
    page.get_by_role("region", name="Offer", exact=True).get_by_label("Language of the paper").select_option("Español")
    page.get_by_role("button", name="Make the offer").click()
    kept = page.get_by_role("region", name="Offers made")
    expect(kept.get_by_text("no answer yet")).to_be_visible()
    expect(kept.get_by_text("in Español")).to_be_visible()
    with page.expect_download() as taken:
        kept.get_by_role("link", name="Offer 1 (PDF)").click()
    taken.value.save_as(folder / "offer.pdf")
    kept.get_by_text("The customer's answer to Offer 1").click()
    shot(page, "offer")
    kept.get_by_role("radio", name="accepted", exact=True).check()
    kept.get_by_role("textbox", name=re.compile("^On")).fill("2020-01-01")
    kept.get_by_label("By whom").fill("R. Quill (invented)")
    kept.get_by_role("button", name="Save").click()
    expect(kept.get_by_text("no answer can be of a day before").first).to_be_visible()
    kept.get_by_role("textbox", name=re.compile("^On")).fill(date.today().isoformat())
    kept.get_by_role("button", name="Save").click()
    expect(kept.get_by_text("by R. Quill (invented)")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))


def ordered(desk: Desk, folder: Path) -> None:
    """What the release needs is ordered by supplier, and one order is sent."""
    page = desk.open("/orders")
    to_order = page.get_by_role("region", name="To be ordered")
    expect(to_order.get_by_role("heading", name=SUPPLIER)).to_be_visible()
    expect(to_order.get_by_text("The catalogue names no supplier for")).to_have_count(0)
    to_order.get_by_label("All floors").fill("2026-12-01")
    expect(to_order.get_by_text("come later than they are wanted")).to_be_visible()
    shot(page, "to-order")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    to_order.get_by_role("button", name="Make 3 orders").click()
    expect(to_order.get_by_text("There is nothing to order.")).to_be_visible()
    page.get_by_role("link", name=f"{SUPPLIER}").first.click()
    page.get_by_label("Language of the paper").select_option("Español")
    with page.expect_download() as taken:
        page.get_by_role("link", name="Workbook (XLSX)").click()
    taken.value.save_as(folder / "order.xlsx")
    sheet = str(list(load_workbook(folder / "order.xlsx").worksheets[0].iter_rows(values_only=True)))
    assert SUPPLIER in sheet
    assert say("order-sheet.head.pieces", language="es") in sheet
    page.get_by_label("Sent on").fill("2026-11-30")
    page.get_by_label("Promised for").fill("2026-12-20")
    page.get_by_role("button", name="Save").first.click()
    expect(page.get_by_text("Saved.", exact=True)).to_be_visible()
    shot(page, "order")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    expect(page.get_by_text("Saved.", exact=True)).to_be_visible()  # and stays, in a form begun anew


def received(yard: Page, site: str, context: BrowserContext) -> None:
    """A delivery is counted offline in few taps: all came well, but one piece is broken; taken back, and counted again."""
    yard.get_by_role("link", name="Cannery").click()
    go(yard, f"/s/{site}/today/picking")
    expect(yard.get_by_text("Some of it has not come yet.")).to_be_visible()
    expect(yard.get_by_text("not here yet").first).to_be_visible()
    go(yard, f"/s/{site}/receive")
    yard.get_by_role("link", name=SUPPLIER).click()
    expect(yard.get_by_label("Number of the delivery note")).to_be_visible()
    context.set_offline(True)
    yard.get_by_label("Number of the delivery note").fill("dn 17")
    yard.get_by_label("Number of the delivery note").blur()
    save = yard.get_by_role("button", name="Save the count")
    expect(save).to_be_in_viewport(ratio=1)
    line = yard.get_by_role("group").first
    yard.get_by_role("button", name="All that is to come came").click()
    ordered = int(line.get_by_label("Good", exact=True).input_value())
    line.get_by_text("Damaged, wrong or missing").click()
    line.get_by_role("button", name="Damaged").last.click()
    expect(line.get_by_label("Good", exact=True)).to_have_value(str(ordered - 1))
    shot(yard, "receive", widths=(360,))
    save.click()
    expect(yard.get_by_text("Saved on this phone.")).to_be_in_viewport(ratio=1)
    yard.get_by_role("button", name="Undo").click()
    expect(yard.get_by_text("Taken back.")).to_be_visible()
    expect(line.get_by_label("Good", exact=True)).to_have_value("")
    line.get_by_role("button", name=f"All {ordered} ").click()
    line.get_by_text("Damaged, wrong or missing").click()
    line.get_by_role("button", name="Damaged").last.click()
    save.click()
    expect(yard.get_by_text(f"{ordered - 1} came, 1 to come")).to_be_visible()
    expect(yard.get_by_text("Saved on this phone.")).to_be_in_viewport(ratio=1)
    assert_fits_and_can_be_hit_and_read(yard, widths=(320, 360))
    context.set_offline(False)
    go(yard, f"/s/{site}/unsent")
    expect(yard.get_by_text("All sent.")).to_be_visible()


def noted_twice(yard: Page, site: str) -> None:
    """The same delivery under the day instead of its number: who looks next is told, and corrects it."""
    go(yard, f"/s/{site}/receive")
    yard.get_by_role("link", name=SUPPLIER).click()
    line = yard.locator("fieldset.receive-line").first  # beside what came before, which folds
    expect(line.get_by_text("more than ordered")).to_have_count(0)
    line.get_by_label("Good", exact=True).fill("9")
    yard.get_by_role("button", name="Save the count").click()
    expect(line.get_by_text("8 more than ordered. Was one delivery noted twice")).to_be_visible()
    yard.get_by_label("Number of the delivery note").fill("DN 18")
    yard.get_by_label("Number of the delivery note").blur()
    yard.get_by_text("2 deliveries before").click()
    assert_fits_and_can_be_hit_and_read(yard, widths=(320, 360))
    yard.get_by_role("button", name=re.compile(r"Correct what came by \d{4}-\d\d-\d\d")).click()
    expect(line.get_by_label("Good", exact=True)).to_have_value("9")
    line.get_by_label("Good", exact=True).fill("0")
    yard.get_by_role("button", name="Save the count").click()
    expect(line.get_by_text("more than ordered")).to_have_count(0)
    go(yard, f"/s/{site}/unsent")
    expect(yard.get_by_text("All sent.")).to_be_visible()


def kept_in_stock(desk: Desk) -> None:
    """What came stands in stock, what is broken is to be sent back, and a room's things are kept for it."""
    page = desk.page
    page.goto(f"{desk.url}/s/{desk.site}/stock")
    expect(page.get_by_role("heading", name="Rooms that wait")).to_be_visible()
    expect(page.get_by_text("1 to send back (1 damaged, 0 wrong).")).to_be_visible()
    expect(page.get_by_text("not here.").first).to_be_visible()
    page.get_by_role("button", name="Keep things for").first.click()
    expect(page.get_by_text("kept", exact=True)).to_be_visible()
    shot(page, "stock")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))


def scheduled(desk: Desk, folder: Path) -> None:
    """The week's picture, and the same as a calendar; days and days of a platform stand beside those of room after room."""
    page = desk.open("/schedule")
    expect(page.get_by_text(re.compile(r"^\d+ days, 3 days of a platform"))).to_be_visible()
    expect(page.get_by_text(re.compile(r"^Room after room it would be \d+ days, 4 days of a platform"))).to_be_visible()
    shot(page, "schedule")
    expect(page.get_by_label("First day")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=(1280, 360))
    expect(page.get_by_label("First day")).not_to_be_visible()  # on a phone the shifts come first
    page.get_by_text("2 people, 8 h a shift from 07:00").click()
    expect(page.get_by_label("First day")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    with page.expect_download() as taken:
        page.get_by_role("link", name="Take the calendar away").click()
    taken.value.save_as(folder / "schedule.ics")
    assert (folder / "schedule.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")


def changed(desk: Desk) -> None:
    """Six fixtures more: a change order for the customer names the offer, one for the supplier has only what differs."""
    page = desk.open("/offer")
    change = page.get_by_role("region", name="Change order for the customer")
    change.get_by_label("Reason").fill("Six more were found")
    change.get_by_role("button", name="Make the change order").click()
    kept = page.get_by_role("region", name="Offers made")
    expect(kept.get_by_text("from release 1 to release 2 · changes offer 1")).to_be_visible()
    page = desk.open("/orders")
    to_order = page.get_by_role("region", name="To be ordered")
    expect(to_order.get_by_text("From release 1 to release 2").first).to_be_visible()
    shot(page, "change-order")
    to_order.get_by_role("button", name="Make").click()
    expect(to_order.get_by_text("There is nothing to order.")).to_be_visible()
    expect(page.get_by_text("change order ·").first).to_be_visible()


def test_the_demo_is_decided_offered_ordered_received_and_scheduled(
    new_desk: NewDesk, server: Server, browser: Browser, tmp_path: Path
) -> None:
    desk = new_desk()
    site = Site(Hand(desk.client, desk.site))
    decided(desk)
    offered(desk, tmp_path)
    first = site.release()
    ordered(desk, tmp_path)
    context = browser.new_context(**{**PHONE, **WITHOUT_WORKER})
    yard = sign_in(context.new_page(), server.url, "crew")
    received(yard, desk.site, context)
    noted_twice(yard, desk.site)
    context.close()
    kept_in_stock(desk)
    scheduled(desk, tmp_path)
    group = released_groups(first, site)[0]
    count = site.hand.state(group)["facets"]["count"]["value"]["count"]
    site.lay_over(group, "count", count=count + 6)
    site.release()
    changed(desk)
