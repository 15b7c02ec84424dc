"""From an invitation to a phone that surveys, a forgotten password, somebody disabled; and one's own words and units."""

from __future__ import annotations

import re
import time
import urllib.parse
from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from tests.conftest import WAIT_S, go, sign_in
from tests.support.kept_page import page_is_kept
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import PASSWORD, Client, Server

pytestmark = pytest.mark.keeps_page(False)

NEW_PASSWORD = "four ladders stand"
WIDE = {"viewport": {"width": 1280, "height": 900}, "reduced_motion": "reduce"}
NewPhone = Callable[..., BrowserContext]


@pytest.fixture
def desk(fresh_server: Server, browser: Browser) -> Page:
    """The owner at a desk, on the people of the site."""
    context = browser.new_context(**WIDE)
    page = sign_in(context.new_page(), fresh_server.url, "owner")
    site = Client(fresh_server.url, "owner").site_id()
    page.goto(f"{fresh_server.url}/s/{site}/desk/people")
    expect(page.get_by_role("heading", name="Invite somebody to this site")).to_be_visible()
    return page


def invite(desk: Page, role: str = "surveyor", note: str = "") -> str:
    """Make an invitation on the screen; its address."""
    form = desk.get_by_role("form", name="Invite somebody to this site")
    form.get_by_label("Role").select_option(role)
    form.get_by_label("For whom (only for this list)").fill(note)
    form.get_by_role("button", name="Make the invitation").click()
    return desk.get_by_label("The link", exact=True).input_value()


def come(phone: Page, address: str, name: str = "", password: str = NEW_PASSWORD) -> None:
    """Open a link on a phone and give what it asks for."""
    phone.goto(address)
    if name:
        phone.get_by_label("Your name, as the others know you").fill(name)
    phone.get_by_label("A password of your own").fill(password)
    phone.get_by_role("button", name=re.compile("Go to the site|Take this password")).click()


def test_who_is_invited_opens_the_link_on_a_phone_and_is_on_the_site(
    desk: Page, fresh_server: Server, new_phone: NewPhone
) -> None:
    address = invite(desk, note="the new one")
    phone = new_phone().new_page()
    requests: list[str] = []
    phone.on("request", lambda request: requests.append(request.url))
    phone.goto(address)
    expect(phone.get_by_text(re.compile("owner invites you to .*Cannery.* as surveyor"))).to_be_visible()
    secret = urllib.parse.urlsplit(address).fragment
    assert secret not in phone.url, "the secret leaves the address at once"
    phone.get_by_label("Your name, as the others know you").fill("Robin")
    phone.get_by_label("A password of your own").fill("1234567890")
    phone.get_by_role("button", name="Go to the site").click()
    expect(phone.get_by_role("alert")).to_contain_text("among the first that are tried")
    phone.get_by_label("A password of your own").fill(NEW_PASSWORD)
    phone.get_by_role("button", name="Go to the site").click()
    expect(phone.get_by_role("heading", name="Undercroft")).to_be_visible()
    assert not [each for each in requests if secret in each.partition("#")[0]]
    assert secret not in fresh_server.log()
    desk.reload()
    used = desk.get_by_label("Invitations and new passwords").get_by_role("listitem").first
    expect(used).to_contain_text("An invitation as surveyor, the new one")
    expect(used).to_contain_text("used by Robin")
    expect(desk.get_by_label("Role of Robin")).to_have_value("surveyor")
    again = new_phone().new_page()
    again.goto(address)
    expect(again.get_by_role("alert")).to_contain_text("This link was used already")


