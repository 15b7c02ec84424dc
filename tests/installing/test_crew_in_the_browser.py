"""A crew at a fixture without a signal: which one it is, what to take out and fit, and what came of it."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from tests.conftest import WAIT_S, sign_in
from tests.installing.conftest import (
    Fixture,
    back_in_reach,
    installations,
    is_one_of_a_pair,
    out_of_reach,
    records,
    value,
)
from tests.support.server import PASSWORD, Server

from spanwalk.services.labels.labels import label_id

Labelled = dict[str, list[Fixture]]
WAITING_ON_THE_DISK = """async () => {
  const names = (await indexedDB.databases()).map(({ name }) => name).filter((name) => name.startsWith('spanwalk:'));
  const keys = await Promise.all(names.map((name) => new Promise((resolve) => {
    const opening = indexedDB.open(name);
    opening.onsuccess = () => {
      const asked = opening.result.transaction('meta').objectStore('meta').getAllKeys();
      asked.onsuccess = () => { opening.result.close(); resolve(asked.result); };
    };
  })));
  return keys.flat().some((key) => String(key).startsWith('waiting-photos.'));
}"""
"""Whether a site's database holds photos of a form that is not saved yet."""
MONEY = ("price", "cost", "money", "lcc", "npv", "rebate", "payback")


def until_it_waits_on_the_disk(page: Page) -> None:
    end = time.monotonic() + WAIT_S
    while not page.evaluate(WAITING_ON_THE_DISK):
        assert time.monotonic() < end, "the photo was never kept"
        page.wait_for_timeout(50)


def open_by_code(page: Page, code: str) -> None:
    page.get_by_role("link", name="Scan a label").click()
    page.get_by_label("Code under the QR").fill(code)
    page.get_by_role("button", name="Open", exact=True).click()


def open_fixture(page: Page, fixture: Fixture) -> None:
    open_by_code(page, fixture.code)
    expect(
        page.get_by_role("region", name="What to do").or_(page.get_by_role("region", name="Not released"))
    ).to_be_visible()


def tick_all(page: Page) -> None:
    checks = page.get_by_role("group", name="Before 'done'").get_by_role("checkbox")
    expect(checks).to_have_count(4)
    for check in checks.all():
        check.check()


def of_several(fixtures: list[Fixture]) -> Fixture:
    """The first fixture of a group that has a second one and no partner; each group stands once among the first fixtures."""
    seconds = {each.group for each in fixtures if each.position == 2}
    return next(
        each for each in fixtures if each.position == 1 and each.group in seconds and not is_one_of_a_pair(each)
    )


def wrong_check(code: str) -> str:
    """The code with its last symbol changed, as a mistyped one."""
    return code[:-1] + ("0" if code[-1] != "0" else "1")


def test_a_typed_code_leads_to_its_fixture_however_it_is_typed(crew_phone: Page, labelled: Labelled) -> None:
    fixture = labelled["released"][0]
    code = fixture.code.lower()
    open_by_code(crew_phone, f" {code[:4]}-{code[4:8]} {code[8]}")
    crew_phone.wait_for_url(lambda at: fixture.path in at)
    expect(crew_phone.get_by_text("Release 1")).to_be_visible()


def test_a_mistyped_code_is_caught_and_kept_in_the_field(crew_phone: Page, labelled: Labelled) -> None:
    code = wrong_check(labelled["released"][0].code)
    open_by_code(crew_phone, code)
    expect(crew_phone.get_by_role("alert")).to_contain_text("one symbol is mistyped")
    expect(crew_phone.get_by_label("Code under the QR")).to_have_value(code)


def test_the_address_on_a_label_opens_its_fixture_offline(crew_phone: Page, labelled: Labelled, server: Server) -> None:
    fixture = labelled["released"][1]
    crew_phone.goto(f"{server.url}/F/{fixture.code}")
    crew_phone.wait_for_url(lambda at: fixture.path in at)
    expect(crew_phone.get_by_role("region", name="What to do")).to_be_visible()


def test_the_card_says_what_to_take_out_what_to_fit_where_and_at_which_setting(
    crew_phone: Page, labelled: Labelled
) -> None:
    fixture = next(each for each in labelled["released"] if each.conversion and each.conversion["frozen"]["driver"])
    assert fixture.conversion is not None
    frozen = fixture.conversion["frozen"]
    open_fixture(crew_phone, fixture)
    card = crew_phone.get_by_role("region", name="What to do")
    expect(card.get_by_role("heading")).to_have_text(fixture.conversion["summary"])
    expect(card).to_contain_text(f"{frozen['driver']['setting_ma']} mA")
    expect(card).to_contain_text(f"{frozen['remove']['lamps']} × {frozen['remove']['lamp']}")
    expect(card).to_contain_text(f"{frozen['supply']['panel']}, {frozen['supply']['circuit']}")
    lit = [row for row in frozen["rows"] if not row["dark"]]
    drawn = crew_phone.get_by_role("region", name="Rows")
    expect(drawn.get_by_role("img", name="the row to scale")).not_to_have_count(0)
    expect(drawn).to_contain_text(lit[0]["bars"][0]["name"])
    expect(crew_phone.get_by_role("region", name="Steps").get_by_role("list").first).to_contain_text("isolation")


