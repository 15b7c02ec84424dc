"""Whether a screen fits, can be hit with a thumb, and is read by machines, light and dark, small and large."""

from __future__ import annotations

import os
import time
from collections.abc import Iterable

from axe_playwright_python.sync_playwright import DEFAULT_OPTIONS, Axe
from playwright.sync_api import Page

PHONES = (320, 360, 412)
SHOTS = os.environ.get("SHOTS")
"""A folder for pictures to be looked at."""
REST_S = 30
"""Longer than this no screen takes to lie as it will lie."""
COLOURS = {
    "resultTypes": ["violations"],
    "runOnly": {"type": "tag", "values": ["cat.color"]},
    "rules": {"color-contrast-enhanced": {"enabled": False}},
}
"""What axe asks of colours, as in a whole run of it: the stricter contrast of level AAA is off there too."""
# What scrolls sideways in a box of its own may be wider than the window. What is folded is laid out when it is opened, and has
# the place of another width until then: who wants it measured opens it.
BEYOND = """() => [...document.querySelectorAll('body *')]
  .filter(e => e.checkVisibility())
  .filter(e => !e.closest('.visually-hidden, svg') && !e.parentElement.closest('.strip, .table-box, .scroll-sideways'))
  .filter(e => { const r = e.getBoundingClientRect(); return r.width && (r.right > innerWidth + 1 || r.left < -1); })
  .map(e => `${e.tagName}.${e.className} ${e.textContent.slice(0, 40)}`)"""
SMALL = """() => [...document.querySelectorAll('a, button, select, textarea, summary, label.chip, input:not([type=radio], [type=checkbox], [type=file])')]
  .filter(e => !e.closest('p') && e.checkVisibility())
  .filter(e => { const r = e.getBoundingClientRect(); return r.width && (r.height < 47.5 || r.width < 47.5); })
  .map(e => `${e.tagName}.${e.className} ${e.textContent.slice(0, 40)}`)"""

# Every control, scrolled into view as a key does it, and what lies over it there.
COVERED = """() => {
  const page = document.querySelector('.page');
  const controls = [...document.querySelectorAll('main a[href], main button, main input, main select, main textarea')];
  const covered = [];
  for (const each of controls) {
    if (each.disabled || !each.checkVisibility({ visibilityProperty: true })) continue;
    const target = each.closest('label') ?? each;
    target.scrollIntoView({ block: 'nearest' });
    const { left, top, width, height } = target.getBoundingClientRect();
    if (height > innerHeight / 2) continue; // it is seen part by part
    for (const y of [top + Math.min(6, height / 4), top + height - Math.min(6, height / 4)]) {
      const hit = document.elementFromPoint(left + width / 2, y);
      if (!hit || !(target.contains(hit) || hit.contains(target)))
        covered.push(`${each.tagName} ${(each.name || each.textContent).slice(0, 40)} by ${hit ? `${hit.tagName} ${hit.className}` : 'nothing'}`);
    }
  }
  return { controls: controls.length, covered };
}"""

# A word that stands on two lines; where a hyphen, a dash or a stroke lets it, that is no fault.
BROKEN = """() => {
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    if (node.parentElement.closest('.visually-hidden, script, style, option, .skip-link')) continue;
    for (const { 0: word, index } of node.data.matchAll(/[^\\s\\-–—\\/…]+/g)) {
      const range = document.createRange();
      range.setStart(node, index);
      range.setEnd(node, index + word.length);
      const lines = new Set([...range.getClientRects()].filter((r) => r.width > 0).map((r) => Math.round(r.top)));
      if (lines.size > 1) found.push(word);
    }
  }
  return found;
}"""

# What stays in sight at the foot while one scrolls leaves at least half of the window to what is read.
TALL_FOOT = """() => [...document.querySelectorAll('.foot')]
  .filter(e => getComputedStyle(e).position !== 'static' && e.getBoundingClientRect().height > innerHeight / 2)
  .map(e => `${Math.round(e.getBoundingClientRect().height)} of ${innerHeight} px`)"""


def assert_no_word_is_broken(page: Page) -> None:
    """No word stands on two lines, on the narrowest phone or with letters twice as large."""
    page.set_viewport_size({"width": 320, "height": 740})
    broken = page.evaluate(BROKEN)
    assert broken == [], f"words broken at 320 px: {broken}"
    page.set_viewport_size({"width": 360, "height": 740})
    page.evaluate("() => { document.documentElement.style.fontSize = '225%'; }")
    broken = page.evaluate(BROKEN)
    assert broken == [], f"words broken with letters twice as large: {broken}"


def found_at_rest(page: Page, script: str, argument: object = None) -> object:
    """What a script finds: the page hears of a new size a moment later, and puts its places at the side or at the foot."""
    end = time.monotonic() + REST_S
    while (found := page.evaluate(script, argument)) and time.monotonic() < end:
        page.wait_for_timeout(50)
    return found


def assert_fits_and_can_be_hit_and_read(page: Page, widths: Iterable[int] = PHONES) -> None:
    """Nothing beyond an edge, nothing under 48 px to hit, and no fault that axe knows, at each width and in both schemes.

    A scheme changes colours and nothing else (`tests/pages/test_colour_schemes.py`): in the dark only they are looked at again.
    """
    for width in widths:
        page.set_viewport_size({"width": width, "height": 740})
        assert page.evaluate(BEYOND) == [], f"beyond the edge at {width} px"
        small = page.evaluate(SMALL)
        assert small == [], f"too small to hit at {width} px: {small}"
    for scheme, asked in (("light", DEFAULT_OPTIONS), ("dark", COLOURS)):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
        found = Axe().run(page, options=asked)
        assert found.violations_count == 0, f"in the {scheme}: {found.generate_report()}"


def assert_fits_with_letters_twice_as_large(page: Page) -> None:
    """Nothing beyond an edge for someone who has set the phone's text to 200 %."""
    page.set_viewport_size({"width": 360, "height": 740})
    page.evaluate("() => { document.documentElement.style.fontSize = '225%'; }")
    assert found_at_rest(page, BEYOND) == [], "beyond the edge with letters twice as large"


def assert_nothing_is_covered(page: Page) -> None:
    """No control lies under the foot, the bar or anything else, upright and on its side."""
    for width, height in ((360, 640), (740, 360)):
        page.set_viewport_size({"width": width, "height": height})
        page.evaluate("() => { document.documentElement.style.fontSize = ''; }")
        covered = found_at_rest(page, f"() => ({COVERED})().covered")
        assert covered == [], f"covered at {width} x {height}: {covered}"


def shot(page: Page, name: str, widths: tuple[int, ...] = (360, 1280)) -> None:
    """Pictures to be looked at by a person, where a folder is named for them."""
    if SHOTS:
        size = page.viewport_size
        for width in widths:
            page.set_viewport_size({"width": width, "height": 900})
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
                page.wait_for_timeout(200)
                page.screenshot(path=f"{SHOTS}/{name}-{width}-{scheme}.png", full_page=True)
        page.emulate_media(color_scheme="light")
        if size:
            page.set_viewport_size(size)
