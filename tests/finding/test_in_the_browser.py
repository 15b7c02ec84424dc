"""Finding one's way in real Chromium: a home for each role, five places, the place in a list, search, keys, nothing covered, nothing that jumps."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect
from tests.conftest import PHONE, WITHOUT_WORKER, go, sign_in
from tests.support.kept_page import page_is_kept
from tests.support.looks import COVERED
from tests.support.releasing import release_seen
from tests.support.server import PASSWORD, Client, Server

pytestmark = pytest.mark.keeps_page(False)

Json = Any
DESK = {"viewport": {"width": 1280, "height": 900}, "is_mobile": False, "has_touch": False}
BARS = {
    "surveyor": ["Home", "Kinds", "Open points", "Find", "More"],
    "crew": ["Home", "Today", "Scan a label", "Find", "More"],
    "manager": ["Home", "Open points", "Desk", "Find", "More"],
}
SETTLED_MS = 800
"""After this nothing more of a screen comes on a machine that answers at once."""
SHIFTS = """window.shifts = [];
new PerformanceObserver((list) => {
  for (const entry of list.getEntries())
    if (!entry.hadRecentInput) window.shifts.push([entry.value, entry.sources.map(({ node }) => (node?.className || node?.nodeName || '') + '')]);
}).observe({ type: 'layout-shift', buffered: true });"""


@pytest.fixture(scope="module")
def phones(server: Server, browser: Browser) -> Iterator[Callable[[str], Page]]:
    """One signed-in phone for each person, with the whole site on it; nothing is entered."""
    contexts: dict[str, BrowserContext] = {}

    def of(name: str) -> Page:
        if name not in contexts:
            contexts[name] = browser.new_context(**PHONE, **WITHOUT_WORKER)
            page = sign_in(contexts[name].new_page(), server.url, name)
            page.get_by_role("link", name="Cannery").click()
            expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
            expect(page.get_by_role("contentinfo")).to_contain_text("All sent.")
        page = contexts[name].pages[0]
        page.set_viewport_size({"width": 360, "height": 740})
        return page

    yield of
    for context in contexts.values():
        context.close()


def at(page: Page, server: Server, path: str = "") -> Page:
    page.goto(f"{server.url}/s/{Client(server.url, 'manager').site_id()}{path}")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    return page


def ids_of(page: Page) -> dict[str, str]:
    found: dict[str, str] = page.evaluate(
        """async () => {
          const { store } = await import('/app/store/store.js');
          const [site] = store.opened.values();
          const [group] = await site.all('group');
          return { room: group.parent, group: group.id, kind: group.facets.identity.kind };
        }"""
    )
    return found


# -- the home and the bar


@pytest.mark.parametrize("role", BARS)
def test_each_role_has_at_most_five_places_in_the_same_words_as_their_screens(
    server: Server, phones: Callable[[str], Page], role: str
) -> None:
    page = at(phones(role), server)
    bar = page.get_by_role("navigation", name="Places").get_by_role("link")
    expect(bar).to_have_text(BARS[role])
    expect(bar.first).to_have_attribute("aria-current", "page")
    for word in [each for each in BARS[role][1:] if each != "Desk"]:
        page.get_by_role("navigation", name="Places").get_by_role("link", name=word, exact=True).click()
        expect(page.get_by_role("heading", level=1)).to_contain_text(word)
        expect(page.locator(".bar [aria-current]")).to_have_text(word)


def test_the_surveyor_goes_on_in_the_room_where_they_were(server: Server, phones: Callable[[str], Page]) -> None:
    page = at(phones("surveyor"), server)
    page.get_by_role("link", name="U07 Bicycle vault").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("U07")
    page.get_by_role("link", name="Back", exact=True).click()
    on = page.get_by_role("region", name="What comes next").get_by_role("link", name="On with U07 Bicycle vault")
    expect(on).to_be_visible()
    expect(page.get_by_role("region", name="What comes next")).to_contain_text("of 10 rooms left on Undercroft")
    page.get_by_role("link", name="What is open in U07 Bicycle vault").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("U07 Bicycle vault")


def test_the_manager_sees_how_far_it_is_what_is_open_and_what_is_new(
    server: Server, phones: Callable[[str], Page]
) -> None:
    page = at(phones("manager"), server)
    expect(page.get_by_role("region", name="What comes next")).to_contain_text("rooms finished")
    page.get_by_role("link", name="What is new").click()
    news = page.get_by_role("main").get_by_role("listitem")
    expect(news.first).to_contain_text(re.compile(r"\d+ entr(y|ies) by "))
    page.get_by_role("button", name="I have seen this").click()
    expect(page.get_by_text("Nothing new from others.")).to_be_visible()


def test_who_may_write_nothing_is_told_that_they_may_look(server: Server, phones: Callable[[str], Page]) -> None:
    page = at(phones("second surveyor"), server)

    def as_facility_manager(route: Route) -> None:
        answer = route.fetch()
        told = answer.json()
        for site in told["sites"]:
            site["role"] = "facility-manager"
        route.fulfill(response=answer, json=told)

    page.context.route("**/api/session", as_facility_manager)
    page.reload()
    expect(page.get_by_role("region", name="What comes next")).to_contain_text("You can look at everything here")
    expect(page.get_by_role("link", name="Add a room here")).to_have_count(0)


def test_a_facility_manager_reads_nothing_untrue_of_the_survey_and_is_offered_nothing_that_is_not_theirs(
    fresh_server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    owner = Client(fresh_server.url, "owner")
    site = owner.site_id()
    assert owner.call("POST", "/api/people", {"name": "Fay", "password": PASSWORD})[0] == 201
    put = {"name": "Fay", "role": "facility"}
    assert owner.call("PUT", f"/api/sites/{site}/people", put)[0] == 200
    page = at(sign_in(new_phone().new_page(), fresh_server.url, "Fay"), fresh_server)
    main = page.get_by_role("main")
    expect(main).to_contain_text("scan the fixture's label")
    expect(page.get_by_text("U02 Brine cellar").first).to_be_visible()
    expect(main).not_to_contain_text("catalogue")
    expect(page.locator(".room-verdict")).to_have_count(0)
    page.get_by_role("link", name=re.compile("^U02 Brine cellar")).first.click()
    expect(page.get_by_text("About the room")).to_be_visible()
    expect(page.get_by_text("Photo of the room")).to_have_count(0)
    expect(page.get_by_role("link", name="What is still open here")).to_have_count(0)
    page.get_by_role("link", name=re.compile("^K10 ")).click()
    expect(page.get_by_text("About the group")).to_be_visible()
    for words in ("catalogue", "Measure", "No cavity has been read", "Photo of a fixture", "Remove this group"):
        expect(main).not_to_contain_text(words)


def test_a_crew_is_offered_no_change_of_the_survey_that_the_server_would_refuse(
    fresh_server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = at(sign_in(new_phone().new_page(), fresh_server.url, "crew"), fresh_server)
    pulled = Client(fresh_server.url, "manager")
    site = pulled.site_id()
    records = pulled.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
    reading = next(each for each in records if each["type"] == "cavity_reading")
    go(page, f"/s/{site}/group/{reading['parent']}")
    row = page.locator(f"[data-reading='{reading['id']}']")
    row.locator("summary").click()
    expect(row.get_by_text("Void")).to_have_count(0)
    for name in ("Void", "It was read wrong", re.compile("^Remove this group")):
        expect(page.get_by_role("button", name=name)).to_have_count(0)
    go(page, f"/s/{site}/record/{reading['parent']}/count")
    expect(page.get_by_text("Your role reads this and does not change it")).to_be_visible()
    expect(page.get_by_role("main")).to_contain_text(re.compile(r"Fixtures: \d+"))
    expect(page.get_by_role("button", name="Save")).to_have_count(0)


def test_the_crew_is_led_to_the_first_fixture_that_is_not_done(
    fresh_server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    client = Client(fresh_server.url, "manager")
    site = client.site_id()
    status, _ = release_seen(client, site)
    assert status in (200, 201)
    page = sign_in(new_phone().new_page(), fresh_server.url, "crew")
    page.get_by_role("link", name="Cannery").click()
    home = page.get_by_role("region", name="What comes next")
    expect(page.get_by_role("link", name="Scan a label")).to_have_count(1)
    expect(home.get_by_role("listitem").first).to_contain_text(re.compile(r"(\d+) of \1 fixtures to do"))
    home.get_by_role("link", name=re.compile("^(On|Begin) with ")).click()
    page.wait_for_url("**/fixture/*/1")
    expect(page.get_by_role("button", name="Done", exact=True)).to_be_visible()


# -- the place in a list


@pytest.mark.parametrize("way", ["the arrow at the top", "the browser's own"])
def test_after_the_way_back_a_list_stands_where_one_left_it(
    server: Server, phones: Callable[[str], Page], way: str
) -> None:
    page = at(phones("surveyor"), server)
    folded = page.get_by_role("button", name=re.compile("^Quay level"))
    if folded.get_attribute("aria-expanded") == "true":
        folded.click()
    expect(folded).to_have_attribute("aria-expanded", "false")
    rooms = page.get_by_role("region", name="Rooms", exact=True)
    room = rooms.get_by_role("link", name=re.compile("^L0")).last
    room.scroll_into_view_if_needed()
    assert page.evaluate("scrollY") > 300
    name = room.locator(".title").inner_text()
    room.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(name)
    assert page.evaluate("scrollY") == 0, "a screen that one goes to begins at its top"
    if way == "the browser's own":
        page.go_back()
    else:
        page.get_by_role("link", name="Back", exact=True).click()
    # How far down that is may differ: rows above it say meanwhile how they fit, on one line or on two.
    page.wait_for_function("name => document.activeElement.textContent.includes(name)", arg=name)
    expect(rooms.get_by_role("link", name=name)).to_be_in_viewport()
    expect(folded).to_have_attribute("aria-expanded", "false")
    folded.click()


# -- find


@pytest.mark.keeps_page(True)
def test_rooms_kinds_fixtures_labels_points_and_people_are_found_without_a_signal(
    fresh_server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    client = Client(fresh_server.url, "manager")
    status, _ = client.call("POST", f"/api/sites/{client.site_id()}/labels", {})
    assert status in (200, 201)
    page = sign_in(new_phone().new_page(), fresh_server.url, "manager")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("contentinfo")).to_contain_text("All sent.", timeout=60_000)
    page_is_kept(page)
    code = page.evaluate(
        """async () => {
          const { store } = await import('/app/store/store.js');
          const [site] = store.opened.values();
          return (await site.all('label'))[0].facets.identity.code;
        }"""
    )
    page.context.set_offline(True)
    page.get_by_role("navigation", name="Places").get_by_role("link", name="Find").click()
    field = page.get_by_role("searchbox")
    expect(field).to_be_focused()
    for query, about, shows in (
        ("boiler", "Rooms", "U01 Boiler hall"),
        ("K20", "Kinds", "K20"),
        ("u01 3", "Fixtures", "· 3"),
        (code[:5].lower(), "Labels", code),
        ("ballast space measured", "Open points", "its ballast space has not been measured"),
        ("second", "People", "second surveyor"),
        ("labels and", "Places", "Labels and lists"),
    ):
        field.fill(query)
        answers = page.get_by_role("region", name=about, exact=True).get_by_role("link")
        expect(answers.filter(has_text=shows).first).to_be_visible()
    field.fill("nothing is called so")
    expect(page.get_by_text("Nothing on this phone answers to 'nothing is called so'.")).to_be_visible()
    field.fill("boiler")
    expect(page.get_by_text("1 found.")).to_be_visible()
    field.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("U01 Boiler hall")
    page.go_back()
    expect(field).to_have_value("boiler")


# -- keys


def test_a_desk_is_worked_by_keys_alone(server: Server, new_phone: Callable[..., BrowserContext]) -> None:
    page = sign_in(new_phone(**DESK).new_page(), server.url, "manager")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    page.keyboard.press("/")
    expect(page.get_by_role("searchbox")).to_be_focused()
    page.keyboard.type("a/b")
    expect(page.get_by_role("searchbox")).to_have_value("a/b")
    at(page, server, "/desk")
    expect(page.get_by_text("Not complete:")).to_be_visible()
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    expect(page.get_by_role("link", name="Skip to the content")).to_be_in_viewport()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")
    at(page, server, "/desk")
    order = []
    for _ in range(7):
        page.keyboard.press("Tab")
        order.append(page.evaluate("document.activeElement.textContent.replace('/', '').trim()"))
        assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid", order[-1]
    assert order == ["Skip to the content", "←", *BARS["manager"]]
    expect(page.get_by_role("navigation", name="Places").locator("kbd")).to_have_text("/")


# -- nothing covered, nothing that jumps

SIZES = {
    "phone": (360, 740),
    "small phone": (320, 568),
    "on its side": (740, 360),
    "tablet": (768, 1024),
    "desk": (1280, 800),
}


@pytest.mark.parametrize("size", SIZES)
def test_no_control_is_covered_by_the_foot_or_the_bar(server: Server, phones: Callable[[str], Page], size: str) -> None:
    page = at(phones("surveyor"), server)
    ids = ids_of(page)
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    looked_at = 0
    for path in ("", "/more", "/room/{room}", "/group/{group}", "/record/{kind}/housing", "/room/{room}/add"):
        at(page, server, path.format(**ids))
        expect(page.locator("main :is(a, button)").first).to_be_visible()
        found = page.evaluate(COVERED)
        assert found["covered"] == [], f"{path} at {width} × {height}"
        looked_at += found["controls"]
    assert looked_at > 60


@pytest.mark.parametrize(
    ("role", "path"),
    [
        ("surveyor", ""),
        ("surveyor", "/room/{room}"),
        ("surveyor", "/group/{group}"),
        ("crew", ""),
        ("crew", "/scan"),
        ("manager", "/desk/people"),
        (None, "/sign-in"),
    ],
)
@pytest.mark.parametrize("size", ["phone", "desk"])
def test_nothing_moves_while_a_screen_comes(
    server: Server, browser: Browser, phones: Callable[[str], Page], role: str | None, path: str, size: str
) -> None:
    width, height = SIZES[size]
    if role is None:
        context = browser.new_context(**PHONE)
        page = context.new_page()
    else:
        context = phones(role).context
        ids = ids_of(at(phones(role), server))
        page = context.new_page()
    page.set_viewport_size({"width": width, "height": height})
    page.add_init_script(SHIFTS)
    if role is None:
        page.goto(server.url + path)
        expect(page.get_by_text("This is the demo")).to_be_visible()
    else:
        at(page, server, path.format(**ids))
        expect(page.get_by_text("Asking the server…")).to_have_count(0)
    page.wait_for_timeout(SETTLED_MS)
    shifts = page.evaluate("window.shifts")
    if role is None:
        context.close()
    else:
        page.close()
    assert shifts == []


# -- the line


def test_all_sent_is_not_said_before_a_sites_first_pull(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = new_phone().new_page()
    page.add_init_script(
        """addEventListener('DOMContentLoaded', () => {
          window.lines = [];
          new MutationObserver(() => {
            const line = document.querySelector('.sync-line [role=status]')?.textContent;
            if (line && line !== window.lines.at(-1)) window.lines.push(line);
          }).observe(document.body, { childList: true, subtree: true, characterData: true });
        });"""
    )
    held: list[Any] = []
    let_go: list[bool] = []
    page.route("**/pull?*", lambda route: route.continue_() if let_go else held.append(route))
    sign_in(page, server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("contentinfo")).to_contain_text("Fetching what is new…")
    assert held
    assert [line for line in page.evaluate("window.lines") if "All sent" in line] == []
    let_go.append(True)
    for route in held:
        route.continue_()
    expect(page.get_by_role("contentinfo")).to_contain_text("All sent.")
