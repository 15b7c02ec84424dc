"""The printed label before the phone's camera: rendered to pixels, fed to the camera, decoded in the page."""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageFilter
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.installing.conftest import Fixture, back_in_reach, out_of_reach, records, value
from tests.installing.test_checked_off_in_the_browser import alone, is_of
from tests.labels.printed import label_with
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Client, Server

from spanwalk.rules.codes import spaced

FRAME = (1280, 720)
FRAMES = 12


def printed_label(server: Server, site: str, code: str) -> Image.Image:
    """The label as it comes out of the printer."""
    status, pdf = Client(server.url, "manager").call("GET", f"/api/sites/{site}/labels.pdf?paper=a4")
    assert status == 200
    return label_with(pdf, "a4", code).convert("RGB")


def film(label: Image.Image, path: Path) -> Path:
    """A hand-held phone looks at the label: tilted, a little out of focus, never twice in the same place."""
    rng = random.Random(3)
    shots = []
    for _ in range(FRAMES):
        frame = Image.new("RGB", FRAME, (96, 92, 84))
        tilted = label.resize((620, round(620 * label.height / label.width))).rotate(
            rng.uniform(-6, 6), expand=True, fillcolor=(96, 92, 84)
        )
        frame.paste(tilted, (rng.randint(200, 400), rng.randint(80, 240)))
        shot = io.BytesIO()
        frame.filter(ImageFilter.GaussianBlur(0.8)).save(shot, "JPEG", quality=80)
        shots.append(shot.getvalue())
    path.write_bytes(b"".join(shots))
    return path


@pytest.fixture
def filmed_phone(
    server: Server,
    labelled: dict[str, list[Fixture]],
    persistent_phone: Callable[..., BrowserContext],
    tmp_path: Path,
) -> Callable[[Image.Image], BrowserContext]:
    """A phone whose camera sees a picture."""

    def make(seen: Image.Image) -> BrowserContext:
        movie = film(seen, tmp_path / "camera.mjpeg")
        args = [
            "--use-fake-device-for-media-stream",
            "--use-fake-ui-for-media-stream",
            f"--use-file-for-fake-video-capture={movie}",
        ]
        return persistent_phone(args=args, permissions=["camera"])

    return make


def test_a_printed_label_before_the_camera_opens_its_fixture_without_a_signal(
    filmed_phone: Callable[[Image.Image], BrowserContext], labelled: dict[str, list[Fixture]], server: Server
) -> None:
    fixture = labelled["released"][7]
    phone = filmed_phone(printed_label(server, fixture.site, fixture.code))
    page = out_of_reach(sign_in(phone.new_page(), server.url, "crew"))
    page.get_by_role("link", name="Scan a label").click()
    page.wait_for_url(lambda at: fixture.path in at)
    expect(page.get_by_role("region", name="What to do")).to_be_visible()


def test_a_code_that_is_not_a_label_is_named_and_the_camera_looks_on(
    filmed_phone: Callable[[Image.Image], BrowserContext], server: Server
) -> None:
    import qrcode

    strange = io.BytesIO()
    qrcode.make("https://example.org/menu", box_size=8, border=6).save(strange)
    phone = filmed_phone(Image.open(strange).convert("RGB"))
    page = out_of_reach(sign_in(phone.new_page(), server.url, "crew"))
    page.get_by_role("link", name="Scan a label").click()
    expect(page.get_by_role("main").get_by_role("status")).to_contain_text("not a label of ours", timeout=20_000)
    expect(page.get_by_label("What the camera sees")).to_be_visible()


def test_a_picture_of_two_labels_lets_choose_between_them_and_one_without_says_what_to_do(
    crew_phone: Page, labelled: dict[str, list[Fixture]], server: Server, tmp_path: Path
) -> None:
    here, there = labelled["released"][0], labelled["released"][1]
    labels = [printed_label(server, each.site, each.code) for each in (here, there)]
    both = Image.new("RGB", (labels[0].width, sum(each.height for each in labels) + 60), (96, 92, 84))
    both.paste(labels[0], (0, 0))
    both.paste(labels[1], (0, labels[0].height + 60))
    both.save(tmp_path / "both.png")
    Image.new("RGB", (640, 480), (96, 92, 84)).save(tmp_path / "wall.png")
    crew_phone.get_by_role("link", name="Scan a label").click()
    crew_phone.get_by_label("Picture from a file").set_input_files(tmp_path / "wall.png")
    expect(crew_phone.get_by_text("No code was read in this picture.")).to_be_visible(timeout=20_000)
    crew_phone.get_by_label("Picture from a file").set_input_files(tmp_path / "both.png")
    choice = crew_phone.get_by_role("region", name="More than one label is in view")
    expect(choice.get_by_role("button")).to_have_count(3, timeout=20_000)
    choice.get_by_role("button", name=spaced(there.code)).click()
    crew_phone.wait_for_url(lambda at: there.path in at)


