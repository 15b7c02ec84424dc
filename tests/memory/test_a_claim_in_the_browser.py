"""The facility manager scans a label on a closed site, reads what is fitted, and has a claim's letter in three taps."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pypdfium2
import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect
from tests.archives.conftest import Closed, a_closed_demo, archive_of
from tests.conftest import sign_in
from tests.memory.test_what_a_building_remembers import ITEMS
from tests.support.installation import installed
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import PASSWORD

from spanwalk.services.archives.verifying import verify_archive

OTHER_DAY = "Pacific/Kiritimati" if datetime.now(UTC).hour >= 10 else "Pacific/Pago_Pago"
"""Where it is another day now than in Greenwich: fourteen hours ahead of it, or eleven behind."""
SHOTS = os.environ.get("SPANWALK_SHOTS")


@pytest.fixture
def closed(demo_data: Path, page_served: dict[str, str], tmp_path: Path) -> Iterator[Closed]:
    made = a_closed_demo(demo_data, tmp_path, items=ITEMS, emergency=True, env=page_served)
    for method, path, body in (
        ("POST", "/api/people", {"name": "Facility desk", "password": PASSWORD, "owner": False}),
        ("PUT", f"/api/sites/{made.site}/people", {"name": "Facility desk", "role": "facility"}),
    ):
        assert made.owner.call(method, path, body)[0] < 300
    yield made
    made.server.stop()


def shot(page: Page, name: str) -> None:
    """Pictures to be looked at, where a folder is named for them."""
    if SHOTS:
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            page.screenshot(path=f"{SHOTS}/{name}-{scheme}.png", full_page=True)
        page.emulate_media(color_scheme="light")


class Taps:
    """Counts what a finger does from the scan on."""

    number = 0

    def tap(self, on: Locator) -> None:
        """Tap something."""
        self.number += 1
        on.tap()


def test_from_the_scan_to_the_letter_in_three_taps(
    closed: Closed, new_phone: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    page = new_phone(service_workers="block", accept_downloads=True, timezone_id=OTHER_DAY).new_page()
    sign_in(page, closed.server.url, "Facility desk")
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("This site was closed on")).to_be_visible()
    shot(page, "facility-home-360")
    group, position = closed.noted_first
    labels = closed.hand.records("label")
    code = next(
        each["identity"]["code"]
        for each in labels
        if each.get("binding", {}).get("group") == group and each["binding"]["position"] == position
    )
    page.goto(f"{closed.server.url}/F/{code}")  # as a phone's camera opens it
    expect(page.get_by_text("This fixture takes no fluorescent lamps any more")).to_be_visible()
    for told in ("Slipway Electrical", "1 × HERON-30", "batch or serial: H-0001", "Under warranty until 2031-04-02"):
        expect(page.get_by_text(told)).to_be_visible()
    shot(page, "fitted-360")
    assert_fits_and_can_be_hit_and_read(page)
    taps = Taps()
    taps.tap(page.get_by_role("link", name="Report a failure"))
    page.get_by_label("hot, or smells").check()
    expect(page.get_by_text("Now: switch its circuit off and leave it off")).to_be_visible()
    taps.tap(page.get_by_label("flickers"))
    expect(page.get_by_text("Now: switch its circuit off")).to_have_count(0)
    shot(page, "report-360")
    assert_fits_and_can_be_hit_and_read(page)
    hours_that_could_be_two_numbers(page)
    taps.tap(page.get_by_role("button", name="Report it and open a claim"))
    assert taps.number <= 3
    link = page.get_by_role("link", name="The claim's letter as a PDF")
    expect(link).to_be_visible()
    expect(page.get_by_text(f"{today_there()}: flickers")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    assert [each["identity"]["hours"] for each in closed.hand.records("failure")] == [9000]
    shot(page, "claim-360")
    with page.expect_download() as waited:
        link.click()
    path = tmp_path / "letter.pdf"
    waited.value.save_as(path)
    text = "".join(each.get_textpage().get_text_range() for each in pypdfium2.PdfDocument(path.read_bytes()))
    assert "Claim under warranty" in text
    assert "flickers" in text
    if SHOTS:
        pypdfium2.PdfDocument(path.read_bytes())[0].render(scale=1.5).to_pil().save(f"{SHOTS}/letter.png")
    note_a_step(page)
    page.get_by_role("button", name="It was repaired or replaced").click()
    page.get_by_label("replaced from the spares").check()
    page.get_by_label("Code of the item that is in it now").fill("HERON-30")
    page.get_by_label("Batch or serial number").fill("H-0002")
    shot(page, "replaced-360")
    page.get_by_role("button", name="Save what was done").click()
    expect(page.get_by_text("replaced from the spares HERON-30 H-0002")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    (failure,) = closed.hand.records("failure")
    assert failure["replaced"]["on"] == today_there()
    assert_fits_and_can_be_hit_and_read(page)
    expect(page.get_by_text("All sent.")).to_be_visible()
    page.get_by_role("link", name="Upkeep").click()
    page.get_by_text("Failures of HERON-30 over the hours burned").first.click()
    expect(page.get_by_role("img", name=re.compile("^Failures of HERON-30"))).to_be_visible()
    shot(page, "curve-360")
    assert_fits_and_can_be_hit_and_read(page)


def hours_that_could_be_two_numbers(page: Page) -> None:
    """They are asked about, and stay as they were typed."""
    page.get_by_label("Hours burned").fill("9,000")
    page.get_by_role("button", name="Report it and open a claim").click()
    expect(page.get_by_role("alert")).to_have_text(
        "Hours burned: '9,000' could be 9000 or 9. Type the one that is meant."
    )
    expect(page.get_by_label("Hours burned")).to_have_value("9,000")
    page.get_by_label("Hours burned").fill("9000")


def today_there() -> str:
    return f"{datetime.now(ZoneInfo(OTHER_DAY)):%Y-%m-%d}"


def note_a_step(page: Page) -> None:
    """The claim is sent and refused, on the fixture and on the list of claims; what is half typed is kept."""
    page.get_by_text("Note a step of the claim").click()
    expect(page.get_by_label("On", exact=True)).to_have_value(today_there())
    page.get_by_label("claim sent").check()
    page.get_by_label("By whom").fill("Warranty desk")
    page.reload()
    expect(page.get_by_label("By whom")).to_have_value("Warranty desk")
    page.get_by_label("On", exact=True).fill("2999-01-01")
    page.get_by_role("button", name="Save this step").click()
    expect(page.get_by_role("alert")).to_contain_text("2999-01-01 is later than today")
    page.get_by_label("On", exact=True).fill("2026-04-20")
    page.get_by_role("button", name="Save this step").click()
    expect(page.get_by_text("2026-04-20: claim sent")).to_be_visible()
    shot(page, "claim-step-360")
    here = page.url
    page.get_by_role("link", name="Claims").click()
    expect(page.get_by_text("Open claims: 1")).to_be_visible()
    expect(page.get_by_text("Warranty desk", exact=True)).to_be_visible()
    shot(page, "claims-360")
    assert_fits_and_can_be_hit_and_read(page)
    page.goto(here)


def test_the_desk_closes_a_site_takes_its_archive_and_recalls_a_batch(
    closed: Closed, new_phone: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    desk: dict[str, Any] = {"viewport": {"width": 1280, "height": 900}, "is_mobile": False, "has_touch": False}
    page = new_phone(service_workers="block", **desk).new_page()
    sign_in(page, closed.server.url, "owner")
    page.get_by_text("Closed: 1 site").click()
    page.get_by_role("link", name="Cannery").click()
    expect(page.get_by_text("This site was closed on")).to_be_visible()
    base = f"{closed.server.url}/s/{closed.site}/desk"
    page.goto(f"{base}/settings")
    expect(page.get_by_text(closed.told["last_entry"])).to_be_visible()
    shot(page, "settings-1280")
    with page.expect_download() as waited:
        page.get_by_role("link", name="Take the archive away").click()
    assert waited.value.suggested_filename == f"spanwalk-archive-{closed.site[:8]}.zip"
    page.goto(f"{base}/recall")
    page.get_by_label("Batch or serial number").fill("LOT-77")
    page.get_by_role("button", name="List the fixtures").click()
    expect(page.get_by_text("Fixtures: 1", exact=True)).to_be_visible()
    shot(page, "recall-1280")
    assert_fits_and_can_be_hit_and_read(page)
    page.goto(f"{base}/upkeep")
    expect(page.get_by_role("link", name="As a calendar")).to_be_visible()
    shot(page, "upkeep-1280")
    assert_fits_and_can_be_hit_and_read(page)
    page.goto(f"{base}/settings")
    again = page.get_by_role("button", name="Open this site again")
    expect(again).to_be_disabled()
    page.get_by_label("Why it is opened again").fill("A wing was added")
    again.click()
    expect(page.get_by_role("button", name="Close this site")).to_be_visible()
    told = closed.owner.get(f"/api/sites/{closed.site}/pull?since=0&limit=5000")["records"]
    (site,) = [each for each in told if each["type"] == "site"]
    assert site["facets"]["closing"]["value"]["reason"] == "A wing was added"
    closed_again_its_archive_is_whole_and_taken_in_elsewhere(page, closed, tmp_path)


def closed_again_its_archive_is_whole_and_taken_in_elsewhere(page: Page, closed: Closed, tmp_path: Path) -> None:
    """The end of the demo's journey: closed at the desk, taken away, verified, and there again on another server."""
    page.get_by_role("button", name="Close this site").click()
    expect(page.get_by_role("button", name="Open this site again")).to_be_visible()
    told = archive_of(closed.owner, closed.site)
    page.reload()
    take = page.get_by_role("link", name="Take the archive away")
    with page.expect_download() as waited:
        take.click()
    archive = tmp_path / "archive.zip"
    waited.value.save_as(archive)
    found = verify_archive(archive, told["last_entry"])
    assert found.flaws == []
    assert found.last != closed.told["last_entry"]
    with installed(tmp_path / "elsewhere") as other:
        brought = other.call(
            "owner", "POST", "/api/site-copies", data=archive.read_bytes(), content_type="application/zip"
        )
        assert (brought.status_code, brought.json) == (201, {"id": closed.site})


def test_a_crew_at_a_closed_site_is_told_so_and_notes_nothing_as_done(
    closed: Closed, new_phone: Callable[..., BrowserContext]
) -> None:
    """What it noted would wait on its phone for ever, and it would work on for nothing."""
    page = new_phone(service_workers="block").new_page()
    group, _ = closed.noted_first
    sign_in(page, closed.server.url, "crew", f"/s/{closed.site}/fixture/{group}/3")
    expect(page.get_by_text("This site was closed on")).to_be_visible()
    expect(page.get_by_role("link", name="Report a failure")).to_be_visible()
    for deed in ("Done", "A problem", "Skip it"):
        expect(page.get_by_role("button", name=deed, exact=True)).to_have_count(0)
    assert_fits_and_can_be_hit_and_read(page)
