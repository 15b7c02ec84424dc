"""A part that was replaced is told as taken out, and a later failure is one of what came in its place."""

from __future__ import annotations

from datetime import date
from typing import Any

from tests.planning.invented_site import invented_site

from spanwalk.rules.installing.replaced import by_code
from spanwalk.rules.survey import Survey
from spanwalk.services.labels.scanned_by_anyone import shown_of
from spanwalk.services.memory.letter import failed, warranty_sentence
from spanwalk.services.memory.remembering import Memory, left_of, may_have
from spanwalk.services.memory.told import Remembered

FITTED, TODAY = "2026-04-02", date(2032, 2, 2)
HERON = {"kind": "driver", "code": "HERON-30", "number": 1, "serials": ["H-1"]}
TERN = {"kind": "bar", "code": "TERN-4", "number": 2}
YEARS = 5
KINDS = {"TERN-4": "bar", "HERON-30": "driver"}
CARD = {
    "rows": [{"row": 1, "cavities": 2, "bars": [{"name": "TERN-4"}]}],
    "driver": {"name": "HERON-30", "number": 1, "setting_ma": 700},
}


def record(id: str, type: str, parent: str, **facets: Any) -> dict[str, Any]:
    return {"id": id, "type": type, "parent": parent, "removed": False, "facets": facets, "conflicts": []}


def failure(group: str, id: str, on: str, item: str, serials: str, put_in: dict[str, str]) -> dict[str, Any]:
    said = {"position": 1, "sign": "dark", "noted_at": f"{on}T09:00:00Z", "item": item, "serials": serials}
    replaced = {"how": "bought", "item": item, **put_in} if put_in else {}
    return record(id, "failure", group, identity=said, replaced=replaced)


def remembered(*failures: tuple[Any, ...], items: tuple[dict[str, Any], ...] = (TERN, HERON)) -> Remembered:
    """The first fixture of an invented site, with what was fitted in it and what failed since."""
    site = invented_site(1)
    group = next(each["id"] for each in site if each["type"] == "group")
    said = {"position": 1, "outcome": "done", "noted_at": f"{FITTED}T09:00:00Z"}
    fitted = {"as_released": False, "items": [dict(each) for each in items]}
    card = {"number": 1, "release": "", "frozen": CARD}
    released = record("c", "conversion", group, identity=card)
    noted = record("noted", "installation", group, identity={**said, "conversion": "c"}, as_fitted=fitted)
    rows = {
        code: record(
            code,
            "catalogue_item",
            site[0]["id"],
            identity={"code": code, "item": KINDS[code]},
            supply={"warranty_years": YEARS},
        )
        for code in ("TERN-4", "HERON-30")
    }
    told = [failure(group, *each) for each in failures]
    survey = Survey([*site, *rows.values(), released, noted, *told])
    return Memory(survey, rows, {}, {}, TODAY).one(group, 1)  # type: ignore[arg-type]


FIRST = ("f1", "2028-01-10", "HERON-30", "H-1", {"serials": "H-2", "on": "2028-01-12"})
SECOND = ("f2", "2031-06-01", "HERON-30", "", {})


def out(told: Remembered) -> list[tuple[str, list[str], list[str]]]:
    return [(each["code"], each["serials"], [gone["on"] for gone in each["taken_out"]]) for each in told["items"] or ()]


def test_what_was_replaced_is_told_as_taken_out_and_what_replaced_it_stays() -> None:
    assert out(remembered(FIRST)) == [
        ("TERN-4", [], []),
        ("HERON-30", ["H-1"], ["2028-01-12"]),
        ("HERON-30", ["H-2"], []),
    ]


def test_a_later_failure_is_of_the_new_part_and_claims_its_warranty() -> None:
    """The first driver's warranty is over since 2031-04-02; the second one's runs until 2033."""
    told = remembered(FIRST, SECOND)
    later, first = told["failures"]
    assert [each["serials"] for each in failed(told, first)] == [["H-1"]]
    (item,) = failed(told, later)
    assert (item["serials"], item["fitted_on"]) == (["H-2"], "2028-01-12")
    assert "2033-01-12" in warranty_sentence(item, later["on"])


def test_a_failure_that_names_a_number_is_of_the_part_with_that_number() -> None:
    bars = {**TERN, "serials": ["LOT-7"]}
    one = ("f1", "2028-01-10", "TERN-4", "", {"serials": "LOT-9", "on": "2028-01-12"})
    told = remembered(one, ("f2", "2029-01-01", "TERN-4", "LOT-9", {}), items=(bars,))
    (item,) = failed(told, told["failures"][0])
    assert item["serials"] == ["LOT-9"]
    unknown = remembered(one, ("f2", "2029-01-01", "TERN-4", "", {}), items=(bars,))
    assert [each["serials"] for each in failed(unknown, unknown["failures"][0])] == [["LOT-7"], ["LOT-9"]]


