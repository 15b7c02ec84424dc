"""The printed label before the phone's camera: rendered to pixels, fed to the camera, decoded in the page."""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image, ImageFilter
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.installing.conftest import Fixture, out_of_reach
from tests.labels.printed import label_with
from tests.support.server import Client, Server

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


def test_without_a_camera_the_page_says_so_and_the_code_can_be_typed(
    crew_phone: Page, labelled: dict[str, list[Fixture]]
) -> None:
    crew_phone.get_by_role("link", name="Scan a label").click()
    expect(crew_phone.get_by_text("No camera was found here.")).to_be_visible()
    crew_phone.get_by_label("Code under the QR").fill(labelled["released"][0].code)
    crew_phone.get_by_role("button", name="Open", exact=True).click()
    expect(crew_phone.get_by_role("region", name="What to do")).to_be_visible()
