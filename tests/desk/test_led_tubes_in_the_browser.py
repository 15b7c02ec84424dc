"""A body with LED tubes on mains waits for a manager, who says with a reason that they come out."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import expect
from tests.desk.conftest import NewDesk
from tests.support.looks import assert_fits_and_can_be_hit_and_read
from tests.support.server import Server


def test_a_manager_says_with_a_reason_that_led_tubes_come_out(
    new_desk: NewDesk, fresh_server: Server, tmp_path: Path
) -> None:
    desk = new_desk("manager", at=fresh_server)
    page = desk.open("/plan")
    page.evaluate("document.querySelectorAll('main details.points').forEach(e => { e.open = true; })")
    group = page.locator("details.group").filter(has_text="N10").filter(has_text="K14").first
    group.locator("summary").first.click()
    expect(group).to_contain_text("a manager decides, with a reason, that they come out")
    form = group.get_by_role("form", name="Decision")
    form.get_by_label("Take out the LED tubes and convert").check()
    form.get_by_role("button", name="Save the decision").click()
    expect(form).to_contain_text("Say why the LED tubes come out.")
    for width in (360, 1280):
        page.set_viewport_size({"width": width, "height": 740})
        form.screenshot(path=tmp_path / f"led-{width}.png")
    assert_fits_and_can_be_hit_and_read(page, widths=(360, 1280))
    form.get_by_label("Reason").fill("they flicker, and spares are not sold any more")
    form.get_by_role("button", name="Save the decision").click()
    expect(group).not_to_contain_text("a manager decides, with a reason, that they come out")
    (told,) = [each for each in desk.told("plan")["groups"] if (each["room_name"][:3], each["mark"]) == ("N10", "K14")]
    assert "plan.blocked.led-tubes" not in [each["code"] for each in told["blockers"]]
