"""What lies ready, what is kept for rooms and what blocks them: the vectors that the page reads too; packs called off, by hand."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spanwalk.rules.ordering.order_lines import NOTHING, Pieces, added, line_of
from spanwalk.rules.ordering.stock import Came, Claim, Moved, stock_of

Json = Any
CASES = json.loads((Path(__file__).parents[1] / "vectors" / "stock.json").read_text(encoding="utf-8"))["cases"]
ITEMS = st.sampled_from("bd")
FEW = st.integers(0, 12)


@pytest.mark.parametrize("case", CASES, ids=lambda each: each["name"])
def test_stock_and_what_rooms_lack(case: Json) -> None:
    told = stock_of(
        case["ordered"],
        [Came(**each) for each in case["deliveries"]],
        [Moved(**each) for each in case["moves"]],
        case["used"],
        [Claim(**each) for each in case["claims"]],
    )
    assert told == case["expect"]


@given(
    st.lists(st.builds(Came, item=ITEMS, good=FEW, damaged=FEW)),
    st.dictionaries(ITEMS, FEW),
    st.lists(st.tuples(st.booleans(), st.dictionaries(ITEMS, FEW))),
)
def test_what_rooms_get_and_what_they_lack_is_what_they_want_and_no_more_is_given_than_is_here(
    came: list[Came], used: dict[str, int], wants: list[tuple[bool, dict[str, int]]]
) -> None:
    claims = [Claim(f"r{n}", f"g{n}", kept, each) for n, (kept, each) in enumerate(wants)]
    told = stock_of(dict.fromkeys("bd", 5), came, [], used, claims)
    lacked: Counter[str] = Counter()
    for each in told["groups"]:
        lacked.update(each["items"])
    for item in "bd":
        stands = told["items"][item]
        given_out = stands["wanted"] - lacked[item]
        assert lacked[item] == stands["lacking"]
        assert 0 <= given_out <= max(0, stands["here"])


PIECES = st.builds(
    Pieces,
    floors=st.dictionaries(st.sampled_from(["1", "2"]), st.integers(0, 90)),
    spare=st.integers(0, 9),
    for_misfits=st.integers(0, 9),
)


@given(st.lists(st.tuples(PIECES, st.integers(1, 25), st.integers(0, 100)), min_size=1, max_size=6))
def test_after_each_order_there_is_enough_and_less_than_a_pack_too_much_unless_it_has_come(
    needs: list[tuple[Pieces, int, int]],
) -> None:
    """However needs and packs change from release to release."""
    ordered, came = NOTHING, 0
    for need, pack, more_came in needs:
        came = min(ordered.together, came + more_came)
        line = line_of(need, ordered, came, pack)
        if line is not None:
            parts = Pieces(line["floors"], line["spare"], line["for_misfits"], line["left_over"])
            assert parts.together == line["pieces"] == line["packs"] * line["pack_size"]
            ordered = added(ordered, parts)
        assert ordered.together >= max(need.needed, came)
        assert ordered.together - max(need.needed, came) < pack
