"""What is half typed in a form comes back as it was typed: after the whole browser was killed, after a sign-out, and for nobody else."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.support.server import Client, Server

HALF_TYPED = "47 5/"
FORMS = {
    "ballast space of a kind": ("kind", "ballast_space", "Length", HALF_TYPED),
    "size of a room": ("room", "size", "Length", HALF_TYPED),
    "name of a room": ("room", "identity", "Name", "Bottling ha"),
    "circuit of a group": ("group", "supply", "Circuit", "12,1"),
}
"""Form -> type of record, facet, field, and what is half typed into it."""


def addresses(server: Server) -> dict[str, str]:
    """The address of each form, of the first record of its type."""
    client = Client(server.url, "manager")
    site = client.site_id()
    records = client.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
    first = {each["type"]: each["id"] for each in reversed(records)}
    return {form: f"{server.url}/s/{site}/record/{first[of]}/{facet}" for form, (of, facet, _, _) in FORMS.items()}


def type_half(page: Page, at: dict[str, str]) -> None:
    for form, address in at.items():
        page.goto(address)
        field = page.get_by_label(FORMS[form][2]).first
        field.fill(FORMS[form][3])
        expect(field).to_have_value(FORMS[form][3])


def assert_all_there(page: Page, at: dict[str, str]) -> None:
    for form, address in at.items():
        page.goto(address)
        expect(page.get_by_label(FORMS[form][2]).first).to_have_value(FORMS[form][3])
    assert len(at) == len(FORMS)


def processes_of(profile: Path) -> list[int]:
    """Chromium's browser process of a profile, by what it was started with."""
    found = []
    for each in Path("/proc").iterdir():
        if not each.name.isdigit():
            continue
        try:
            arguments = (each / "cmdline").read_bytes().split(b"\0")
        except OSError:
            continue
        if f"--user-data-dir={profile}".encode() in arguments and not any(a.startswith(b"--type=") for a in arguments):
            found.append(int(each.name))
    return found


def test_what_is_half_typed_in_each_form_comes_back_after_the_browser_was_killed(
    server: Server, persistent_phone: Callable[..., BrowserContext], tmp_path: Path
) -> None:
    at = addresses(server)
    page = sign_in(persistent_phone("phone").new_page(), server.url, "surveyor")
    type_half(page, at)
    page.evaluate("async () => (await import('/app/store/store.js')).store.keepTyped()")
    browser = processes_of(tmp_path / "phone")
    assert browser, "the browser of this profile runs"
    for process in browser:
        os.kill(process, signal.SIGKILL)
    page = persistent_phone("phone").new_page()
    assert_all_there(page, at)


def test_what_is_half_typed_waits_through_a_sign_out_for_the_same_person_only(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    at = addresses(server)
    page = sign_in(new_phone().new_page(), server.url, "surveyor")
    type_half(page, at)
    for name in ("manager", "surveyor"):
        page.evaluate("async () => (await import('/app/store/store.js')).store.signOut()")
        sign_in(page, server.url, name)
        if name == "surveyor":
            assert_all_there(page, at)
            continue
        for form, address in at.items():
            page.goto(address)
            expect(page.get_by_label(FORMS[form][2]).first).not_to_have_value(FORMS[form][3])
