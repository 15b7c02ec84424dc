"""What a closed site tells by kind: sums of whole numbers, and nothing by which it could be known."""

from __future__ import annotations

import json
from typing import Any

import pytest

from spanwalk.reference import tables
from spanwalk.rules.learning.light_pairs import light_pairs
from spanwalk.rules.learning.site_numbers import numbers_of_site
from spanwalk.rules.learning.table import learning_table
from spanwalk.rules.survey import Survey

Json = Any
FACTORS = tables()["prediction"]


def record(type_name: str, name: str, parent: str | None, **facets: Json) -> Json:
    return {
        "id": name,
        "type": type_name,
        "parent": parent,
        "removed": False,
        "facets": facets,
        "conflicts": [],
        "seqs": {},
    }


def site(name: str = "An invented yard", lengths: tuple[int, ...] = (384_000, 384_320, 384_640)) -> list[Json]:
    lamps = {
        "fitted": "fluorescent",
        "diameter": "T8",
        "cap": "G13",
        "nominal_ft": "4-ft",
        "rows": 2,
        "lamps_end_to_end": 1,
    }
    kind = {"lamps": lamps, "housing": {"body": "strip"}, "ballast": {"made": "1988"}}
    found = [
        record("site", "s", None, identity={"name": name}),
        record("floor", "f", "s", identity={"name": "Ground"}),
        record("room", "r", "f", identity={"number": "1"}, ceiling={"access": "ladder"}),
        record("kind", "k", "s", identity={"mark": "K1", "title": "Invented strip"}, **kind),
        record("group", "g", "r", identity={"kind": "k"}, count={"count": 5, "dark_lamps": 3}),
    ]
    for at, length in enumerate(lengths, 1):
        said = {"position": at, "row": 1, "cavity": 1, "length_ticks": length, "instrument": "tape-class-ii"}
        found.append(record("cavity_reading", f"c{at}", "g", identity=said))
    for at, (outcome, more) in enumerate(
        [("done", {"minutes": 20}), ("done", {"minutes": 30}), ("problem", {"reason": "bar-does-not-go-in"})], 1
    ):
        noted = {"position": at, "outcome": outcome, **more}
        found.append({**record("installation", f"i{at}", "g", identity=noted), "seqs": {"identity": at}})
    waste = {
        "sort": "lamps-out",
        "number": 50,
        "broken": 2,
        "collected_on": "2026-05-01",
        "collected_by": "An invented yard",
    }
    found.append(record("waste_collection", "w", "s", identity=waste))
    return found


def numbers(records: list[Json], light: Json = ()) -> dict[tuple[str, str], Json]:
    return {(each["of"], each["key"]): each for each in numbers_of_site(Survey(records), tables(), light)}


def test_each_number_is_under_every_name_of_its_kind() -> None:
    found = numbers(site())
    keys = ["T8/4-ft", "T8/4-ft/strip", "T8/4-ft/strip/1980-1994"]
    assert [key for of, key in found if of == "spread"] == keys
    assert {key for of, key in found if of == "minutes"} == {f"{key}/ladder" for key in keys}


def test_the_sums_are_those_by_hand() -> None:
    """384,000, 384,320, 384,640: 2 × 320² about their mean; 20 and 30 minutes; 3 of 10 lamps dark; one of three fixtures."""
    found = numbers(site())
    spread, minutes = found["spread", "T8/4-ft"], found["minutes", "T8/4-ft/ladder"]
    assert (spread["squares"], spread["degrees"], spread["n"]) == (204_800, 2, 3)
    assert (minutes["n"], minutes["total"], minutes["squares"]) == (2, 50, 1300)
    assert (found["dark", "T8/4-ft"]["n"], found["dark", "T8/4-ft"]["total"]) == (10, 3)
    assert (found["misfit", "T8/4-ft"]["n"], found["misfit", "T8/4-ft"]["total"]) == (3, 1)
    assert (found["breakage", "all"]["n"], found["breakage", "all"]["total"]) == (50, 2)


def test_measured_light_stands_against_the_forecast_as_a_logarithm() -> None:
    """300 lx against 250 lx: 1000 ln 1.2 = 182.3."""
    found = numbers(site(), [("k", 250.0, 300.0), ("k", 250.0, 0.0), ("no-kind", 250.0, 300.0)])
    assert found["light", "T8/4-ft"] == {
        "of": "light",
        "key": "T8/4-ft",
        "n": 1,
        "total": 182,
        "squares": 182**2,
        "degrees": 0,
    }


