"""A newer app waits for consent, and takes nothing with it that is not sent yet."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.phone.conftest import ready, resume, save_note, until, with_the_site
from tests.phone.newer_app import NewerApp
from tests.support.server import Server

IS_NEWER = "globalThis.newerApp === true"
LOOK = "navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => null, error => String(error))"


@pytest.fixture(scope="session")
def page_served() -> dict[str, str]:
    """The loose page: of a newer one a single file differs."""
    return {}


@pytest.fixture
def proxy(server: Server) -> Iterator[NewerApp]:
    made = NewerApp(server.port)
    yield made
    made.close()


@pytest.fixture
def phone(proxy: NewerApp, new_phone: Callable[..., BrowserContext]) -> Page:
    return with_the_site(new_phone(), proxy.url)


def test_a_newer_app_starts_only_when_asked_to_and_the_outbox_comes_through(proxy: NewerApp, phone: Page) -> None:
    proxy.deaf = True
    for number in range(60):
        save_note(phone, f"Floor {number}")
    before = phone.evaluate("site.unsent().then(u => u.operations)")
    assert len(before) == 60
    proxy.newer = True
    phone.evaluate(LOOK)
    until(phone, "store.update !== null")
    phone.reload()
    resume(phone)
    assert not phone.evaluate(IS_NEWER), "a plain reload is no consent"
    until(phone, "store.update !== null")
    with phone.expect_navigation():
        phone.evaluate("store.update.activate()")
    resume(phone)
    assert phone.evaluate(IS_NEWER)
    assert phone.evaluate("site.unsent().then(u => u.operations)") == before
    proxy.deaf = False
    phone.evaluate("store.syncNow()")
    assert phone.evaluate("site.unsent().then(u => u.operations.length)") == 0
    assert phone.evaluate("caches.keys().then(keys => keys.length)") == 1


def test_only_what_has_changed_is_fetched_for_it(proxy: NewerApp, phone: Page) -> None:
    fetched: list[str] = []
    phone.context.on("request", lambda request: fetched.append(request.url) if request.service_worker else None)
    proxy.newer = True
    phone.evaluate(LOOK)
    until(phone, "store.update !== null")
    assert sorted({url.removeprefix(proxy.url) for url in fetched}) == [
        "/",
        "/app/store/tabs.js",
        "/service-worker.js",
    ]


def test_a_half_deployed_server_leaves_the_old_app_in_place(proxy: NewerApp, phone: Page) -> None:
    proxy.newer = proxy.broken = True
    phone.evaluate(LOOK)
    until(phone, "navigator.serviceWorker.getRegistration().then(r => !r.installing)")
    assert phone.evaluate("store.update") is None
    phone.context.set_offline(True)
    phone.reload()
    resume(phone)
    assert not phone.evaluate(IS_NEWER)


def test_another_tab_is_told_and_keeps_what_is_half_typed_in_it(proxy: NewerApp, phone: Page) -> None:
    other = phone.context.new_page()
    other.goto(proxy.url + "/sign-in")
    ready(other)
    other.get_by_label("Name", exact=True).fill("half ty")
    proxy.newer = True
    phone.evaluate(LOOK)
    until(phone, "store.update !== null")
    with phone.expect_navigation():
        phone.evaluate("store.update.activate()")
    resume(phone)
    expect(other.get_by_role("button", name="Load again")).to_be_visible()
    expect(other.get_by_label("Name", exact=True)).to_have_value("half ty")