def test_the_bars_of_a_row_are_drawn_to_scale(crew_phone: Page, labelled: Labelled) -> None:
    """What is drawn is measured again: bars to cavity as the lengths are, within two pixels of 304."""
    fixture = labelled["released"][0]
    assert fixture.conversion is not None
    frozen = fixture.conversion["frozen"]
    open_fixture(crew_phone, fixture)
    widths = (
        crew_phone.locator("svg.row-drawing")
        .first.locator(".bar")
        .evaluate_all("bars => bars.map(bar => bar.width.baseVal.value)")
    )
    expected = [bar["length_ticks"] / frozen["cavity_ticks"] * 304 for bar in frozen["rows"][0]["bars"]]
    assert expected
    assert widths == pytest.approx(expected, abs=2)


def test_done_is_blocked_until_each_of_the_four_ticks_is_set(crew_phone: Page, labelled: Labelled) -> None:
    open_fixture(crew_phone, labelled["released"][2])
    done = crew_phone.get_by_role("button", name="Done", exact=True)
    checks = crew_phone.get_by_role("group", name="Before 'done'").get_by_role("checkbox").all()
    assert len(checks) == 4
    for check in checks:
        expect(done).to_be_disabled()
        check.check()
    expect(done).to_be_enabled()
    checks[1].uncheck()
    expect(done).to_be_disabled()