def test_a_forgotten_password_somebody_disabled_and_let_in_again(
    desk: Page, fresh_server: Server, new_phone: NewPhone
) -> None:
    phone = new_phone().new_page()
    sign_in(phone, fresh_server.url, "surveyor")
    desk.get_by_role("button", name="New password for surveyor").click()
    address = desk.get_by_label("The link", exact=True).input_value()
    expect(desk.get_by_label("Invitations and new passwords")).to_contain_text("A new password for surveyor")
    other = new_phone().new_page()
    come(other, address)
    expect(other.get_by_role("heading", name="Your sites")).to_be_visible()
    phone.reload()
    phone.get_by_role("link", name="Cannery").click()
    expect(phone.get_by_text(re.compile("[Ss]ign in"))).not_to_have_count(0)

    desk.get_by_role("link", name="People of the firm").click()
    desk.get_by_role("button", name="Disable surveyor").click()
    asked = desk.get_by_role("alertdialog")
    expect(asked).to_contain_text("surveyor is signed out everywhere")
    asked.get_by_role("button", name="Disable", exact=True).click()
    row = desk.locator('[data-person="surveyor"]')
    expect(row).to_contain_text("disabled since")
    third = new_phone().new_page()
    third.goto(fresh_server.url + "/sign-in")
    third.get_by_label("Name", exact=True).fill("surveyor")
    third.get_by_label("Password", exact=True).fill(NEW_PASSWORD)
    third.get_by_role("button", name="Sign in", exact=True).click()
    expect(third.get_by_role("alert")).to_contain_text("surveyor is disabled and cannot sign in")
    desk.get_by_role("button", name="Let surveyor in again").click()
    expect(row).to_contain_text("can sign in")
    third.get_by_role("button", name="Sign in", exact=True).click()
    third.get_by_role("button", name="I have read this; go on").click()
    expect(third.get_by_role("heading", name="Your sites")).to_be_visible()


def test_the_last_owner_reads_why_they_cannot_lock_themselves_out(desk: Page) -> None:
    desk.get_by_role("link", name="People of the firm").click()
    desk.get_by_role("button", name="owner is an owner no longer").click()
    owner, manager = desk.locator('[data-person="owner"]'), desk.locator('[data-person="manager"]')
    expect(owner.get_by_role("alert")).to_contain_text("owner is the last owner of the firm")
    desk.get_by_role("button", name="Make manager an owner").click()
    expect(manager).to_contain_text("owner of the firm")
    desk.get_by_role("button", name="owner has left the firm").click()
    desk.get_by_role("alertdialog").get_by_role("button", name="Has left the firm").click()
    expect(desk.get_by_role("alert")).to_be_visible()


def test_a_link_is_withdrawn_and_who_opens_it_is_told(desk: Page, new_phone: NewPhone) -> None:
    address = invite(desk, "crew")
    desk.get_by_role("button", name=re.compile("Withdraw: An invitation as crew")).click()
    expect(desk.locator('[data-link="withdrawn"]')).to_contain_text("withdrawn")
    phone = new_phone().new_page()
    phone.goto(address)
    expect(phone.get_by_role("alert")).to_contain_text("This link was withdrawn")
    phone.goto(urllib.parse.urlsplit(address)._replace(fragment="").geturl())
    phone.reload()
    expect(phone.get_by_role("alert")).to_contain_text("without its second half")


def test_who_is_signed_in_already_comes_onto_the_site_under_their_name(
    desk: Page, fresh_server: Server, new_phone: NewPhone
) -> None:
    address = invite(desk, "crew")
    Client(fresh_server.url, "owner").call("POST", "/api/people", {"name": "Sam", "password": PASSWORD})
    phone = new_phone().new_page()
    sign_in(phone, fresh_server.url, "Sam")
    expect(phone.get_by_role("heading", name="Your sites")).to_be_visible()
    phone.goto(address)
    phone.get_by_role("button", name="Come onto the site as Sam").click()
    expect(phone).to_have_url(re.compile("/s/"))
    assert [site["role"] for site in Client(fresh_server.url, "Sam").get("/api/session")["sites"]] == ["crew"]


def test_inviting_works_by_keyboard_alone(desk: Page) -> None:
    desk.get_by_role("form", name="Invite somebody to this site").get_by_label("Role").focus()
    desk.keyboard.press("Tab")
    desk.keyboard.type("the new one")
    desk.keyboard.press("Enter")
    expect(desk.get_by_role("img", name="The link as a code to scan")).to_be_visible()
    withdraw = desk.get_by_role("button", name="Withdraw: An invitation as surveyor, the new one")
    expect(withdraw).to_be_visible()
    for _ in range(20):
        desk.keyboard.press("Tab")
        if withdraw.evaluate("button => button === document.activeElement"):
            break
    expect(withdraw).to_be_focused()
    desk.keyboard.press("Enter")
    expect(desk.locator('[data-link="withdrawn"]')).to_be_visible()


# -- oneself


