"""Rows that a site adds to the tables: used there only, named with their source, and never in the place of a row that is there."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from tests.planning.some_body import body, record

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.own_rows import with_own_rows

ABOUT = {"source": "maker's sheet of 2011", "edition": "2011-04", "how_known": "read", "reason": "an odd lamp"}
LAMP = {
    "diameter": "T8", "nominal_ft": "4-ft", "cap": "G13", "lamp_w": 30, "mains": "60-hz", "initial_lm": 2850, "mean_share": 0.95,
}  # fmt: skip
BALLAST = {
    "diameter": "T8", "nominal_ft": "4-ft", "lamp_w": 30, "ballast": "electronic", "mains": "60-hz", "watts_1": 29, "watts_2": 55,
    "ballast_factor": 0.88,
}  # fmt: skip


def row(id: str, sort: str, said: dict[str, Any], **about: Any) -> Any:
    return record(id, "own_row", **{"identity": {"table": sort, **ABOUT, **about}, sort: said})


def on_site(some: Body, *rows: Any) -> Body:
    laid, not_used = with_own_rows(tables(), rows)
    assert not_used == []
    return replace(some, tables=laid)


def thirty_watts() -> Body:
    return body(kind={"lamps": {"lamp_w": 30}})


def test_a_lamp_that_the_tables_have_not_cannot_be_judged_until_the_site_adds_it() -> None:
    """55 W for two lamps of 30 W, which no table has."""
    assert plan_group(thirty_watts())["now"]["watts_each"] is None
    plan = plan_group(on_site(thirty_watts(), row("a", "lamp", LAMP), row("b", "ballast", BALLAST)))
    assert (plan["now"]["watts_each"], plan["state"]) == (55, "ready")


def test_a_plan_that_rests_on_it_names_it_with_its_source() -> None:
    plan = plan_group(on_site(thirty_watts(), row("a", "lamp", LAMP), row("b", "ballast", BALLAST)))
    told = {
        each["facts"]["row"]: each["facts"]["source"]
        for each in plan["site_values"]
        if each["code"] == "figures.own-row"
    }
    assert told == {
        "T8 · 4-ft · 30 · electronic · 60-hz": "maker's sheet of 2011",
        "T8 · 4-ft · 30 · G13 · 60-hz": "maker's sheet of 2011",
    }


def test_it_is_used_nowhere_else() -> None:
    before = tables()["lumens"]["rows"]
    with_own_rows(tables(), [row("a", "lamp", LAMP)])
    assert tables()["lumens"]["rows"] is before
    assert plan_group(thirty_watts())["now"]["lumens"] is None


def test_a_row_of_the_other_world_is_not_taken() -> None:
    european = row("a", "lamp", LAMP | {"mains": "50-hz"}), row("b", "ballast", BALLAST | {"mains": "50-hz"})
    assert plan_group(on_site(thirty_watts(), *european))["now"]["watts_each"] is None


@pytest.mark.parametrize(
    ("sort", "said"),
    [
        ("lamp", LAMP | {"lamp_w": 32}),
        ("ballast", BALLAST | {"lamp_w": 32}),
        (
            "body",
            {
                "body": "recessed-troffer",
                "optic": "opal-lens",
                "tubes_share": 0.6,
                "bars_share": 0.7,
                "dirt_share": 0.9,
            },
        ),
        ("space", {"space": "office-open", "hours_year": 1000}),
    ],
    ids=lambda each: each if isinstance(each, str) else "",
)
def test_a_row_that_is_there_is_not_replaced(sort: str, said: dict[str, Any]) -> None:
    laid, (wrong,) = with_own_rows(tables(), [row("a", sort, said)])
    assert wrong.why["code"] == "figures.row-already-there"
    assert laid == tables()


def test_of_two_rows_for_the_same_the_second_is_not_used() -> None:
    _, (wrong,) = with_own_rows(tables(), [row("a", "lamp", LAMP), row("b", "lamp", LAMP | {"initial_lm": 9000})])
    assert wrong.record == "b"


def test_a_row_that_lacks_something_is_not_used() -> None:
    _, (wrong,) = with_own_rows(tables(), [row("a", "lamp", {"diameter": "T8"})])
    assert wrong.why["code"] == "figures.row-not-whole"


def test_a_body_and_a_space_of_the_sites_own_give_light_and_target() -> None:
    strange = {"body": "other", "optic": "none", "tubes_share": 0.5, "bars_share": 0.6, "dirt_share": 0.9}
    yard = {"space": "outdoor-covered", "standard": "us-federal-41-cfr-102-74-180", "lux": 110, "hours_year": 4000}
    some = body(
        kind={"housing": {"body": "other", "optic": "none"}},
        room={"identity": {"space_type": "outdoor-covered"}},
        settings={"light_policy": "meet-the-target-of-the-space"},
    )
    plan = plan_group(on_site(some, row("a", "body", strange), row("b", "space", yard)))
    assert plan["now"]["lumens"] is not None
    assert (plan["wanted"]["target_lux"], plan["wanted"]["source"]) == (110, "maker's sheet of 2011")


def test_a_row_from_memory_is_named_among_what_is_from_memory() -> None:
    own = row("a", "lamp", LAMP, how_known="from-memory"), row("b", "ballast", BALLAST)
    told = plan_group(on_site(thirty_watts(), *own))["from_memory"]
    assert ("light of the lamps", "T8 4 ft 30 W", "maker's sheet of 2011") in [
        tuple(each["facts"].values()) for each in told
    ]
