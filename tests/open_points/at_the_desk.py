"""A manager at the desk: the open points as they stand on the screen, and the way from each to where it is put right."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Locator, Page, expect
from tests.conftest import open_within
from tests.open_points.complete_site import CompleteSite

ROOT = Path(__file__).resolve().parents[2]
SENTENCES: dict[str, str] = json.loads(
    (ROOT / "server/spanwalk/spec/words.en/open-points.json").read_text(encoding="utf-8")
)


def _pattern(sentence: str) -> re.Pattern[str]:
    """A sentence with anything where its facts stand."""
    return re.compile(".+?".join(re.escape(part) for part in re.split(r"\{\w+\}", sentence)))


PATTERNS = {rule.removeprefix("open-point."): _pattern(sentence) for rule, sentence in SENTENCES.items()}


@dataclass
class Desk:
    """The desk of one site in a browser, signed in."""

    page: Page
    site: CompleteSite
    url: str

    @property
    def address(self) -> str:
        return f"{self.url}/s/{self.site.hand.site}/desk"

    def open(self) -> None:
        open_within(self.page, self.address)
        expect(self.page.get_by_role("region", name="The whole site")).to_be_visible()

    def told(self) -> list[str]:
        """Rules whose sentence stands on the screen, once for each time that it does."""
        expect(self.page.get_by_role("heading", name="Open points")).to_be_visible()
        expect(self.page.get_by_text("Asking the server…")).to_have_count(0)
        text = self.page.get_by_role("main").inner_text()
        return [rule for rule, pattern in PATTERNS.items() for _ in pattern.finditer(text)]

    def sentence(self, rule: str) -> Locator:
        return self.page.get_by_role("main").get_by_text(PATTERNS[rule])

    def follow(self, path: str) -> None:
        """Follow the link of an open point to the screen where it is put right."""
        self.page.get_by_role("main").locator(f'a[href="{path}"]').first.click()
        self.page.wait_for_url(self.url + path)

    def wait_until_sent(self) -> None:
        """To be called when the screen has told that it has saved: before that the line says 'All sent.' of what was before."""
        expect(self.page.get_by_text("All sent.")).to_be_visible()
