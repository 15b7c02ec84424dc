"""Who is on the site, which phones they use, what waits for a manager, and unsent work that comes as a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import go
from tests.desk.conftest import Desk, NewDesk
from tests.phone.conftest import save_note, with_the_site
from tests.phone.test_photos import TAKE
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import PASSWORD, Client, Server

# Two hear of it at once, as a person and a sync do: neither is told before all is put away.
KEPT_ONCE_HEARD = """() => Promise.all([store.syncNow(), store.syncNow()].map(
  heard => heard.then(() => site.storage.kept()).then(rows => rows.length)))"""

SKIP = """group => site.save([{record: site.newId(), type: 'installation', facet: 'identity', seen: null,
  value: {parent: group, position: 1, outcome: 'skipped', reason: 'room-in-use', noted_at: '2026-03-01T09:30:00.000Z'}}])"""


@pytest.fixture
def desk(new_desk: NewDesk, fresh_server: Server) -> Desk:
    return new_desk(at=fresh_server)


@pytest.fixture
def phone(fresh_server: Server, new_phone: Callable[..., BrowserContext]) -> Page:
    """A surveyor's phone, which the demo has no work of yet."""
    return with_the_site(new_phone(), fresh_server.url, "surveyor")


def floors(desk: Desk) -> set[str]:
    return {floor["identity"]["name"] for floor in desk.records("floor")}


def saved_file(page: Page, desk: Desk, folder: Path) -> Path:
    """What the screen 'Not sent' puts into a file."""
    page.goto(f"{desk.url}/s/{desk.site}/unsent")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save all of it to a file").click()
    path = folder / "carried.json"
    waiting.value.save_as(path)
    return path


def test_unsent_work_of_a_phone_without_a_signal_is_brought_in_as_a_file(
    phone: Page, desk: Desk, tmp_path: Path
) -> None:
    phone.context.set_offline(True)
    save_note(phone, "Loft")
    photo = phone.evaluate(TAKE, [800, 600])
    sha256 = phone.evaluate("id => site.get(id).then(r => r.facets.identity.sha256)", photo)
    path = saved_file(phone, desk, tmp_path)
    page = desk.open("/people")
    page.get_by_label("File of unsent work").set_input_files(path)
    told = page.get_by_label("Bring in a file").get_by_role("status")
    expect(told).to_contain_text("Unsent work of surveyor")
    expect(told).to_contain_text("2 taken in.")
    expect(told).to_contain_text("1 of 1 photos arrived.")
    assert "Loft" in floors(desk)
    status, content = desk.client.call("GET", f"/api/sites/{desk.site}/photos/{sha256}")
    assert (status, content[:2]) == (200, b"\xff\xd8"), "made anew on arrival: not the very bytes"


def test_a_file_that_is_none_is_refused_in_words(desk: Desk, tmp_path: Path) -> None:
    other = tmp_path / "letter.json"
    other.write_text('{"dear": "manager"}')
    page = desk.open("/people")
    page.get_by_label("File of unsent work").set_input_files(other)
    expect(page.get_by_role("alert")).to_contain_text("not a file of unsent work")


