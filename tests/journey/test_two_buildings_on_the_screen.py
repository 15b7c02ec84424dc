"""A European and an American building, invented, planned end to end by an owner's thumbs: from an empty site to a released card."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, Route, expect
from tests.conftest import go, sign_in
from tests.support.looks import assert_fits_and_can_be_hit_and_read, shot
from tests.support.server import Client, Server

from spanwalk.records.specification import spec

pytestmark = pytest.mark.keeps_page(False)

TITLES = {
    name: facet.title for record in ("room", "kind", "group") for name, facet in spec().types[record].facets.items()
}
"""What the screens call the forms."""
OVERLAPPING = """(of) => {
  const texts = [...of.querySelectorAll('svg text')].map(e => [e.textContent, e.getBoundingClientRect()]);
  if (texts.length === 0) return ['no text in the picture'];
  return texts.flatMap(([one, a], at) => texts.slice(at + 1)
    .filter(([, b]) => a.left < b.right && b.left < a.right && a.top + 2 < b.bottom && b.top + 2 < a.bottom)
    .map(([other]) => `${one} over ${other}`));
}"""
"""Words in a picture that lie on others."""


class Building(NamedTuple):
    """What differs between two worlds: each is entered as it stands on the building's own labels and in its own units."""

    name: str
    tape: str
    settings: dict[str, str]
    money: str
    lamp_w: str
    ballast: dict[str, str]
    volts: str
    inside: dict[str, str]
    space: dict[str, str]
    room: dict[str, str]
    task: dict[str, str]
    cavity: str
    wanted: str
    known: str
    caution: str


EUROPEAN = Building(
    "The Ropewalk, invented",
    "millimetres",
    {
        "supply_volts": "230",
        "region": "european-union-or-uk",
        "light_policy": "meet-the-target-of-the-space",
        "light_standard": "en-12464-1-2021",
        "light_ceiling_pct": "300",
    },
    "EUR",
    "36",
    {
        "ballast": "magnetic",
        "ballast_count": "2",
        "energy_class": "C",
        "volts_mark": "230",
        "pcb_mark": "not-seen",
        "leaking": "no",
        "capacitor": "seen",
        "capacitor_made": "1984",
    },
    "230",
    {"width_ticks": "540", "height_ticks": "62", "row_spacing_ticks": "230"},
    {"length_ticks": "430", "width_ticks": "70", "height_ticks": "40"},
    {"length_ticks": "6 m", "width_ticks": "2 m", "height_ticks": "2600", "work_plane_ticks": "0"},
    {"length_ticks": "2 m", "width_ticks": "1 m", "from_end_ticks": "3 m"},
    "1200",
    r"Light wanted: 100 lx by .*EN 12464-1",
    "Directive 2000/55/EC",
    "capacitor",
)
AMERICAN = Building(
    "The Ice House, invented",
    "inches",
    {
        "supply_volts": "277",
        "region": "united-states-or-canada",
        "light_policy": "meet-the-target-of-the-space",
        "light_standard": "us-federal-41-cfr-102-74-180",
        "light_ceiling_pct": "300",
        "power_density_code": "2021-space-by-space",
    },
    "USD",
    "32",
    {
        "ballast": "electronic",
        "ballast_count": "1",
        "volts_mark": "120-277",
        "pcb_mark": "marked",
        "leaking": "no",
        "made": "2006",
    },
    "277",
    {"width_ticks": "21 1/4", "height_ticks": "2 1/2", "row_spacing_ticks": "9"},
    {"length_ticks": "17", "width_ticks": "2 3/4", "height_ticks": "1 5/8"},
    {"length_ticks": "20 ft", "width_ticks": "7 ft", "height_ticks": "8 ft 6 in", "work_plane_ticks": "0"},
    {"length_ticks": "6 ft", "width_ticks": "3 ft"},
    "47 1/4",
    r"Light wanted: \d+ lx by .*41 CFR 102-74",
    "International Energy Conservation Code (IECC) 2021",
    "",
)