@pytest.fixture
def me(fresh_server: Server, new_phone: NewPhone) -> Page:
    page = sign_in(
        new_phone(locale="en-US", user_agent="A browser of a phone (Mobile)").new_page(), fresh_server.url, "surveyor"
    )
    page.get_by_role("link", name="You: surveyor").click()
    expect(page.get_by_role("heading", name="Units and words")).to_be_visible()
    return page


def test_ones_own_name_is_changed_and_is_what_one_signs_in_with(me: Page, fresh_server: Server) -> None:
    me.get_by_role("textbox", name="Your name").fill("manager")
    me.get_by_role("button", name="Save the name").click()
    expect(me.get_by_role("alert")).to_contain_text("There is a person 'manager' already")
    me.get_by_role("textbox", name="Your name").fill("Robin")
    me.get_by_role("button", name="Save the name").click()
    expect(me.get_by_role("banner")).to_contain_text("Robin")
    assert Client(fresh_server.url, "Robin").get("/api/session")["person"]["name"] == "Robin"


def test_a_new_password_of_ones_own_asks_for_the_old_and_signs_out_elsewhere(me: Page, fresh_server: Server) -> None:
    other = Client(fresh_server.url, "surveyor")
    me.get_by_label("Password until now").fill("not the old one")
    me.get_by_label("New password", exact=True).fill(NEW_PASSWORD)
    me.get_by_role("button", name="Change the password").click()
    expect(me.get_by_role("alert")).to_contain_text("The password until now is not right")
    me.get_by_label("Password until now").fill(PASSWORD)
    me.get_by_role("button", name="Change the password").click()
    expect(me.get_by_text("The password is changed.")).to_be_visible()
    assert other.call("GET", "/api/session")[0] == 401


def test_ones_sign_ins_are_listed_and_ended(me: Page, fresh_server: Server) -> None:
    other = Client(fresh_server.url, "surveyor")
    me.reload()
    where = me.get_by_label("Your phones", exact=True)
    expect(where.get_by_role("listitem")).to_have_count(2)
    expect(where.get_by_role("listitem").filter(has=me.locator(".mark"))).to_contain_text("A phone, signed in")
    where.get_by_role("button", name=re.compile("Sign out there: Computer")).click()
    expect(where.get_by_text("A computer, signed out")).to_be_visible()
    assert other.call("GET", "/api/session")[0] == 401


def a_reading(page: Page, url: str) -> str:
    """The first reading's row of a group that has one, as the page tells it."""
    records = Client(url, "surveyor").get(f"/api/sites/{Client(url, 'surveyor').site_id()}/pull?since=0&limit=5000")
    reading = next(
        each
        for each in records["records"]
        if each["type"] == "cavity_reading"
        and not each["removed"]
        and each["facets"]["identity"]["value"].get("as_entered") == "47 1/4"
    )
    go(page, f"/s/{Client(url, 'surveyor').site_id()}/group/{reading['parent']}")
    row = page.locator(f'[data-reading="{reading["id"]}"]')
    expect(row).to_be_visible()
    return row.inner_text()


def test_the_same_reading_reads_right_in_inches_and_in_millimetres(me: Page, fresh_server: Server) -> None:
    """47 1/4 in × 25.4 mm = 1,200.15 mm."""
    before = a_reading(me, fresh_server.url)
    assert "47 1/4" in before
    go(me, "/me")
    me.get_by_label("Lengths are typed and shown first in").select_option("millimetres")
    expect(me.get_by_text("Saved.")).to_be_visible()
    after = a_reading(me, fresh_server.url)
    assert "47 1/4 in" in after, "a bare number that was entered in inches says so"
    assert "1,200.2 mm" in after or "1200.2 mm" in after or "1,200.1 mm" in after
    group = me.url
    me.goto(group + "/read")
    field = me.get_by_label("Cavity length, socket face to socket face")
    expect(me.get_by_text("socket to socket, in mm")).to_be_visible()
    field.fill("1200")
    expect(me.get_by_text("= ≈ 47 1/4 in")).to_be_visible()
    me.get_by_role("button", name="Save this reading").click()
    expect(me.get_by_text("is saved")).to_contain_text("1200 mm")


