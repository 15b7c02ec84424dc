"""A surveyor with a phone and no signal, on the home of the demo building."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.support.kept_page import page_is_kept
from tests.support.server import Server


@pytest.fixture
def phone(fresh_server: Server, new_phone: Callable[..., BrowserContext]) -> Page:
    page = sign_in(new_phone().new_page(), fresh_server.url, "surveyor")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_role("heading", name="Undercroft")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    page_is_kept(page)
    page.context.set_offline(True)
    return page
