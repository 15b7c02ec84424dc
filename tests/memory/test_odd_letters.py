"""A claim's letter of a failure that somebody wants to break: any script, formulas, two thousand photos, photos that are gone."""

from __future__ import annotations

from typing import Any, cast

import pypdfium2
from tests.handover.some_report import CountedStore

from spanwalk.services.memory.claims import claims_csv, claims_of
from spanwalk.services.memory.letter import letter
from spanwalk.services.memory.told import Remembered

STEP = {
    "id": "s",
    "state": "claim-refused",
    "on": "2028-01-20",
    "by": "@SUM(A1)",
    "reference": "",
    "note": "-2+3",
    "attachment": "",
}


def a_fixture(**more: Any) -> Remembered:
    failure = {
        "id": "f", "on": "2028-01-10", "sign": "dark", "item": "", "serials": "", "hours": None, "note": "", "replaced": "",
        "replaced_item": "", "replaced_serials": "", "replaced_on": "", "claim": "", "steps": [], "photos": [],
    } | more  # fmt: skip
    fixture = {
        "group": "g", "position": 1, "code": "", "floor_name": "", "room_name": "教室 <script>alert(1)</script>", "mark": "=1+1",
        "access": "ladder", "state": "done", "fitted_on": "", "firm": "", "call": "", "release": None, "items": None,
        "takes_no_lamps": True, "wiring": [], "emergency": False, "hours_year": None, "failures": [failure], "cautions": [],
    }  # fmt: skip
    return cast("Remembered", fixture)


def text_of(data: bytes) -> str:
    return " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data)).replace("\r\n", " ")


def made(fixture: Remembered, store: Any = None) -> bytes:
    return letter("שלום", False, fixture, "f", store or CountedStore(), "2028-02-01")


def test_what_cannot_be_printed_is_said_to_be_so_and_nothing_is_run() -> None:
    data = made(a_fixture(note="x" * 2000))
    text = text_of(data)
    assert "The sign □ stands for a letter that cannot be printed here" in text
    assert "<script>alert(1)</script>" in text
    assert text.replace(" ", "").replace("\ufffe", "").count("x") >= 2000
    assert not [name for name in (b"/JavaScript", b"/JS", b"/OpenAction", b"/Launch") if name in data]


def test_of_two_thousand_photos_some_are_shown_and_the_rest_is_counted() -> None:
    photos = [f"{number:064x}" for number in range(2000)]
    store = CountedStore()
    data = made(a_fixture(photos=photos), store)
    assert len(data) < 2_000_000
    assert len(store.asked) == 24
    assert "Photos more that are not shown here: 1976" in text_of(data)


def test_a_photo_that_is_gone_is_said_to_be() -> None:
    assert "Not arrived yet" in text_of(made(a_fixture(photos=["a" * 64]), CountedStore(missing=frozenset(["a" * 64]))))


def test_a_table_of_claims_runs_nothing_in_a_spreadsheet() -> None:
    text = claims_csv(claims_of([a_fixture(steps=[STEP])]))
    (_, row) = text.splitlines()
    assert ",'@SUM(A1)," in row
    assert row.endswith(",'-2+3")
    assert "'=1+1, fixture 1" in row