@pytest.mark.keeps_page(True)
def test_the_words_of_a_region_stand_on_every_screen_and_come_without_a_signal(me: Page, fresh_server: Server) -> None:
    me.get_by_label("Words of the region").select_option("GB")
    expect(me.get_by_text("Saved.")).to_be_visible()
    assert me.evaluate("document.documentElement.lang") == "en-GB"
    told = "import('/app/store/store.js').then(({ store }) => [store.say('plan.caution.isolate'), store.tables.spec.records.group.facets.supply.fields.panel.title])"
    sentence, title = me.evaluate(told)
    assert "Isolate at the distribution board" in sentence
    assert title == "Distribution board"
    page_is_kept(me)
    kept = "caches.match('/app/words/en-GB.json').then(found => found !== undefined)"
    end = time.monotonic() + WAIT_S
    while not me.evaluate(kept):
        assert time.monotonic() < end, "the words never came"
        me.wait_for_timeout(50)
    me.context.set_offline(True)
    me.reload()
    expect(me.get_by_role("heading", name="Units and words")).to_be_visible()
    assert me.evaluate(told)[1] == "Distribution board"
    me.context.set_offline(False)
    me.get_by_label("Words of the region").select_option("US")
    expect(me.get_by_text("Saved.")).to_be_visible()
    assert me.evaluate(told)[1] == "Panel"


def test_numbers_and_dates_are_written_as_the_region_writes_them(me: Page) -> None:
    """Common Locale Data Repository, as the browser has it: 3 Feb 2026, 14:05 and Feb 3, 2026, 2:05 PM."""
    told = "import('/app/views/numbers.js').then(({ numberText, dateText }) => [numberText(1234.5, 2), dateText(new Date(2026, 1, 3, 14, 5))])"
    for region, wanted in (("GB", "3 Feb 2026, 14:05"), ("US", "Feb 3, 2026, 2:05 PM")):
        me.get_by_label("Words of the region").select_option(region)
        expect(me.locator("html")).to_have_attribute("lang", f"en-{region}")
        number, date = me.evaluate(told)
        assert (number, date.replace("\u202f", " ")) == ("1,234.50", wanted)


# -- looks


def test_the_screens_of_people_fit_and_can_be_hit_and_read(
    desk: Page, me: Page, fresh_server: Server, new_phone: NewPhone
) -> None:
    address = invite(desk, note="the new one")
    widths = (320, 360, 768, 1280)
    assert_fits_and_can_be_hit_and_read(desk, widths=widths)
    go(desk, "/people")
    desk.get_by_role("button", name="Disable surveyor").click()
    assert_fits_and_can_be_hit_and_read(desk, widths=widths)
    assert_fits_and_can_be_hit_and_read(me, widths=widths)
    phone = new_phone().new_page()
    phone.goto(address)
    expect(phone.get_by_role("form", name="You are invited")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(phone, widths=widths)


def test_an_owner_invites_to_the_firm_and_who_comes_is_on_the_sites_ticked(
    desk: Page, fresh_server: Server, new_phone: NewPhone
) -> None:
    desk.get_by_role("link", name="People of the firm").click()
    form = desk.get_by_role("form", name="Invite somebody to the firm")
    assert_fits_and_can_be_hit_and_read(desk, widths=(360, 1280))
    expect(form.get_by_label("Role on those sites")).to_have_count(0)
    form.get_by_label("Cannery").check()
    form.get_by_label("Role on those sites").select_option("manager")
    form.get_by_label("They are an owner of the firm").check()
    form.get_by_label("For whom").fill("the partner")
    form.get_by_role("button", name="Make the invitation").click()
    address = desk.get_by_label("The link", exact=True).input_value()
    expect(desk.get_by_role("region", name="Invitations to the firm")).to_contain_text("as manager, the partner")
    phone = new_phone().new_page()
    phone.goto(address)
    expect(phone.get_by_text("owner invites you to the firm.")).to_be_visible()
    expect(phone.get_by_text("You will be one of its owners.")).to_be_visible()
    phone.get_by_label("Your name, as the others know you").fill("Robin")
    phone.get_by_label("A password of your own").fill(NEW_PASSWORD)
    phone.get_by_role("button", name="Go on").click()
    expect(phone.get_by_role("heading", name="Undercroft")).to_be_visible()
    desk.reload()
    expect(desk.locator('[data-person="Robin"]')).to_contain_text("owner of the firm")
    expect(desk.locator('[data-person="Robin"]')).to_contain_text("Cannery, Saltmere Quay (invented): manager")
