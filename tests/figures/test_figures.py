"""Every figure can be found with its source, and a site's own value stands in its place and says so."""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.some_body import body

from spanwalk.records import spec
from spanwalk.reference import HOW_KNOWN, tables
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.figures import Figure, SiteValue, figures, why_not, with_site_values
from spanwalk.services.planning.plans import make_plans
from spanwalk.words import choice_text, say

FIGURES = list(figures(tables()))
BY_ADDRESS = {figure.address: figure for figure in FIGURES}
SETTABLE = [figure for figure in FIGURES if figure.least is not None]
JUDGED_BY_PHONES = {"lamps", "instruments", "expansion", "prediction"}
SETTINGS = spec().types["site"].facets["settings"].fields
OFFICE_HOURS = ("spaces", "office-open", "hours_year")


def own(figure: Figure, value: float, **more: Any) -> SiteValue:
    return SiteValue(
        "r",
        *figure.address,
        value,
        **{"reason": "measured here", "source": "", "by": "Mara", "on": "2026-03-01"} | more,
    )


def another(figure: Figure) -> float:
    """A value that a site may set and that is not the table's."""
    assert figure.least is not None
    assert figure.most is not None
    return figure.least if figure.value != figure.least else figure.most


def without_what_says_so(plan: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in plan.items() if name != "site_values"}


# -- every figure with its source


def test_no_two_figures_have_one_address() -> None:
    assert len(BY_ADDRESS) == len(FIGURES)


def test_each_figure_says_where_it_is_from() -> None:
    for figure in FIGURES:
        assert all(each.strip() for each in (figure.source, figure.edition, figure.title)), figure
        assert figure.how_known.startswith(HOW_KNOWN), figure


def numbers_in(row: Any) -> int:
    if isinstance(row, dict):
        return sum(numbers_in(value) for value in row.values())
    if isinstance(row, list):
        return sum(numbers_in(value) for value in row)
    return isinstance(row, (int, float)) and not isinstance(row, bool)


@pytest.mark.parametrize("table", sorted(set(tables()) - {"figures", "prediction", "combinations", "standing"}))
def test_no_number_of_a_table_is_left_out(table: str) -> None:
    """What names a row (lamp watts, hours from, the year of a ballast, its mains) is not a figure of its own."""
    keys = tables()["figures"]["tables"][table]["keys"]
    naming = sum(
        numbers_in(row.get(key))
        for part, names in keys.items()
        if isinstance(tables()[table][part], list)
        for row in tables()[table][part]
        for key in (*names, "mains_hz")
    )
    assert numbers_in(tables()[table]) - naming == sum(figure.table == table for figure in FIGURES)


def test_a_target_names_its_standard_and_the_row_of_it() -> None:
    found = BY_ADDRESS["spaces", "office-open", "targets/en-12464-1-2021/lux"]
    assert (found.value, found.unit, found.how_known) == (500, "lx", "read")
    assert (
        found.source
        == "tables of EN 12464-1:2021 as an application guide gives them, row 'office work (writing, typing, reading)'"
    )


# -- what a site may set


def test_the_tables_own_figures_lie_within_what_a_site_may_set() -> None:
    assert [figure for figure in SETTABLE if why_not(figure, figure.value) is not None] == []


def test_limits_belong_to_what_may_be_set_and_one_beyond_them_does_not() -> None:
    hours = BY_ADDRESS[OFFICE_HOURS]
    codes = [(why_not(hours, value) or {"code": "may be set"})["code"] for value in (-1, 0, 8784, 8785, 2000.5)]
    assert codes == ["figures.outside", "may be set", "may be set", "figures.outside", "figures.not-whole"]
    said = why_not(hours, 8785)
    assert said is not None
    assert (
        say(said["code"], said["facts"])
        == "Hours lit a year, where nobody said: 8785 cannot be; it must lie between 0 h and 8,784 h."
    )


def test_what_phones_judge_by_may_not_be_set() -> None:
    """A phone that has not pulled the change would give another verdict than the server."""
    assert {figure.table for figure in SETTABLE}.isdisjoint(JUDGED_BY_PHONES)
    fixed = [figure for figure in FIGURES if figure.table in JUDGED_BY_PHONES]
    laid, not_used = with_site_values(tables(), [own(figure, figure.value) for figure in fixed])
    assert laid == dict(tables())
    assert {each["code"] for each in not_used} == {"figures.fixed"}
    assert len(not_used) == len(fixed)


# -- laid over the tables


def test_a_value_that_cannot_be_leaves_the_table_as_it_is_and_is_named() -> None:
    hours = BY_ADDRESS[OFFICE_HOURS]
    gone = replace(own(hours, 1000), row="office of the future", record="gone")
    laid, not_used = with_site_values(tables(), [own(hours, 9000), gone])
    assert laid == dict(tables())
    assert [(each["record"], each["code"]) for each in not_used] == [
        ("gone", "figures.unknown"),
        ("r", "figures.outside"),
    ]


def test_a_value_laid_over_changes_its_figure_and_no_other() -> None:
    before = copy.deepcopy(dict(tables()))
    for figure in SETTABLE[::7]:
        laid, not_used = with_site_values(tables(), [own(figure, another(figure))])
        now = {each.address: each.value for each in figures(laid)}
        assert not not_used
        assert {address for address, value in now.items() if value != BY_ADDRESS[address].value} == {figure.address}
    assert tables() == before


