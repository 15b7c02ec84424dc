"""A phone opens a site's link for the first time: at once, nothing moves, and nothing is said that is not so."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Request, Route, expect
from tests.conftest import module
from tests.support.counting_proxy import CountingProxy
from tests.support.packed import as_installed, packed_page_of_the_run
from tests.support.server import Client, Server

pytestmark = pytest.mark.keeps_page(False)

FETCHING = "Fetching the site…"
SITE_NAME = "The Old Cannery, Saltmere Quay"
UNTRUE = (
    "There is no room yet",
    "This is not on this phone yet",
    "This group has been removed",
    "No kind yet",
    "Nothing is open here",
    "Nothing is released",
    "Nobody is signed in",
)
"""What may be said of a site once it is known what the server has of it."""
BYTES_MOST = 270_000
"""Over the wire until the walk of the demo stands [byte]; of it 38 kB are the site."""
WATCH = f"""
  window.moved = [];
  window.untrue = [];
  new PerformanceObserver((list) => moved.push(...list.getEntries().map(({{ value }}) => value)))
    .observe({{ type: 'layout-shift', buffered: true }});
  new MutationObserver(() => {{
    const said = document.body?.textContent ?? '';
    untrue.push(...{list(UNTRUE)}.filter((each) => said.includes(each)));
  }}).observe(document, {{ subtree: true, childList: true, characterData: true }});
"""
SCREENS = {
    "walk": ("", "manager", "rooms finished"),
    "a surveyor's walk": ("", "surveyor", "On with"),
    "room": ("/room/{room}", "manager", "Surroundings"),
    "group": ("/group/{group}", "manager", "About the group"),
    "kinds": ("/kinds", "surveyor", "K1"),
    "open points": ("/open-points", "surveyor", "open points"),
}
"""Where a link leads, who opens it, and what is read there once the site has come."""


@pytest.fixture(scope="module")
def server(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    data = tmp_path_factory.mktemp("server") / "data"
    shutil.copytree(demo_data, data)
    installed = as_installed(tmp_path_factory.mktemp("installed"), packed_page_of_the_run(tmp_path_factory))
    running = Server(data, env=installed).start()
    yield running
    running.stop()


Opened = Callable[..., tuple[Page, str]]


@pytest.fixture
def opened(server: Server, new_phone: Callable[..., BrowserContext]) -> Opened:
    """A phone on which somebody is signed in and nothing else is, and the address of the demo's site."""

    def make(name: str = "manager") -> tuple[Page, str]:
        client = Client(server.url, name)
        page = new_phone().new_page()
        cookies = (each.partition("=") for each in client.cookie.split("; "))
        page.context.add_cookies([{"name": key, "value": value, "url": server.url} for key, _, value in cookies])
        page.add_init_script(WATCH)
        return page, f"{server.url}/s/{client.site_id()}"

    return make


class Held:
    """Requests that wait until they are let go."""

    def __init__(self, page: Page, *patterns: str) -> None:
        self.waiting: list[Route] = []
        self.free = False
        for pattern in patterns:
            page.route(pattern, self._hold)

    def _hold(self, route: Route) -> None:
        if self.free:
            route.continue_()
        else:
            self.waiting.append(route)

    def let_go(self) -> None:
        self.free = True
        for route in self.waiting:
            route.continue_()


def record_of(server: Server, type_: str) -> str:
    client = Client(server.url, "manager")
    records: list[dict[str, Any]] = client.get(f"/api/sites/{client.site_id()}/pull?since=0&limit=2000")["records"]
    return next(str(each["id"]) for each in records if each["type"] == type_)


# -- what is said, and whether it moves