def enter(form: Locator, said: dict[str, str]) -> None:
    """Answers a form's fields by their names: chips are tapped, lists chosen from, the rest typed."""
    for name, value in said.items():
        chip = form.locator(f'label.chip:has(input[name^="{name}-"][value="{value}"])')
        field = form.locator(f'[name="{name}"]')
        expect(chip.or_(field).first).to_be_visible()
        if chip.count():
            chip.click()
        elif field.evaluate("e => e.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)


def say_of(page: Page, record: str, facet: str, said: dict[str, str]) -> None:
    """One form of one record, saved: the notice names it, so that none before it is taken for it."""
    go(page, f"/s/{site_of(page)}/record/{record}/{facet}")
    title = TITLES[facet]
    expect(page.get_by_role("heading", level=1, name=title)).to_be_visible()
    enter(page.locator("form"), said)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text(f"{title}: saved on this phone.")).to_be_visible()


def site_of(page: Page) -> str:
    return page.url.split("/s/")[1].split("/")[0]


def made(page: Page, building: Building) -> None:
    """A site of its own, its settings and money, and the firm's catalogue."""
    go(page, "/sites/new")
    enter(page.locator("form").first, {"name": building.name, "units": building.tape})
    page.get_by_label("Usual supply").select_option(building.settings["supply_volts"])
    page.get_by_role("button", name="Make a site").click()
    expect(page.get_by_role("region", name="Setting up this site")).to_be_visible()
    site = site_of(page)
    go(page, f"/s/{site}/desk/settings")
    settings = page.get_by_role("region", name="How it is measured and judged")
    expect(settings.locator('input[name^="units-"]:checked')).to_have_count(1)
    enter(settings.locator("form"), {"coldest_c": "10", "hottest_c": "38", **building.settings})
    settings.get_by_role("button").last.click()
    expect(settings.get_by_role("status")).to_be_visible()
    shot(page, f"settings-{building.tape}")
    go(page, f"/s/{site}/desk/money")
    page.get_by_role("button", name="Open all parts").click()
    for label, typed in (
        ("Currency", building.money),
        ("Energy price [per kWh]", "0.25"),
        ("Labour [per hour]", "55"),
        ("Discount rate [%]", "4"),
        ("Years looked at [years]", "12"),
    ):
        page.get_by_label(label, exact=True).fill(typed)
    page.get_by_role("button", name="Save the money").click()
    expect(page.get_by_text("Plans are reckoned anew")).to_be_visible()
    go(page, f"/s/{site}/desk/catalogue")
    page.get_by_role("button", name=re.compile(r"^Take \d+ items")).click()
    expect(page.get_by_role("grid", name="Bars")).to_be_visible()


def walked(page: Page, building: Building) -> str:
    """A corridor with two fixtures of a new kind, described by taps and read with the tape; the group."""
    site = site_of(page)
    go(page, f"/s/{site}/floor/new")
    page.get_by_label("Name", exact=True).fill("Ground")
    page.get_by_role("button", name="Add the floor").click()
    page.get_by_role("link", name="Add a room here").click()
    page.get_by_label("Number", exact=True).fill("R01")
    page.get_by_label("Space", exact=True).select_option("corridor")
    page.get_by_role("button", name="Add the room").click()
    expect(page.get_by_role("link", name="Add a group")).to_be_visible()
    room = page.url.split("/room/")[1].split("?")[0]
    for facet, said in (
        ("size", building.room),
        ("surfaces", {"ceiling_pct": "70", "walls_pct": "50", "floor_pct": "20"}),
        ("layout", {"spread": "evenly-spread", "along": "2", "across": "1"}),
        ("task", building.task),
        ("ceiling", {"access": "ladder", "ceiling": "lay-in-grid", "fire_rated": "no"}),
        ("hours", {"hours_year": "3000", "how_known": "owner-says"}),
        ("surroundings", {"moisture": "dry", "hazardous": "no", "clean_or_food": "no"}),
    ):
        say_of(page, room, facet, said)
    go(page, f"/s/{site}/room/{room}")
    page.get_by_role("link", name="Add a group").click()
    described(page, building)
    page.get_by_label("Fixtures", exact=True).fill("2")
    page.get_by_role("button", name="Add the group").click()
    page.wait_for_url(re.compile("/group/.*/read"))
    group = page.url.split("/group/")[1].split("/")[0]
    read_with_the_tape(page, building)
    return group


