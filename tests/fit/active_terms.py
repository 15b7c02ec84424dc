"""Which terms of a judgement change its numbers: each is left out in turn, and the numbers are looked at again."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from spanwalk.rules.fit.bar_rows import bar_of
from spanwalk.rules.fit.cavity import Cavity, Sample, Spread, trusted_cavity
from spanwalk.rules.fit.fit import Surroundings, fit_row
from spanwalk.rules.fit.sampling import sample_of
from spanwalk.rules.judging.judging import surroundings

Json = Any
Case = dict[str, Json]
Row = list[dict[str, Json]]
OF_A_BAR = {
    "bar length": ("length_ticks", 0),
    "tolerance": ("tolerance_ticks", 0),
    "joints": ("joint_ticks", 0),
    "end gaps": ("end_gap_ticks", 0),
    "cover": ("cover", "none"),
    "warmth of the lit bar": ("rise_k", 0),
}
OF_THE_PLACE = {
    "hot change": {"hottest_c": 20},
    "cold change": {"coldest_c": 20},
    "housing by material": {"material": "steel"},
}
OF_THE_SAMPLE: dict[str, Callable[[Sample], Json]] = {
    "prediction limit": lambda sample: {"population": sum(each.inside for each in sample.cavities)},
    "spread pooled by kind": lambda sample: {"elsewhere": Spread(0, 0)},
    "floor of the spread, the site's": lambda sample: {"spread_floor_ticks": 0},
    "floor of the spread, the tape's division": lambda sample: _each(sample, graduation_ticks=0),
    "uncertainty of the shortest": lambda sample: _each(sample, expanded_ticks=0),
    "systematic part of the uncertainty": lambda sample: _each(sample, systematic_ticks=0),
    "cavities that are not among those counted": lambda sample: _each(sample, inside=True),
    "lamp as a gauge": lambda sample: {"lamp_ticks": None},
    "gauge that goes": lambda sample: {"gauged_ticks": ()},
    "gauge that does not go": lambda sample: {"stopped_ticks": ()},
    "two-makes-seen": lambda sample: {"alike": "yes"},
    "readings that wait for an answer": lambda sample: {"asked": 0},
}
OF_THE_RECORDS: dict[str, Callable[[Case], None]] = {
    "pair set aside": lambda case: _forget(case, "set_aside"),
    "voided reading": lambda case: _forget(case, "voided"),
    "reading in question, or read wrong": lambda case: _confirm(case),
    "repeated readings": lambda case: _read_once(case),
    "fixtures gone": lambda case: case["group"]["facets"].get("count", {}).pop("gone", None),
    "lamps end to end": lambda case: case["kind"]["facets"]["lamps"].update(lamps_end_to_end=1),
    "spring-back, the site's": lambda case: case["site"]["facets"]["settings"].pop("spring_back_ticks", None),
    "spring-back, from five pairs": lambda case: case["kind"]["facets"].pop("spring_back", None),
    "housing of this group": lambda case: case["group"]["facets"].pop("differs", None),
}
TERMS = (*OF_A_BAR, *OF_THE_PLACE, *OF_THE_SAMPLE, *OF_THE_RECORDS)


def active_terms(case: Case, bars: list[str], tables: Mapping[str, Json]) -> set[str]:
    """Terms without which the trusted cavity or the clearance of these bars would be another.

    Parameters
    ----------
    case : dict
        Arguments of `judge_group` by name.
    bars : list of str
        Ids of the bars of a row, in order; may be empty: then the cavity alone is looked at.
    tables : mapping
        Reference tables.
    """
    by_id = {item["id"]: dict(bar_of(item)) for item in case["bars"]}
    row = [by_id[ident] for ident in bars]
    sample, around = _known(case, tables)
    found = _numbers(sample, row, around, tables)
    without = {
        **{name: (sample, [bar | {key: value} for bar in row], around) for name, (key, value) in OF_A_BAR.items()},
        **{name: (sample, row, replace(around, **change)) for name, change in OF_THE_PLACE.items()},
        **{name: (replace(sample, **change(sample)), row, around) for name, change in OF_THE_SAMPLE.items()},
    }
    for name, forget in OF_THE_RECORDS.items():
        other = case | {key: copy.deepcopy(case[key]) for key in ("group", "kind", "site", "readings", "kind_readings")}
        forget(other)
        if any(other[key] != case[key] for key in ("group", "kind", "site", "readings", "kind_readings")):
            known, there = _known(other, tables)
            without[name] = (known, row, there)
    here = (sample, row, around)
    return {name for name, other in without.items() if other != here and _numbers(*other, tables) != found}


def _known(case: Case, tables: Mapping[str, Json]) -> tuple[Sample, Surroundings]:
    sample = sample_of(case["group"], case["kind"], case["site"], case["readings"], case["kind_readings"], tables)
    around, _ = surroundings(case["group"], case["kind"], case["room"], case["site"], tables)
    return sample, around


def _numbers(sample: Sample, row: Row, around: Surroundings, tables: Mapping[str, Json]) -> tuple[Json, ...]:
    trusted = trusted_cavity(sample, tables["prediction"])
    fit = (
        fit_row(trusted, row, around, tables["expansion"])
        if row
        else {"verdict": None, "clearance_ticks": None, "terms": {}}
    )
    return (
        trusted["status"],
        trusted["trusted_ticks"],
        fit["verdict"],
        fit["clearance_ticks"],
        fit["terms"].get("nominal_clearance_ticks"),
    )


def _each(sample: Sample, **change: Json) -> dict[str, tuple[Cavity, ...]]:
    return {"cavities": tuple(replace(each, **change) for each in sample.cavities)}


def _forget(case: Case, facet: str) -> None:
    for reading in case["readings"]:
        reading["facets"].pop(facet, None)


def _confirm(case: Case) -> None:
    for reading in case["readings"]:
        reading["facets"]["confirmed"] = {"answer": "it-is-what-the-tape-shows"}


def _read_once(case: Case) -> None:
    first: dict[tuple[int, int, int], Json] = {}
    for reading in case["readings"]:
        identity = reading["facets"]["identity"]
        first.setdefault((identity["position"], identity["row"], identity["cavity"]), reading)
    case["readings"] = list(first.values())
