"""Is the survey complete? What the manager reads is what the records say, and each open point has a way out."""

from __future__ import annotations

import json
import re
import urllib.parse
from pathlib import Path

import pytest
from playwright.sync_api import Locator, expect
from tests.desk.conftest import NewDesk
from tests.support.kept_page import page_is_kept

ROOT = Path(__file__).resolve().parents[2]
SENTENCES: dict[str, str] = json.loads(
    (ROOT / "server/spanwalk/spec/words.en/open-points.json").read_text(encoding="utf-8")
)


def test_shares_by_fixtures_and_by_rooms_stand_for_the_site_and_each_floor(new_desk: NewDesk) -> None:
    desk = new_desk()
    told = desk.told("completeness")
    page = desk.open()
    whole = page.get_by_role("region", name="The whole site")
    expect(whole).to_contain_text(f"Not complete: {told['points']} open points.")
    expect(whole).to_contain_text(f"Rooms complete: {told['rooms']['complete']} of {told['rooms']['known']}")
    expect(whole).to_contain_text(
        f"Known fixtures complete: {told['fixtures']['complete']} of {told['fixtures']['known']}"
    )
    table = page.get_by_role("table", name="By floor")
    for floor in told["floors"]:
        row = table.get_by_role("row", name=floor["name"])
        assert row.get_by_role("cell").all_inner_texts()[:3] == [
            f"{floor['rooms']['complete']} of {floor['rooms']['known']}",
            f"{floor['fixtures']['complete']} of {floor['fixtures']['known']}",
            str(floor["points"]),
        ]


def test_rooms_known_are_the_rooms_that_were_recorded(new_desk: NewDesk) -> None:
    """Counted again from the records themselves, past what the server says about them."""
    desk = new_desk()
    rooms, groups = desk.records("room"), desk.records("group")
    page = desk.open()
    whole = page.get_by_role("region", name="The whole site")
    expect(whole).to_contain_text(re.compile(rf"Rooms complete: \d+ of {len(rooms)}"))
    assert sum(int(group.get("count", {}).get("count", 0)) for group in groups) == int(
        re.search(r"Known fixtures complete: [\d,]+ of (\d+)", whole.inner_text())[1]  # type: ignore[index]
    )


def test_each_open_point_is_a_sentence_with_who_closes_it_and_a_way_there(new_desk: NewDesk) -> None:
    desk = new_desk()
    points = desk.told("completeness")["open_points"]
    assert points
    page = desk.open()
    shown = page.get_by_role("main").locator("li[data-rule]")
    expect(shown.or_(page.get_by_role("alert")).first).to_be_visible()
    expect(page.get_by_role("status").filter(has_text="Asking")).to_have_count(0)
    for group in page.locator("details.points").all():
        following = group.get_by_role("button", name="The next")
        while following.count():
            before = group.locator("li[data-rule]").all_inner_texts()
            each_is_a_sentence_with_a_way(group.locator("li[data-rule]").all())
            points = points[len(before) :]
            following.click()
            expect(group.locator("li[data-rule]").first).not_to_have_text(before[0])
    expect(shown).to_have_count(len(points))
    each_is_a_sentence_with_a_way(shown.all())


def each_is_a_sentence_with_a_way(items: list[Locator]) -> None:
    for item in items:
        rule = item.get_attribute("data-rule")
        pattern = ".+?".join(map(re.escape, re.split(r"\{\w+\}", SENTENCES[f"open-point.{rule}"])))
        text = item.inner_text()
        assert re.search(pattern, text), text
        assert "{" not in text
        assert "You can close this" in text or "Closed by: " in text
        assert urllib.parse.urlsplit(item.get_by_role("link").get_attribute("href") or "").path.startswith("/s/")


def test_points_are_grouped_as_the_address_says_and_only_those_that_a_role_closes(new_desk: NewDesk) -> None:
    desk = new_desk()
    points = desk.told("completeness")["open_points"]
    page = desk.open()
    page.get_by_label("Grouped by").select_option(label="kind of fixture")
    page.get_by_label("Shown").select_option(label="manager")
    page.wait_for_url("**/desk?by=kind&role=manager")
    mine = [point for point in points if "manager" in point["who"]]
    expect(
        page.get_by_text(f"Of no kind of fixture: {sum('kind' not in each['facts'] for each in mine)} open points")
    ).to_be_visible()
    page.reload()
    expect(page.get_by_label("Grouped by")).to_have_value("kind")
    expect(page.get_by_label("Shown")).to_have_value("manager")
    folded = page.get_by_text("K1: ").first
    expect(folded).to_be_visible()
    page.get_by_label("Shown").select_option(label="all of them")
    page.get_by_label("Grouped by").select_option(label="who has it")
    first = desk.told("open-points?by=person")["groups"][0]
    page.get_by_role("button", name="Show these only, by floor").first.click()
    page.wait_for_url(f"**/desk?person={first['id']}")
    page.reload()
    shown = "Only what nobody has yet." if first["id"] == "none" else f"Only what {first['name']} has."
    expect(page.get_by_text(shown)).to_be_visible()
    expect(page.get_by_text("Undercroft: ").first).to_be_visible()
    page.get_by_role("button", name="Show everybody's").click()
    page.wait_for_url("**/desk")


def test_the_way_of_each_kind_of_open_point_leads_to_a_screen(new_desk: NewDesk) -> None:
    desk = new_desk()
    ways = {point["rule"]: point["path"] for point in desk.told("completeness")["open_points"]}
    page = desk.open()
    for path in ways.values():
        page.get_by_role("main").locator(f'a[href="{path}"]').first.click()
        page.wait_for_url(desk.url + path)
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        expect(page.get_by_role("heading", name="Not found")).to_have_count(0)
        page.go_back()
        expect(page.get_by_role("region", name="The whole site")).to_be_visible()


def test_a_room_opens_from_its_floor(new_desk: NewDesk) -> None:
    desk = new_desk()
    floor = desk.told("completeness")["floors"][0]
    room = floor["in_rooms"][0]
    page = desk.open()
    page.get_by_text(f"{floor['name']}: {len(floor['in_rooms'])} rooms").click()
    page.get_by_role("table", name=f"Rooms of {floor['name']}").get_by_role("link").first.click()
    page.wait_for_url(f"{desk.url}/s/{desk.site}/room/{room['id']}")


def test_without_a_signal_the_desk_says_so_and_the_walk_still_opens(new_desk: NewDesk) -> None:
    desk = new_desk(service_workers="allow")
    page = desk.open()
    page_is_kept(page)
    page.context.set_offline(True)
    page.goto(f"{desk.url}/s/{desk.site}/desk")
    expect(page.get_by_role("alert")).to_contain_text("this page needs the server")
    page.get_by_role("link", name="Back").or_(page.get_by_role("banner").get_by_role("link")).first.click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()


@pytest.mark.parametrize("screen", ["/plan"])
def test_a_crew_reads_a_sentence_where_it_may_not_look(new_desk: NewDesk, screen: str) -> None:
    desk = new_desk("crew")
    page = desk.open(screen)
    expect(page.get_by_role("alert")).to_be_visible()
    expect(page.get_by_role("button", name="Release")).to_have_count(0)
    assert "USD" not in page.get_by_role("main").inner_text()
