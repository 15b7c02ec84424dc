"""A manager has the hand-over report made at the desk and takes it away, leaves and finds it again; before a release a sentence
says why there is none."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import expect
from tests.desk.conftest import NewDesk
from tests.handover.taken_away import text_of
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.releasing import release_seen


def test_a_manager_takes_the_report_away_and_sees_what_is_open(new_desk: NewDesk, tmp_path: Path) -> None:
    desk = new_desk()
    page = desk.open("/handover")
    expect(page.get_by_role("alert")).to_contain_text("Nothing has been released on this site")
    expect(page.get_by_role("button", name="Make the report")).to_have_count(0)
    assert release_seen(desk.client, desk.site)[0] == 201
    page = desk.open()
    page.get_by_role("link", name="Hand over").click()
    expect(page.get_by_role("heading", level=1, name="Hand over")).to_be_visible()
    fixtures = desk.told("plan")["totals"]["fixtures"]
    expect(page.get_by_text(f"0 of {fixtures}")).to_be_visible()
    expect(page.get_by_role("table", name="Open points by room")).to_contain_text("nothing noted on 10 of 10 fixtures")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    page.get_by_label("Put money into it").check()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Make the report").click()
    taken.value.save_as(tmp_path / "report.pdf")
    expect(page.get_by_role("link", name="spanwalk-hand-over.pdf is made.")).to_be_visible()
    page = desk.open("/handover")
    expect(page.get_by_role("link", name="spanwalk-hand-over.pdf is made.")).to_be_visible()
    expect(page.get_by_text("MB, with money")).to_be_visible()
    assert "Net present value: USD" in text_of((tmp_path / "report.pdf").read_bytes())
