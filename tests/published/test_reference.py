"""Every figure of the reference tables says where it is from and how that is known."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from spanwalk.reference import HOW_KNOWN, ReferenceFaulty, check, load_tables, rows, tables

GOOD = {"value": 1, "source": "a table", "edition": "2", "how_known": "read"}


@pytest.mark.parametrize("name", sorted(tables()))
def test_each_row_has_its_source(name: str) -> None:
    found = list(rows(tables()[name]))
    for part, number, row in found:
        known = [value for key, value in row.items() if key.endswith("_how_known")] or [row["how_known"]]
        assert row["source"].strip(), f"{part} {number}"
        assert all(each.startswith(HOW_KNOWN) for each in known), f"{part} {number}: {known}"


@pytest.mark.parametrize("lacks", ["source", "edition", "how_known"])
def test_a_row_without_it_is_named(lacks: str) -> None:
    faulty = {key: value for key, value in GOOD.items() if key != lacks}
    with pytest.raises(ReferenceFaulty) as caught:
        check("spaces", {"targets": [GOOD, faulty]})
    assert (caught.value.table, caught.value.part, caught.value.row, caught.value.lacks) == (
        "spaces",
        "targets",
        2,
        lacks,
    )


def test_a_hunch_is_not_a_way_of_knowing() -> None:
    with pytest.raises(ReferenceFaulty):
        check("spaces", {"targets": [GOOD | {"how_known": "a hunch"}]})


def test_each_figure_of_a_row_may_say_it_for_itself() -> None:
    check(
        "spaces",
        {
            "targets": [
                GOOD | {"how_known": "see each figure", "lux_how_known": "read", "hours_how_known": "from memory"}
            ]
        },
    )
    with pytest.raises(ReferenceFaulty):
        check("spaces", {"targets": [GOOD | {"lux_how_known": "read", "hours_how_known": "a hunch"}]})


def test_a_faulty_file_is_found_when_the_folder_is_loaded(tmp_path: Path) -> None:
    (tmp_path / "good.json").write_text(json.dumps({"rows": [GOOD]}), encoding="utf-8")
    assert load_tables(tmp_path)["good"]["rows"] == [GOOD]
    broken: dict[str, Any] = {"rows": [{"value": 1}]}
    (tmp_path / "broken.json").write_text(json.dumps(broken), encoding="utf-8")
    with pytest.raises(ReferenceFaulty, match=r"broken, rows, row 1: source"):
        load_tables(tmp_path)
