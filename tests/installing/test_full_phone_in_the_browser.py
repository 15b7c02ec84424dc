"""A crew's phone has room for a record, and none for its picture: nothing is half signed, and no photo is lost."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.acceptance.test_acceptance_in_the_browser import draw
from tests.conftest import go, sign_in
from tests.handover.some_report import a_picture
from tests.installing.conftest import Fixture, installations, out_of_reach, records, value
from tests.support.server import Server

Labelled = dict[str, list[Fixture]]

NO_ROOM_FOR_PICTURES = """() => {
  const put = IDBObjectStore.prototype.put;
  window.free = () => { IDBObjectStore.prototype.put = put; };
  const isPicture = value => [value].flat().some(each => each instanceof ArrayBuffer);
  IDBObjectStore.prototype.put = function (value, ...key) {
    if (isPicture(value)) throw new DOMException('planted', 'QuotaExceededError');
    return put.call(this, value, ...key);
  };
}"""
NO_ROOM = "Not saved: this phone has no room left."


@pytest.fixture
def full_phone(server: Server, labelled: Labelled, new_phone: Callable[..., BrowserContext]) -> Page:
    page = out_of_reach(sign_in(new_phone().new_page(), server.url, "crew"), scans=False)
    page.evaluate(NO_ROOM_FOR_PICTURES)
    return page


def test_a_room_is_not_signed_by_hand_until_the_signature_can_be_kept(
    full_phone: Page, server: Server, labelled: Labelled
) -> None:
    page, fixture = full_phone, labelled["released"][0]
    go(page, f"/s/{fixture.site}/sign/{fixture.room}")
    page.get_by_label("Name", exact=True).fill("Ada Foreman")
    draw(page)
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_text(NO_ROOM)).to_be_visible()
    expect(page.get_by_role("region", name="Signed", exact=True)).not_to_be_visible()
    page.evaluate("free()")
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_role("region", name="Signed", exact=True)).to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("All sent.")).to_be_visible()
    everything = records(server)
    signed = [each["id"] for each in everything if each["type"] == "sign_off"]
    assert len(signed) == 1
    assert [value(each, "identity")["subject"] for each in everything if is_signature(each)] == signed


def is_signature(record: dict[str, object]) -> bool:
    return record["type"] == "photo" and value(record, "identity").get("purpose") == "signature"


def test_a_photo_of_a_problem_that_was_noted_stays_on_the_card_until_it_can_be_kept(
    full_phone: Page, server: Server, labelled: Labelled
) -> None:
    page, fixture = full_phone, labelled["released"][1]
    go(page, fixture.path)
    page.get_by_role("button", name="A problem", exact=True).click()
    page.get_by_label("What is the problem?").fill("A bent end")
    taken = {"name": "bent.jpg", "mimeType": "image/jpeg", "buffer": a_picture(4)}
    page.get_by_label("Take a photo of it").set_input_files(taken)
    page.get_by_role("form", name="A problem").get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved: problem.")).to_be_visible()
    expect(page.get_by_text(NO_ROOM)).to_be_visible()
    page.evaluate("free()")
    page.get_by_role("button", name="Save 1 photo again").click()
    expect(page.get_by_text(NO_ROOM)).not_to_be_visible()
    page.context.set_offline(False)
    expect(page.get_by_text("All sent.")).to_be_visible()
    assert [each["problem"] for each in installations(server, fixture)] == ["A bent end"]
    photos = [value(each, "identity") for each in records(server) if each["type"] == "photo"]
    assert len([each for each in photos if each["purpose"] == "problem"]) == 1


NO_ROOM_AT_ALL = """() => {
  const put = IDBObjectStore.prototype.put;
  window.free = () => { IDBObjectStore.prototype.put = put; };
  IDBObjectStore.prototype.put = () => { throw new DOMException('planted', 'QuotaExceededError'); };
}"""


@pytest.mark.parametrize("where", ["steps", "checks"])
def test_what_cannot_be_checked_off_says_so_beside_it_and_nowhere_else(
    where: str, server: Server, labelled: Labelled, new_phone: Callable[..., BrowserContext]
) -> None:
    page, fixture = sign_in(new_phone().new_page(), server.url, "crew"), labelled["released"][2]
    page.set_viewport_size({"width": 320, "height": 640})
    page = out_of_reach(page, scans=False)
    go(page, fixture.path)
    steps, checks = page.locator(".steps > li"), page.get_by_role("group", name="Before 'done', with your own eyes")
    boxes = steps.get_by_role("checkbox") if where == "steps" else checks.get_by_role("checkbox")
    page.evaluate(NO_ROOM_AT_ALL)
    box = boxes.nth(1)
    box.click()
    told = page.get_by_role("alert").filter(has_text=NO_ROOM)
    expect(told).to_be_in_viewport()
    expect(box).not_to_be_checked()
    below = "(told, box) => told.getBoundingClientRect().top - box.closest('label').getBoundingClientRect().bottom"
    assert told.count() == 1
    assert 0 <= told.evaluate(below, box.element_handle()) < 24
    page.evaluate("free()")
    box.click()
    expect(told).not_to_be_visible()
    expect(box).to_be_checked()
    expect(page.get_by_text(NO_ROOM)).not_to_be_visible()
