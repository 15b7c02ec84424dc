"""Values within one facet that cannot stand together are refused, with field, value and what would be right."""

from __future__ import annotations

import itertools
import json
import subprocess
from pathlib import Path
from random import Random
from typing import Any

import pytest
from tests.open_points.planting import vectors
from tests.planning.demo_records import SITE, AnyPicture
from tests.support import machine

from spanwalk import records
from spanwalk.reference import tables
from spanwalk.rules.combinations import RULES, broken, rows_of
from spanwalk.services.demo.building import expand
from spanwalk.services.demo.making import read_demo
from spanwalk.words import say, words

CASES = {case["name"]: case for case in vectors("combinations")["cases"]}
ROWS = tables()["combinations"]["rows"]
DRAWN = 400


def found_in(type_name: str, facet: str, value: dict[str, Any]) -> list[dict[str, Any]]:
    return broken(value, rows_of(type_name, facet, tables()), records.told_fields(type_name, facet))


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_what_cannot_stand_together_is_found(case: dict[str, Any]) -> None:
    assert found_in(case["type"], case["facet"], case["value"]) == case["found"]


def row_name(row: dict[str, Any]) -> str:
    return f"{row['type']}.{row['facet']}.{row['field']} {row['rule']}"


@pytest.mark.parametrize("row", ROWS, ids=row_name)
def test_each_row_names_fields_of_the_spec_and_has_a_case_each_way(row: dict[str, Any]) -> None:
    fields = records.told_fields(row["type"], row["facet"])
    assert {row[key] for key in ("field", "other", "volts") if key in row} <= set(fields)
    here = [case for case in CASES.values() if (case["type"], case["facet"]) == (row["type"], row["facet"])]
    code = f"combination.{row['rule']}"
    ways = {any((each["field"], each["code"]) == (row["field"], code) for each in case["found"]) for case in here}
    assert ways == {True, False}


def test_each_rule_is_used_and_has_a_sentence_with_all_its_facts() -> None:
    assert {row["rule"] for row in ROWS} == set(RULES)
    for case in CASES.values():
        for each in case["found"]:
            assert "{" not in words()[each["code"]].format(**each["facts"])


def test_the_sentence_says_what_would_be_right() -> None:
    (told,) = found_in("kind", "lamps", {"cap": "G13", "diameter": "T5"})
    assert say(told["code"], told["facts"]) == "Cap G13 does not go with Diameter T5; Diameter must then be T8 or T12."


def test_caps_and_diameters_are_those_of_the_table_of_sizes() -> None:
    (row,) = (each for each in ROWS if each["rule"] == "pairs")
    of_sizes: dict[str, set[str]] = {}
    for size in tables()["lamps"]["sizes"]:
        of_sizes.setdefault(size["cap"], set()).add(size["diameter"])
    assert {cap: set(right) for cap, right in row["pairs"].items()} == of_sizes


def test_seven_lamps_in_four_rows_cannot_even_be_said() -> None:
    """Nobody enters a number of lamps: it is rows times lamps end to end, so that it always goes with the rows."""
    lamps = records.spec().types["kind"].facets["lamps"].fields
    assert {name for name, field in lamps.items() if field.type == "integer"} == {"rows", "lamps_end_to_end", "tube_lm"}


def test_the_bounds_of_single_fields_refuse_the_rest() -> None:
    wrong = {
        ("kind", "ballast_space"): {"length_ticks": -1},
        ("room", "hours"): {"hours_year": 8785},
        ("kind", "lamps"): {"rows": 7},
    }
    for (type_name, facet), value in wrong.items():
        (found,) = records.check_values(type_name, facet, [value]).values()
        assert (found.code, found.facts["field"]) == ("number-outside", next(iter(value)))
    assert not records.check_values("room", "hours", [{"hours_year": 8784}])


def test_the_demo_building_and_its_catalogue_hold_nothing_impossible() -> None:
    files = read_demo()
    people = dict.fromkeys(("surveyor", "second surveyor", "crew", "manager", "owner"), SITE)
    operations = [each for each in expand(files.building, files.catalogue, SITE, people, AnyPicture()) if "to" in each]
    assert len(operations) > 500
    assert [each for each in operations if found_in(each["type"], each["facet"], each["to"])] == []


def drawn_values() -> list[dict[str, Any]]:
    """Values of the facets concerned, each field right by itself or left out, small numbers often, so that they meet."""
    rng = Random(11)
    facets = sorted({(row["type"], row["facet"]) for row in ROWS})
    found = []
    for (type_name, facet), _ in itertools.product(facets, range(DRAWN // len(facets))):
        fields = records.spec().types[type_name].facets[facet].fields
        value = {
            name: drawn
            for name, field in fields.items()
            if rng.random() < 0.85 and (drawn := draw(rng, field)) is not None
        }
        assert not [
            wrong for wrong in records.check_values(type_name, facet, [value]).values() if wrong.code != "field-missing"
        ], value
        found.append({"type": type_name, "facet": facet, "value": value})
    return found


def draw(rng: Random, field: records.Field) -> Any:
    low, high = int(field.min or 0), int(field.max or 0)
    near = min(high, low + rng.choice((3, 30, 300)))
    match field.type:
        case "choice":
            return rng.choice(field.choices)
        case "integer" | "length":
            return rng.randint(low, rng.choice((near, high)))
        case "decimal":
            number = rng.choice((rng.randint(low, near), round(rng.uniform(low, near), rng.randint(1, 4))))
            return int(number) if number == int(number) else number
        case "integers":
            return sorted(set(rng.choices(range(max(low, 1), near + 1), k=rng.randint(0, 4))))
    return None


COMPARE = """
import { readFileSync } from 'node:fs';
const [file, spec, table, module] = process.argv.slice(1);
const { broken, rowsOf } = await import(module);
const read = (path) => JSON.parse(readFileSync(path, 'utf8'));
const tables = { combinations: read(table) };
const { records } = read(spec);
const told = read(file).map(({ type, facet, value }) => broken(value, rowsOf(type, facet, tables), records[type].facets[facet].fields));
process.stdout.write(JSON.stringify(told));
"""


def test_page_and_server_find_the_same_in_drawn_values(tmp_path: Path) -> None:
    root, values = Path(__file__).resolve().parents[2], drawn_values()
    file = tmp_path / "values.json"
    file.write_text(json.dumps(values), encoding="utf-8")
    paths = ("server/spanwalk/spec/records.json", "seed_data/reference/combinations.json", "pwa/rules/combinations.js")
    run = [machine.node(), "--input-type=module", "-e", COMPARE, str(file), *(str(root / path) for path in paths)]
    page = json.loads(subprocess.run(run, capture_output=True, text=True, check=True, timeout=60).stdout)
    ours = [found_in(each["type"], each["facet"], each["value"]) for each in values]
    assert sum(map(bool, ours)) > DRAWN // 8
    assert page == ours