def described(page: Page, building: Building) -> None:
    for answer in (
        "recessed troffer", "prismatic lens", "good", "yes", "fluorescent", "T8", "G13", "4 ft",
    ):  # fmt: skip
        page.get_by_role("button", name=answer, exact=True).click()
    page.get_by_label("Lamp watts [W]").fill(building.lamp_w)
    page.get_by_role("button", name="Go on", exact=True).click()
    page.get_by_role("button", name="2", exact=True).click()
    page.get_by_role("button", name="1", exact=True).click()
    page.get_by_role("button", name="yes", exact=True).click()


def read_with_the_tape(page: Page, building: Building) -> None:
    """Both rows of both fixtures: the fixture by its number, the row by a tap."""
    field = page.get_by_label("Cavity length, socket face to socket face")
    which = page.locator("#which-fixture")
    for row in (1, 2):
        for position in (1, 2):
            which.fill(str(position))
            expect(page.get_by_role("button", name=re.compile(f"^Row {row} of 2"))).to_be_visible()
            field.fill(building.cavity)
            page.get_by_role("button", name="Save this reading").click()
            expect(field).to_have_value("")
            expect(page.get_by_text(f"Fixture {position}: ")).to_be_visible()
        if row == 1:
            page.get_by_role("button", name=re.compile("^Row 1 of 2")).click()


def opened_once(page: Page, client: Client, building: Building, group: str) -> str:
    """What an open cover, the panel and the door tell; the room."""
    site = site_of(page)
    sent(page)
    held = {each["id"]: each for each in client.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]}
    kind = held[group]["facets"]["identity"]["value"]["kind"]
    for facet, said in (
        ("housing", {"material": "steel", **building.inside}),
        ("ballast", building.ballast),
        ("ballast_space", building.space),
        ("wiring", {"feeds": "one", "neighbour_leads": "none", "control_pair": "no", "earth": "seen"}),
    ):
        say_of(page, kind, facet, said)
    supply = {"volts": building.volts, "how_known": "panel-schedule", "panel": "LP-1", "circuit": "1"}
    say_of(page, group, "count", {"dark_lamps": "0", "sure": "yes"})
    say_of(page, group, "supply", {**supply, "switching": "all-together", "shared_neutral": "no"})
    room = str(held[group]["parent"])
    say_of(page, room, "progress", {"progress": "surveyed"})
    sent(page)
    return room


def sent(page: Page) -> None:
    go(page, f"/s/{site_of(page)}/unsent")
    expect(page.get_by_text("All sent.")).to_be_visible()


def last_word_arrives(page: Page, group: str) -> None:
    """The plan is opened while the last answer is on its way: once it is there, the plan is asked for again by itself."""
    on_the_way: list[Route] = []
    let_go: list[bool] = []
    page.route("**/push", lambda route: route.continue_() if let_go else on_the_way.append(route))
    duty = {"emergency": "none", "control_now": "switch", "control_wanted": "none", "dimming": "none"}
    say_of(page, group, "duty", duty)
    go(page, f"/s/{site_of(page)}/desk/plan")
    expect(page.locator("details.group").get_by_text("open", exact=True)).to_be_visible()
    expect(page.get_by_text("Nobody has said whether some of these are emergency fixtures.")).to_have_count(1)
    let_go.append(True)
    for each in on_the_way:
        each.continue_()
    expect(page.locator("details.group").get_by_text("ready", exact=True)).to_be_visible()