def test_done_without_a_signal_survives_a_reload_and_the_manager_sees_it(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    fixture = labelled["released"][3]
    open_fixture(crew_phone, fixture)
    tick_all(crew_phone)
    crew_phone.get_by_role("button", name="Done", exact=True).click()
    expect(crew_phone.get_by_text("Saved: done.")).to_be_visible()
    crew_phone.reload()
    expect(crew_phone.get_by_role("region", name="Done so far")).to_contain_text("done")
    back_in_reach(crew_phone)
    (noted,) = installations(server, fixture)
    assert noted["outcome"] == "done"
    assert noted["checks"] == ["leads-removed-or-capped", "sockets-proved-dead", "earth-checked", "label-on"]
    assert noted["code"] == fixture.code
    assert noted["conversion"]


def test_done_is_taken_back_by_undo(crew_phone: Page, labelled: Labelled, server: Server) -> None:
    fixture = labelled["released"][4]
    open_fixture(crew_phone, fixture)
    tick_all(crew_phone)
    crew_phone.get_by_role("button", name="Done", exact=True).click()
    crew_phone.get_by_role("button", name="Undo").click()
    expect(crew_phone.get_by_role("region", name="Done so far")).to_have_count(0)
    expect(crew_phone.get_by_role("button", name="Done", exact=True)).to_be_visible()


def test_a_problem_with_a_photo_arrives(crew_phone: Page, labelled: Labelled, server: Server, tmp_path: Path) -> None:
    fixture = labelled["released"][5]
    open_fixture(crew_phone, fixture)
    crew_phone.get_by_role("button", name="A problem").click()
    crew_phone.get_by_label("What is the problem?").fill("Socket of row 2 is broken off")
    crew_phone.get_by_label("Take a photo of it").set_input_files(picture(tmp_path))
    crew_phone.get_by_role("button", name="Save", exact=True).click()
    expect(crew_phone.get_by_role("list", name="Photos").get_by_role("img").first).to_be_visible()
    back_in_reach(crew_phone)
    (noted,) = installations(server, fixture)
    assert (noted["outcome"], noted["problem"]) == ("problem", "Socket of row 2 is broken off")
    photos = [r["facets"]["identity"]["value"] for r in records(server) if r["type"] == "photo"]
    assert [p for p in photos if p["purpose"] == "problem"]


def test_a_suspect_ceiling_found_at_one_fixture_is_told_at_the_next_and_in_the_room(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    first = of_several(labelled["released"])
    second = next(each for each in labelled["released"] if (each.group, each.position) == (first.group, 2))
    open_fixture(crew_phone, first)
    crew_phone.get_by_role("button", name="A problem").click()
    crew_phone.get_by_label("Reason").select_option("suspect-ceiling")
    crew_phone.get_by_role("button", name="Save", exact=True).click()
    expect(crew_phone.get_by_text("Saved: problem.")).to_be_visible()
    crew_phone.goto(server.url + second.path)
    near = crew_phone.get_by_role("region", name="A crew noted this here")
    expect(near).to_contain_text("fixture 1: suspect material in the ceiling")
    crew_phone.goto(f"{server.url}/s/{first.site}/today/room/{first.room}")
    expect(near).to_contain_text("suspect material in the ceiling")
    crew_phone.goto(server.url + first.path)
    expect(crew_phone.get_by_role("region", name="What to do")).to_be_visible()
    expect(near).to_have_count(0)


def test_a_problem_without_words_is_asked_for_and_what_was_chosen_stays(crew_phone: Page, labelled: Labelled) -> None:
    open_fixture(crew_phone, labelled["released"][6])
    crew_phone.get_by_role("button", name="A problem").click()
    crew_phone.get_by_role("button", name="Save", exact=True).click()
    expect(crew_phone.get_by_role("alert")).to_contain_text("Say in a few words")
    expect(crew_phone.get_by_label("What is the problem?")).to_be_visible()


def test_a_fixture_that_is_not_released_cannot_be_noted_as_done(crew_phone: Page, labelled: Labelled) -> None:
    open_fixture(crew_phone, labelled["waiting"][0])
    expect(crew_phone.get_by_text("Do not convert it.")).to_be_visible()
    expect(crew_phone.get_by_role("button", name="Done", exact=True)).to_have_count(0)
    expect(crew_phone.get_by_role("button", name="A problem")).to_be_visible()


def test_a_code_that_nobody_knows_is_kept_with_what_is_noted(
    crew_phone: Page, labelled: Labelled, server: Server
) -> None:
    """`0000016JD` is the worked code of the label rules: a right check symbol, and on no fixture."""
    open_by_code(crew_phone, "0000016JD")
    expect(crew_phone.get_by_role("alert")).to_contain_text("0000 016J D")
    crew_phone.get_by_role("link", name="Choose the fixture").click()
    crew_phone.get_by_label("Room").fill("U01")
    crew_phone.get_by_role("button", name="U01").click()
    crew_phone.get_by_role("main").get_by_role("list").get_by_role("button").first.click()
    crew_phone.get_by_role("link", name="7", exact=True).click()
    expect(
        crew_phone.get_by_text("Label 0000 016J D is not known").or_(crew_phone.get_by_text("You scanned 0000 016J D"))
    ).to_be_visible()
    group, position = crew_phone.url.split("?")[0].split("/")[-2:]
    crew_phone.get_by_role("button", name="Skip it").click()
    crew_phone.get_by_label("Why is it skipped?").fill("Scaffold in the way")
    crew_phone.get_by_role("button", name="Save", exact=True).click()
    back_in_reach(crew_phone)
    chosen = Fixture(labelled["released"][0].site, group, int(position), "", None)
    (noted,) = installations(server, chosen)
    assert (noted["outcome"], noted["code"]) == ("skipped", "0000016JD")


def test_after_done_the_next_fixture_of_the_group_is_one_tap_away(crew_phone: Page, labelled: Labelled) -> None:
    fixture = of_several(labelled["released"])
    open_fixture(crew_phone, fixture)
    crew_phone.get_by_role("link", name="Next here: 2").press("Enter")  # not by place: pictures above may still come
    crew_phone.wait_for_url(lambda at: at.endswith(f"/{fixture.group}/2"))


def test_a_crew_reads_no_money(crew_phone: Page, labelled: Labelled, server: Server) -> None:
    crews = records(server, "crew")
    assert not {record["type"] for record in crews} & {"price", "money"}
    frozen = str([record for record in crews if record["type"] == "conversion"]).lower()
    assert len(frozen) > 1000
    assert not [word for word in MONEY if f"'{word}" in frozen]


def test_a_half_typed_problem_is_there_after_the_page_was_closed(crew_phone: Page, labelled: Labelled) -> None:
    open_fixture(crew_phone, labelled["released"][8])
    crew_phone.get_by_role("button", name="A problem").click()
    crew_phone.get_by_label("What is the problem?").fill("Lens is cr")
    address = crew_phone.url
    context = crew_phone.context
    crew_phone.close()
    page = context.new_page()
    page.goto(address)
    expect(page.get_by_label("What is the problem?")).to_have_value("Lens is cr")
    page.get_by_role("button", name="Back", exact=True).click()
    expect(page.get_by_role("button", name="A problem")).to_be_visible()


def test_a_photo_of_a_problem_that_is_not_saved_yet_outlives_the_page(
    crew_phone: Page, labelled: Labelled, server: Server, tmp_path: Path
) -> None:
    """The camera of a small phone ends the page behind it: what was photographed is there when it is opened again."""
    fixture = labelled["released"][13]
    open_fixture(crew_phone, fixture)
    crew_phone.get_by_role("button", name="A problem").click()
    crew_phone.get_by_label("Take a photo of it").set_input_files(picture(tmp_path))
    expect(crew_phone.get_by_text("Take a photo of it (1)")).to_be_visible()
    until_it_waits_on_the_disk(crew_phone)
    crew_phone.reload()
    expect(crew_phone.get_by_text("Take a photo of it (1)")).to_be_visible()
    crew_phone.get_by_label("What is the problem?").fill("Socket is burnt")
    crew_phone.get_by_role("button", name="Save", exact=True).click()
    expect(crew_phone.get_by_role("list", name="Photos").get_by_role("img").first).to_be_visible()
    back_in_reach(crew_phone)
    noted = {each["id"] for each in records(server) if each["parent"] == fixture.group}
    photos = [value(each, "identity") for each in records(server) if each["type"] == "photo"]
    assert [each["purpose"] for each in photos if each["subject"] in noted] == ["problem"]
    crew_phone.get_by_role("button", name="Undo").click()
    crew_phone.get_by_role("button", name="A problem").click()
    expect(crew_phone.get_by_text("Take a photo of it", exact=True)).to_be_visible()


def test_the_work_list_says_how_far_each_group_is_and_leads_to_the_next_fixture(
    crew_phone: Page, labelled: Labelled
) -> None:
    fixture = of_several(labelled["released"][9:])
    crew_phone.get_by_role("link", name="Today", exact=True).click()
    crew_phone.get_by_role("link", name="All work that is released").click()
    row = crew_phone.locator(f"a[href*='{fixture.group}']")
    count = int(row.get_by_text(re.compile(r"^0 of \d+$")).inner_text().split(" of ")[1])
    expect(row).to_contain_text(f"0 of {count}")
    row.click()
    tick_all(crew_phone)
    crew_phone.get_by_role("button", name="Done", exact=True).click()
    expect(crew_phone.get_by_text("Saved: done.")).to_be_visible()
    crew_phone.go_back()
    expect(row).to_contain_text(f"1 of {count}")
    expect(row).to_have_attribute("href", f"/s/{fixture.site}/fixture/{fixture.group}/2")


def test_who_is_not_signed_in_signs_in_and_stands_before_the_fixture_of_the_label(
    new_phone: Callable[..., BrowserContext], labelled: Labelled, server: Server
) -> None:
    fixture = labelled["released"][0]
    page = new_phone().new_page()
    page.goto(f"{server.url}/F/{fixture.code}")
    page.get_by_label("Name", exact=True).fill("crew")
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(lambda at: fixture.path in at)
    expect(page.get_by_role("region", name="What to do")).to_be_visible()


def test_a_surveyor_puts_a_label_from_a_roll_on_a_fixture_and_its_code_leads_there(
    server: Server, labelled: Labelled, new_phone: Callable[..., BrowserContext]
) -> None:
    phone = out_of_reach(sign_in(new_phone().new_page(), server.url, "surveyor"), scans=False)
    code = "0000001JD"
    phone.get_by_role("link", name="More", exact=True).click()
    open_by_code(phone, code)
    phone.get_by_role("link", name="Choose the fixture").click()
    phone.get_by_label("Room").fill("U01")
    phone.get_by_role("button", name="U01").click()
    phone.get_by_role("main").get_by_role("list").get_by_role("button").first.click()
    phone.get_by_label("This label is now on it").check()
    phone.get_by_role("button", name="3", exact=True).click()
    phone.wait_for_url("**/fixture/*/3?code=*")
    there = phone.url.split("?")[0]
    back_in_reach(phone)
    crew = sign_in(new_phone().new_page(), server.url, "crew")
    crew.goto(f"{server.url}/F/{code}")
    crew.wait_for_url(lambda at: at.startswith(there))
    bound = [r for r in records(server) if r["type"] == "label" and value(r, "identity")["code"] == code]
    assert [r["id"] for r in bound] == [label_id(code)]
    assert value(bound[0], "identity")["origin"] == "pre-printed"


def picture(folder: Path) -> Path:
    """A photo as a camera makes one."""
    from PIL import Image

    path = folder / "problem.jpg"
    Image.effect_noise((1200, 900), 60).convert("RGB").save(path, quality=85)
    return path
