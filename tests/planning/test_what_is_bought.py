"""Whole packs, what is left over, prices by number, and wiring parts counted on the wiring: by hand (common practice, no source)."""

from __future__ import annotations

from typing import Any

import pytest
from tests.planning import some_body
from tests.planning.some_body import BARS_AND_DRIVER, item

from spanwalk.rules.ordering.ordering import NO_TERMS, Terms, bought, price_at, whole_packs
from spanwalk.services.releases.sums import Released, order_lines

Json = Any
PACK_OF_20 = Terms({"pack_size": 20, "lead_days": 28}, {"each": 10.0, "from_2": 60, "each_2": 9.0})


@pytest.mark.parametrize(
    ("pieces", "packs", "left_over"), [(0, 0, 0), (1, 1, 19), (19, 1, 1), (20, 1, 0), (21, 2, 19), (40, 2, 0)]
)
def test_packs_are_not_broken(pieces: int, packs: int, left_over: int) -> None:
    assert whole_packs(pieces, 20) == (packs, packs * 20, left_over)


def test_the_price_is_that_of_what_is_bought_not_of_what_is_needed() -> None:
    """41 needed are three packs of 20, 60 bought: that reaches the price from 60 on, 60 x 9 = 540."""
    assert [bought(pieces, PACK_OF_20)["sum"] for pieces in (40, 41)] == [400.0, 540.0]
    assert bought(41, PACK_OF_20) == {
        "pack_size": 20, "packs": 3, "bought": 60, "left_over": 19, "price": 9.0, "sum": 540.0, "lead_days": 28,
    }  # fmt: skip


def test_a_price_break_of_which_half_is_missing_is_passed_over() -> None:
    assert price_at({"each": 10.0, "from_2": 50, "each_3": 1.0}, 100) == 10.0


def test_breaks_hold_by_their_number_in_whatever_order_they_were_entered() -> None:
    price = {"each": 10.0, "from_2": 500, "each_2": 7.0, "from_3": 100, "each_3": 9.0}
    assert [price_at(price, pieces) for pieces in (99, 100, 499, 500)] == [10.0, 9.0, 9.0, 7.0]


def test_without_terms_pieces_are_bought_singly_and_have_no_price() -> None:
    told = bought(7, NO_TERMS)
    assert (told["packs"], told["bought"], told["left_over"]) == (7, 7, 0)
    assert (told["price"], told["sum"], told["lead_days"]) == (None, None, None)


def need(order: int) -> Json:
    return {"item": "b", "code": "B", "fitted": order, "spare": 0, "for_misfits": 0, "why": None, "order": order}


def released(number: int, *lines: Json) -> Released:
    record: Json = {"id": f"r{number}", "facets": {"identity": {"number": number}}}
    whole: Json = {"order": list(lines)}
    return Released(record, {}, {}, whole)


def test_what_was_left_over_of_the_packs_before_is_used_by_the_next_release() -> None:
    """41 need 60; when 58 are needed in all nothing is ordered, when 61 are one pack more."""
    (first,) = order_lines([need(41)], [], {"b": PACK_OF_20})
    assert (first["order"], first["packs"], first["left_over"], first["over"]) == (60, 3, 19, 0)
    (second,) = order_lines([need(58)], [released(1, first)], {"b": PACK_OF_20})
    assert (second["order"], second["packs"], second["over"]) == (0, 0, 2)
    (third,) = order_lines([need(61)], [released(1, first)], {"b": PACK_OF_20})
    assert (third["before"], third["order"], third["packs"], third["left_over"]) == (60, 20, 1, 19)


# -- wiring parts: ten fixtures, one driver of two outputs each, a bar on either


def parts_of(used_at: str, **more: Json) -> list[tuple[str, int]]:
    """Wiring parts in the plan of ten such fixtures when the catalogue has one that is used so."""
    part = item("PART", "wiring_part", {"purpose": "connector", "used_at": used_at, **more})
    items = [
        *BARS_AND_DRIVER,
        {**part, "facets": {**part["facets"], "identity": {"item": "wiring-part", "code": "PART"}}},
    ]
    plan = some_body.plan(items=items, prices={"bar": 12.9, "driver": 16.4, "part": 0.5})
    return [(each["code"], each["count"]) for each in plan["proposal"]["parts"] if each["code"] == "PART"]


@pytest.mark.parametrize(
    ("used_at", "count"),
    [
        ("each-fixture", 10),
        ("each-driver", 10),
        ("each-supply-lead", 30),  # two lines, or line and neutral, and earth
        ("each-bar-lead", 40),  # two bars of two leads
        ("each-capped-lead", 20),  # no spare output; the pair of control leads that nothing uses
    ],
)
def test_wiring_parts_are_counted_on_the_wiring(used_at: str, count: int) -> None:
    assert parts_of(used_at) == [("PART", count)]


def test_lengths_of_wire_are_rounded_up_for_the_group() -> None:
    """0.45 m a fixture are 4.5 m for ten: 5 m."""
    assert parts_of("each-fixture", used_number=0.45, sold_by="metre") == [("PART", 5)]


def test_a_wiring_part_that_says_not_at_what_it_is_used_is_not_counted() -> None:
    assert parts_of("") == []


def test_wiring_parts_are_paid_for() -> None:
    """Thirty at 0.50 are 15.00 more, and thirty times five minutes more at 68 an hour are 170.00."""
    part = item("PART", "wiring_part", {"purpose": "connector", "used_at": "each-supply-lead"})
    prices = {"bar": 12.9, "driver": 16.4, "part": 0.5}
    without = some_body.plan(prices=prices)["proposal"]["money"]["cost"]
    money = some_body.plan(items=[*BARS_AND_DRIVER, part], prices=prices)["proposal"]["money"]["cost"]
    assert round(money - without, 2) == 185.0
