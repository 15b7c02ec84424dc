"""A tight bar is tried on the ladder, without a signal: what each trial says stands at once on the screen, and on the server."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect
from tests.open_points.complete_site import MM, CompleteSite
from tests.support.looks import assert_fits_and_can_be_hit_and_read, assert_fits_with_letters_twice_as_large
from tests.surveying.at_a_group import Opened, at, bar_of, live, on_server, send, to_group, verdict


@pytest.fixture
def tight(site: CompleteSite) -> CompleteSite:
    """Four cavities of 1,200.15 mm, all read, and a bar of 1,195 mm: it goes in, but not with 2 mm at each end and all margins."""
    bar = bar_of(site)
    site.hand.save(
        bar["id"],
        "catalogue_item",
        bar=bar["facets"]["bar"]["value"] | {"length_ticks": 1195 * MM, "lit_ticks": 1175 * MM},
    )
    return site


def try_it(page: Page, site: CompleteSite, went: str, gap: str = "") -> None:
    page.get_by_role("radio", name=went, exact=True).check()
    if gap:
        page.get_by_label("Gap left", exact=False).fill(gap)
    page.get_by_role("button", name="Save this trial").click()
    expect(page.get_by_role("radio", name=went, exact=True)).not_to_be_checked()
    expect(page.locator(".saved")).to_contain_text(went)


def rules_open(site: CompleteSite) -> set[str]:
    return {point["rule"] for point in site.hand.points()}


def test_trials_in_every_cavity_settle_what_was_tight(tight: CompleteSite, opened: Opened) -> None:
    assert "tight-not-settled" in rules_open(tight)
    page = opened(f"/group/{tight.group}")
    verdict(page, "tight")
    page.get_by_role("link", name="Record a trial bar").click()
    try_it(page, tight, "went in by hand", "4 mm")
    expect(page.get_by_text("Try it in fixture 1, row 2, cavity 1 next")).to_be_visible()
    for _ in range(3):
        try_it(page, tight, "went in by hand", "4 mm")
    to_group(page, tight)
    verdict(page, "fits")
    expect(page.locator(".best-fit .verdict")).to_have_text("Fits, trial bar lay in")
    expect(page.locator(".best-fit")).to_contain_text("Settled by trial bars. Cavities tried: 4.")
    send(page)
    assert on_server(tight)["verdict"] == "fits"
    assert "tight-not-settled" not in rules_open(tight)
    value = live(tight, "trial_bar")[0]["facets"]["identity"]["value"]
    assert {value["went_in"], value["gap_ticks"], value["bar"]} == {"went-in-by-hand", 4 * MM, bar_of(tight)["id"]}


def test_a_bar_that_did_not_go_in_is_not_to_be_ordered_until_the_trial_is_voided(
    tight: CompleteSite, opened: Opened
) -> None:
    page = opened(f"/group/{tight.group}/trial")
    try_it(page, tight, "did not go in")
    to_group(page, tight)
    verdict(page, "too long")
    expect(page.locator(".best-fit .verdict")).to_have_text("Too long: a trial bar did not go in")
    trials = page.get_by_role("region", name="Trial bars")
    trials.locator("summary").click()
    trials.get_by_label("Void it, because").fill("it was the wrong bar")
    trials.get_by_role("button", name="Void", exact=True).click()
    verdict(page, "tight")
    send(page)
    assert on_server(tight)["verdict"] == "tight"


def test_what_is_missing_in_a_trial_is_said_and_nothing_is_saved(tight: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{tight.group}/trial")
    page.get_by_role("button", name="Save this trial").click()
    expect(page.get_by_role("alert")).to_have_text("Say whether it went in.")
    page.get_by_role("radio", name="went in by hand").check()
    page.get_by_label("Gap left", exact=False).fill("four")
    page.get_by_role("button", name="Save this trial").click()
    expect(page.get_by_role("alert").first).to_be_visible()
    assert page.get_by_label("Gap left", exact=False).input_value() == "four"
    expect(page.locator(".saved")).to_have_count(0)


def test_the_form_and_the_list_fit_and_can_be_hit_and_read(tight: CompleteSite, opened: Opened) -> None:
    page = opened(f"/group/{tight.group}/trial")
    page.get_by_role("radio", name="went in by hand").check()
    assert_fits_and_can_be_hit_and_read(page)
    try_it(page, tight, "went in by hand", "4 mm")
    at(page, tight, f"/group/{tight.group}")
    page.get_by_role("region", name="Trial bars").locator("summary").click()
    assert_fits_and_can_be_hit_and_read(page)
    assert_fits_with_letters_twice_as_large(page)
