"""What does not pay stands first in the plan: how much it is, what the job gains without it, and one step to leave or to keep it."""

from __future__ import annotations

import re
from typing import Any

from playwright.sync_api import Page, expect
from tests.desk.conftest import Desk, NewDesk
from tests.support.looks import assert_fits_and_can_be_hit_and_read, shot

Json = Any
CARD = "What does not pay"


def asked(desk: Desk) -> Json:
    return desk.told("best-order/not-paying")


def decisions(desk: Desk, groups: list[Json]) -> list[Json]:
    wanted = {each["group"] for each in groups}
    return [each.get("decision") for each in desk.records("group") if each["id"] in wanted]


def take_with(page: Page, reason: str) -> None:
    """Nothing is taken without a reason; one from the list is enough."""
    take = page.get_by_role("button", name="Take it: decide for")
    expect(take).to_be_visible()
    take.click()
    expect(page.get_by_role("alert").filter(has_text="Say why")).to_be_visible()
    page.get_by_label("Often said").select_option(reason)
    expect(page.get_by_role("textbox", name="Reason", exact=True)).to_have_value(reason)
    take.click()
    expect(page.get_by_text("Taken:")).to_be_visible()


def test_what_does_not_pay_is_counted_kept_or_left_in_one_step_and_taken_back(new_desk: NewDesk) -> None:
    desk = new_desk()
    told = asked(desk)
    fixtures = sum(each["fixtures"] for each in told["groups"])
    assert len(told["groups"]) > 1
    page = desk.open("/plan")
    card = page.get_by_role("region", name=CARD)
    expect(card).to_contain_text(f"{fixtures} fixtures in {len(told['groups'])} groups")
    expect(card).to_contain_text(f"the job gains USD {round(told['gain']):,} over these years")
    expect(page.locator("details.group").filter(has_text="does not pay")).to_have_count(len(told["groups"]))
    assert decisions(desk, told["groups"]) == [None] * len(told["groups"])
    shot(page, "not-paying")

    card.get_by_role("link", name="Convert it all the same").click()
    expect(page.get_by_label("What to do")).to_have_value("recommended")
    take_with(page, "The customer wants all alike")
    shot(page, "not-paying-kept")
    expect(page.get_by_text("All sent.")).to_be_visible()
    kept = {(each["decision"], each["reason"], each["how_chosen"]) for each in decisions(desk, told["groups"])}
    assert kept == {("convert-as-recommended", "The customer wants all alike", "by-rule")}
    page.get_by_role("link", name="Conversions", exact=True).last.click()
    expect(card).to_contain_text("converted all the same, as somebody decided")
    expect(card.get_by_role("link")).to_have_count(0)
    page.go_back()

    page = desk.open("/plan/order?what=leave&pays=not-paying")
    expect(page.get_by_text(re.compile("Saves USD .* over the years looked at"))).to_be_visible()
    assert_fits_and_can_be_hit_and_read(page, (360, 1280))
    shot(page, "not-paying-leave")
    take_with(page, "Does not pay at today's price")
    expect(page.get_by_text("All sent.")).to_be_visible()
    assert {each["state"] for each in desk.told("plan")["groups"] if each["group"] in ids(told)} == {"left as it is"}
    assert asked(desk)["groups"] == asked(desk)["kept"] == []
    page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_text("Taken back.")).to_be_visible()
    expect(page.get_by_text("All sent.")).to_be_visible()
    assert len(asked(desk)["kept"]) == len(told["groups"])


def ids(told: Json) -> set[str]:
    return {each["group"] for each in told["groups"]}


def test_what_does_not_pay_is_told_to_who_decides_alone(new_desk: NewDesk) -> None:
    desk = new_desk("surveyor")
    page = desk.open("/plan")
    expect(page.get_by_role("heading", name="Group by group")).to_be_visible()
    expect(page.get_by_role("region", name=CARD)).to_have_count(0)


def test_the_best_order_has_no_choice_by_money(new_desk: NewDesk) -> None:
    page = new_desk().open("/plan/order?what=leave&pays=not-paying")
    expect(page.get_by_label("Money")).to_have_value("not-paying")
    page.get_by_label("What to do").select_option("best")
    expect(page.get_by_label("Money")).to_have_count(0)
