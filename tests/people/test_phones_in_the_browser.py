"""A second phone by a code, and a phone that is handed on: what a sign-out clears, and what a browser keeps of photos."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from tests.conftest import WITHOUT_WORKER, sign_in, sign_in_on_the_screen
from tests.phone.conftest import save_note, until, until_sent, with_the_site
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import PASSWORD, Client, Server

NewPhone = Callable[..., BrowserContext]
A_PHOTO = "site.all('photo').then(rows => rows[0].facets.identity.sha256)"
STORED = """async () => {
  const found = {};
  for (const { name } of await indexedDB.databases()) {
    const db = await new Promise((resolve, reject) => {
      const asked = indexedDB.open(name);
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
    for (const store of db.objectStoreNames) {
      const count = await new Promise((resolve) => {
        const asked = db.transaction(store).objectStore(store).count();
        asked.onsuccess = () => resolve(asked.result);
      });
      if (count && store !== 'meta') found[store] = (found[store] ?? 0) + count;
    }
    db.close();
  }
  return found;
}"""
KEPT_OF_THE_SERVER = """async () => {
  const caches_ = await Promise.all((await caches.keys()).map(async name => (await (await caches.open(name)).keys())));
  return caches_.flat().map(({ url }) => new URL(url).pathname).filter(path => path.startsWith('/api/'));
}"""
FROM_CACHE = """address => fetch(address, { cache: 'force-cache' }).then(({ status }) => status)"""


@pytest.mark.keeps_page(False)
def test_a_code_on_one_phone_signs_its_person_in_on_another(server: Server, new_phone: NewPhone) -> None:
    first = sign_in(new_phone().new_page(), server.url, "surveyor", "/me")
    card = first.get_by_label("A second phone", exact=True)
    card.get_by_label("Your password").fill(PASSWORD)
    card.get_by_role("button", name="Show a code").click()
    address = card.get_by_label("The link", exact=True).input_value()
    expect(card.get_by_role("img", name="The link as a code to scan")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(first)
    second = new_phone().new_page()
    second.goto(address)
    expect(second.get_by_text("This signs you in on this phone as surveyor.")).to_be_visible()
    assert "#" not in second.url, "the secret leaves the address at once"
    assert_fits_and_can_be_hit_and_read(second)
    second.get_by_role("button", name="Sign in as surveyor").click()
    expect(second.get_by_role("heading", name="Your sites")).to_be_visible()
    expect(card.get_by_text("The other phone is signed in.")).to_be_visible()
    own = first.get_by_label("Your phones", exact=True)
    expect(own.get_by_text(re.compile(", signed in"))).to_have_count(2)
    third = new_phone().new_page()
    third.goto(address)
    expect(third.get_by_role("alert")).to_contain_text("This code was used already")


def test_a_sign_out_leaves_nothing_that_was_sent_and_no_photo_for_the_next_person(
    server: Server, new_phone: NewPhone
) -> None:
    page = with_the_site(new_phone(), server.url, "surveyor")
    until_sent(page)
    photo = f"/api/sites/{page.evaluate('site.id')}/photos/{page.evaluate(A_PHOTO)}"
    assert page.evaluate(FROM_CACHE, photo) == 200
    page.goto(server.url + "/")
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    assert page.evaluate(STORED) == {"people": 1}
    assert page.evaluate(KEPT_OF_THE_SERVER) == []
    assert page.evaluate(FROM_CACHE, photo) == 401


def test_who_signs_out_with_unsent_work_is_asked_and_the_phone_keeps_only_that(
    server: Server, new_phone: NewPhone
) -> None:
    page = with_the_site(new_phone(), server.url, "surveyor")
    page.route("**/push", lambda route: route.abort())
    save_note(page, "Handed on")
    page.get_by_role("button", name="Sign out").click()
    asked = page.get_by_role("alertdialog")
    expect(asked).to_contain_text("Only on this phone: 1 entry")
    expect(asked).to_contain_text("All that was sent is cleared from this phone")
    asked.get_by_role("button", name="Sign out all the same").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    assert page.evaluate(STORED) == {"people": 1, "outbox": 1, "records": 1}
    page.unroute("**/push")
    sign_in_on_the_screen(page, server.url, "surveyor")
    expect(page.get_by_role("contentinfo")).to_have_attribute("data-unsent", "0")
    names = [each["facets"]["identity"]["value"].get("name") for each in floors(server)]
    assert "Handed on" in names


def floors(server: Server) -> list[dict[str, Any]]:
    client = Client(server.url, "surveyor")
    records = client.get(f"/api/sites/{client.site_id()}/pull?since=0&limit=2000")["records"]
    return [each for each in records if each["type"] == "floor"]


def rows(page: Page, site: str, type: str) -> int:
    """How many records of a type the phone has of a site."""
    found: int = page.evaluate(
        "async ([id, type]) => (await import('/app/store/store.js')).store.opened.get(id).all(type).then(rows => rows.length)",
        [site, type],
    )
    return found


def test_a_phone_that_is_shut_out_of_one_site_puts_that_one_away_and_keeps_what_it_has_not_sent(
    server: Server, new_phone: NewPhone
) -> None:
    owner, manager = Client(server.url, "owner"), Client(server.url, "manager")
    status, made = owner.call("POST", "/api/sites", {"name": "Second building"})
    assert status == 201, made
    other = made["id"]
    owner.call("PUT", f"/api/sites/{other}/people", {"name": "surveyor", "role": "surveyor"})
    page = with_the_site(new_phone(), server.url, "surveyor")
    shut = next(each["id"] for each in manager.get("/api/session")["sites"] if each["kind"] == "building")
    for site in (other, shut):
        page.evaluate("async id => { window.site = await store.openSite(id); await store.syncNow(); }", site)
    page.route(f"**/sites/{shut}/push", lambda route: route.abort())
    save_note(page, "Kept here")
    before = rows(page, other, "site")
    assert rows(page, shut, "room") > 10

    devices = manager.get(f"/api/sites/{shut}/devices")["devices"]
    own = page.evaluate("site.device()")
    (mine,) = [each["id"] for each in devices if each["id"] == own]
    assert manager.call("PUT", f"/api/sites/{shut}/devices/{mine}", {"shut_out": True})[0] == 204
    page.evaluate("store.syncNow()")
    until(page, f"store.opened.get('{shut}').all('room').then(rows => rows.length === 0)")
    assert rows(page, other, "site") == before
    assert page.evaluate("id => store.opened.get(id).storage.counts()", shut)["operations"] == 1

    sign_in_on_the_screen(page, server.url, "surveyor")
    away = page.get_by_role("region", name="This phone is shut out of")
    expect(page.get_by_role("link", name=re.compile("Second building"))).to_be_visible()
    away.get_by_role("link").click()
    expect(page.get_by_text(re.compile("only on this phone: 1 entry", re.IGNORECASE))).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page)
    page.unroute(f"**/sites/{shut}/push")
    page.get_by_role("button", name="Send it now").click()
    expect(page.get_by_role("button", name="Send it now")).to_have_count(0)
    (held,) = manager.get(f"/api/sites/{shut}/held")["held"]
    assert held["operation"]["to"]["name"] == "Kept here"
    assert rows(page, shut, "room") == 0
    page.goto(f"{server.url}/s/{other}")
    expect(page.get_by_role("heading", name="Second building").first).to_be_visible()


@pytest.mark.keeps_page(False)
def test_an_owner_shuts_a_phone_out_of_all_sites_and_lets_it_in(server: Server, browser: Browser) -> None:
    crew = Client(server.url, "crew")
    crew.get(f"/api/sites/{crew.site_id()}/pull?since=0")
    context = browser.new_context(viewport={"width": 1280, "height": 900}, reduced_motion="reduce", **WITHOUT_WORKER)
    page: Page = sign_in(context.new_page(), server.url, "owner", "/people")
    row = page.get_by_label("Phones of the firm").get_by_role("listitem").filter(has_text="Used by crew")
    row.get_by_role("button", name=re.compile("out of all sites")).click()
    page.get_by_role("alertdialog").get_by_role("button", name="Shut out of all sites").click()
    expect(row.get_by_role("button", name=re.compile("in again"))).to_be_visible()
    assert crew.call("GET", "/api/session")[0] == 401
    row.get_by_role("button", name=re.compile("in again")).click()
    expect(page.get_by_text("is let in again. Who uses it signs in there.")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, [1280])
    context.close()
