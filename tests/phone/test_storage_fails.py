"""When the phone cannot keep what was typed it says so, gives no tick, and keeps it when the trouble is over."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import go
from tests.handover.some_report import a_picture
from tests.phone.conftest import save_note, status, until, with_the_site
from tests.support.server import Server

SAVE = """async () => {
  const record = site.newId();
  const draft = { record, type: 'floor', facet: 'identity', value: { parent: site.id, name: 'Loft' }, seen: null };
  try { await site.save([draft]); return { ticked: true, there: !!(await site.get(record)) }; }
  catch (error) { return { ticked: false, code: error.code, says: store.say(error.code, error.facts), there: !!(await site.get(record)) }; }
}"""

FULL = """() => {
  const put = IDBObjectStore.prototype.put;
  window.free = () => { IDBObjectStore.prototype.put = put; };
  IDBObjectStore.prototype.put = function () { throw new DOMException('planted', 'QuotaExceededError'); };
}"""

LOST = """times => {
  const transaction = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (stores, mode, ...rest) {
    if (mode === 'readwrite' && times-- > 0) throw new DOMException('planted', 'InvalidStateError');
    return transaction.call(this, stores, mode, ...rest);
  };
}"""


def test_a_full_phone_gives_no_tick_and_a_clear_message_and_works_again_when_there_is_room(
    surveyor_phone: Page,
) -> None:
    page = surveyor_phone
    page.context.set_offline(True)
    page.evaluate(FULL)
    told = page.evaluate(SAVE)
    assert (told["ticked"], told["there"], told["code"]) == (False, False, "storage-full")
    assert told["says"].startswith("Not saved: this phone has no room left.")
    until(page, "store.status.state === 'storage-failing'")
    page.evaluate("free()")
    assert page.evaluate(SAVE) == {"ticked": True, "there": True}
    page.evaluate("site.engine.tell('storage-works')")
    assert status(page)["state"] != "storage-failing"


@pytest.mark.parametrize(("times", "ticked"), [(1, True), (2, False)])
def test_a_lost_connection_is_opened_again_once_then_it_is_not_saved(
    surveyor_phone: Page, times: int, ticked: bool
) -> None:
    page = surveyor_phone
    page.context.set_offline(True)
    page.evaluate(LOST, times)
    told = page.evaluate(SAVE)
    assert (told["ticked"], told["there"]) == (ticked, ticked)
    if not ticked:
        assert told["code"] == "storage-lost"
        assert told["says"].startswith("Not saved: this phone's storage does not answer")
        assert page.evaluate(SAVE)["ticked"], "the next try works"


def test_a_photo_that_a_full_phone_cannot_keep_stays_on_the_screen_until_there_is_room(
    server: Server, surveyor_phone: Page
) -> None:
    """The camera of a phone keeps no copy of what it takes for a page."""
    page = surveyor_phone
    room = page.evaluate("site.all('room').then(rows => rows[0].id)")
    go(page, f"/s/{page.evaluate('site.id')}/room/{room}")
    page.context.set_offline(True)
    page.evaluate(FULL)
    taken = [{"name": f"{at}.jpg", "mimeType": "image/jpeg", "buffer": a_picture(at)} for at in (1, 2)]
    page.get_by_label("Photo of the room").set_input_files(taken[0])
    expect(page.get_by_role("button", name="Save 1 photo again")).to_be_visible()
    page.get_by_label("Photo of the room").set_input_files(taken[1])
    again = page.get_by_role("button", name="Save 2 photos again")
    expect(page.get_by_text("Not saved: this phone has no room left.")).to_be_visible()
    page.evaluate("free()")
    again.click()
    expect(page.get_by_text("2 photos")).to_be_visible()
    expect(again).not_to_be_visible()
    expect(page.get_by_text("Not saved")).not_to_be_visible()
    until(page, "store.status.photos === 2")


TAKEN = """async many => {
  const [room] = await site.all('room');
  const canvas = new OffscreenCanvas(1600, 1200);
  const drawn = canvas.getContext('2d');
  const noise = drawn.createImageData(1600, 1200);
  for (let n = 0; n < many; n++) {
    for (let at = 0; at < noise.data.length; at += 4096)
      crypto.getRandomValues(new Uint8Array(noise.data.buffer, at, 4096));
    drawn.putImageData(noise, 0, 0);
    const blob = await canvas.convertToBlob({ type: 'image/jpeg' });
    await site.addPhoto({ subject: room.id, purpose: 'room', blob });
  }
  return (await navigator.storage.estimate()).usage;
}"""


def test_a_phone_that_its_photos_fill_sends_them_and_has_room_again(server: Server, surveyor_phone: Page) -> None:
    """With the browser's own quota: what is over it refuses all but deleting."""
    page = surveyor_phone
    page.context.set_offline(True)
    used = page.evaluate(TAKEN, 3)
    hashes = page.evaluate("site.storage.photosHere().then(rows => rows.map(row => row.sha256))")
    weighs = page.evaluate("site.storage.photosHere().then(rows => rows.reduce((sum, row) => sum + row.bytes, 0))")
    about = {"origin": page.evaluate("location.origin"), "quotaSize": used - weighs // 2}
    page.context.new_cdp_session(page).send("Storage.overrideQuotaForOrigin", about)
    # What room there was a moment ago the browser believes in for a while.
    until(page, f"({SAVE})().then(({{ code }}) => code === 'storage-full')")
    assert (len(hashes), status(page)["photos"]) == (3, 3)
    page.context.set_offline(False)
    page.evaluate("store.syncNow()")
    until(page, "site.storage.counts().then(({ operations, photos, refused }) => operations + photos + refused === 0)")
    found = "hash => site.request(`/photos/${hash}`).then(answer => answer.ok)"
    assert [page.evaluate(found, each) for each in hashes] == [True] * 3
    until(page, f"({SAVE})().then(({{ ticked }}) => ticked)")


def test_a_phone_that_lost_its_storage_signs_in_and_has_the_site_again(surveyor_phone: Page) -> None:
    page = surveyor_phone
    save_note(page, "Loft")
    page.evaluate("store.syncNow()")
    session = page.context.new_cdp_session(page)
    origin = page.evaluate("location.origin")
    session.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "indexeddb"})
    page.reload()
    page.wait_for_selector("body[data-ready]", state="attached")
    page.evaluate(
        "async () => { const { store } = await import('/app/store/store.js'); window.store = store; await store.refresh();"
        " window.site = await store.openSite(store.sites()[0].id); await store.syncNow(); }"
    )
    assert "Loft" in page.evaluate("site.all('floor').then(rows => rows.map(r => r.facets.identity.name))")


@pytest.mark.parametrize("promised", [False, True])
def test_your_sites_say_where_the_browser_has_not_promised_to_keep_what_is_stored(
    promised: bool, server: Server, persistent_phone: Callable[..., BrowserContext]
) -> None:
    page = with_the_site(persistent_phone(), server.url)
    if promised:
        about = {"origin": server.url, "permissions": ["durableStorage"]}
        page.context.new_cdp_session(page).send("Browser.grantPermissions", about)
    page.goto(server.url + "/")
    expect(page.get_by_role("heading", name="This phone")).to_be_visible()
    until(page, "import('/app/store/store.js').then(({ store }) => store.persisted !== null)")
    expect(page.get_by_text("has not promised to keep")).to_be_visible(visible=not promised)
