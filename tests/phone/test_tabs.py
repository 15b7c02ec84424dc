"""Two tabs of one phone: each sees the other's saves, and each operation goes out once."""

from __future__ import annotations

import json

from playwright.sync_api import Page, Request
from tests.phone.conftest import resume, save_note, until


def second_tab(page: Page) -> Page:
    other = page.context.new_page()
    other.goto(page.url)
    resume(other)
    return other


def test_a_save_in_one_tab_is_told_to_the_other(surveyor_phone: Page) -> None:
    page = surveyor_phone
    other = second_tab(page)
    other.evaluate("void (window.told = new Promise(done => store.subscribe(done)))")
    floor = save_note(page, "Loft")
    other.evaluate("told.then(() => null)")
    assert other.evaluate("id => site.get(id).then(r => r.facets.identity.name)", floor) == "Loft"


def test_two_tabs_that_sync_at_once_send_each_operation_once(surveyor_phone: Page) -> None:
    page = surveyor_phone
    other = second_tab(page)
    page.context.set_offline(True)
    for number in range(10):
        save_note(page, f"A {number}")
        save_note(other, f"B {number}")
    assert page.evaluate("site.unsent().then(u => u.operations.length)") == 20
    sent: list[str] = []

    def note(request: Request) -> None:
        if request.url.endswith("/push"):
            body = request.post_data_buffer or b"{}"
            if request.headers.get("content-encoding") == "gzip":
                import gzip

                body = gzip.decompress(body)
            sent.extend(operation["id"] for operation in json.loads(body)["operations"])

    page.context.on("request", note)
    page.context.set_offline(False)
    for each in (page, other):
        each.evaluate("void (window.done = store.syncNow())")
    for each in (page, other):
        each.evaluate("done.then(() => null)")
    until(page, "store.syncNow().then(() => site.unsent()).then(u => u.operations.length === 0)")
    assert len(sent) == 20
    assert len(set(sent)) == 20


def test_another_person_signing_in_elsewhere_makes_this_tab_outdated(surveyor_phone: Page) -> None:
    other = second_tab(surveyor_phone)
    other.evaluate("store.signOut()")
    until(surveyor_phone, "store.outdated")
