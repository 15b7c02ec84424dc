"""A complete site on the server, and a phone that has it and no signal."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import go, sign_in
from tests.open_points.complete_site import CompleteSite, make_complete_site
from tests.support.kept_page import page_is_kept
from tests.support.server import Server
from tests.surveying.at_a_group import Opened


@pytest.fixture
def site(server: Server) -> CompleteSite:
    return make_complete_site(server)


@pytest.fixture
def opened(server: Server, site: CompleteSite, new_phone: Callable[..., BrowserContext]) -> Opened:
    """A phone of the site's owner that has the whole site and no signal, at an address of the site."""

    def open_phone(path: str = "", **phone: Any) -> Page:
        page = new_phone(**phone).new_page()
        sign_in(page, server.url, "owner", f"/s/{site.hand.site}")
        expect(page.get_by_text("All sent.")).to_be_visible()
        expect(page.get_by_role("link", name="G01 Hall").first).to_be_visible()
        page_is_kept(page)
        page.context.set_offline(True)
        return go(page, f"/s/{site.hand.site}{path}")

    return open_phone