def test_lamps_that_broke_are_told_of_a_kind_where_all_of_a_collection_were_of_it() -> None:
    """50 lamps, 2 broken, of nobody knows which kinds; 20 lamps, 3 broken, all of K1: together 70 and 5, of K1 20 and 3."""
    of_kind = {"sort": "lamps-out", "number": 20, "broken": 3, "kind": "k", "collected_on": "2026-05-02"}
    found = numbers([*site(), record("waste_collection", "w2", "s", identity=of_kind)])
    told = {key: (each["n"], each["total"]) for (of, key), each in found.items() if of == "breakage"}
    assert told == {
        "all": (70, 5),
        "T8/4-ft": (20, 3),
        "T8/4-ft/strip": (20, 3),
        "T8/4-ft/strip/1980-1994": (20, 3),
    }


def lit_room(points: dict[str, float], done: int = 5, **more: Json) -> Survey:
    """A room of one group of five fixtures, so many of them done, with light read at points after the work."""
    records = [each for each in site() if each["type"] not in ("installation", "cavity_reading")]
    for at in range(1, done + 1):
        noted = {"position": at, "outcome": "done"}
        records.append({**record("installation", f"i{at}", "g", identity=noted), "seqs": {"identity": at}})
    for point, lux in points.items():
        told = {"point": point, "lux": lux, "when": "after", "read_at": "2026-05-03T10:00:00Z", **more}
        records.append(record("lux_reading", f"l{point}", "r", identity=told))
    return Survey(records)


def test_the_forecast_of_a_release_stands_against_the_mean_of_what_was_read_after_the_work() -> None:
    assert list(light_pairs(lit_room({"A1": 280, "A2": 320}), {"g": 250.0})) == [("k", 250.0, 300.0)]


@pytest.mark.parametrize(
    ("survey", "forecast"),
    [
        (lit_room({"A1": 280}), {}),
        (lit_room({"A1": 280}, done=4), {"g": 250.0}),
        (lit_room({"A1": 280}, daylight="not-excluded"), {"g": 250.0}),
        (lit_room({"A1": 280}, group="g"), {"g": 250.0}),
        (lit_room({"A1": 280}, when="before"), {"g": 250.0}),
        (lit_room({}), {"g": 250.0}),
    ],
    ids=["no forecast", "a fixture left", "daylight", "under one fixture", "before the work", "nothing read"],
)
def test_a_room_that_tells_nothing_of_the_forecast_is_left_out(survey: Survey, forecast: dict[str, float]) -> None:
    assert list(light_pairs(survey, forecast)) == []


def test_a_room_of_two_kinds_tells_nothing_of_either() -> None:
    survey = lit_room({"A1": 280})
    other = [
        record("kind", "k2", "s", identity={"mark": "K2", "title": "Another"}),
        record("group", "g2", "r", identity={"kind": "k2"}, count={"count": 1}),
    ]
    records = [*survey.by_id.values(), *other]
    assert list(light_pairs(Survey(records), {"g": 250.0, "g2": 50.0})) == []


def test_nothing_of_it_tells_which_site_it_was() -> None:
    one, other = numbers(site("An invented yard")), numbers(site("Another invented yard"))
    assert one == other
    told = json.dumps(list(one.values()))
    assert [each for each in ("invented", "yard", "Ground", "K1", "2026") if each in told] == []


def test_a_site_where_nothing_was_read_or_fitted_tells_nothing() -> None:
    bare = [each for each in site() if each["type"] not in ("cavity_reading", "installation", "waste_collection")]
    bare[-1]["facets"]["count"] = {"count": 5}
    assert numbers(bare) == {}


def test_the_table_tells_a_row_only_of_five_sites() -> None:
    sites = [list(numbers(site(lengths=(384_000, 384_320 + 32 * at, 384_640))).values()) for at in range(5)]
    four = {(row["of"], row["key"]): row for row in learning_table(sites[:4], FACTORS)}
    five = {(row["of"], row["key"]): row for row in learning_table(sites, FACTORS)}
    assert {row["value"] for row in four.values()} == {None}
    assert five["minutes", "T8/4-ft/ladder"]["value"] == 25
    assert five["dark", "T8/4-ft"]["value"] == 0.3
    assert five["dark", "T8/4-ft"]["apart"] == 0
    assert five["breakage", "all"]["value"] == 0.04
    spread = five["spread", "T8/4-ft"]
    assert (spread["sites"], spread["readings"]) == (5, 15)
    assert spread["readings_with"] < spread["readings_without"]
