"""The cautions that a phone adds to a card by what the survey says since: those that a card made now would have, at their steps."""

from __future__ import annotations

from typing import Any

import pytest
from tests.planning.some_body import body

from spanwalk.reference import tables
from spanwalk.rules.arrangements.card.cautions import CAUTIONS

Json = Any
ROWS = tables()["standing"]["cautions"]


def said(when: dict[str, list[str]], place: int) -> dict[str, dict[str, dict[str, str]]]:
    """Records with facets in which each field says one of its values, by their place."""
    found: dict[str, dict[str, dict[str, str]]] = {}
    for field, values in when.items():
        record, facet, name = field.split(".")
        found.setdefault(record, {}).setdefault(facet, {})[name] = values[place % len(values)]
    return found


@pytest.mark.parametrize("row", ROWS, ids=[row["caution"] for row in ROWS])
def test_a_caution_added_on_the_phone_is_one_of_a_card_made_now(row: Json) -> None:
    (caution,) = [each for each in CAUTIONS if each.name == row["caution"]]
    assert row["steps"] == caution.step.split()
    for place in range(max(len(values) for values in row["when"].values())):
        made = body(**said(row["when"], place))
        assert caution.holds(made, None), (row["caution"], place)


def test_asbestos_in_a_ceiling_is_cautioned_of_before_the_work() -> None:
    assert "asbestos" in {each.name for each in CAUTIONS if each.step == "isolate"}
