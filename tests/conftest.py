"""What all tests share: a real server, a real Chromium, the page's own tests as pytest items."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect

from tests.support import collecting, javascript, machine, playwright_driver, second_try, shuffled
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import make_demo, started
from tests.support.packed import packed_for_tests
from tests.support.routes import build_once
from tests.support.server import PASSWORD, Client, Server
from tests.support.statements import compile_once

build_once()
compile_once()
WAIT_S = 30
"""How long a test waits for what is to come: a machine that is busy with other tests is slow."""
expect.set_options(timeout=WAIT_S * 1000)
settings.register_profile("not on timing", deadline=None)
settings.load_profile("not on timing")

PHONE = {
    "viewport": {"width": 360, "height": 740},
    "device_scale_factor": 2,
    "is_mobile": True,
    "has_touch": True,
    "reduced_motion": "reduce",
}
WITHOUT_WORKER = {"service_workers": "block"}
"""For a browser that never has to open the page without a signal: it fetches a third of what a phone keeps."""


def pytest_collect_file(parent: pytest.Collector, file_path: Path) -> pytest.Collector | None:
    return javascript.collect(parent, file_path)


def pytest_addoption(parser: pytest.Parser) -> None:
    shuffled.add_option(parser)


def pytest_sessionstart(session: pytest.Session) -> None:
    second_try.count_without_waiting(session.config)


@pytest.hookimpl(tryfirst=True)  # pytest itself brings together afterwards what shares a fixture
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Long runs wait until they are asked for."""
    if "soak" not in (config.option.markexpr or ""):
        soaking = [bool(item.get_closest_marker("soak")) for item in items]
        config.hook.pytest_deselected(items=[item for item, soaks in zip(items, soaking, strict=True) if soaks])
        items[:] = [item for item, soaks in zip(items, soaking, strict=True) if not soaks]
    second_try.allow(items)
    if (seed := config.getoption("shuffle")) is not None:
        shuffled.shuffle(items, seed)


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    with collecting.at_less_cost():
        return (yield)


def pytest_terminal_summary(terminalreporter: second_try.Reporter) -> None:
    second_try.tell(terminalreporter)


def pytest_sessionfinish(session: pytest.Session) -> None:
    reporter: second_try.Reporter | None = session.config.pluginmanager.get_plugin("terminalreporter")
    if reporter is not None and second_try.are_too_many(reporter):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(scope="session")
def demo_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the demo building in it, planned, made once; copy it, never use it."""
    folder = tmp_path_factory.mktemp("demo") / "data"
    make_demo(Server(folder))
    return folder


@pytest.fixture(scope="session")
def packed_page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The environment of a server that serves the page packed, as a wheel does: a phone starts in half the time."""
    return packed_for_tests(tmp_path_factory.mktemp("packed") / "installed")


@pytest.fixture(scope="session")
def page_served(packed_page: dict[str, str]) -> dict[str, str]:
    """The page that servers hand out: packed. A folder that must have the loose one overrides this."""
    return packed_page


