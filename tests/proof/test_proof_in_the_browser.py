"""At the desk: a certificate is attached, a collection noted, the packs taken away; a file of the wrong kind is refused in a sentence."""

from __future__ import annotations

import os
import zipfile
from io import BytesIO
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.desk.conftest import NewDesk
from tests.proof.test_proof_packs import PDF, sheet
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.releasing import release_seen

SHOTS = os.environ.get("SPANWALK_SHOTS")


def shot(page: Page, name: str) -> None:
    """Pictures of the screen in either theme and width, where somebody wants to look at it."""
    for width in (360, 1280) if SHOTS else ():
        page.set_viewport_size({"width": width, "height": 900})
        for theme in ("light", "dark"):
            page.emulate_media(color_scheme=theme)  # type: ignore[arg-type]
            page.screenshot(path=str(Path(SHOTS or "") / f"{name}-{width}-{theme}.png"), full_page=True)
    page.emulate_media(color_scheme="light")


def test_a_manager_attaches_a_certificate_notes_who_collected_and_takes_the_packs_away(
    new_desk: NewDesk, tmp_path: Path
) -> None:
    desk = new_desk()
    assert release_seen(desk.client, desk.site)[0] == 201
    page = desk.open("/handover")
    page.get_by_role("link", name="Proof packs").click()
    attachments = page.get_by_role("region", name="Attachments", exact=True)
    attachments.get_by_role("radio", name="certificate").check()
    attachments.get_by_label("Attach a file").set_input_files(
        {"name": "page.pdf", "mimeType": "application/pdf", "buffer": b"<html>"}
    )
    expect(attachments.get_by_role("alert")).to_contain_text("This is no PDF, JPEG or PNG")
    attachments.get_by_label("Attach a file").set_input_files(
        {"name": "slip.pdf", "mimeType": "application/pdf", "buffer": PDF}
    )
    expect(attachments.get_by_role("table")).to_contain_text("slip.pdf")
    note_a_collection(page)
    shot(page, "proof")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    expect(page.get_by_text("All sent.")).to_be_visible()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Recycler pack (ZIP)").click()
    taken.value.save_as(tmp_path / "pack.zip")
    packs = zipfile.ZipFile(BytesIO((tmp_path / "pack.zip").read_bytes()))
    (collected,) = sheet(packs, "recycler.xlsx", "Collected")
    assert (collected["Collected by"], collected["Number"], collected["Certificate"]) == (
        "Saltmere Recovery",
        12,
        "slip.pdf",
    )
    assert {"recycler.xlsx", "recycler.pdf", "README.txt"} < set(packs.namelist())


def note_a_collection(page: Page) -> None:
    collections = page.get_by_role("region", name="Waste collected", exact=True)
    collections.locator("summary").click()
    collections.get_by_role("radio", name="lamps").check()
    collections.get_by_label("Pieces").fill("12")
    collections.get_by_role("button", name="Save the collection").click()
    expect(collections.get_by_role("alert").first).to_be_visible()
    collections.get_by_label("Collected on").fill("2026-04-09")
    collections.get_by_label("Collected by").fill("Saltmere Recovery")
    collections.get_by_label("Certificate").select_option(label="slip.pdf")
    collections.get_by_role("button", name="Save the collection").click()
    expect(collections.get_by_role("table")).to_contain_text("Saltmere Recovery")
