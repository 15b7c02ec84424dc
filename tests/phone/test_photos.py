"""A photo is shrunk once, kept until it has arrived, and sent after the records."""

from __future__ import annotations

from io import BytesIO

from PIL import Image
from playwright.sync_api import Page, expect
from tests.phone.conftest import resume, save_note, status, until
from tests.support.server import Client, Server

TAKE = """async ([width, height]) => {
  const canvas = Object.assign(document.createElement('canvas'), { width, height });
  const pen = canvas.getContext('2d');
  pen.fillStyle = '#0B5563';
  pen.fillRect(width / 4, height / 4, width / 2, height / 2);
  const blob = await new Promise(done => canvas.toBlob(done, 'image/png'));
  const [room] = await site.all('room');
  return site.addPhoto({ subject: room.id, purpose: 'room', blob });
}"""


def test_a_photo_taken_without_a_signal_arrives_later_and_leaves_the_phone(
    surveyor_phone: Page, server: Server
) -> None:
    page = surveyor_phone
    page.context.set_offline(True)
    photo = page.evaluate(TAKE, [4032, 3024])
    identity = page.evaluate("id => site.get(id).then(r => r.facets.identity)", photo)
    assert (identity["width_px"], identity["height_px"]) == (1600, 1200)
    assert page.evaluate("sha => site.photoUrl(sha)", identity["sha256"]).startswith("blob:")
    until(page, "store.status.photos === 1")
    page.context.set_offline(False)
    page.evaluate("store.syncNow()")
    assert status(page)["photos"] == 0
    assert page.evaluate("sha => site.storage.photoBytes(sha).then(b => b === undefined)", identity["sha256"])
    client, site = Client(server.url, "surveyor"), page.evaluate("site.id")
    code, content = client.call("GET", f"/api/sites/{site}/photos/{identity['sha256']}")
    assert code == 200
    with Image.open(BytesIO(content)) as image:
        assert image.size == (identity["width_px"], identity["height_px"])


def test_a_file_that_is_no_picture_is_refused_and_nothing_is_saved(surveyor_phone: Page) -> None:
    page = surveyor_phone
    before = page.evaluate("site.all('photo').then(rows => rows.length)")
    told = page.evaluate(
        """async () => {
          const blob = new Blob(['%PDF-1.7'], { type: 'application/pdf' });
          try { await site.addPhoto({ subject: site.id, purpose: 'room', blob }); return null; }
          catch (error) { return [error.code, store.say(error.code, error.facts)]; }
        }"""
    )
    assert told[0] == "phone.not-a-photo"
    assert "application/pdf, 8 bytes" in told[1]
    assert page.evaluate("site.all('photo').then(rows => rows.length)") == before


def test_photos_wait_for_wifi_where_that_is_chosen_and_go_when_a_person_says_so(
    surveyor_phone: Page, server: Server
) -> None:
    page, at = surveyor_phone, surveyor_phone.evaluate("site.id")
    page.goto(server.url + "/")
    page.get_by_label("Photos are sent").select_option("wifi")
    expect(page.get_by_text("photos wait until you send them")).to_be_visible()
    resume(page)
    page.evaluate(TAKE, [640, 480])
    floor = save_note(page, "Wi-Fi floor")
    page.evaluate("store.syncNow()")
    until(page, "store.status.unsent === 0 && store.status.photos === 1 && store.status.photosWait")
    records = Client(server.url, "surveyor").get(f"/api/sites/{at}/pull?since=0&limit=2000")["records"]
    assert floor in {record["id"] for record in records}
    page.goto(f"{server.url}/s/{at}/unsent")
    expect(page.get_by_role("contentinfo")).to_contain_text("Waiting for Wi-Fi: 1 photo.")
    page.get_by_role("button", name="Send the photos now").click()
    expect(page.get_by_role("contentinfo")).to_contain_text("All sent.")
    resume(page)
    assert status(page)["photos"] == 0