def test_a_phone_is_shut_out_and_what_it_sends_waits_until_it_is_let_in(phone: Page, desk: Desk) -> None:
    phone.evaluate("store.syncNow()")  # a first pull names no phone; the next one does
    name = phone.evaluate("site.device().then(id => id.slice(0, 4).toUpperCase())")
    page = desk.open("/people")
    page.get_by_role("button", name=f"Shut out phone {name}").click()
    asked = page.get_by_role("alertdialog")
    expect(asked).to_contain_text(f"Shut out phone {name}, last used by surveyor?")
    asked.get_by_role("button", name="Shut it out").click()
    expect(page.get_by_label("Phones", exact=True)).to_contain_text("Shut out")
    expect(page.get_by_role("button", name=f"Shut out phone {name}")).to_have_count(0)
    save_note(phone, "Loft")
    save_note(phone, "Attic")
    # Its sign-in has ended. It hears why by its cookie, and puts away all but the two.
    assert phone.evaluate(KEPT_ONCE_HEARD) == [2, 2]
    go(phone, f"/s/{desk.site}")
    expect(phone.get_by_text("This phone is shut out of this site.")).to_be_visible()
    expect(phone.get_by_text("Only on this phone: 2 entries, 0 photos.")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(phone)
    phone.evaluate("password => store.signIn('surveyor', password)", PASSWORD)
    phone.get_by_role("button", name="Send it now").click()
    expect(phone.get_by_text("Nothing of it is left here.")).to_be_visible()
    assert "Loft" not in floors(desk)
    page = desk.open("/people")
    waits = page.get_by_label("Work that waits for you")
    expect(waits).to_contain_text("2 entries that wait for you")
    loft = waits.locator("[data-held]").filter(has_text="Loft")
    expect(loft).to_contain_text(f"phone {name}")
    waits.locator("[data-held]").filter(has_text="Attic").get_by_role("button", name="Refuse it").click()
    expect(page.get_by_text("1 entry that waits for you")).to_be_visible()
    waits.get_by_role("button", name="Let all of it in").click()
    expect(page.get_by_text("1 let in; 0 of them in conflict")).to_be_visible()
    assert "Loft" in floors(desk)
    assert "Attic" not in floors(desk)
    page = desk.open("/people")
    page.get_by_role("button", name=f"Let phone {name} in again").click()
    expect(page.get_by_role("button", name=f"Shut out phone {name}")).to_be_visible()
    phone.evaluate("store.syncNow()")
    assert "Loft" in phone.evaluate("site.all('floor').then(rows => rows.map(r => r.facets.identity.name))")


def test_work_of_somebody_taken_off_waits_for_a_manager_who_sees_where_it_was_done(
    desk: Desk, fresh_server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    phone = with_the_site(new_phone(), fresh_server.url, "crew")
    group = next(each for each in desk.records("group") if each["count"]["count"] == 42)
    room = next(each for each in desk.records("room") if each["id"] == group["parent"])["identity"]
    kind = next(each for each in desk.records("kind") if each["id"] == group["identity"]["kind"])["identity"]
    phone.context.set_offline(True)
    phone.evaluate(SKIP, group["id"])
    put = {"name": "crew", "role": None}
    assert desk.client.call("PUT", f"/api/sites/{desk.site}/people", put)[0] == 200
    phone.context.set_offline(False)
    phone.evaluate("store.syncNow()")
    line = phone.get_by_role("contentinfo")
    expect(line).to_contain_text("You have been taken off this site. What you send is kept for its managers.")
    expect(line).not_to_contain_text("does not take it")
    go(phone, f"/s/{desk.site}/unsent")
    waits = phone.get_by_role("region", name="A manager decides about these")
    where = f"{room['number']} {room['name']}, {kind['mark']}"
    expect(waits).to_contain_text(where)
    expect(phone.get_by_role("button", name="Give it up")).to_have_count(0)
    assert_fits_and_can_be_hit_and_read(phone)
    page = desk.open("/people")
    (row,) = page.get_by_label("Work that waits for you").locator("[data-held]").all()
    expect(row).to_contain_text(where)
    expect(row).not_to_contain_text("T09:30")
    page.get_by_role("button", name="Let all of it in").click()
    expect(page.get_by_text("1 let in; 0 of them in conflict")).to_be_visible()
    assert desk.client.call("PUT", f"/api/sites/{desk.site}/people", {**put, "role": "crew"})[0] == 200
    phone.evaluate("store.refresh().then(() => store.syncNow())")
    expect(phone.get_by_text("Everything on this phone has been sent.")).to_be_visible()
    expect(waits).to_have_count(0)


def test_a_second_invitation_gets_the_role_of_the_first_unless_it_is_changed(desk: Desk) -> None:
    page = desk.open("/people")
    role = page.get_by_label("Role they get")
    expect(role).to_have_value("surveyor")
    role.select_option("crew")
    for note in ("Bo", "Cy"):
        page.get_by_label("For whom").fill(note)
        page.get_by_role("button", name="Make the invitation").click()
        expect(page.get_by_text(f"An invitation as crew, {note}")).to_be_visible()
        expect(page.get_by_label("For whom")).to_have_value("")
        expect(role).to_have_value("crew")


def test_a_manager_puts_people_on_the_site_and_takes_them_off(desk: Desk) -> None:
    page = desk.open("/people")
    page.get_by_label("Name they sign in with").fill("nobody at all")
    page.get_by_role("button", name="Put on the site").click()
    expect(page.get_by_role("alert")).to_have_text("There is no person 'nobody at all'.")
    expect(page.get_by_label("Name they sign in with")).to_have_value("nobody at all")
    page.get_by_label("Role of crew").select_option("surveyor")
    page.get_by_role("button", name="Change crew").click()
    row = page.get_by_label("People", exact=True).locator("li").filter(has=page.get_by_label("Role of crew"))
    expect(row.locator(".detail")).to_have_text("surveyor")
    page.get_by_label("Role of crew").select_option("not on the site")
    page.get_by_role("button", name="Change crew").click()
    expect(row.locator(".detail")).to_have_text("not on the site")
    assert Client(desk.url, "crew").get("/api/session")["sites"] == []


def test_an_owner_makes_a_person_who_then_signs_in(new_desk: NewDesk, fresh_server: Server) -> None:
    owner = new_desk("owner", at=fresh_server)
    page = owner.open("/people")
    page.get_by_label("Name of a new person").fill("helping hand")
    page.get_by_label("First password").fill(PASSWORD)
    page.get_by_role("button", name="Make the person").click()
    expect(page.get_by_text("helping hand can sign in now.")).to_be_visible()
    page.get_by_label("Name they sign in with").fill("helping hand")
    page.get_by_label("Role", exact=True).select_option("crew")
    page.get_by_role("button", name="Put on the site").click()
    expect(page.get_by_label("Role of helping hand")).to_be_visible()
    assert [site["role"] for site in Client(owner.url, "helping hand").get("/api/session")["sites"]] == ["crew"]


def test_a_surveyor_brings_files_in_and_sees_no_ones_phone(new_desk: NewDesk, fresh_server: Server) -> None:
    page = new_desk("surveyor", at=fresh_server).open("/people")
    expect(page.get_by_label("File of unsent work")).to_be_visible()
    expect(page.get_by_label("Phones", exact=True)).to_have_count(0)
    expect(page.get_by_label("Name they sign in with")).to_have_count(0)
