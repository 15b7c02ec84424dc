"""The walk as a table that leaves with the manager the same evening."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest
from tests.open_points.complete_site import make_complete_site
from tests.support.server import Client, Server
from tests.support.specs import planted_spec

from spanwalk import records
from spanwalk.services.files import csv_out


@pytest.fixture
def rows(client: Callable[[str], Client]) -> list[dict[str, str]]:
    manager = client("manager")
    content = manager.get(f"/api/sites/{manager.site_id()}/walk.csv")
    assert content.startswith(b"\xef\xbb\xbf"), "a spreadsheet needs the mark to read accents"
    return list(csv.DictReader(StringIO(content.decode("utf-8-sig"))))


def test_each_group_has_a_line_and_rooms_without_groups_have_one_too(rows: list[dict[str, str]]) -> None:
    counted = [int(row["Fixture group: Count: Fixtures"]) for row in rows if row["Fixture group: Count: Fixtures"]]
    assert sum(counted) > 500
    assert any(not row["Fixture group: Count: Fixtures"] for row in rows)


def test_readings_stand_as_they_were_entered_and_in_millimetres(rows: list[dict[str, str]]) -> None:
    row = next(row for row in rows if "3/16" in row["Readings as entered"])
    entered = row["Readings as entered"].split("; ")
    in_mm = row["Readings [mm]"].split("; ")
    assert len(entered) == len(in_mm)
    place = next(n for n, text in enumerate(entered) if text.endswith(" 3/16"))
    whole = int(entered[place].split()[0])
    assert float(in_mm[place]) == pytest.approx(whole * 25.4 + 4.7625, abs=1e-9)


def test_a_new_field_of_the_spec_is_a_new_column() -> None:
    document = _spec_document()
    document["records"]["room"]["facets"]["identity"]["fields"]["wing"] = {"type": "text", "title": "Wing", "max": 20}
    with planted_spec(document):
        assert "Room: Room: Wing" in csv_out.headings()


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@now"])
def test_a_cell_that_a_spreadsheet_would_run_is_quoted(text: str) -> None:
    assert csv_out.cell(text) == f"'{text}"


def test_numbers_stay_numbers() -> None:
    assert csv_out.cell(-3) == -3


def _spec_document() -> dict[str, Any]:
    import json

    return json.loads(records.spec_text())


def test_a_trial_bar_stands_in_the_row_of_its_group(server: Server) -> None:
    site = make_complete_site(server)
    bar = next(
        each
        for each in site.hand.client.get(f"/api/sites/{site.hand.site}/pull?since=0&limit=500")["records"]
        if each["type"] == "catalogue_item"
    )
    site.hand.make(
        "trial_bar",
        site.group,
        {
            "position": 2,
            "row": 1,
            "cavity": 1,
            "bar": bar["id"],
            "number": 2,
            "went_in": "went-in-by-hand",
            "gap_ticks": 1312,
        },
    )
    content = site.hand.client.get(f"/api/sites/{site.hand.site}/walk.csv")
    (row,) = csv.DictReader(StringIO(content.decode("utf-8-sig")))
    assert row["Trial bars"] == "fixture 2 row 1 cavity 1: 2 × BAR-4 went in by hand, gap 4.1 mm"
