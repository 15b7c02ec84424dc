"""What a verdict rests on, on a phone without a signal: the lamp alone, a reading that nobody confirmed, two clusters, five pairs of holders."""

from __future__ import annotations

from playwright.sync_api import Page, expect
from tests.open_points.complete_site import FOUR_FOOT_TICKS, CompleteSite
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.surveying.at_a_group import Opened, at, on_server, send, to_group, verdict

LONG_TICKS = 394208
"""48 1/2 in, 1,231.9 mm: 29 mm over what a 4 ft T8 leaves, and no other lamp's length."""


def twenty_with_two_read(site: CompleteSite) -> None:
    """Two cavities of different fixtures read, of forty: so few prove nothing by themselves."""
    site.hand.save(site.group, "group", count={"count": 20, "sure": "yes"})
    void(site, 1, 3)


def void(site: CompleteSite, *which: int) -> None:
    for at_ in which:
        site.hand.save(site.readings[at_], "cavity_reading", voided={"reason": "another fixture"})


def best(page: Page, text: str) -> None:
    expect(page.locator(".best-fit")).to_contain_text(text)


def test_a_fit_by_the_lamp_is_only_so_far_until_three_fixtures_of_the_kind_were_read(
    site: CompleteSite, opened: Opened
) -> None:
    twenty_with_two_read(site)
    page = opened(f"/group/{site.group}")
    verdict(page, "fits")
    expect(page.locator(".best-fit .verdict")).to_have_text("Fits so far, 2 of 40 read")
    expect(page.locator(".best-fit .verdict")).to_have_class("verdict so-far")
    expect(page.locator(".best-fit .of-bar")).to_contain_text("to spare")
    best(page, "cavities were read in 2 of the 3 different fixtures of this kind")
    best(page, "By tape it takes 1 fixture more of this kind.")
    best(page, "Holders are taken to yield")
    best(page, "common practice, from memory; no published figure")
    assert_fits_and_can_be_hit_and_read(page)


def test_a_third_fixture_read_takes_the_want_away(site: CompleteSite, opened: Opened) -> None:
    twenty_with_two_read(site)
    page = opened(f"/group/{site.group}/read")
    page.get_by_label("Fixture of 20").fill("9")
    page.get_by_label("Cavity length").fill("47 1/4")
    page.get_by_role("button", name="Save this reading").click()
    expect(page.get_by_text("Fixture 9: 47 1/4 is saved.")).to_be_visible()
    to_group(page, site)
    expect(page.locator(".best-fit .verdict")).to_have_text("Fits")
    expect(page.locator(".best-fit .verdict")).to_have_class("verdict fits")
    best(page, "For this bar the readings by themselves are enough: they prove")
    expect(page.locator("[data-held='held.witness']")).to_have_count(0)
    send(page)
    told = on_server(site)
    assert (told["trusted"]["basis"], told["fits"][told["best"]]["basis"]) == ("lamp", "sample")
    assert "fits-by-lamp" not in {point["rule"] for point in site.hand.points()}


def test_a_bar_for_dry_places_is_no_fit_in_a_wet_room_and_the_room_is_named(site: CompleteSite, opened: Opened) -> None:
    site.hand.save(site.room, "room", surroundings={"moisture": "wet"})
    page = opened(f"/group/{site.group}")
    expect(page.locator(".best-fit .verdict")).to_have_text("Cannot tell")
    expect(page.locator(".best-fit .verdict")).to_have_class("verdict unmeasured")
    expect(page.locator("[data-held='suits.moisture']")).to_contain_text("made for dry places, and the room is wet")
    assert_fits_and_can_be_hit_and_read(page)


def test_of_a_u_bend_no_cavity_is_to_be_read_and_the_tape_says_so(site: CompleteSite, opened: Opened) -> None:
    void(site, 0, 1, 2, 3)
    lamps = {"fitted": "fluorescent", "diameter": "T8", "cap": "U-bend", "nominal_ft": "2-ft"}
    site.hand.save(site.kind, "kind", lamps={**lamps, "rows": 2, "lamps_end_to_end": 1})
    for path in (f"/group/{site.group}", f"/group/{site.group}/read"):
        page = opened(path)
        expect(page.locator(".best-fit .verdict")).to_have_text("Not by this method")
        expect(page.locator("[data-held='plan.not.between-sockets']")).to_contain_text("do not lie between two sockets")
        expect(page.locator(".best-fit")).to_contain_text("No cavity of it has to be read")
        expect(page.locator(".best-fit")).not_to_contain_text("BAR-4")
        expect(page.get_by_role("button", name="Save this reading")).to_have_count(0)
        expect(page.get_by_role("link", name="Read a cavity")).to_have_count(0)
        assert_fits_and_can_be_hit_and_read(page)


