"""Which positions a group has: one answer for labels, readings, crews and open points."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from spanwalk.rules.survey import is_position, positions_of


def group(count: int, gone: list[int]) -> dict[str, Any]:
    return {"facets": {"count": {"count": count, "gone": gone}}}


def test_a_number_said_to_be_gone_beyond_all_fixtures_makes_no_further_fixture() -> None:
    assert positions_of(group(2, [9])) == [1, 2]
    assert not is_position(group(2, [9]), 3)


@given(st.integers(0, 12), st.lists(st.integers(1, 20), max_size=6))
def test_a_position_is_one_exactly_if_it_is_listed(count: int, gone: list[int]) -> None:
    listed = positions_of(group(count, gone))
    assert len(listed) == count
    assert [position for position in range(-1, 40) if is_position(group(count, gone), position)] == listed