def test_two_values_in_one_row_both_stand() -> None:
    values = [
        own(BY_ADDRESS["spaces", "office-open", name], value)
        for name, value in (("hours_year", 1800), ("w_ft2/2021-space-by-space", 0.7))
    ]
    laid, _ = with_site_values(tables(), values)
    row = laid["spaces"]["rows"][0]
    assert (row["hours_year"], row["w_ft2"]["2021-space-by-space"]) == (1800, 0.7)
    assert [note["figure"] for note in row["site_values"]] == ["hours_year", "w_ft2/2021-space-by-space"]


# -- said wherever it is used

ABOUT = (
    "T8 · 4-ft · 32 · G13",
    "T8 · 4-ft · 32 · G13 · electronic",
    "recessed-troffer · prismatic-lens",
    "office-open",
    "whole table",
    "daylight",
    "dimming",
    "indoors · 1000",
)
BODIES = {
    "as surveyed": body(),
    "by target, hours of the space, controls": body(
        settings={"light_policy": "meet-the-target-of-the-space", "light_ceiling_pct": 300},
        room={"hours": None},
        group={"duty": {"control_now": "daylight", "control_wanted": "dimming"}},
        kind={"housing": {"optic_state": "yellowed"}},
    ),
    "by the other standard": body(
        settings={
            "light_policy": "meet-the-target-of-the-space",
            "light_standard": "model-set-points-after-ies-recommendations-2019",
        }
    ),
    "fed from a neighbour": body(kind={"wiring": {"neighbour_leads": "ballast-here-feeds-the-neighbour"}}),
}


@pytest.mark.parametrize("name", BODIES)
def test_a_plan_names_every_site_value_that_changes_it(name: str) -> None:
    """Each figure of the rows that the body is about, and some of others, is set alone: where the plan comes out otherwise, it says so."""
    some, changed, in_vain = BODIES[name], 0, 0
    plain = without_what_says_so(plan_group(some))
    for figure in [each for place, each in enumerate(SETTABLE) if each.row in ABOUT or place % 15 == 0]:
        laid, _ = with_site_values(tables(), [own(figure, another(figure))])
        found = plan_group(replace(some, tables=laid))
        named = [each["facts"]["figure"] for each in found["site_values"]]
        if without_what_says_so(found) != plain:
            assert named == [figure.name], figure
            changed += 1
        else:
            in_vain += bool(named)
    assert changed >= 6
    assert in_vain <= 3, "it says that figures were used that were not"


def test_the_sentence_says_who_when_why_and_what_it_was() -> None:
    laid, _ = with_site_values(tables(), [own(BY_ADDRESS[OFFICE_HOURS], 1800, reason="closed on Fridays")])
    (note,) = plan_group(replace(body(room={"hours": None}), tables=laid))["site_values"]
    assert say(note["code"], note["facts"]) == (
        "Hours lit a year, where nobody said (office open): 1,800 h instead of 2,475 h, set for this site by Mara on 2026-03-01: closed on Fridays"
    )


def test_a_changed_figure_is_planned_anew_as_from_scratch() -> None:
    """Light out of prismatic troffers: the plans that rest on it change, and taking over from before hides none."""
    records = demo_records()
    first = make_plans(records)
    value = own(BY_ADDRESS["bodies", "recessed-troffer · prismatic-lens", "bars_share"], 0.7)
    again, scratch = make_plans(records, 1, first, [value]), make_plans(records, own=[value])
    assert again.plans == scratch.plans
    changed = [id for id, plan in again.plans.items() if plan != first.plans[id]]
    assert changed
    assert len(changed) < len(first.plans)
    assert all(again.plans[id]["site_values"] for id in changed)
    assert make_plans(records, 2, again).plans == first.plans


# -- the choice of standard and code


def test_each_space_has_a_target_of_both_standards_or_says_that_there_is_none() -> None:
    for row in tables()["spaces"]["rows"]:
        assert [target["standard"] for target in row["targets"]] == list(SETTINGS["light_standard"].choices), row[
            "space"
        ]
        assert all((target["lux"] is None) == (target["row"] == "no row") for target in row["targets"]), row["space"]
        assert {"none", *row["w_ft2"]} == set(SETTINGS["power_density_code"].choices), row["space"]


@pytest.mark.parametrize(
    ("settings", "lux", "assumed"),
    [
        ({}, 538, True),
        ({"light_standard": "en-12464-1-2021"}, 500, False),
        ({"light_standard": "model-set-points-after-ies-recommendations-2019"}, 414, False),
    ],
)
def test_the_standard_that_the_site_chose_gives_the_target(settings: dict[str, str], lux: int, assumed: bool) -> None:
    found = plan_group(body(settings={"light_policy": "meet-the-target-of-the-space", **settings}))["wanted"]
    assert (found["target_lux"], found["assumed"]) == (lux, ["whose targets count"] if assumed else [])
    assert f"Light wanted: {lux} lx by {choice_text(found['standard'])}, row " in say(found["code"], found)
    assert ("nobody chose: whose targets count" in say(found["code"], found)) == assumed
    assert found["standard_row"]
    assert found["source"]
    assert found["how_known"] == "read"


def test_where_the_chosen_standard_has_no_row_no_other_is_taken_in_its_place() -> None:
    settings = {
        "light_policy": "meet-the-target-of-the-space",
        "light_standard": "model-set-points-after-ies-recommendations-2019",
    }
    found = plan_group(body(settings=settings, room={"identity": {"space_type": "dining"}}))
    assert found["wanted"]["missing"] == ["target of the space by the standard that was chosen"]
    assert found["state"] != "ready"
