"""Each screen that comes later lies where the page looks for it: an address leads to the first part that it lies within."""

from __future__ import annotations

import re

import pytest
from tests.support.machine import ROOT

PAGE = ROOT / "pwa"
PARTS = [
    (within.replace("\\/", "/"), load)
    for within, load in re.findall(
        r"within: /(\S+)/,.*?import\('\./(\S+?)'\)", (PAGE / "routes.js").read_text("utf-8"), re.DOTALL
    )
]
SCREENS = [(load, path) for _, load in PARTS for path in re.findall(r"path: '(.+?)'", (PAGE / load).read_text("utf-8"))]


def test_all_screens_of_a_site_come_later() -> None:
    assert {load for _, load in PARTS} == {
        "views/surveying/screens.js",
        "views/surveying/group_screen.js",
        "views/screens_b.js",
        "views/desk/screens.js",
        "views/finding/screens.js",
        "views/rooms/screens.js",
        "views/acceptance/screens.js",
        "views/ordering/screens.js",
        "views/crew/screens.js",
        "views/people/screens.js",
        "views/photos/screens.js",
        "views/today/screens.js",
    }
    assert len(SCREENS) > 15


@pytest.mark.parametrize(("load", "path"), SCREENS)
def test_an_address_of_a_later_screen_leads_to_its_part(load: str, path: str) -> None:
    address = re.sub(r":\w+", "0123-ab", path)
    assert next(each for within, each in PARTS if re.search(within, address)) == load
