"""Releases at the desk: how each stands, calling it back, answering what changed, and what differs between two."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from tests.desk.conftest import Desk, NewDesk
from tests.open_points.complete_site import Hand
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.releasing import release_seen
from tests.support.server import Server

Save = Callable[..., None]


def lay_over(hand: Hand, record: str, type_name: str, facet: str, **fields: object) -> None:
    held = hand.state(record)["facets"].get(facet, {}).get("value", {})
    hand.save(record, type_name, **{facet: {**held, **fields}})


@pytest.fixture
def released(new_desk: NewDesk, fresh_server: Server) -> tuple[Desk, Hand, list[str]]:
    """Two releases: six fixtures more in the second; then a leak where nothing else changed."""
    desk = new_desk(at=fresh_server)
    hand = Hand(desk.client, desk.site)
    status, first = release_seen(desk.client, desk.site, "first crates")
    assert status == 201
    groups = {each["id"]: each for each in desk.records("group")}
    alone = [
        id for id in first["released"] if groups[id]["duty"]["emergency"] == "none" and groups[id]["count"]["count"] > 1
    ]
    counted = alone[0]
    leaks = next(id for id in alone if groups[id]["identity"]["kind"] != groups[counted]["identity"]["kind"])
    lay_over(hand, counted, "group", "count", count=groups[counted]["count"]["count"] + 6)
    assert release_seen(desk.client, desk.site, None)[0] == 201
    lay_over(hand, groups[leaks]["identity"]["kind"], "kind", "ballast", leaking="yes")
    return desk, hand, [counted, leaks]


def opened(desk: Desk) -> Page:
    page = desk.open("/releases")
    expect(page.get_by_role("region", name="Release 2")).to_be_visible()
    expect(page.get_by_role("region", name="Release 1").get_by_text("stop").first).to_be_visible()
    return page


def test_releases_say_how_they_stand_and_are_called_back(released: tuple[Desk, Hand, list[str]]) -> None:
    desk, _, _ = released
    page = opened(desk)
    first = page.get_by_role("region", name="Release 1")
    expect(first).to_contain_text("superseded")
    first.get_by_text("Group by group").click()
    stopped = first.get_by_role("listitem").filter(has_text="Leaking: no → yes").first
    expect(stopped).to_contain_text("stop")
    stopped.get_by_text("Answer what changed").click()
    stopped.get_by_label("Why it may go on").fill("Looked at: condensation.")
    stopped.get_by_role("button", name="Let it go on").click()
    expect(first).to_contain_text("Answered: Looked at: condensation.")
    second = page.get_by_role("region", name="Release 2")
    second.get_by_text("Withdraw release 2").first.click()
    withdraw = second.get_by_role("form", name="Withdraw release 2")
    withdraw.get_by_role("button", name="Withdraw release 2").click()
    expect(withdraw.get_by_role("alert")).to_contain_text("A reason is needed")
    withdraw.get_by_label("Reason").fill("wrong crates")
    withdraw.get_by_role("button", name="Withdraw release 2").click()
    expect(second).to_contain_text("Withdrawn: wrong crates")
    expect(page.get_by_text("All sent.")).to_be_visible()
    (release,) = [each for each in desk.records("release") if each["identity"]["number"] == 2]
    assert release["withdrawn"] == {"reason": "wrong crates"}


def test_differences_are_told_by_group_item_and_money(released: tuple[Desk, Hand, list[str]]) -> None:
    desk, _, (counted, leaks) = released
    page = opened(desk)
    told = desk.told("releases/differences?from=1&to=2")
    box = page.get_by_role("region", name="Differences")
    group = box.get_by_role("table", name="Group by group")
    expect(group.get_by_role("row")).to_have_count(2)
    (row,) = told["groups"]
    assert row["group"] == counted
    fixtures = next(each for each in row["fields"] if each["name"] == "fixtures")
    expect(group).to_contain_text(f"Fixtures: {fixtures['from']} → {fixtures['to']}")
    items = box.get_by_role("table", name="To order")
    for item in told["items"]:
        expect(items.get_by_role("row", name=item["code"]).first).to_contain_text(f"+{item['more']}")
    box.get_by_label("To", exact=True).select_option("today")
    expect(group).to_contain_text("Leaking: no → yes")
    today = desk.told("releases/differences?from=1&to=today")
    assert leaks in {each["group"] for each in today["groups"]}
    assert_fits_and_can_be_hit_and_read(page)


def test_a_surveyor_reads_releases_and_cannot_call_them_back(
    released: tuple[Desk, Hand, list[str]], new_desk: NewDesk, fresh_server: Server
) -> None:
    page = opened(new_desk("surveyor", at=fresh_server))
    expect(page.get_by_text("Withdraw release")).to_have_count(0)
    expect(page.get_by_role("form", name="Answer")).to_have_count(0)
    expect(page.get_by_role("region", name="Differences")).to_be_visible()
