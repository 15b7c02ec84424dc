"""What each group becomes: totals, the decision of a person, and the release that freezes it."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Locator, Page, expect
from tests.conftest import WAIT_S, sign_in
from tests.desk.conftest import Desk, NewDesk
from tests.support.releasing import release_seen
from tests.support.server import Server

Json = Any


def group_on_screen(page: Page, row: Json) -> Locator:
    title = f"{row['room_name']} · {row['mark']} × {row['fixtures']}"
    return page.locator("details.group").filter(has_text=re.compile(re.escape(title) + r"(?!\d)")).first


def title_of(row: Json) -> str:
    return f"{row['room_name']} · {row['mark']} × {row['fixtures']}"


def alone(rows: list[Json], row: Json) -> bool:
    return [title_of(each) for each in rows].count(title_of(row)) == 1


def state_of(desk: Desk, group: str) -> str:
    return next(each["state"] for each in desk.told("plan")["groups"] if each["group"] == group)


def until(holds: Callable[[], bool]) -> None:
    """Wait until the server has it."""
    last = time.monotonic() + WAIT_S
    while not holds():
        assert time.monotonic() < last, "the server never had it"
        time.sleep(0.2)


def open_all(page: Page) -> None:
    """Open the floors, where they are folded."""
    page.evaluate("document.querySelectorAll('main details:not(.group)').forEach(each => { each.open = true; })")


def test_every_group_stands_there_with_what_it_becomes_or_why_not(new_desk: NewDesk) -> None:
    desk = new_desk()
    rows = desk.told("plan")["groups"]
    page = desk.open("/plan")
    open_all(page)
    expect(page.locator("details.group")).to_have_count(len(rows))
    for row in (each for each in rows if alone(rows, each)):
        text = group_on_screen(page, row).locator("summary").inner_text()
        assert row["state"] in text
        assert row["state"] != "ready" or row["arrangement"] in text
        assert not re.search(r"\{\w+\}|plan\.\w+", text), text
        assert len(text.splitlines()) > 1, f"no word of why: {text}"


def test_what_to_order_is_what_the_ready_groups_hold_and_spares(new_desk: NewDesk) -> None:
    desk = new_desk()
    told = desk.told("plan")
    page = desk.open("/plan")
    ready = [row for row in told["groups"] if row["state"] == "ready"]
    fixtures = sum(row["fixtures"] for row in ready)
    expect(page.get_by_role("main")).to_contain_text(f"{len(ready)} groups, {fixtures} fixtures")
    order = page.get_by_role("table", name="Would be ordered")
    for item in told["totals"]["quantities"]:
        row = order.get_by_role("row", name=re.compile(rf"^{item['code']} "))
        fitted, spare, together = (text.replace(",", "") for text in row.get_by_role("cell").all_inner_texts())
        assert [sum(int(part) for part in text.split(" + ")) for text in (fitted, spare, together)] == [
            item["fitted"],
            item["spare"] + item["for_misfits"],
            item["order"],
        ]


def test_how_much_hangs_on_hours_prices_and_cost_stands_in_a_table(new_desk: NewDesk) -> None:
    desk = new_desk()
    swings = desk.told("plan")["totals"]["money"]["sensitivity"]
    page = desk.open("/plan")
    page.get_by_text("All ready groups: how much hangs on").click()
    table = page.get_by_role("table", name="If hours, energy price or cost")
    shown = [row.get_by_role("cell").all_inner_texts() for row in table.get_by_role("row").all()[1:]]
    lower, as_it_is, higher = swings["cost"]
    assert shown[7] == [f"{each['npv']:,.0f}" for each in (lower, as_it_is, higher)]
    assert shown[0] == [f"{each['simple_payback_years']:.1f}" for each in swings["hours"]]
    assert shown[5] == [f"{each['sir']:.2f}" for each in swings["tariff"]]


def test_costs_are_read_on_a_phone_without_a_sideways_scroll(new_desk: NewDesk) -> None:
    desk = new_desk()
    rows = desk.told("plan")["groups"]
    row = next(each for each in rows if each["state"] == "ready" and alone(rows, each))
    page = desk.open("/plan")
    page.set_viewport_size({"width": 360, "height": 740})
    open_all(page)
    group_on_screen(page, row).locator("summary").first.click()
    table = page.get_by_role("region", name="What would do")
    expect(table.get_by_role("rowheader").first).to_be_visible()
    assert table.evaluate("box => box.scrollWidth <= box.clientWidth")


def test_a_group_from_near_shows_what_would_do_what_failed_and_the_recommended_one(new_desk: NewDesk) -> None:
    desk = new_desk()
    rows = desk.told("plan")["groups"]
    row = next(each for each in rows if each["state"] == "ready" and alone(rows, each))
    plan = desk.told(f"groups/{row['group']}/plan")
    page = desk.open("/plan")
    open_all(page)
    group = group_on_screen(page, row)
    group.locator("summary").first.click()
    table = group.get_by_role("table", name="What would do")
    first = table.get_by_role("row").nth(1)
    expect(first).to_contain_text(plan["feasible"][0]["arrangement"])
    recommended = table.get_by_role("row").filter(has_text="Recommended")
    expect(recommended).to_have_count(1)
    expect(recommended.get_by_role("rowheader")).to_have_text(plan["side_by_side"]["recommended"][0])
    group.get_by_text("What was rejected, and by how much").click()
    failed = group.get_by_role("listitem").filter(has_text=plan["rejected"][0]["arrangement"]).first
    expect(failed).to_be_visible()
    assert re.search(r"\d", failed.inner_text().replace(plan["rejected"][0]["arrangement"], "")), "no 'by how much'"


def test_a_group_that_is_left_as_it_is_stays_out_of_the_release(new_desk: NewDesk, fresh_server: Server) -> None:
    desk = new_desk(at=fresh_server)
    rows = desk.told("plan")["groups"]
    row = next(each for each in rows if each["state"] == "ready" and alone(rows, each))
    page = desk.open("/plan")
    open_all(page)
    group = group_on_screen(page, row)
    group.locator("summary").first.click()
    form = group.get_by_role("form", name="Decision")
    form.get_by_label("Decision").select_option("leave-as-is")
    form.get_by_label("Reason").fill("listed ceiling")
    form.get_by_role("button", name="Save the decision").click()
    expect(page.get_by_text("All sent.")).to_be_visible()
    until(lambda: state_of(desk, row["group"]) != "ready")
    decided = next(each for each in desk.records("group") if each["id"] == row["group"])["decision"]
    assert decided == {"decision": "leave-as-is", "reason": "listed ceiling"}
    page = desk.open("/plan")
    page.get_by_label("I have seen the figures from memory").check()
    page.get_by_role("button", name="Release").click()
    expect(page.get_by_role("status").filter(has_text="Release 1 is made")).to_be_visible()
    released = {each["parent"] for each in desk.records("conversion")}
    assert row["group"] not in released
    assert released == {each["group"] for each in rows if each["state"] == "ready"} - {row["group"]}


def test_a_release_names_its_number_what_is_in_and_what_is_out(new_desk: NewDesk, fresh_server: Server) -> None:
    desk = new_desk(at=fresh_server)
    rows = desk.told("plan")["groups"]
    ready = sum(row["state"] == "ready" for row in rows)
    page = desk.open("/plan")
    expect(page.get_by_text(f"Groups ready to release: {ready} of {len(rows)}.")).to_be_visible()
    page.get_by_label("Note").fill("first crates")
    page.get_by_role("button", name="Release").click()
    expect(page.get_by_text("Tick that you have seen the figures from memory")).to_be_visible()
    page.get_by_label("I have seen the figures from memory").check()
    page.get_by_role("button", name="Release").click()
    said = page.get_by_role("status").filter(has_text="Release 1 is made")
    expect(said).to_contain_text(f"{ready} groups in it")
    expect(said).to_contain_text(f"{len(rows) - ready} groups left out")
    expect(page.get_by_text(f"Groups ready: {ready} of {len(rows)}, all of these released as planned.")).to_be_visible()
    page.get_by_role("link", name="Releases so far: 1").click()
    expect(page.get_by_role("region", name="Release 1")).to_contain_text("first crates")
    assert len(desk.records("conversion")) == ready


def test_a_surveyor_reads_the_plan_and_cannot_release(new_desk: NewDesk) -> None:
    desk = new_desk("surveyor")
    page = desk.open("/plan")
    open_all(page)
    expect(page.locator("details.group").first).to_be_visible()
    expect(page.get_by_role("button", name="Release")).to_have_count(0)
    page.locator("details.group").first.locator("summary").first.click()
    expect(page.get_by_role("link", name="Open the group")).to_be_visible()
    expect(page.get_by_role("form", name="Decision")).to_have_count(0)


def is_plain(card: Any) -> bool:
    """Neither one of a pair, of which both are done at once, nor with ticks of emergency fixtures."""
    return "partner" not in card and not card["checks_at"]


def test_what_a_crew_has_done_stands_beside_its_floor(new_desk: NewDesk, fresh_server: Server) -> None:
    desk = new_desk(at=fresh_server)
    site = desk.site
    assert release_seen(desk.client, site)[0] == 201
    conversion = next(each for each in desk.records("conversion") if is_plain(each["identity"]["frozen"]))
    group = next(each for each in desk.records("group") if each["id"] == conversion["parent"])
    room = next(each for each in desk.records("room") if each["id"] == group["parent"])
    floor = next(each for each in desk.records("floor") if each["id"] == room["parent"])
    crew = sign_in(desk.page.context.browser.new_context().new_page(), desk.url, "crew")  # type: ignore[union-attr]
    crew.get_by_role("link", name="Cannery").click()
    expect(crew.get_by_text("All sent.")).to_be_visible()
    crew.goto(f"{desk.url}/s/{site}/fixture/{group['id']}/1")
    checks = crew.get_by_role("group", name="Before 'done'").get_by_role("checkbox")
    expect(checks).to_have_count(4)
    for check in checks.all():
        check.check()
    crew.get_by_role("button", name="Done", exact=True).click()
    until(lambda: len(desk.records("installation")) == 1)
    crew.context.close()
    row = desk.open().get_by_role("table", name="By floor").get_by_role("row", name=floor["identity"]["name"])
    expect(row).to_contain_text("1 done")


def test_the_wiring_of_what_is_proposed_stands_there_bar_by_bar(new_desk: NewDesk) -> None:
    desk = new_desk()
    row = next(
        each for each in desk.told("plan")["groups"] if each["room_name"].startswith("G02") and each["mark"] == "K2"
    )
    page = desk.open("/plan")
    open_all(page)
    group = group_on_screen(page, row)
    group.locator("summary").first.click()
    wiring = group.get_by_role("region", name="Wiring")
    expect(wiring.get_by_role("listitem")).to_have_count(4)
    expect(wiring.get_by_text("Driver 1: HERON-80 at 1600 mA, set by dip switches", exact=False)).to_be_visible()
    # 1,600 mA shared by two equal bars.
    expect(wiring.get_by_text("Output 2: TERN-4H in row 3, 800 mA.")).to_be_visible()


def test_a_pair_on_one_ballast_names_its_partner_and_whose_bars_hang_where(new_desk: NewDesk) -> None:
    desk = new_desk()
    row = next(each for each in desk.told("plan")["groups"] if each["mark"] == "K7" and each["state"] == "ready")
    page = desk.open("/plan")
    open_all(page)
    group = group_on_screen(page, row)
    group.locator("summary").first.click()
    wiring = group.get_by_role("region", name="Wiring")
    expect(wiring.get_by_text("One decision with K6", exact=False)).to_be_visible()
    expect(wiring.get_by_text("in row 1 of the neighbour", exact=False)).to_be_visible()


def test_one_of_a_pair_left_as_it_is_holds_back_the_other_which_says_so(
    new_desk: NewDesk, fresh_server: Server
) -> None:
    desk = new_desk(at=fresh_server)
    rows = desk.told("plan")["groups"]
    fed = next(each for each in rows if each["mark"] == "K7" and each["state"] == "ready")
    feeding = next(each for each in rows if each["mark"] == "K6" and each["room"] == fed["room"])
    page = desk.open("/plan")
    open_all(page)
    group = group_on_screen(page, fed)
    group.locator("summary").first.click()
    form = group.get_by_role("form", name="Decision")
    form.get_by_label("Decision").select_option("leave-as-is")
    form.get_by_label("Reason").fill("Rewired next year")
    form.get_by_role("button", name="Save the decision").click()
    until(lambda: state_of(desk, feeding["group"]) == "open")
    desk.open("/plan")
    open_all(page)
    summary = group_on_screen(page, feeding).locator("summary").first
    expect(summary).to_contain_text(
        f"Held back with its neighbour K7 in {fed['room_name']}, which shares its ballast: "
    )
    expect(summary).to_contain_text("leave as is")