def test_without_a_camera_the_page_says_so_and_the_code_can_be_typed(
    crew_phone: Page, labelled: dict[str, list[Fixture]]
) -> None:
    crew_phone.get_by_role("link", name="Scan a label").click()
    expect(crew_phone.get_by_text("No camera was found here.")).to_be_visible()
    crew_phone.get_by_label("Code under the QR").fill(labelled["released"][0].code)
    crew_phone.get_by_role("button", name="Open", exact=True).click()
    expect(crew_phone.get_by_role("region", name="What to do")).to_be_visible()


LAMP_AND_ZOOM = """
  window.asked = [];
  navigator.mediaDevices.getUserMedia = async () => {
    const canvas = document.createElement('canvas');
    const pen = canvas.getContext('2d');
    setInterval(() => pen.fillRect(0, 0, 300, 150), 100);
    const stream = canvas.captureStream(15);
    const [track] = stream.getVideoTracks();
    track.getCapabilities = () => ({ torch: true, zoom: { min: 1, max: 4, step: 0.5 } });
    track.applyConstraints = async ({ advanced: [wish] }) => { window.asked.push(wish); };
    return stream;
  };
"""


def test_a_camera_with_a_light_and_zoom_offers_both(crew_phone: Page) -> None:
    crew_phone.evaluate(f"() => {{ {LAMP_AND_ZOOM} }}")
    crew_phone.get_by_role("link", name="Scan a label").click()
    crew_phone.get_by_role("button", name="Light on").click()
    expect(crew_phone.get_by_role("button", name="Light off")).to_have_attribute("aria-pressed", "true")
    crew_phone.get_by_role("slider", name="Nearer").fill("2.5")
    crew_phone.get_by_role("button", name="Light off").click()
    expect(crew_phone.get_by_role("button", name="Light on")).to_be_visible()
    assert crew_phone.evaluate("window.asked") == [{"torch": True}, {"zoom": 2.5}, {"torch": False}]
    assert_fits_and_can_be_hit_and_read(crew_phone)


SERIAL = "SN 20417-A"
"""Invented."""


def test_a_serial_number_before_the_camera_and_the_helpers_name_go_with_what_was_fitted(
    filmed_phone: Callable[[Image.Image], BrowserContext], labelled: dict[str, list[Fixture]], server: Server
) -> None:
    """The number stands on the driver as a Code 128 (ISO/IEC 15417), as another's program draws it."""
    fixture = alone(labelled)[-1]
    bars = zxingcpp.write_barcode_to_image(zxingcpp.create_barcode(SERIAL, zxingcpp.BarcodeFormat.Code128), scale=4)
    phone = filmed_phone(Image.fromarray(np.array(bars)).convert("RGB"))
    page = out_of_reach(sign_in(phone.new_page(), server.url, "crew"))
    page.goto(server.url + fixture.path)
    checks = page.get_by_role("group", name="Before 'done'").get_by_role("checkbox")
    expect(checks).to_have_count(4)
    for box in checks.all():
        box.check()
    page.get_by_role("button", name="Otherwise, or note a serial number").click()
    driver = page.get_by_role("group", name="driver", exact=True)
    driver.get_by_role("button", name="Scan", exact=True).click()
    expect(driver.get_by_text(SERIAL, exact=True)).to_be_visible(timeout=20_000)
    expect(driver.get_by_label("What the camera sees")).to_have_count(0)
    page.get_by_text("Minutes and helper").click()
    page.get_by_label("Minutes (since the first tick)").fill("1,5")
    expect(page.get_by_role("alert")).to_have_text("Minutes: '1.5' is not a whole number.")
    page.get_by_label("Minutes (since the first tick)").fill("95")
    expect(page.get_by_role("alert")).to_have_count(0)
    page.get_by_label("Helped by").fill("Rook")
    expect(page.get_by_text("with Rook")).to_be_visible()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_text("Saved: done.")).to_be_visible()
    other = alone(labelled)[-2]
    page.goto(server.url + other.path)
    expect(page.get_by_text("with Rook")).to_be_visible()
    back_in_reach(page)
    (record,) = [each for each in records(server) if is_of(each, fixture)]
    assert (value(record, "identity")["minutes"], value(record, "identity")["helper"]) == (95, "Rook")
    (item,) = [each for each in value(record, "as_fitted")["items"] if each["kind"] == "driver"]
    assert item["serials"] == [SERIAL]
