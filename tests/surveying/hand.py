"""A hand on the phone: every tap, key and swipe that a job takes is counted, and only what can be seen is tapped."""

from __future__ import annotations

from dataclasses import dataclass

from playwright.sync_api import Locator, Page, expect

SWIPE_SHARE = 0.6
"""How much of the screen a swipe brings: common practice, no source."""
MOST_SWIPES = 40

IN_SIGHT = """(element) => {
  const box = element.getBoundingClientRect();
  const [x, y] = [box.left + box.width / 2, box.top + box.height / 2];
  const there = document.elementFromPoint(x, y);
  return there !== null && (element.contains(there) || there.contains(element));
}"""
BELOW = "(element) => element.getBoundingClientRect().top > innerHeight / 2"


@dataclass
class Hand:
    """Counts what a job takes on the screen that is shown."""

    page: Page
    taps: int = 0
    keys: int = 0
    swipes: int = 0

    def tap(self, what: Locator) -> None:
        """Tap it; what does not lie in sight, or under something, is swiped to first."""
        expect(what).to_be_visible()
        self._to(what)
        what.tap(position=None)
        self.taps += 1

    def type(self, text: str) -> None:
        """Keys into what has the focus."""
        self.page.keyboard.type(text)
        self.keys += len(text)

    @property
    def strokes(self) -> int:
        """Taps and keys."""
        return self.taps + self.keys

    def _to(self, what: Locator) -> None:
        for _ in range(MOST_SWIPES):
            if what.evaluate(IN_SIGHT):
                return
            way = 1 if what.evaluate(BELOW) else -1
            self.page.evaluate(f"scrollBy(0, {way} * innerHeight * {SWIPE_SHARE})")
            self.swipes += 1
        raise AssertionError(f"{what} does not come into sight")