def planned(page: Page, building: Building) -> None:
    """The plan says what light is wanted, by whose target; and which figures nobody read in a source."""
    group = page.locator("details.group")
    group.locator("summary").first.click()
    group.get_by_text("What is assumed, and where figures come from").click()
    expect(group.get_by_text(re.compile(building.wanted))).to_be_visible()
    expect(group.get_by_text(re.compile(re.escape(building.known))).first).to_be_visible()
    light = page.get_by_role("region", name="Light of the room")
    assert light.evaluate(OVERLAPPING) == []
    on_task = light.get_by_role("img", name=re.compile(r"^Light on the task area in lux.* between \d+ and \d+ lx"))
    expect(on_task).to_be_visible()
    expect(light.get_by_text("Fixtures stand 2 by 1 and evenly spread")).to_be_visible()
    expect(light.get_by_text("Nobody said where in the room the area lies")).to_be_visible()
    expect(group.get_by_text("work plane", exact=False)).to_have_count(0)
    shot(page, f"plan-{building.tape}")


def light_is_read(page: Page, client: Client, room: str, group: str) -> None:
    """Four points an eighth below what the tables make of the corridor: the plan goes by them, and says so."""
    site = site_of(page)
    before = client.get(f"/api/sites/{site}/groups/{group}/plan")
    lux = round(before["room_light"]["found"]["lux"] * 0.88, 1)
    go(page, f"/s/{site}/light/{room}")
    for point in ("A1", "A2", "B1", "B2"):
        form = page.get_by_role("form", name="A light reading")
        said = {"point": point, "lux": str(lux), "when": "before", "calibrated": "2026-03"}
        enter(form, {**said, "lamps": "on-for-30-minutes-or-more", "daylight": "dark-outside"})
        form.get_by_role("button", name="Save the reading").click()
        expect(page.get_by_role("list", name="Light readings").get_by_text(point, exact=True)).to_be_visible()
    shot(page, f"light-{site[:4]}", widths=(360,))
    sent(page)
    go(page, f"/s/{site}/desk/plan")
    shown = page.locator("details.group")
    shown.locator("summary").first.click()
    expect(shown.get_by_text(re.compile(r"^Corrected by 4 readings of light in this room"))).to_be_visible()
    shot(page, f"corrected-{site[:4]}")
    after = client.get(f"/api/sites/{site}/groups/{group}/plan")
    assert after["corrected"]["facts"]["after_lm"] > after["corrected"]["facts"]["before_lm"]
    assert after["room_light"]["wanted"] == before["room_light"]["wanted"]


def released(page: Page, client: Client, building: Building, group: str) -> None:
    """Not before the figures from memory were seen; then with them named."""
    release = page.get_by_role("region", name="Release")
    expect(page.get_by_role("note", name="Figures from memory").first).to_be_visible()
    release.get_by_role("button", name="Release").click()
    expect(release.get_by_text("Tick that you have seen the figures from memory")).to_be_visible()
    release.get_by_role("checkbox").check()
    expect(release.get_by_text("Tick that you have seen the figures from memory")).to_have_count(0)
    shot(page, f"release-{building.tape}")
    release.get_by_role("button", name="Release").click()
    expect(release.get_by_text("Release 1 is made: 1 group in it")).to_be_visible()
    told = client.get(f"/api/sites/{site_of(page)}/groups/{group}/plan")
    assert ("plan.caution.capacitor" in told["cautions"]) == bool(building.caution)
    assert told["waste"]["rule"] == ("capacitor-and-date" if building.caution else "mark-and-date")


@pytest.mark.parametrize("building", [EUROPEAN, AMERICAN], ids=["European", "American"])
def test_a_building_is_planned_end_to_end_on_the_screen(
    server: Server, new_phone: Callable[..., BrowserContext], building: Building
) -> None:
    client = Client(server.url, "owner")
    page = sign_in(new_phone().new_page(), server.url, "owner")
    broken: list[str] = []
    page.on("pageerror", lambda error: broken.append(str(error)))
    made(page, building)
    group = walked(page, building)
    room = opened_once(page, client, building, group)
    last_word_arrives(page, group)
    planned(page, building)
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    light_is_read(page, client, room, group)
    released(page, client, building, group)
    assert broken == []