def test_one_of_two_bars_that_was_replaced_leaves_the_other() -> None:
    one = ("f1", "2028-01-10", "TERN-4", "", {"serials": "", "on": "2028-01-12"})
    assert [len(each["taken_out"]) for each in remembered(one)["items"] or ()] == [1, 0, 0]
    twice = remembered(one, ("f2", "2028-02-10", "TERN-4", "", {"serials": "", "on": "2028-02-12"}))
    assert [len(each["taken_out"]) for each in twice["items"] or ()] == [2, 0, 0, 0]


def test_a_part_that_was_taken_out_is_not_looked_for_where_its_number_is_not_known() -> None:
    bare = {key: value for key, value in HERON.items() if key != "serials"}
    assert may_have([remembered(items=(bare,))], ["heron-30"])
    replaced = ("f1", "2028-01-10", "HERON-30", "", {"serials": "H-2", "on": "2028-01-12"})
    assert may_have([remembered(replaced, items=(bare,))], ["heron-30"]) == []


def test_a_part_is_out_though_nobody_noted_what_came_in_its_place() -> None:
    bare = ("f1", "2028-01-10", "HERON-30", "H-1", {"item": "", "on": "2028-01-12"})
    told = remembered(bare)
    assert out(told) == [("TERN-4", [], []), ("HERON-30", ["H-1"], ["2028-01-12"])]
    assert not told["wired_as_released"]


def test_how_it_is_wired_is_told_where_what_is_in_it_is_what_was_released() -> None:
    assert remembered()["wired_as_released"]
    assert remembered(FIRST)["wired_as_released"], "the same driver anew"


def test_how_it_is_wired_is_not_known_where_something_else_is_in_it() -> None:
    other = ("f1", "2028-01-10", "HERON-30", "H-1", {"item": "HERON-31", "on": "2028-01-12"})
    assert not remembered(other)["wired_as_released"]
    assert not remembered(items=(TERN,))["wired_as_released"]
    assert not remembered(items=({**TERN, "number": 3}, HERON))["wired_as_released"]
    assert not remembered(items=(TERN, {**HERON, "setting_ma": 900}))["wired_as_released"]
    assert remembered(items=(TERN, {**HERON, "setting_ma": 700}))["wired_as_released"]


def fitted_and_failed(*failures: dict[str, Any]) -> tuple[list[str], list[str]]:
    """What is in a fixture by the scan of anyone, and by its memory: a driver whose successor is named by the catalogue."""
    site = invented_site(1)
    group = next(each for each in site if each["type"] == "group")
    rows = [
        record("c1", "catalogue_item", site[0]["id"], identity={"code": "HERON-30", "item": "driver"}, retired={"retired": True, "replaced_by": "HERON-40"}),
        record("c2", "catalogue_item", site[0]["id"], identity={"code": "HERON-40", "item": "driver"}),
    ]  # fmt: skip
    said = {"position": 1, "outcome": "done", "noted_at": f"{FITTED}T09:00:00Z", "conversion": "c"}
    released = record("c", "conversion", group["id"], identity={"number": 1, "release": "", "frozen": CARD})
    noted = record(
        "noted",
        "installation",
        group["id"],
        identity=said,
        as_fitted={"as_released": False, "items": [dict(TERN), dict(HERON)]},
    )
    told = [
        record(
            f"f{at}",
            "failure",
            group["id"],
            identity={"position": 1, "sign": "dark", **each["said"]},
            replaced=each["put"],
        )
        for at, each in enumerate(failures)
    ]
    survey = Survey([*site, *rows, released, noted, *told])
    catalogue = by_code(survey.of_type("catalogue_item"))
    remembered = Memory(survey, catalogue, {}, {}, TODAY).one(group["id"], 1)
    left = [f"{left_of(each)} {each['code']}" for each in remembered["items"] or () if left_of(each) > 0]
    shows = {**survey.site(), "facets": {**survey.site()["facets"], "anyone": {"shows": ["what-fits"]}}}
    shown = shown_of(shows, survey, survey.by_id[group["id"]], 1, "CODE")  # type: ignore[arg-type]
    assert shown is not None
    return [f"{each['number']} {each['code']}" for each in shown["items"] or ()], left


def test_whoever_scans_reads_what_is_remembered_where_a_successor_was_put_in_and_nobody_said_for_what() -> None:
    successor = {"said": {}, "put": {"how": "bought", "item": "HERON-40", "on": "2030-01-12"}}
    anyone, memory = fitted_and_failed(successor)
    assert anyone == memory == ["2 TERN-4", "1 HERON-40"]


def test_a_failure_of_which_nobody_said_what_was_put_in_for_what_takes_nothing_out() -> None:
    anyone, memory = fitted_and_failed({"said": {}, "put": {"how": "bought", "on": "2030-01-12"}})
    assert anyone == memory == ["2 TERN-4", "1 HERON-30"]


def test_a_successor_that_failed_too_leaves_the_newest_one() -> None:
    first = {"said": {}, "put": {"how": "bought", "item": "HERON-40", "on": "2030-01-12"}}
    then = {"said": {"item": "HERON-40"}, "put": {"how": "under-warranty", "item": "HERON-40", "on": "2031-01-12"}}
    anyone, memory = fitted_and_failed(first, then)
    assert anyone == memory == ["2 TERN-4", "1 HERON-40"]