def test_a_cavity_that_stands_alone_holds_back_a_fit_until_it_is_confirmed(site: CompleteSite, opened: Opened) -> None:
    """1,196.2 mm beside 1,200.2 mm: 4 mm apart, and no other question; all cavities of 12 fixtures are not read."""
    site.hand.save(site.group, "group", count={"count": 12, "sure": "yes"})
    site.hand.read(site.group, 5, 1, FOUR_FOOT_TICKS - 1280, "47 3/32")
    page = opened(f"/group/{site.group}")
    expect(page.locator(".best-fit .verdict")).to_have_text("Fits so far, 5 of 24 read")
    expect(page.locator("[data-held='held.alone']")).to_contain_text("from every other here")
    page.get_by_role("region", name="Readings").get_by_role("listitem").filter(has_text="47 3/32").locator(
        "summary"
    ).click()
    page.get_by_role("button", name="It is what the tape shows").click()
    expect(page.locator("[data-held='held.alone']")).to_have_count(0)


def test_a_reading_above_the_band_holds_back_a_fit_until_it_is_confirmed(site: CompleteSite, opened: Opened) -> None:
    """It matches nothing else; the other readings of the group would let the bar in."""
    site.hand.save(site.group, "group", count={"count": 3, "sure": "yes"})
    site.hand.read(site.group, 3, 1, LONG_TICKS, "48 1/2")
    page = opened(f"/group/{site.group}")
    verdict(page, "cannot tell")
    best(page, "Readings that wait for an answer: 1.")
    assert_fits_and_can_be_hit_and_read(page)
    page.get_by_role("button", name="It is what the tape shows").click()
    verdict(page, "fits")
    send(page)
    assert on_server(site)["verdict"] == "fits"


def test_two_clusters_are_shown_and_held_where_the_kind_is_said_to_be_all_alike(
    site: CompleteSite, opened: Opened
) -> None:
    """1,196.6 and 1,200.2 mm, 3.6 mm apart, two of each; `alike` is 'yes' in this site."""
    site.hand.save(site.group, "group", count={"count": 12, "sure": "yes"})
    void(site, 2, 3)
    for position in (3, 4):
        site.hand.read(site.group, position, 1, FOUR_FOOT_TICKS - 1152, "47 1/8")
    page = opened(f"/group/{site.group}")
    verdict(page, "cannot tell")
    best(page, "Two clusters of readings with a gap of")
    best(page, "also where the kind is said to be all alike")
    assert_fits_and_can_be_hit_and_read(page)


def test_five_pairs_of_holders_are_entered_and_used_in_place_of_2_mm(site: CompleteSite, opened: Opened) -> None:
    """0.75, 0.75, 1.0, 1.25, 1.25 mm: mean 1.0, s 0.25; r(5, 40, 4) = 5.613; 320 + 450 = 770 ticks, 2.4 mm for 40 cavities."""
    twenty_with_two_read(site)
    page = opened(f"/kind/{site.kind}")
    expect(page.locator("[data-yields]")).to_contain_text("common practice, from memory")
    page.get_by_role("link", name="Holders' spring-back, from five pairs").click()
    expect(page.get_by_text("prove it dead before a metal tape")).to_be_visible()
    for name, text in zip(
        ("First", "Second", "Third", "Fourth", "Fifth"),
        ("0.75 mm", "0.75 mm", "1-mm", "1.25 mm", "1.25 mm"),
        strict=True,
    ):
        page.get_by_label(f"{name} pair yields by").fill(text)
    page.get_by_role("group", name="Read with").get_by_role("radio", name="caliper").check()
    assert_fits_and_can_be_hit_and_read(page)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("[data-yields=measured]")).to_contain_text("from five pairs measured of this kind")
    at(page, site, f"/group/{site.group}")
    best(page, "Holders yield")
    send(page)
    trusted = on_server(site)["trusted"]
    assert (trusted["spring_back"], trusted["terms"]["spring_back_ticks"]) == ("measured", 770)
