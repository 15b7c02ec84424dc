"""What a crew reads on a card, and what it can do from there: wiring, stopping, pairs on one ballast, fixtures left alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import sign_in
from tests.installing.conftest import Fixture, back_in_reach, installations, out_of_reach, records, value
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Server

from spanwalk.words import say

Labelled = dict[str, list[Fixture]]
TICKS = 4


def go(page: Page, server: Server, fixture: Fixture) -> None:
    page.goto(server.url + fixture.path)
    expect(page.get_by_role("region", name="Outcome")).to_be_visible()


def frozen_of(fixture: Fixture) -> dict[str, object]:
    assert fixture.conversion is not None
    card: dict[str, object] = fixture.conversion["frozen"]
    return card


def the_first(fixtures: list[Fixture], what: str) -> Fixture:
    return next(each for each in fixtures if frozen_of(each).get(what))


def tick_all(page: Page) -> None:
    checks = page.get_by_role("group", name="Before 'done'").get_by_role("checkbox")
    expect(checks).to_have_count(TICKS)
    for check in checks.all():
        check.check()


def kinds_with(server: Server, facet: str, field: str, said: str) -> set[str]:
    return {r["id"] for r in records(server) if r["type"] == "kind" and value(r, facet).get(field) == said}


def of_kinds(server: Server, fixtures: list[Fixture], kinds: set[str]) -> Fixture:
    groups = {r["id"] for r in records(server) if r["type"] == "group" and value(r, "identity").get("kind") in kinds}
    return next(each for each in fixtures if each.group in groups)


def test_the_card_says_supply_outputs_polarity_and_setting_and_draws_them(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    fixture = the_first(labelled["released"], "wiring")
    go(crew_phone, server, fixture)
    steps = crew_phone.get_by_role("region", name="Steps")
    for said in ("line (L)", "neutral (N)", "earth/ground", "Output 1", "+ to +, − to −", "proved on a known source"):
        expect(steps).to_contain_text(said)
    drawing = crew_phone.get_by_role("img", name="The body to scale along its length")
    expect(drawing).to_be_visible()
    assert "on driver 1 output 1" in (drawing.get_attribute("aria-label") or "")
    expect(crew_phone.get_by_text(say("crew.rows-counted"))).to_be_visible()


def test_lengths_on_the_card_stand_in_the_unit_of_the_site_alone(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    """The demo's site measures in inches."""
    go(crew_phone, server, the_first(labelled["released"], "wiring"))
    steps = crew_phone.get_by_role("region", name="Steps")
    expect(steps).to_contain_text(" in from each socket face")
    assert " mm" not in steps.inner_text()
    assert " mm" not in crew_phone.get_by_role("region", name="Rows").inner_text()


def test_proving_sockets_has_its_caution_at_its_own_step(crew_phone: Page, labelled: Labelled, server: Server) -> None:
    go(crew_phone, server, the_first(labelled["released"], "wiring"))
    proof = (
        crew_phone.get_by_role("region", name="Steps")
        .get_by_role("listitem")
        .filter(has_text=say("plan.step.prove-sockets"))
    )
    expect(proof.get_by_role("note")).to_contain_text("This is live work.")


def test_stop_leads_straight_to_a_problem_with_its_reason(crew_phone: Page, labelled: Labelled, server: Server) -> None:
    fixture = labelled["released"][10]
    go(crew_phone, server, fixture)
    stop = crew_phone.get_by_role("region", name="When to stop")
    expect(stop.get_by_role("listitem")).to_have_count(8)
    stop.get_by_role("button", name="Stop").click()
    form = crew_phone.get_by_role("form", name="A problem")
    expect(form).to_be_in_viewport()
    form.get_by_label("A socket is burnt").check()
    expect(form.get_by_label("What is the problem?")).to_have_value(say("plan.stop.sockets"))
    form.get_by_label("What is the problem?").fill(say("plan.stop.sockets") + " Row 2, left.")
    form.get_by_role("button", name="Save", exact=True).click()
    expect(crew_phone.get_by_text("Saved: problem.")).to_be_visible()
    back_in_reach(crew_phone)
    (noted,) = installations(server, fixture)
    assert (noted["outcome"], noted["problem"]) == ("problem", "A socket is burnt, cracked or loose. Row 2, left.")


def pair_of(labelled: Labelled, position: int) -> tuple[Fixture, Fixture]:
    here = next(
        each for each in labelled["released"] if each.position == position and frozen_of(each)["feeds_neighbour"]
    )
    partner = frozen_of(here)["partner"]["group"]  # type: ignore[index]
    return here, next(each for each in labelled["released"] if each.group == partner and each.position == position)


def test_of_a_pair_on_one_ballast_both_are_done_together(crew_phone: Page, labelled: Labelled, server: Server) -> None:
    here, there = pair_of(labelled, 1)
    go(crew_phone, server, here)
    shared = crew_phone.get_by_role("region", name="Shared ballast")
    expect(shared).to_contain_text("fixture 1. Neither is done alone")
    expect(shared).to_contain_text(frozen_of(here)["partner"]["mark"])  # type: ignore[index]
    tick_all(crew_phone)
    crew_phone.get_by_role("button", name="Both done").click()
    expect(crew_phone.get_by_text("Saved: done, here and at")).to_be_visible()
    back_in_reach(crew_phone)
    noted = [*installations(server, here), *installations(server, there)]
    assert [each["outcome"] for each in noted] == ["done", "done"]
    assert [len(each["checks"]) for each in noted] == [TICKS, TICKS]
    assert noted[0]["conversion"] != noted[1]["conversion"]
    assert noted[1]["fitted"].endswith("fed from the neighbour")


