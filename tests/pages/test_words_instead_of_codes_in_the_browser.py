"""No screen, table to take away or label shows the code of a choice where it has words."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import pymupdf
import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import open_within, sign_in
from tests.support.machine import ROOT
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

pytestmark = pytest.mark.keeps_page(False)

OPEN_ALL = "document.querySelectorAll('details').forEach((each) => { each.open = true; })"
ALL_TEXT = """[document.body.innerText, ...[...document.querySelectorAll('[aria-label], [alt], [title]')]
  .flatMap((each) => ['aria-label', 'alt', 'title'].map((name) => each.getAttribute(name) ?? ''))].join('\\n')"""
SCREENS = [
    "/",
    "/kinds",
    "/open-points",
    "/conflicts",
    "/unsent",
    "/work",
    "/find",
    "/more",
    "/new",
    "/desk",
    "/desk/plan",
    "/desk/releases",
    "/desk/emergency",
    "/desk/handover",
    "/desk/labels",
    "/desk/figures",
    "/desk/people",
    "/desk/money",
    "/desk/settings",
    "/desk/catalogue",
    "/desk/files",
]


def codes() -> re.Pattern[str]:
    """Codes whose words differ; a single word may stand in a sentence, so only those of several parts."""
    words = json.loads((ROOT / "server/spanwalk/spec/words.en/choices.json").read_text("utf-8"))
    told = {code.removeprefix("choice."): text for code, text in words.items()}
    several = [re.escape(code) for code, text in told.items() if "-" in code and code != text]
    assert len(several) > 50
    return re.compile(rf"(?<![\w/-])(?:{'|'.join(sorted(several, key=len, reverse=True))})(?![\w-])")


def shown(page: Page, address: str) -> str:
    open_within(page, address)
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    expect(page.get_by_text("Asking the server…")).to_have_count(0)
    page.wait_for_timeout(300)  # what is read from the phone has come
    page.evaluate(OPEN_ALL)
    told: str = page.evaluate(ALL_TEXT)
    return told


def one_of_each(records: list[dict[str, Any]]) -> list[str]:
    """Addresses of some rooms, kinds, groups, fixtures with a card, and items."""

    def ids(type_: str) -> list[str]:
        return [each["id"] for each in records if each["type"] == type_]

    released = [each["parent"] for each in records if each["type"] == "conversion"]
    read = [each["parent"] for each in records if each["type"] == "cavity_reading"]
    assert released
    return [
        *(f"/room/{id}" for id in ids("room")[:3]),
        *(f"/kind/{id}" for id in ids("kind")[:4]),
        *(f"/group/{id}" for id in dict.fromkeys(read[::9])),
        *(f"/fixture/{id}/1" for id in released[:6]),
        *(f"/desk/catalogue/{id}" for id in ids("catalogue_item")[:3]),
    ]


def test_no_code_of_a_choice_stands_where_people_read(
    fresh_server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    client = Client(fresh_server.url, "manager")
    site = client.site_id()
    assert client.call("POST", f"/api/sites/{site}/labels", {})[0] == 201
    assert release_seen(client, site)[0] == 201
    records = client.get(f"/api/sites/{site}/pull?since=0&limit=100000")["records"]
    page = sign_in(new_phone().new_page(), fresh_server.url, "manager", f"/s/{site}")
    expect(page.get_by_text("All sent.")).to_be_visible()
    told = {path: shown(page, f"{fresh_server.url}/s/{site}{path}") for path in [*SCREENS, *one_of_each(records)]}
    for table in client.get(f"/api/sites/{site}/tables")["tables"]:
        told[table["name"]] = client.get(f"/api/sites/{site}/tables/{table['name']}.csv").decode()
    with pymupdf.open(stream=client.get(f"/api/sites/{site}/labels.pdf?paper=a4")) as sheets:
        told["labels"] = "".join(sheet.get_text() for sheet in sheets)
    assert min(len(text) for text in told.values()) > 20
    code = codes()
    assert {where: sorted(set(code.findall(text))) for where, text in told.items() if code.search(text)} == {}