@pytest.mark.parametrize("screen", SCREENS)
def test_a_screen_says_that_it_fetches_until_the_site_has_come_and_nothing_moves(
    screen: str, server: Server, opened: Opened
) -> None:
    path, name, shows = SCREENS[screen]
    page, site = opened(name)
    held = Held(page, "**/pull?*")
    page.goto(site + path.format(room=record_of(server, "room"), group=record_of(server, "group")))
    expect(page.get_by_role("main").get_by_role("status")).to_contain_text(FETCHING)
    held.let_go()
    expect(page.get_by_role("main")).to_contain_text(shows)
    expect(page.get_by_text("All sent.").or_(page.get_by_text("to settle."))).to_be_visible()
    assert page.evaluate("moved") == []
    assert page.evaluate("untrue") == []


def test_nothing_is_said_to_be_removed_before_the_server_was_heard_and_it_is_after(opened: Opened) -> None:
    page, site = opened()
    held = Held(page, "**/pull?*")
    page.goto(f"{site}/room/00000000-0000-4000-8000-000000000000")
    expect(page.get_by_role("main")).to_contain_text(FETCHING)
    assert page.evaluate("untrue") == []
    held.let_go()
    expect(page.get_by_role("main")).to_contain_text("This is not on this phone yet, or has been removed.")


def test_a_phone_that_cannot_fetch_the_site_says_that_nothing_has_come(opened: Opened) -> None:
    page, site = opened("surveyor")
    page.route("**/pull?*", lambda route: route.abort())
    page.goto(site)
    expect(page.get_by_role("main")).to_contain_text("Nothing has come from the server yet.")
    expect(page.get_by_text("Working offline.")).to_be_visible()
    assert page.evaluate("untrue") == []
    page.unroute("**/pull?*")
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_role("main")).to_contain_text("On with")


# -- what is asked for, and when


def test_who_is_here_is_asked_beside_the_page_and_the_rest_once_the_frame_stands(opened: Opened) -> None:
    page, site = opened()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(part_of(request)))
    script, parts = Held(page, "**/app/main-*"), Held(page, "**/app/surveying-*", "**/app/near-*", "**/app/close-*")
    page.goto(site, wait_until="commit")
    with_the_page = {"main", "style", "tables", "ask_ahead", "api session if-any", "api pull"}
    until(page, lambda: with_the_page <= set(asked))
    of_the_site = {"surveying", "close", "near", "words-of-sites", "tables-of-sites"}
    assert not of_the_site & set(asked)
    script.let_go()
    expect(page.get_by_role("heading", level=1)).to_contain_text(SITE_NAME)
    expect(page.get_by_role("main").get_by_role("status")).to_contain_text(FETCHING)
    until(page, lambda: of_the_site <= set(asked))
    assert [asked.count(each) for each in ("api session if-any", "api pull")] == [1, 1]
    before = len(asked)
    parts.let_go()
    expect(page.get_by_role("main")).to_contain_text("rooms finished")
    # The numbers at the bar's places come when the screen stands.
    assert {each for each in asked[before:] if not each.startswith("icon")} <= {"waiting_work"}
    assert not {"shared", "desk", "words-of-desks"} & set(asked)
    assert page.evaluate("moved") == []
    assert page.evaluate("untrue") == []


@pytest.mark.parametrize("size", [(412, 823), (1280, 800), (823, 412)])
def test_nothing_moves_when_the_screen_takes_the_place_of_its_frame(size: tuple[int, int], opened: Opened) -> None:
    page, site = opened()
    page.set_viewport_size({"width": size[0], "height": size[1]})
    parts, site_itself = Held(page, "**/app/surveying-*"), Held(page, "**/pull?*")
    page.goto(site)
    expect(page.get_by_role("main").get_by_role("status")).to_contain_text(FETCHING)
    expect(page.locator(".sync-line")).to_have_count(0)
    parts.let_go()
    expect(page.locator(".sync-line")).to_have_count(1)
    page.wait_for_function("document.body.hasAttribute('data-ready')")
    assert page.evaluate("moved") == []
    site_itself.let_go()
    expect(page.get_by_role("main")).to_contain_text("rooms finished")


