"""Second factors, entering again and waiting, as they are seen and done on the screen."""

from __future__ import annotations

import re
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pyotp
import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect
from tests.conftest import go, sign_in
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import started
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import PASSWORD, Client, Server

pytestmark = pytest.mark.keeps_page(False)

NewPhone = Callable[..., BrowserContext]
DESK = {"viewport": {"width": 1280, "height": 900}, "is_mobile": False, "has_touch": False}


def changed(server: Server, statement: str) -> None:
    with closing(sqlite3.connect(server.data / "spanwalk.db", timeout=30)) as database, database:
        database.execute(statement)


@pytest.fixture(autouse=True)
def nobody_has_any(server: Server) -> None:
    for table in ("second_factor", "recovery_code", "sign_in_try"):
        changed(server, f"DELETE FROM {table}")


def goes_on(page: Page) -> None:
    """At a sign-in after a change one is told of it, says that one has read it, and goes on."""
    page.get_by_role("region", name="Changed in how you sign in").get_by_role("button").click()
    expect(page.get_by_role("heading", name="Your sites")).to_be_visible()


def factors(page: Page) -> Page:
    """The part of one's own page with the second factors."""
    go(page, "/me")
    expect(page.get_by_role("region", name="Second factor")).to_contain_text("You keep people and sites")
    return page


def codes_shown(page: Page) -> list[str]:
    shown = page.get_by_role("region", name="Recovery codes")
    expect(shown.get_by_role("listitem")).to_have_count(10)
    return shown.get_by_role("listitem").all_inner_texts()


def out_and_in(page: Page, url: str, name: str = "manager") -> None:
    """Sign out, and type name and password anew."""
    page.context.request.delete(f"{url}/api/session", headers={"Sec-Fetch-Site": "same-origin"})
    page.goto(f"{url}/sign-in")
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()


