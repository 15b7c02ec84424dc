"""A group with packs in some of its fixtures, on a crew's phone without a signal; and its tests at the desk."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.installing.conftest import Fixture, back_in_reach, records, value
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Client, Server

Labelled = dict[str, list[Fixture]]


CORRIDOR = [1, 5, 9, 13]
"""Fixtures with a battery in the corridor of the demo building."""


def of_duty(labelled: Labelled, duty: str, positions: list[int] | None = None) -> Fixture:
    """An emergency fixture of a released group with such a duty, and with just these emergency fixtures."""

    def fits(emergency: dict[str, Any], position: int) -> bool:
        return (
            emergency["duty"] == duty
            and position in emergency["positions"]
            and positions in (None, emergency["positions"])
        )

    return next(
        each
        for each in labelled["released"]
        if each.conversion and fits(each.conversion["frozen"]["emergency"], each.position)
    )


def path_of(fixture: Fixture, position: int) -> str:
    return f"/s/{fixture.site}/fixture/{fixture.group}/{position}"


def steps_text(page: Page) -> str:
    expect(page.get_by_role("region", name="Steps")).to_be_visible()
    return str(page.get_by_role("region", name="Steps").inner_text())


def test_of_sixteen_fixtures_in_the_corridor_only_those_with_a_pack_are_told_of_it(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    with_pack = of_duty(labelled, "battery-in-fixture", CORRIDOR)
    crew_phone.goto(server.url + path_of(with_pack, 5))
    told = steps_text(crew_phone)
    for said in ("nickel-cadmium", "Fit the emergency pack LANTERN-10", "unswitched feed", "Test after charging"):
        assert said in told
    assert (
        told.index("Open the battery's connector first")
        < told.index("Take out")
        < told.index("take the lock off")
        < told.index("Test after charging")
    )
    expect(crew_phone.get_by_role("region", name="What to do")).to_contain_text("LANTERN-10")
    expect(crew_phone.get_by_role("group", name="Before 'done'").get_by_role("checkbox")).to_have_count(7)
    expect(crew_phone.get_by_role("form", name="Emergency test")).to_be_visible()

    crew_phone.goto(server.url + path_of(with_pack, 2))
    assert "Take out" in steps_text(crew_phone)
    expect(crew_phone.get_by_role("region", name="Emergency test")).to_have_count(0)
    regions = ("What to do", "Steps", "Outcome")
    page = " ".join(crew_phone.get_by_role("region", name=name, exact=True).inner_text().lower() for name in regions)
    assert not [word for word in ("pack", "battery", "emergency", "lantern", "unswitched") if word in page]
    expect(crew_phone.get_by_role("group", name="Before 'done'").get_by_role("checkbox")).to_have_count(4)


def test_a_card_on_a_generator_names_it_and_wants_it_isolated_and_proved_dead(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    fixture = of_duty(labelled, "generator-or-inverter")
    crew_phone.goto(server.url + path_of(fixture, fixture.position))
    told = steps_text(crew_phone)
    assert "Isolate the second source as well: EQ-1 circuit" in told
    assert told.index("Isolate the second source") < told.index("Take out")
    expect(crew_phone.get_by_role("region", name="What to do")).to_contain_text("EQ-1 circuit")
    expect(crew_phone.get_by_role("group", name="Before 'done'")).to_contain_text("second source was isolated")


def test_a_test_is_noted_without_a_signal_and_stands_at_the_desk_and_in_the_table(
    crew_phone: Page, labelled: Labelled, server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    fixture = of_duty(labelled, "battery-in-fixture", CORRIDOR)
    for position, minutes in ((5, "89"), (9, "92")):
        crew_phone.goto(server.url + path_of(fixture, position))
        form = crew_phone.get_by_role("form", name="Emergency test")
        form.get_by_role("button", name="Save the test").click()
        expect(form.get_by_role("alert")).to_have_count(2)
        form.get_by_label("seen", exact=True).check()
        form.get_by_label("passed").check()
        form.get_by_label("Lasted").fill(minutes)
        form.get_by_role("button", name="Save the test").click()
        expect(crew_phone.get_by_text("Saved: emergency test, passed.")).to_be_visible()
    crew_phone.goto(server.url + path_of(fixture, 13))
    form = crew_phone.get_by_role("form", name="Emergency test")
    form.get_by_label("not seen", exact=True).check()
    form.get_by_label("still due").check()
    form.get_by_label("Due on").fill("2026-12-01")
    form.get_by_label("Note").fill("Charges since noon")
    form.get_by_role("button", name="Save the test").click()
    expect(crew_phone.get_by_text("Saved: emergency test, still due.")).to_be_visible()
    crew_phone.reload()
    section = crew_phone.get_by_role("region", name="Emergency test")
    expect(section).to_contain_text("due on 2026-12-01")
    back_in_reach(crew_phone)
    noted = {
        value(each, "identity")["position"]: value(each, "identity")
        for each in records(server)
        if each["type"] == "emergency_test"
    }
    assert {
        position: (each["result"], each.get("minutes"), each["wanted_min"]) for position, each in noted.items()
    } == {
        5: ("passed", 89, 90),
        9: ("passed", 92, 90),
        13: ("still-due", None, 90),
    }
    assert noted[5]["conversion"]

    manager = sign_in(new_phone().new_page(), server.url, "manager")
    manager.goto(f"{server.url}/s/{fixture.site}/desk/emergency")
    table = manager.get_by_role("table", name="Tests, in the order of the walk")
    expect(table.get_by_role("row", name="Quay corridor · K12, fixture 5 ")).to_contain_text("too short")
    expect(table.get_by_role("row", name="Quay corridor · K12, fixture 9 ")).to_contain_text("passed")
    due = table.get_by_role("row").filter(has_text="fixture 13")
    expect(due).to_contain_text("Charges since noon")
    expect(due).to_contain_text("crew")
    assert_fits_and_can_be_hit_and_read(manager)
    content = Client(server.url, "crew").get(f"/api/sites/{fixture.site}/emergency-tests.csv")
    rows = {
        row["Fixture"]: row
        for row in csv.DictReader(StringIO(content.decode("utf-8-sig")))
        if row["Room"] == "G07 Quay corridor"
    }
    assert {position: row["Duration test"] for position, row in rows.items()} == {
        "1": "not converted yet",
        "5": "too short",
        "9": "passed",
        "13": "still due",
    }
    assert (rows["13"]["Due on"], rows["13"]["By"], rows["13"]["Indicator"]) == ("2026-12-01", "crew", "not seen")


def test_the_manager_reads_what_was_checked_of_a_pack_and_what_batteries_come_out(
    labelled: Labelled, server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    manager = sign_in(new_phone().new_page(), server.url, "manager")
    manager.goto(f"{server.url}/s/{labelled['released'][0].site}/desk/plan")
    manager.locator("summary").filter(has_text="To take away").click()
    expect(manager.get_by_role("table", name="To take away")).to_contain_text("Emergency batteries, nickel-cadmium")
    manager.evaluate("document.querySelectorAll('main details:not(.group)').forEach(each => { each.open = true; })")
    group = manager.locator("details.group").filter(has_text="Quay corridor · K12 × 16")
    group.locator("summary").first.click()
    group.get_by_text("Emergency: what was checked").click()
    for said in (
        "The emergency pack gives 20 to 60 V",
        "mA in the bar; it bears",
        "What the old pack gave is not known",
        "authority having jurisdiction",
    ):
        expect(group).to_contain_text(said)


@pytest.mark.parametrize("position", [1, 2])
def test_cards_with_and_without_a_pack_fit_and_can_be_hit_and_read(
    crew_phone: Page, labelled: Labelled, server: Server, position: int
) -> None:
    crew_phone.goto(server.url + path_of(of_duty(labelled, "battery-in-fixture", CORRIDOR), position))
    expect(crew_phone.get_by_role("region", name="Steps")).to_be_visible()
    assert_fits_and_can_be_hit_and_read(crew_phone)