@pytest.mark.keeps_page(True)
def test_what_stands_for_the_page_on_a_home_screen_is_named_once_the_phone_keeps_it(opened: Opened) -> None:
    page, site = opened()
    page.goto(site)
    expect(page.get_by_role("main")).to_contain_text("rooms finished")
    page.wait_for_function("() => document.querySelector('link[rel=manifest]').href !== ''")
    named = "() => ['manifest', 'icon'].map(each => document.querySelector(`link[rel=${each}]`).getAttribute('href'))"
    assert page.evaluate(named) == ["/app/app.webmanifest", "/app/icons/icon-192.png"]
    assert page.evaluate("navigator.serviceWorker.ready.then(({ active }) => active !== null)")
    assert page.evaluate("caches.match('/app/app.webmanifest').then(found => found !== undefined)")


def test_nothing_that_a_home_screen_needs_is_asked_for_before_a_screen_stands(opened: Opened) -> None:
    page, site = opened()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(site)
    expect(page.get_by_role("main")).to_contain_text("rooms finished")
    assert len(asked) > 5
    assert not [each for each in asked if "/icons/" in each or "webmanifest" in each or "favicon" in each]


def test_a_phone_that_has_been_here_asks_by_what_it_knows(opened: Opened) -> None:
    page, site = opened()
    page.goto(site)
    expect(page.get_by_role("main")).to_contain_text("rooms finished")
    expect(page.get_by_text("All sent.").or_(page.get_by_text("to settle."))).to_be_visible()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.reload()
    expect(page.get_by_role("main")).to_contain_text("rooms finished")
    expect(page.get_by_text("All sent.").or_(page.get_by_text("to settle."))).to_be_visible()
    until(page, lambda: any("/api/session" in each for each in asked))
    assert not [each for each in asked if "if-any" in each or "pull?since=0&" in each]


def test_the_page_reads_the_same_tables_that_the_server_judges_by(opened: Opened) -> None:
    page, site = opened()
    page.goto(site)
    expect(page.get_by_role("main")).to_contain_text("rooms finished")
    same = """async () => {
      const { store } = await import('/app/store/store.js');
      const names = ['prediction', 'standing'];
      const whole = await Promise.all(names.map(async name => (await fetch(`/app/reference/${name}.json`)).json()));
      return names.map((name, at) => JSON.stringify(store.tables.reference[name]) === JSON.stringify(whole[at]));
    }"""
    assert page.evaluate(same.replace("await import('/app/store/store.js')", f"await {module('store/store.js')}")) == [
        True,
        True,
    ]


def part_of(request: Request) -> str:
    """What is asked for, without ids and hashes."""
    path = request.url.split("/", 3)[3].split("?")[0]
    if path.startswith("api/sites/"):
        return f"api {path.split('/')[3]}"
    if path.startswith("api/"):
        return path.replace("/", " ")
    of_sites = "words" in path or "tables-of" in path
    return path[4:].split(".")[0] if of_sites else path.rsplit("/", 1)[-1].split(".")[0].split("-")[0]


def until(page: Page, holds: Callable[[], bool]) -> None:
    for _ in range(400):
        if holds():
            return
        page.wait_for_timeout(50)
    raise AssertionError("it never came so far")


def test_a_first_opening_of_the_walk_carries_few_bytes(server: Server, opened: Opened) -> None:
    page, site = opened()
    with CountingProxy(server.port) as wire:
        page.context.add_cookies(
            [{**{key: each[key] for key in ("name", "value")}, "url": wire.url} for each in page.context.cookies()]
        )
        page.goto(wire.url + "/" + site.split("/", 3)[3])
        expect(page.get_by_role("main")).to_contain_text("rooms finished")
        carried = wire.carried
    assert 0 < carried.down <= BYTES_MOST


def test_a_page_that_nobody_is_signed_in_on_reports_no_error(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = new_phone().new_page()
    errors: list[str] = []

    def hear(message: ConsoleMessage) -> None:
        if message.type == "error":
            errors.append(message.text)

    page.on("console", hear)
    with page.expect_response("**/api/session/if-any") as answer:
        page.goto(server.url + "/sign-in")
    assert answer.value.status == 204
    expect(page.get_by_label("Name", exact=True)).to_be_visible()
    assert errors == []
