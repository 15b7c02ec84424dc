"""The conversions of a site too large for one answer: floors at once, groups when a floor is opened, a page at a time."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Route, expect
from tests.conftest import sign_in
from tests.desk.conftest import WIDE, Desk
from tests.planning.invented_site import GROUPS_IN_A_ROOM, ROOMS_ON_A_FLOOR, invented_site
from tests.planning.stored_site import NAME, store
from tests.support.installation import installed
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Client, Server

ON_A_FLOOR = GROUPS_IN_A_ROOM * ROOMS_ON_A_FLOOR
GROUPS = ON_A_FLOOR + 30
NODES_MOST = 2_000


@pytest.fixture(scope="module")
def large_site(page_served: dict[str, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("large") / "data"
    with installed(folder) as installation:
        store(installation, invented_site(GROUPS))
    running = Server(folder, command="serve", env=page_served).start()
    yield running
    running.stop()


@pytest.fixture
def desk(large_site: Server, browser: Browser) -> Iterator[Desk]:
    context = browser.new_context(**WIDE)
    page = sign_in(context.new_page(), large_site.url, "manager")
    page.get_by_role("link", name=NAME["name"]).click()
    expect(page.get_by_role("heading", name="Level 0")).to_be_visible()
    client = Client(large_site.url, "manager")
    yield Desk(page, large_site.url, client, client.site_id())
    context.close()


def test_groups_are_shown_as_floors_are_opened_a_page_at_a_time(desk: Desk) -> None:
    asked: list[str] = []
    desk.page.on("request", lambda request: asked.append(request.url) if "/plan/groups" in request.url else None)
    page = desk.open("/plan")
    told = desk.told("plan")
    assert (len(told["groups"]), told["next"]) == (200, 200)
    expect(page.get_by_role("main")).to_contain_text(f"of {GROUPS}.")
    first, second = page.locator("details.points").all()
    expect(first.locator("summary").first).to_contain_text(f"Level 0: {ON_A_FLOOR} groups")
    groups = first.locator("details.group")
    expect(groups).to_have_count(100)
    expect(page.locator("details.group")).to_have_count(100)
    assert len(asked) == 1
    top = groups.first.locator("summary").inner_text()
    first.get_by_role("button", name="The next 100").click()
    expect(groups.first.locator("summary")).not_to_have_text(top)
    expect(first).to_contain_text(f"101 to 200 of {ON_A_FLOOR}")
    for at in range(200, ON_A_FLOOR - ON_A_FLOOR % 100, 100):
        first.get_by_role("button", name="The next 100").click()
        expect(first).to_contain_text(f"{at + 1} to {at + 100} of")
    first.get_by_role("button", name=f"The next {ON_A_FLOOR % 100}").click()
    expect(groups).to_have_count(ON_A_FLOOR % 100)
    expect(first.get_by_role("button", name="The next")).to_have_count(0)
    assert page.evaluate("document.querySelectorAll('*').length") <= NODES_MOST
    first.get_by_role("button", name="The 100 before").click()
    expect(groups).to_have_count(100)
    second.locator("summary").first.click()
    expect(second.locator("details.group")).to_have_count(30)
    expect(groups).to_have_count(0)


def test_what_is_open_of_a_large_site_is_on_paper_and_stays_open_after(desk: Desk) -> None:
    page = desk.open("/plan")
    floor = page.locator("details.points").first
    expect(floor.locator("details.group")).to_have_count(100)
    for event in ("beforeprint", "afterprint"):
        page.evaluate(f"window.dispatchEvent(new Event('{event}'))")
        expect(floor).to_have_attribute("open", "")
        expect(floor.locator("details.group")).to_have_count(100)


def test_while_the_plan_is_made_the_page_says_how_far_it_is_and_shows_it_once_it_is_there(desk: Desk) -> None:
    let_go: list[bool] = []
    floor = {"floor_name": "Level 0", "groups": ON_A_FLOOR, "planned": 120, "ready": 7}
    told = {"done": 120, "total": GROUPS, "floors": [floor], "seconds": 1, "code": "plan.being-made", "status": 503}

    def not_yet(route: Route) -> None:
        if let_go:
            route.continue_()
        else:
            route.fulfill(status=503, content_type="application/problem+json", body=json.dumps(told))

    page = desk.page
    page.route("**/api/sites/*/plan", not_yet)
    page.goto(f"{desk.url}/s/{desk.site}/desk/plan")
    expect(page.get_by_text(f"120 of {GROUPS} groups so far")).to_be_visible()
    expect(page.get_by_text(f"Level 0: 120 of {ON_A_FLOOR} groups planned, 7 of them ready")).to_be_visible()
    expect(page.get_by_role("progressbar")).to_have_attribute("value", "120")
    expect(page.get_by_role("alert")).to_have_count(0)
    assert_fits_and_can_be_hit_and_read(page)
    page.set_viewport_size({"width": 1280, "height": 800})
    let_go.append(True)
    expect(page.locator("details.points")).to_have_count(2)
    expect(page.get_by_text("groups so far")).to_have_count(0)


def test_a_group_of_a_later_page_opens_with_its_decision(desk: Desk) -> None:
    page = desk.open("/plan")
    second = page.locator("details.points").nth(1)
    second.locator("summary").first.click()
    group = second.locator("details.group").last
    group.locator("summary").click()
    expect(group.get_by_role("link", name="Open the group")).to_be_visible()
    page.locator("details.points").first.locator("summary").first.click()
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))


@pytest.fixture(scope="module")
def manager(large_site: Server) -> Client:
    return Client(large_site.url, "manager")


def told(manager: Client, what: str) -> Any:
    return manager.get(f"/api/sites/{manager.site_id()}/{what}")


def pages(manager: Client, floor: str = "") -> list[Any]:
    """All groups of a floor, or of the site, page by page."""
    found, start = [], 0
    while start is not None:
        page = told(manager, f"plan/groups?from={start}{floor}")
        assert len(page["groups"]) <= 200
        found += page["groups"]
        start = page["next"]
    return found


def test_all_pages_together_are_every_group_once_and_in_order(manager: Client) -> None:
    plan, every = told(manager, "plan"), pages(manager)
    assert len({each["group"] for each in every}) == len(every) == GROUPS
    assert every[:200] == plan["groups"]
    for floor in plan["floors"]:
        here = [each for each in every if each["floor"] == floor["floor"]]
        assert pages(manager, f"&floor={floor['floor']}") == here
        assert (len(here), sum(each["state"] == "ready" for each in here)) == (floor["groups"], floor["ready"])


@pytest.mark.parametrize(("query", "field"), [("from=-1", "from"), ("from=a", "from"), ("floor=Level 0", "floor")])
def test_a_wrong_query_is_named(manager: Client, query: str, field: str) -> None:
    status, problem = manager.call("GET", f"/api/sites/{manager.site_id()}/plan/groups?{query.replace(' ', '%20')}")
    assert (status, problem["code"], problem["field"]) == (422, "query-wrong", field)