def test_an_authenticator_is_set_up_on_ones_own_page_and_asked_for_at_the_next_sign_in(
    server: Server, new_phone: NewPhone
) -> None:
    page = factors(sign_in(new_phone().new_page(), server.url, "manager"))
    page.get_by_role("button", name="Set up an authenticator").click()
    key = page.get_by_label("Key", exact=True).input_value()
    expect(page.get_by_role("img", name="The key as a code to scan")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    page.set_viewport_size({"width": 360, "height": 740})
    page.get_by_label("Six digits").fill("000000")
    page.get_by_role("button", name="Take it into use").click()
    expect(page.get_by_role("alert")).to_contain_text("not right")
    page.get_by_label("Six digits").fill(pyotp.TOTP(key).now())
    page.get_by_role("button", name="Take it into use").click()
    codes = codes_shown(page)
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    page.get_by_role("button", name="I have kept them").click()
    expect(page.get_by_role("region", name="Second factor")).to_contain_text("10 recovery codes are left")

    out_and_in(page, server.url)
    code = page.get_by_label("Code of your authenticator, or a recovery code")
    expect(code).to_be_focused()
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    code.fill("000000")
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("not right")
    code.fill(pyotp.TOTP(key).at(int(time.time()) + 30))
    page.get_by_role("button", name="Sign in", exact=True).click()
    goes_on(page)

    out_and_in(page, server.url)
    page.get_by_label("Code of your authenticator, or a recovery code").fill(codes[0])
    page.get_by_role("button", name="Sign in", exact=True).click()
    goes_on(page)
    go(page, "/me")
    expect(page.get_by_role("region", name="Second factor")).to_contain_text("9 recovery codes are left")


def test_who_must_have_a_second_factor_is_led_to_it_and_is_told_at_the_next_sign_in_what_changed(
    demo_data: Path, page_served: dict[str, str], tmp_path: Path, new_phone: NewPhone
) -> None:
    must = {"SPANWALK_SECOND_FACTOR_REQUIRED": "yes"}
    server = started(ONE_MACHINE, demo_data, tmp_path / "data", page_served | must)
    try:
        page = new_phone().new_page()
        page.goto(f"{server.url}/sign-in")
        page.get_by_label("Name", exact=True).fill("manager")
        page.get_by_label("Password", exact=True).fill(PASSWORD)
        page.get_by_role("button", name="Sign in", exact=True).click()
        expect(page.get_by_text("needs a second factor. Set one up below; then all else opens")).to_be_visible()
        go(page, "/")
        expect(page).to_have_url(f"{server.url}/me")
        assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
        page.set_viewport_size({"width": 360, "height": 740})
        page.get_by_role("button", name="Set up an authenticator").click()
        key = page.get_by_label("Key", exact=True).input_value()
        page.get_by_label("Six digits").fill(pyotp.TOTP(key).now())
        page.get_by_role("button", name="Take it into use").click()
        assert len(codes_shown(page)) == 10
        page.get_by_role("button", name="I have kept them").click()
        expect(page.get_by_text("Set one up below")).to_have_count(0)
        go(page, "/")
        expect(page.get_by_role("heading", name="Your sites")).to_be_visible()

        full = [True, True]

        def at_the_gate(route: Route) -> None:
            """The first two tries find the server with its hands full."""
            if route.request.method == "POST" and full:
                full.pop()
                told = {"code": "passwords-busy", "seconds": 2, "detail": "…"}
                route.fulfill(status=503, headers={"Retry-After": "1"}, json=told)
            else:
                route.continue_()

        page.route("**/api/session", at_the_gate)
        out_and_in(page, server.url)
        expect(page.get_by_text("this page tries again by itself")).to_be_visible()
        page.get_by_label("Code of your authenticator, or a recovery code").fill(
            pyotp.TOTP(key).at(int(time.time()) + 30)
        )
        assert full == [], "nobody pressed again"
        page.get_by_role("button", name="Sign in", exact=True).click()
        told = page.get_by_role("region", name="Changed in how you sign in")
        expect(told).to_contain_text(re.compile("an authenticator was set up, on this (phone|computer)"))
        assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
        told.get_by_role("button", name="I have read this; go on").click()
        expect(page.get_by_role("heading", name="Your sites")).to_be_visible()
        go(page, "/me")
        expect(page.get_by_role("region", name="Changed of late")).to_contain_text("an authenticator was set up")
        expect(page.get_by_role("region", name="Changed in how you sign in")).to_have_count(0)
    finally:
        server.stop()


def test_a_passkey_is_made_and_shown_at_the_next_sign_in_and_instead_of_the_password(
    server: Server, new_phone: NewPhone
) -> None:
    """Chromium's virtual authenticator (WebAuthn, 11). Passkeys are not made for an address of digits: localhost."""
    url = server.url.replace("127.0.0.1", "localhost")
    page = sign_in(new_phone().new_page(), url, "manager")
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    how = {"protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True}
    options = how | {"isUserVerified": True, "automaticPresenceSimulation": True}
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": options})
    factors(page)
    page.get_by_role("button", name="Make a passkey here").click()
    page.get_by_label("What the passkey is called").fill("My phone")
    page.get_by_role("button", name="Make a passkey here").click()
    assert len(codes_shown(page)) == 10
    expect(page.get_by_role("region", name="Second factor")).to_contain_text("Passkey: My phone")

    out_and_in(page, url)
    page.get_by_role("button", name="Use a passkey").click()
    goes_on(page)

    changed(server, "UPDATE session SET entered_at = NULL")
    go(page, "/me")
    page.get_by_role("button", name="New recovery codes").click()
    asked = page.get_by_role("dialog", name="It is you?")
    expect(asked.get_by_label("Password")).to_have_count(0)
    asked.get_by_role("button", name="Use a passkey").click()
    assert len(codes_shown(page)) == 10

    devtools.send("WebAuthn.disable")
    devtools.send("WebAuthn.enable")
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": options})
    out_and_in(page, url)
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_role("alert")).to_contain_text("The passkey was not used")


def test_a_file_and_a_role_ask_once_more_who_one_is_and_go_on_by_themselves(
    server: Server, new_phone: NewPhone
) -> None:
    page = sign_in(new_phone(**DESK).new_page(), server.url, "owner")
    site = Client(server.url, "owner").site_id()
    changed(server, "UPDATE session SET entered_at = NULL")
    go(page, f"/s/{site}/desk/labels")
    page.get_by_role("link", name=re.compile("walk as a table", re.IGNORECASE)).click()
    asked = page.get_by_role("dialog", name="It is you?")
    expect(asked.get_by_label("Password")).to_be_focused()
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    asked.get_by_label("Password").fill("not the password")
    asked.get_by_role("button", name="Go on").click()
    expect(asked.get_by_role("alert")).to_contain_text("not right")
    asked.get_by_label("Password").fill(PASSWORD)
    with page.expect_download() as taken:
        asked.get_by_role("button", name="Go on").click()
    assert taken.value.suggested_filename == "walk.csv"
    expect(asked).to_have_count(0)

    changed(server, "UPDATE session SET entered_at = NULL")
    go(page, f"/s/{site}/desk/people")
    page.get_by_label("Role of crew").select_option("surveyor")
    page.get_by_role("button", name="Change crew").click()
    asked.get_by_role("button", name="Not now").click()
    expect(page.get_by_role("alert").first).to_contain_text("Enter your password")
    page.get_by_role("button", name="Change crew").click()
    asked.get_by_label("Password").fill(PASSWORD)
    asked.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("region", name="People").get_by_text("surveyor").first).to_be_visible()
    expect(asked).to_have_count(0)


def test_after_wrong_passwords_the_button_says_how_long_to_wait_and_then_takes_the_right_one(
    server: Server, new_phone: NewPhone
) -> None:
    page = new_phone().new_page()
    page.goto(f"{server.url}/sign-in")
    page.get_by_label("Name", exact=True).fill("surveyor")
    button = page.locator("form.sign-in button.main")
    for _ in range(3):
        page.get_by_label("Password", exact=True).fill("not the password")
        button.click()
        expect(page.get_by_role("alert")).to_contain_text("do not go together")
        expect(button).to_be_enabled()
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    changed(server, "UPDATE sign_in_try SET at = strftime('%Y-%m-%dT%H:%M:%f000Z', 'now')")
    button.click()
    expect(page.get_by_role("alert")).to_contain_text("The next try is taken in")
    expect(button).to_have_text("Sign in")
    expect(button).to_be_enabled()
    button.click()
    expect(page.get_by_role("heading", name="Your sites")).to_be_visible()


def test_all_that_is_kept_of_one_is_taken_away_on_ones_own_page_after_one_more_entry(
    server: Server, new_phone: NewPhone
) -> None:
    page = sign_in(new_phone().new_page(), server.url, "surveyor")
    changed(server, "UPDATE session SET entered_at = '2020-01-01T00:00:00.000000Z'")
    go(page, "/me")
    page.get_by_role("link", name="All that is kept of you, as a file").click()
    asked = page.get_by_role("dialog")
    asked.get_by_label("Password", exact=True).fill(PASSWORD)
    with page.expect_download() as begun:
        asked.get_by_role("button", name="Go on").click()
    assert begun.value.suggested_filename == "spanwalk-personal-data.zip"
    assert_fits_and_can_be_hit_and_read(page)