def test_of_a_pair_on_one_ballast_both_are_undone_together(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    here, there = pair_of(labelled, 2)
    go(crew_phone, server, there)
    tick_all(crew_phone)
    crew_phone.get_by_role("button", name="Both done").click()
    crew_phone.get_by_role("button", name="Undo").click()
    expect(crew_phone.get_by_role("button", name="Both done")).to_be_visible()
    go(crew_phone, server, here)
    expect(crew_phone.get_by_role("region", name="Done so far")).to_have_count(0)
    back_in_reach(crew_phone)
    assert installations(server, here) == installations(server, there) == []


def test_a_problem_at_one_of_a_pair_is_told_at_the_other(crew_phone: Page, labelled: Labelled, server: Server) -> None:
    here, there = pair_of(labelled, 3)
    go(crew_phone, server, there)
    crew_phone.get_by_role("button", name="A problem").click()
    crew_phone.get_by_label("What is the problem?").fill("Leads cut off")
    crew_phone.get_by_role("button", name="Save", exact=True).click()
    expect(crew_phone.get_by_text("Saved: problem")).to_be_visible()
    go(crew_phone, server, here)
    expect(crew_phone.get_by_role("region", name="Shared ballast")).to_contain_text(
        "Noted there: problem. Leads cut off"
    )


def test_an_unreleased_fixture_with_led_tubes_on_mains_says_why_and_what_can_hurt(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    tubes = of_kinds(server, labelled["waiting"], kinds_with(server, "lamps", "fitted", "led-tube-on-mains"))
    go(crew_phone, server, tubes)
    card = crew_phone.get_by_role("region", name="Not released")
    expect(card.get_by_role("list", name="Why not")).to_contain_text("LED tubes on mains are in it")
    dangers = card.get_by_role("list", name="What can hurt in it")
    expect(dangers).to_contain_text("at mains voltage at one end or at both")
    expect(dangers).to_contain_text("local code")


def test_an_unreleased_fixture_with_two_feeds_says_that_one_stays_live(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    go(crew_phone, server, of_kinds(server, labelled["waiting"], kinds_with(server, "wiring", "feeds", "two")))
    card = crew_phone.get_by_role("region", name="Not released")
    expect(card.get_by_role("list", name="What can hurt in it")).to_contain_text(
        "with one circuit off, the other stays live"
    )


OLDER = """async ([group, keys]) => {
  for (const { name } of await indexedDB.databases()) {
    const db = await new Promise((done) => { const asked = indexedDB.open(name); asked.onsuccess = () => done(asked.result); });
    if (!db.objectStoreNames.contains('records')) { db.close(); continue; }
    const store = db.transaction('records', 'readwrite').objectStore('records');
    const all = await new Promise((done) => { const asked = store.getAll(); asked.onsuccess = () => done(asked.result); });
    for (const record of all.filter((each) => each.type === 'conversion' && each.parent === group)) {
      const { frozen } = record.facets.identity.value;
      for (const key of keys) delete frozen[key];
      frozen.steps = [
        { code: 'plan.step.isolate', facts: frozen.supply },
        { code: 'plan.step.fit-driver', facts: { driver: 'D', number: 1, setting_ma: 700 } },
        { code: 'plan.step.restore', facts: {} },
      ];
      await new Promise((done) => { store.put(record).onsuccess = done; });
    }
    db.close();
  }
}"""


def test_a_card_that_was_frozen_by_an_older_server_is_shown_with_all_its_cautions(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    fixture = labelled["released"][11]
    new = ["wiring", "stops", "partner", "control", "feeds", "bars_held"]
    crew_phone.evaluate(OLDER, [fixture.group, new])
    go(crew_phone, server, fixture)
    steps = crew_phone.get_by_role("region", name="Steps")
    expect(steps).to_contain_text("Fit 1 × D where the ballast was; set it to 700 mA.")
    expect(steps.get_by_role("list", name="Cautions")).to_have_count(1)
    expect(steps.get_by_role("list", name="Cautions").get_by_role("listitem")).to_have_count(
        len(frozen_of(fixture)["cautions"])  # type: ignore[arg-type]
    )
    expect(crew_phone.get_by_role("region", name="When to stop")).to_contain_text("a second feed")
    expect(crew_phone.get_by_role("img", name="The body to scale along its length")).to_have_count(0)


@pytest.mark.parametrize("which", ["a pair", "LED tubes on mains", "a problem being said"])
def test_such_a_card_fits_and_can_be_hit_and_read(
    server: Server, labelled: Labelled, new_phone: Callable[..., BrowserContext], which: str
) -> None:
    page = out_of_reach(sign_in(new_phone().new_page(), server.url, "crew"))
    tubes = kinds_with(server, "lamps", "fitted", "led-tube-on-mains")
    fixture = of_kinds(server, labelled["waiting"], tubes) if which == "LED tubes on mains" else pair_of(labelled, 4)[0]
    go(page, server, fixture)
    if which == "LED tubes on mains":
        first = page.locator("main").get_by_role("note").first
        expect(first).to_contain_text("every socket is at mains voltage")
        assert page.locator("main > *").first.inner_text() == first.inner_text(), "the hazard stands above all else"
    if which == "a problem being said":
        page.get_by_role("button", name="Stop").click()
    assert_fits_and_can_be_hit_and_read(page)
