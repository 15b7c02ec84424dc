"""The loose page, as a checkout serves it: each of its files comes once, is there without a server, or says what to do."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, expect
from tests.phone.conftest import resume, with_the_site
from tests.support.counting_proxy import CountingProxy
from tests.support.server import Client, Server

BESIDE_THE_FILES = 20
"""The shell again, the worker and its look for a newer one, icons, sign-in, the site's copy, its fits, a look at the session."""


@pytest.fixture(scope="session")
def page_served() -> dict[str, str]:
    return {}


def test_a_first_opening_asks_for_each_file_of_the_page_once(
    server: Server, client: Callable[[str], Client], new_phone: Callable[..., BrowserContext]
) -> None:
    worker = client("manager").get("/service-worker.js").decode()
    files = json.loads(next(line for line in worker.splitlines() if "PRECACHE" in line).split("=", 1)[1].rstrip("; "))
    with CountingProxy(server.port) as wire:
        with_the_site(new_phone(), wire.url)
        assert len(files) > 100
        assert len(files) < wire.carried.requests < len(files) + BESIDE_THE_FILES


def test_an_address_deep_in_the_page_opens_without_a_server(
    fresh_server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    page = with_the_site(new_phone(), fresh_server.url)
    site = page.evaluate("site.id")
    fresh_server.stop()
    page.goto(f"{fresh_server.url}/s/{site}/room/nowhere")
    resume(page)
    assert page.evaluate("document.querySelector('#app').textContent").strip()


def test_a_page_of_which_a_part_does_not_arrive_says_what_to_do(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    context = new_phone(reduced_motion="no-preference")
    page = context.new_page()
    context.route("**/app/views/words.js", lambda route: route.abort())
    page.goto(server.url + "/")
    expect(page.get_by_text("Opening Spanwalk.")).to_be_visible()
    expect(page.get_by_text("load it again where there is a signal")).to_be_visible()
    context.unroute("**/app/views/words.js")
    page.reload()
    expect(page.get_by_role("button", name="Sign in", exact=True)).to_be_visible()
    expect(page.get_by_text("Opening Spanwalk.")).to_have_count(0)
