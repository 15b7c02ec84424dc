"""Cavity readings on a phone without a signal: typed as on the tape, judged at once, questioned, and the same on the server."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from tests.open_points.complete_site import BAR, CompleteSite
from tests.support.server import Client, Server
from tests.surveying.at_a_group import (
    Opened,
    at,
    bar_of,
    live,
    on_server,
    send,
    to_group,
    to_pad,
    verdict,
)

SPARE_TICKS = 32
"""0.1 mm: how far inside its limit a fit is brought before something is changed against it."""


def bring_to_the_limit(site: CompleteSite) -> None:
    """Lengthen the bar until the group fits with a tenth of a millimetre to spare."""
    bar = bar_of(site)
    value = bar["facets"]["bar"]["value"]
    for _ in range(3):
        told = on_server(site)
        best = told["fits"][told["best"]]
        longer = (best["clearance_ticks"] - SPARE_TICKS) // len(best["bars"])
        value = value | {"length_ticks": value["length_ticks"] + longer}
        site.hand.save(bar["id"], "catalogue_item", bar=value)
    told = on_server(site)
    assert told["verdict"] == "fits"
    assert abs(told["fits"][told["best"]]["clearance_ticks"] - SPARE_TICKS) <= 8


# -- what crosses a limit, on the screen


def type_in_form(page: Page, site: CompleteSite, record: str, facet: str, title: str, text: str) -> None:
    at(page, site, f"/record/{record}/{facet}")
    page.get_by_label(title, exact=False).first.fill(text)
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url(lambda url: "/record/" not in url)


def choose_in_form(page: Page, site: CompleteSite, record: str, facet: str, title: str, choice: str) -> None:
    at(page, site, f"/record/{record}/{facet}")
    page.get_by_role("group", name=title).get_by_role("radio", name=choice, exact=True).check()
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url(lambda url: "/record/" not in url)


def shorter_reading(page: Page, site: CompleteSite) -> None:
    to_pad(page, site)
    page.get_by_label("Fixture of 2").fill("1")
    page.get_by_label("Cavity length").fill("47 3/16")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_text("Fixture 1: 47 3/16 is saved.")).to_be_visible()


def greater_tolerance(page: Page, site: CompleteSite) -> None:
    type_in_form(page, site, bar_of(site)["id"], "bar", "Length tolerance, plus", "0.7 mm")


def wider_joint(page: Page, site: CompleteSite) -> None:
    type_in_form(page, site, bar_of(site)["id"], "bar", "Joint between bars", "1.2 mm")


def wider_end_gap(page: Page, site: CompleteSite) -> None:
    type_in_form(page, site, bar_of(site)["id"], "bar", "Gap wanted at each end", "2.1 mm")


def captive_cover(page: Page, site: CompleteSite) -> None:
    choose_in_form(page, site, bar_of(site)["id"], "bar", "Captive cover", "acrylic")


def steel_after_all(page: Page, site: CompleteSite) -> None:
    choose_in_form(page, site, site.kind, "housing", "Material where the bar will lie", "steel")


def hotter_ceiling(page: Page, site: CompleteSite) -> None:
    type_in_form(page, site, site.room, "surroundings", "Hottest at the ceiling here", "70")


def as_it_is(site: CompleteSite) -> None:
    """Nothing to prepare."""


def two_bars_a_row(site: CompleteSite) -> None:
    bar = bar_of(site)
    half = BAR | {"length_ticks": 594 * 320, "lit_ticks": 584 * 320}
    site.hand.save(bar["id"], "catalogue_item", bar=half)


def aluminium_housing(site: CompleteSite) -> None:
    kind = site.hand.state(site.kind)["facets"]["housing"]["value"]
    site.hand.save(site.kind, "kind", housing=kind | {"material": "aluminium"})


@pytest.mark.parametrize(
    ("prepare", "change"),
    [
        (as_it_is, shorter_reading),
        (as_it_is, greater_tolerance),
        (two_bars_a_row, wider_joint),
        (as_it_is, wider_end_gap),
        (as_it_is, captive_cover),
        (aluminium_housing, steel_after_all),
        (as_it_is, hotter_ceiling),
    ],
)
def test_what_crosses_a_limit_changes_the_verdict_at_once_and_the_server_agrees(
    site: CompleteSite,
    opened: Opened,
    prepare: Callable[[CompleteSite], None],
    change: Callable[[Page, CompleteSite], None],
) -> None:
    prepare(site)
    bring_to_the_limit(site)
    page = opened(f"/group/{site.group}")
    verdict(page, "fits")
    change(page, site)
    to_group(page, site)
    verdict(page, "tight")
    expect(page.locator(".best-fit .verdict")).to_have_text("Tight")
    told = page.locator(".best-fit .of-bar").inner_text()
    send(page)
    on = on_server(site)
    assert on["verdict"] == "tight"
    short_mm = -on["fits"][on["best"]]["clearance_ticks"] / 320
    assert told.endswith(f"BAR-4: {short_mm:.1f} mm short")


# -- typing


def test_a_reading_by_keys_is_kept_without_a_signal_and_arrives(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    for key in ("4", "7", "5/16"):
        page.get_by_role("button", name=key, exact=True).tap()
    expect(page.get_by_label("Cavity length")).to_have_value("47 5/16")
    expect(page.locator(".live")).to_have_attribute("data-verdict", "fits")
    page.get_by_role("button", name="Save this reading").tap()
    expect(page.get_by_text("47 5/16 is saved.")).to_be_visible()
    to_group(page, site)
    expect(page.get_by_role("region", name="Readings").get_by_text("47 5/16")).to_be_visible()
    send(page)
    values = [each["facets"]["identity"]["value"] for each in live(site, "cavity_reading")]
    mine = next(each for each in values if each["as_entered"] == "47 5/16")
    assert mine["length_ticks"] == 47 * 8128 + 5 * 508
    assert mine["instrument"] == "us-tape"
    assert mine["verdict_seen"]["verdict"] == on_server(site)["verdict"]
    assert mine["verdict_seen"]["n"] == 5
    assert "from_hook" not in mine


def test_how_the_tape_was_held_is_asked_once_and_kept(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    page.locator(".which-tape > summary").click()
    page.get_by_role("radio", name="from the hook").check()
    to_pad(page, site)
    expect(page.locator(".which-tape > summary")).to_have_text("US tape, 1/16 in, from the hook")
    page.get_by_label("Cavity length").fill("47 1/4")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_text("47 1/4 is saved.")).to_be_visible()
    send(page)
    values = [each["facets"]["identity"]["value"] for each in live(site, "cavity_reading")]
    assert sum(each["from_hook"] is True for each in values if "verdict_seen" in each) == 1


def test_a_reading_in_millimetres_says_so_and_with_which_tape_is_asked_once(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    page.get_by_role("button", name="in mm").click()
    for key in "1200.2":
        page.get_by_role("button", name="Point" if key == "." else key, exact=True).click()
    expect(page.get_by_text("= ≈ 47 1/4 in")).to_be_visible()
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_role("alert")).to_contain_text("the tape so far is: US tape, 1/16 in")
    page.get_by_role("button", name="tape class I, 1 mm", exact=True).click()
    expect(page.get_by_text("1200.2 mm is saved.")).to_be_visible()
    page.get_by_role("button", name="Begin with 120", exact=True).click()
    page.get_by_role("button", name="1", exact=True).click()
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_text("1201 mm is saved.")).to_be_visible()
    page.get_by_role("button", name="in inches").click()
    page.get_by_label("Cavity length").fill("47 1/4")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_text("47 1/4 is saved.")).to_be_visible()
    send(page)
    values = [each["facets"]["identity"]["value"] for each in live(site, "cavity_reading")]
    typed = {each["as_entered"]: each["instrument"] for each in values if "verdict_seen" in each}
    assert typed == {"1200.2 mm": "tape-class-i", "1201 mm": "tape-class-i", "47 1/4": "us-tape"}


def test_undo_leads_back_to_the_fixture_and_row_of_what_was_saved(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    page.get_by_label("Fixture of 2").fill("2")
    page.get_by_role("button", name="Row 1 of 2").click()
    page.get_by_label("Cavity length").fill("47 3/8")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_text("Fixture 2: 47 3/8 is saved.")).to_be_visible()
    page.get_by_label("Fixture of 2").fill("1")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    expect(page.get_by_label("Fixture of 2")).to_have_value("2")
    expect(page.get_by_role("button", name="Row 2 of 2")).to_be_visible()
    expect(page.get_by_label("Cavity length")).to_have_value("47 3/8")
    page.get_by_role("button", name="Clear").or_(page.get_by_role("button", name="Take back")).first.click()
    to_group(page, site)
    expect(page.get_by_role("region", name="Readings").get_by_role("listitem")).to_have_count(4)


def test_what_is_half_typed_is_there_after_the_app_was_closed(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    page.get_by_label("Fixture of 2").fill("2")
    page.get_by_label("Cavity length").fill("47 3/")
    page.reload()
    expect(page.get_by_label("Cavity length")).to_have_value("47 3/")
    expect(page.get_by_label("Fixture of 2")).to_have_value("2")


NO_LENGTH = {
    "17/16": "17/16 in '17/16' is a whole inch or more",
    "47 1/3": "1/3 in '47 1/3' is on no tape",
    "45 3/": "The fraction 3/ in '45 3/' is not finished",
    "-3": "'-3' is not a length above zero",
    "12 km": "'km' in '12 km' is not a unit of a tape",
    "": "Type a length, for example 45 3/16",
    "3": "Cavity length: 3 in (76.2 mm) is too small",
    "250 in": "Cavity length: 20 ft 10 in (6,350.0 mm) is too large",
}


def test_what_is_no_length_is_named_and_stays_as_it_was_typed(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    for typed, said in NO_LENGTH.items():
        page.get_by_label("Cavity length").fill(typed)
        page.get_by_role("button", name="Save this reading").click()
        expect(page.get_by_role("alert").filter(has_text=said)).to_be_visible()
        expect(page.get_by_label("Cavity length")).to_have_value(typed)
    to_group(page, site)
    expect(page.get_by_role("region", name="Readings").get_by_role("listitem")).to_have_count(4)


def test_a_fixture_beyond_the_count_is_said_and_its_reading_is_kept(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    page.get_by_label("Fixture of 2").fill("14")
    page.get_by_label("Cavity length").fill("47 1/4")
    expect(page.get_by_text("The count says 2 fixtures, and this is number 14.")).to_be_visible()
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_text("Fixture 14: 47 1/4 is saved.")).to_be_visible()


def test_a_number_that_can_mean_two_things_is_asked_about(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    page.get_by_label("Cavity length").fill("1200.2")
    page.get_by_role("button", name="Save this reading").click()
    page.get_by_role("button", name="Yes, 1200.2 mm").click()
    page.get_by_role("button", name="US tape, 1 mm", exact=True).click()
    expect(page.get_by_text("1200.2 mm is saved.")).to_be_visible()


# -- readings that match something else


ASKED_ABOUT = {
    "45 1/4": "matches a 4 ft T5",
    "47 3/4": "the length of the lamp with its pins",
    "48 1/4": "Did the tape start at 1?",
    "94 1/2": "as long as two cavities",
}


def test_a_reading_that_is_something_elses_length_is_asked_about_and_saved_all_the_same(
    site: CompleteSite, opened: Opened
) -> None:
    page = opened()
    for typed, asked in ASKED_ABOUT.items():
        to_pad(page, site)
        page.get_by_label("Cavity length").fill(typed)
        page.get_by_role("button", name="Save this reading").click()
        expect(page.get_by_role("alert").filter(has_text=asked)).to_be_visible()
        page.get_by_role("button", name="Save, leave the question open").click()
        expect(page.get_by_text(f"{typed} is saved.")).to_be_visible()
        to_group(page, site)
        reading = page.get_by_role("region", name="Readings").get_by_role("listitem").filter(has_text=typed)
        expect(reading.get_by_text("question", exact=True)).to_be_visible()
        expect(reading.get_by_text(asked)).to_be_visible()
        reading.get_by_role("button", name="It is what the tape shows").click()
        expect(reading.get_by_text("confirmed", exact=True)).to_be_visible()


def test_the_length_without_the_inch_is_one_tap_away(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    page.get_by_label("Cavity length").fill("48 1/4")
    page.get_by_role("button", name="Save this reading").click()
    page.get_by_role("button", name="It is 47 1/4").click()
    expect(page.get_by_text("Fixture 1: 47 1/4 is saved.")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)


@pytest.mark.parametrize("act", ["bent pair", "Void"])
def test_a_cavity_set_aside_or_voided_no_longer_counts_until_it_is_taken_back(
    site: CompleteSite, opened: Opened, act: str
) -> None:
    site.hand.read(site.group, 1, 1, ticks=44 * 8128, as_entered="44")
    page = opened(f"/group/{site.group}")
    verdict(page, "too long")
    reading = page.get_by_role("region", name="Readings").get_by_role("listitem").filter(has_text="44").first
    if act == "Void":
        reading.get_by_role("button", name="Void").click()
        expect(reading.get_by_role("alert")).to_contain_text("Say why it is voided")
        reading.get_by_label("Void it, because").fill("the wrong row")
    reading.get_by_role("button", name=act).click()
    verdict(page, "fits")
    reading.get_by_role("button", name="Let it count again" if act == "Void" else "No longer set aside").click()
    verdict(page, "too long")


# -- the drawing


def test_the_drawing_tells_four_parts_apart_each_to_its_scale_and_in_words(site: CompleteSite, opened: Opened) -> None:
    """What is wanted at the ends is never drawn as if it were to spare."""
    page = opened(f"/group/{site.group}")
    best = on_server(site)["fits"][0]
    terms = best["terms"]
    parts = {
        "ends": terms["end_gaps_ticks"],
        "spare": best["clearance_ticks"],
        "warmth": terms["change_ticks"],
        "tolerance": terms["tolerance_ticks"],
    }
    drawing = page.locator(".best-fit > svg")
    mark = drawing.locator(".scale path").evaluate("(path) => path.getBBox().width")
    mark_mm = float((drawing.locator(".scale text").text_content() or "").removeprefix("ends: ").removesuffix(" mm"))
    drawn = {
        part: drawing.locator(f".part.{part} rect").first.evaluate("(rect) => rect.width.baseVal.value")
        for part in parts
    }
    wanted = {part: pytest.approx(ticks / 2 / 320 / mark_mm * mark, rel=0.02) for part, ticks in parts.items()}
    assert drawn == wanted
    for part, ticks in parts.items():
        expect(page.locator(f".fit-parts [data-part={part}] .measure")).to_have_text(f"{ticks / 320:.1f} mm")
    expect(drawing).to_have_attribute("aria-label", page.locator(".best-fit .verdict").inner_text())


# -- settling, what is open, what is not sent

PHOTOGRAPHED = """async ([id, subject]) => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(id);
  const canvas = Object.assign(document.createElement('canvas'), { width: 80, height: 60 });
  canvas.getContext('2d').fillRect(10, 10, 30, 30);
  const blob = await new Promise((done) => canvas.toBlob(done, 'image/png'));
  await site.addPhoto({ subject, purpose: 'whole-fixture', blob });
}"""
ONLY_HERE = """async ([id, group]) => {
  const { store } = await import('/app/store/store.js');
  const site = await store.openSite(id);
  const row = { record: group, type: 'group', facet: 'count', by: store.person.id, at: '2026-11-20T10:00:00Z' };
  await site.storage.run(['recovered'], 'readwrite', (tx) =>
    tx.objectStore('recovered').add({ ...row, value: { count: 7, sure: 'yes' } }));
  await site.engine.tell('tried');
}"""


def test_a_conflict_is_seen_with_both_people_and_settled_without_a_signal(
    server: Server, site: CompleteSite, opened: Opened
) -> None:
    people = f"/api/sites/{site.hand.site}/people"
    status, told = site.hand.client.call("PUT", people, {"name": "surveyor", "role": "surveyor"})
    assert status == 200, told
    other = type(site.hand)(Client(server.url, "surveyor"), site.hand.site)
    first = other.operation(site.group, "group", "count", {"count": 3, "sure": "yes"})
    site.hand.save(site.group, "group", count={"count": 4, "sure": "yes"})
    other.push(first)
    page = opened("/conflicts")
    card = page.get_by_role("region", name="K1: Count")
    versions = card.get_by_role("listitem")
    expect(versions).to_have_count(2)
    expect(versions.filter(has_text="surveyor")).to_have_count(1)
    expect(versions.filter(has_text="you,")).to_have_count(1)
    expect(versions.filter(has_text=re.compile("phone [0-9A-F]{4}"))).to_have_count(2)
    page.evaluate(PHOTOGRAPHED, [site.hand.site, site.group])
    expect(card.get_by_role("img", name="whole fixture")).to_be_visible()
    versions.filter(has_text="you,").get_by_role("button", name="Keep this").click()
    expect(page.get_by_text("Nobody disagrees about anything.")).to_be_visible()
    send(page)
    state = site.hand.state(site.group)
    assert state["conflicts"] == []
    assert state["facets"]["count"]["value"]["count"] == 4


def test_open_points_of_one_room_lead_to_where_they_are_closed(site: CompleteSite, opened: Opened) -> None:
    supply = site.hand.state(site.group)["facets"]["supply"]["value"]
    site.hand.save(site.group, "group", supply=supply | {"volts": "not-seen"})
    ballast = site.hand.state(site.kind)["facets"]["ballast"]["value"]
    site.hand.save(site.kind, "kind", ballast=ballast | {"volts_mark": "not-seen"})
    page = opened(f"/open-points?room={site.room}")
    expect(page.get_by_text("1 open point", exact=True)).to_be_visible()
    page.get_by_role("link", name="the supply volts have not been seen").click()
    page.get_by_label("Volts", exact=False).first.select_option("277")
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url(lambda url: "/record/" not in url)
    at(page, site, f"/open-points?room={site.room}")
    expect(page.get_by_text("Nothing is open here.")).to_be_visible()


def test_what_is_not_sent_is_listed_and_goes_into_a_file(site: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{site.group}/read")
    page.get_by_label("Cavity length").fill("47 1/8")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_text("47 1/8 is saved.")).to_be_visible()
    at(page, site, "/unsent")
    expect(page.get_by_role("region", name="Entries that wait").get_by_text("As entered: 47 1/8")).to_be_visible()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save all of it to a file").click()
    content = json.loads(Path(download.value.path()).read_text())
    assert [each["to"]["as_entered"] for each in content["operations"]] == ["47 1/8"]


def test_what_the_server_did_not_take_is_explained_corrected_and_taken(site: CompleteSite, opened: Opened) -> None:
    page = opened("/unsent")
    page.evaluate(
        """async ([site, group]) => {
          const { store } = await import('/app/store/store.js');
          const open = await store.openSite(site);
          await open.save([{ ...(await open.form(group, 'count')), value: { count: 3000, sure: 'yes' } }]);
        }""",
        [site.hand.site, site.group],
    )
    page.context.set_offline(False)
    refused = page.get_by_role("region", name="Not taken by the server")
    expect(refused).to_be_visible()
    expect(refused.locator(".problem")).to_contain_text("2000")
    refused.get_by_role("button", name="Correct it").click()
    refused.get_by_label("Fixtures", exact=True).fill("5")
    refused.get_by_role("button", name="Send it so").click()
    expect(page.get_by_text("Everything on this phone has been sent.")).to_be_visible()
    assert site.hand.state(site.group)["facets"]["count"]["value"]["count"] == 5


def test_what_only_this_phone_still_knew_is_put_back_by_a_person(site: CompleteSite, opened: Opened) -> None:
    page = opened("/unsent")
    page.context.set_offline(False)
    page.evaluate(ONLY_HERE, [site.hand.site, site.group])
    expect(page.get_by_role("contentinfo")).to_contain_text("Needs attention (1).")
    recovered = page.get_by_role("region", name="Recovered")
    expect(recovered).to_contain_text("Fixtures: 7")
    recovered.get_by_role("button", name="Put it back").click()
    expect(recovered).to_have_count(0)
    send(page)
    assert site.hand.state(site.group)["facets"]["count"]["value"]["count"] == 7


# -- sizes


OUTSIDE = """() => [...document.querySelectorAll('#app *')]
  .filter((each) => each.getClientRects().length && !each.closest('.strip, .visually-hidden'))
  .map((each) => [each.outerHTML.slice(0, 80), each.getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && (box.left < -0.5 || box.right > innerWidth + 0.5))
  .map(([text]) => text)"""
SMALL = """() => [...document.querySelectorAll('#app :is(button, input, select, textarea, summary, a.button, a.row)')]
  .filter((each) => each.getClientRects().length && !each.closest('.chip, .camera'))
  .map((each) => [each.outerHTML.slice(0, 80), each.getBoundingClientRect()])
  .filter(([, box]) => box.height < 44 || box.width < 44)
  .map(([text]) => text)"""


def test_nothing_hangs_over_an_edge_and_everything_can_be_hit(site: CompleteSite, opened: Opened) -> None:
    site.hand.read(site.group, 1, 1, ticks=45 * 8128, as_entered="45")
    page = opened()
    for path in (
        f"/group/{site.group}",
        f"/group/{site.group}/read",
        "/open-points",
        "/conflicts",
        "/unsent",
    ):
        at(page, site, path)
        expect(page.get_by_role("main")).to_be_visible()
        if path.endswith("/read"):
            page.get_by_label("Cavity length").fill("48 1/4")
            page.get_by_role("button", name="Save this reading").click()
            expect(page.get_by_role("alert")).to_be_visible()
        for closed in page.locator("details:not([open]) > summary").all():
            if closed.is_visible():
                closed.click()
        for width in (320, 360, 412):
            page.set_viewport_size({"width": width, "height": 740})
            assert page.evaluate(OUTSIDE) == [], (path, width)
            assert page.evaluate(SMALL) == [], (path, width)
            assert page.evaluate("document.documentElement.scrollWidth") <= width, path