@pytest.fixture(scope="module")
def server(demo_data: Path, page_served: dict[str, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A running `spanwalk demo` with a fresh demo building, one for the module."""
    running = started(ONE_MACHINE, demo_data, tmp_path_factory.mktemp("server") / "data", page_served)
    yield running
    running.stop()


@pytest.fixture
def fresh_server(demo_data: Path, page_served: dict[str, str], tmp_path: Path) -> Iterator[Server]:
    """A running `spanwalk demo` with a fresh demo building, for one test only."""
    running = started(ONE_MACHINE, demo_data, tmp_path / "data", page_served)
    yield running
    running.stop()


@pytest.fixture
def client(server: Server) -> Callable[[str], Client]:
    return lambda name: Client(server.url, name)


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """A driver that looks at a page more often than by itself: no test waits longer than it must."""
    with playwright_driver.running() as started:
        yield started


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_type_launch_args, "executable_path": machine.headless_chromium(), "args": machine.CHROMIUM_ARGS}


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args: dict[str, Any]) -> dict[str, Any]:
    return {**browser_context_args, **PHONE}


@pytest.fixture
def new_phone(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Callable[..., BrowserContext]]:
    """Makes phones (contexts with storage of their own, 360 × 740, touch).

    Under the mark `keeps_page(False)` they keep no page of their own: half the work, where none is opened offline.
    """
    made: list[BrowserContext] = []
    mark = request.node.get_closest_marker("keeps_page")
    kept = WITHOUT_WORKER if mark is not None and mark.args == (False,) else {}

    def make(**more: Any) -> BrowserContext:
        made.append(browser.new_context(**{**PHONE, **kept, **more}))
        return made[-1]

    yield make
    for context in made:
        context.close()


@pytest.fixture
def persistent_phone(playwright: Playwright, tmp_path: Path) -> Iterator[Callable[..., BrowserContext]]:
    """Makes phones whose storage outlives the browser: the same `profile` name opens the same storage."""
    made: list[BrowserContext] = []

    def make(profile: str = "phone", args: list[str] | None = None, **more: Any) -> BrowserContext:
        folder = tmp_path / profile
        (folder / "SingletonLock").unlink(missing_ok=True)
        made.append(
            playwright.chromium.launch_persistent_context(
                str(folder),
                executable_path=machine.headless_chromium(),
                args=[*machine.CHROMIUM_ARGS, *(args or [])],
                **{**PHONE, **more},
            )
        )
        return made[-1]

    yield make
    for context in made:
        try:
            context.close()
        except Exception:  # a phone that the test killed has nothing left to close
            continue


def sign_in(page: Page, url: str, name: str, path: str = "/") -> Page:
    """Signs in beside the page, opens it with that session, and goes to `path`: half the work of the screen."""
    who = {"name": name, "password": PASSWORD}
    answer = page.context.request.post(f"{url}/api/session", data=who, headers={"Sec-Fetch-Site": "same-origin"})
    assert answer.ok, f"{name} could not sign in: {answer.status}"
    page.goto(url + "/")
    page.wait_for_selector("body[data-ready]", state="attached")
    page.evaluate("async () => { await (await import('/app/store/store.js')).store.refresh(); }")
    return go(page, path)


def sign_in_on_the_screen(page: Page, url: str, name: str, path: str = "/") -> Page:
    """Signs in through the screen and goes to `path`."""
    page.goto(url + "/sign-in")
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(lambda at: "/sign-in" not in at)
    return page if path == "/" else go(page, path)


def module(name: str) -> str:
    """What gives a module of the page that was loaded with it, packed or loose: it need not be fetched for that."""
    return f"import('#main').then(({{ $m }}) => $m['{name}'], () => import('/app/{name}'))"


def scanner_kept(page: Page) -> Page:
    """Waits until the phone has the scanner: a crew's fetches it beside its work, after the page."""
    end = time.monotonic() + WAIT_S
    while not page.evaluate("caches.match('/app/vendor/zxing_reader.wasm').then(found => found !== undefined)"):
        assert time.monotonic() < end, "the scanner never came"
        page.wait_for_timeout(50)
    return page


def go(page: Page, path: str) -> Page:
    """Goes to an address as a tap does: without loading the page again."""
    page.evaluate(f"path => {module('views/navigate.js')}.then(({{ navigate }}) => navigate(path))", path)
    return page


SYNC = f"async () => {{ await (await {module('store/store.js')}).store.syncNow(); }}"


def open_within(page: Page, url: str) -> Page:
    """Opens an address of the page with what the server has now: as a tap does, which takes a third of loading the page anew.

    Where the page stands there already it is loaded anew, so that nothing of it stays.
    """
    origin, path = urlsplit(page.url)[:2], urlsplit(url)
    if origin != path[:2] or urlsplit(page.url).path == path.path:
        page.goto(url)
        return page
    page.evaluate(SYNC)
    return go(page, url[len(f"{path.scheme}://{path.netloc}") :])
