"""The page 'Figures and sources': find a figure, see how sure it is, set one's own, see it where it is used, take it back."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, expect
from tests.desk.conftest import NewDesk
from tests.support.looks import assert_fits_and_can_be_hit_and_read

BODY = "recessed troffer · prismatic lens"
TITLE = "Light out of the body with bars"


def find(page: Page, words: str) -> Locator:
    page.get_by_label("Find a figure").fill(words)
    return page.get_by_role("region", name=BODY, exact=True)


def test_every_table_is_there_and_what_is_not_sure_is_marked(new_desk: NewDesk) -> None:
    page = new_desk("surveyor").open("/figures")
    expect(page.locator("details.points")).to_have_count(12)
    row = find(page, "troffer prismatic")
    expect(row.get_by_text("common practice", exact=True)).to_have_class("mark attention")
    expect(row.get_by_text("no single report")).to_be_visible()
    expect(row.get_by_role("button", name="Set for this site")).to_have_count(0)
    page.get_by_label("Find a figure").fill("library reading hours")
    expect(page.get_by_text("computed from what was read", exact=True).first).to_have_class("mark ")
    page.get_by_label("Find a figure").fill("no such figure")
    expect(page.get_by_text("No figure has all these words.")).to_be_visible()


def test_the_crew_is_not_led_there(new_desk: NewDesk) -> None:
    page = new_desk("crew").open()
    expect(page.get_by_role("link", name="Labels and lists")).to_be_visible()
    expect(page.get_by_role("link", name="Figures and sources")).to_have_count(0)


def test_a_manager_sets_a_figure_sees_it_where_it_is_used_and_takes_it_back(new_desk: NewDesk) -> None:
    desk = new_desk("manager")
    page = desk.open("/figures")
    row = find(page, "troffer prismatic")
    own = row.locator(".figure", has_text=TITLE)
    own.get_by_role("button", name="Set for this site").click()
    form = row.get_by_role("region", name=f"Set {TITLE}")
    form.get_by_label(TITLE).fill("78")
    form.get_by_label("Reason").fill("report of the very body")
    form.get_by_role("button", name="Set for this site").click()
    expect(form.get_by_text(f"{TITLE}: 78 is too large; it must be 1 or less.")).to_be_visible()
    expect(form.get_by_label("Reason")).to_have_value("report of the very body")
    page.context.set_offline(True)
    form.get_by_label(TITLE).fill("0.8")
    form.get_by_role("button", name="Set for this site").click()
    expect(row.get_by_text("Set here, not sent yet: 0.8.")).to_be_visible()
    page.context.set_offline(False)
    said = row.get_by_text("Set for this site: 0.8, by manager on")
    expect(said).to_contain_text("report of the very body")
    page.get_by_label("Show").select_option("set for this site")
    expect(page.locator("main section.card")).to_have_count(1)
    assert_fits_and_can_be_hit_and_read(page, widths=(320, 360, 1280))

    desk.open("/plan")
    expect(page.get_by_role("note", name="Figures set for this site")).to_contain_text(
        f"{TITLE} ({BODY}): 0.8 instead of 0.78"
    )
    page.evaluate("document.querySelectorAll('main details.points').forEach(e => { e.open = true; })")
    group = page.locator("details.group", has_text="Rests on 1 figure set for this site.").first
    group.locator("summary").first.click()
    expect(group.get_by_role("note", name="Figures set for this site")).to_contain_text("set for this site by manager")

    desk.open("/figures")
    row = find(page, "troffer prismatic")
    row.locator(".figure", has_text=TITLE).get_by_role("button", name="Change").click()
    row.get_by_role("button", name="Take the table's figure again").click()
    expect(row.get_by_text("Set for this site: 0.8")).to_have_count(0)
    assert not any(group["site_values"] for group in desk.told("plan")["groups"])


def test_the_standard_whose_targets_count_is_chosen_in_the_settings(new_desk: NewDesk) -> None:
    desk = new_desk("manager")
    page = desk.open("/figures")
    page.get_by_role("link", name="Settings of the site", exact=True).click()
    page.get_by_label("meet the target of the space").check()
    page.get_by_label("set-points of US energy simulations, 2019").check()
    page.get_by_role("button", name="Save: How it is measured and judged").click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    desk.open("/plan")
    page.evaluate("document.querySelectorAll('main details.points').forEach(e => { e.open = true; })")
    group = page.locator("details.group", has_text="G01").first
    group.locator("summary").first.click()
    group.get_by_text("What is assumed, and where figures come from").click()
    expect(group).to_contain_text(
        "lx by set-points of US energy simulations, 2019 (no recommendation of light), row 'lobby' (read: "
    )
