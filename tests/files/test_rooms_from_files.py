"""Room lists from files: matched, shown before anything is written, accepted, brought again, taken back."""

from __future__ import annotations

import pytest
from tests.files.bringing import Bringer, codes, csv_text, xlsx

HEADS = ["Floor", "Room number", "Room name", "Length [ft]", "Width [ft]", "Ceiling height", "Hours lit a year"]
ROWS = [
    ["Ground", "101", "Gate", 30, 20.5, "9 ft 6 in", 3000],
    ["Ground", "102", "Café “Süd”", 24, 18, "2.8 m", 2600],
    ["First", "201", "Loft", 40, 25, "3150 mm", None],
]
TICKS_PER_FOOT = 12 * 8128  # 304.8 mm of 320 ticks


def many(number: int) -> list[list[object]]:
    """Rooms on floors of 30, with sizes in feet."""
    return [HEADS] + [
        [f"Level {at // 30}", f"{at // 30}{at % 30:02}", f"Room {at}", 20 + at % 9, 15, "9 ft", 2000 + at]
        for at in range(number)
    ]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_120_rooms_are_shown_accepted_and_then_there(manager: Bringer, form: str) -> None:
    rows = many(120)
    told = manager.bring("rooms", csv_text(rows) if form == "csv" else xlsx(rows))
    assert (told["state"], told["counts"]) == ("ready", {"new": 120, "changed": 0, "left": 0})
    assert manager.records("room") == []
    done = manager.do(told["id"], "accept")
    assert done["state"] == "done"
    rooms = {each["identity"]["number"]: each for each in manager.records("room")}
    assert len(rooms) == 120
    assert rooms["107"]["size"] == {
        "length_ticks": (20 + 37 % 9) * TICKS_PER_FOOT,
        "width_ticks": 15 * TICKS_PER_FOOT,
        "height_ticks": 9 * TICKS_PER_FOOT,
    }
    assert rooms["107"]["hours"] == {"hours_year": 2037}
    assert sorted(each["identity"]["name"] for each in manager.records("floor")) == [f"Level {n}" for n in range(4)]


def test_floors_stand_as_the_file_has_them_after_those_that_are_there(manager: Bringer) -> None:
    manager.take("rooms", csv_text([HEADS, *ROWS]))
    manager.take("rooms", csv_text([HEADS, ["Annex", "301", "Store", 10, 10, "9 ft", 100]]))
    placed = sorted((each["identity"]["order"], each["identity"]["name"]) for each in manager.records("floor"))
    assert placed == [(1, "Ground"), (2, "First"), (3, "Annex")]


def test_the_same_file_again_changes_nothing(manager: Bringer) -> None:
    manager.take("rooms", csv_text([HEADS, *ROWS]))
    head = manager.head()
    told = manager.bring("rooms", csv_text([HEADS, *ROWS]))
    assert told["counts"] == {"new": 0, "changed": 0, "left": 3}
    manager.do(told["id"], "accept")
    assert manager.head() == head


def test_a_changed_cell_is_shown_from_what_to_what_and_the_rest_left(manager: Bringer) -> None:
    manager.take("rooms", csv_text([HEADS, *ROWS]))
    told = manager.bring("rooms", csv_text([HEADS, [*ROWS[0][:6], 3100], *ROWS[1:]]))
    assert told["counts"] == {"new": 0, "changed": 1, "left": 2}
    (line,) = told["lines"]
    (field,) = line["fields"]
    assert (line["row"], field["field"], field["from"], field["to"]) == (2, "hours_year", 3000, 3100)


def test_an_empty_cell_leaves_what_is_there(manager: Bringer) -> None:
    manager.take("rooms", csv_text([HEADS, *ROWS]))
    told = manager.bring(
        "rooms", csv_text([["Floor", "Room number", "Room name", "Hours lit a year"], ["Ground", "101", "", ""]])
    )
    assert told["counts"] == {"new": 0, "changed": 0, "left": 1}


def test_one_undo_takes_the_whole_file_back(manager: Bringer) -> None:
    manager.take("rooms", csv_text([HEADS, ROWS[0]]))
    before = manager.records("room"), manager.records("floor")
    told = manager.take("rooms", csv_text([HEADS, [*ROWS[0][:6], 9], *ROWS[1:]]))
    assert len(manager.records("room")) == 3
    undone = manager.do(told["id"], "undo")
    assert (undone["state"], undone["undone"]["left"]) == ("undone", [])
    assert (manager.records("room"), manager.records("floor")) == before


def test_what_was_built_on_since_stays_and_is_told(manager: Bringer) -> None:
    told = manager.take("rooms", csv_text([HEADS, *ROWS]))
    here, room = manager.here, next(each for each in manager.records("room") if each["identity"]["number"] == "101")
    kind, group = _id(), _id()
    here.push(
        "surveyor",
        here.operation("surveyor", kind, "kind", "identity", {"mark": "K1", "parent": here.site}),
        here.operation("surveyor", group, "group", "identity", {"kind": kind, "parent": room["id"]}),
    )
    undone = manager.do(told["id"], "undo")["undone"]
    assert {(each["type"], each["why"]) for each in undone["left"]} == {("room", "used"), ("floor", "used")}
    assert [each["identity"]["number"] for each in manager.records("room")] == ["101"]
    assert len(manager.records("group")) == 1


def test_what_somebody_changed_since_is_not_taken_back(manager: Bringer) -> None:
    manager.take("rooms", csv_text([HEADS, ROWS[0]]))
    told = manager.take("rooms", csv_text([HEADS, [*ROWS[0][:6], 9]]))
    (room,) = manager.records("room")
    pulled = manager.here.pull("surveyor", "since=0&limit=500")["records"]
    seen = next(each for each in pulled if each["id"] == room["id"])["facets"]["hours"]["op"]
    operation = manager.here.operation("surveyor", room["id"], "room", "hours", {"hours_year": 77}, seen=seen)
    assert manager.here.push("surveyor", operation)[0]["result"] == "applied"
    undone = manager.do(told["id"], "undo")["undone"]
    assert [(each["type"], each["why"]) for each in undone["left"]] == [("room", "changed")]
    assert manager.records("room")[0]["hours"] == {"hours_year": 77}


def test_what_is_brought_in_is_the_persons_and_stands_in_the_log(manager: Bringer) -> None:
    manager.take("rooms", csv_text([HEADS, ROWS[0]]))
    pulled = manager.here.pull("owner", "since=0&limit=500")["records"]
    (room,) = [each for each in pulled if each["type"] == "room"]
    assert {facet["by"] for facet in room["facets"].values()} == {manager.here.people["manager"]}


def test_a_site_that_moved_on_is_shown_anew_before_it_is_written(manager: Bringer) -> None:
    told = manager.bring("rooms", csv_text([HEADS, ROWS[0]]))
    Bringer(manager.here, "surveyor").take("rooms", csv_text([HEADS, [*ROWS[0][:6], 1]]))
    again = manager.do(told["id"], "accept")
    assert again["state"] == "ready"
    assert again["notes"] == [{"code": "files.site-moved-on", "facts": {}}]
    assert again["counts"] == {"new": 0, "changed": 1, "left": 0}
    assert manager.do(told["id"], "accept")["state"] == "done"
    assert len(manager.records("room")) == 1


def test_a_site_that_moved_on_elsewhere_holds_nothing_up(manager: Bringer) -> None:
    told = manager.bring("rooms", csv_text([HEADS, ROWS[0]]))
    kind = manager.here.operation("surveyor", _id(), "kind", "identity", {"mark": "K9", "parent": manager.here.site})
    manager.here.push("surveyor", kind)
    assert manager.do(told["id"], "accept")["state"] == "done"


def test_a_column_matched_by_hand_is_remembered_for_the_next_file(manager: Bringer) -> None:
    rows = [["Stockwerk", "Nr", "Stunden"], ["Ground", "101", 1800], ["Ground", "102", 1900]]
    told = manager.bring("rooms", csv_text(rows))
    assert told["state"] == "asking"
    assert {each["code"] for each in told["problems"]} <= {"files.column-lacking", "files.no-head"}
    said = {
        "Stockwerk": {"column": "floor.identity.name"},
        "Nr": {"column": "room.identity.number"},
        "Stunden": {"column": "room.hours.hours_year"},
    }
    told = manager.do(told["id"], "answer", {"columns": said})
    assert (told["state"], told["counts"]["new"]) == ("ready", 2), told
    manager.do(told["id"], "accept")
    again = manager.bring("rooms", csv_text([*rows, ["Ground", "103", 2000]]))
    assert (again["state"], again["counts"]) == ("ready", {"new": 1, "changed": 0, "left": 2})
    assert all(each["by_hand"] for each in again["columns"])


def test_a_unit_that_nobody_says_is_asked_for(manager: Bringer) -> None:
    rows = [["Floor", "Room", "Length"], ["Ground", "101", 30]]
    told = manager.bring("rooms", xlsx(rows))
    (question,) = told["questions"]
    assert (told["state"], question["code"], question["head"]) == ("asking", "files.which-unit", "Length")
    assert question["choices"] == ["mm", "cm", "m", "in", "ft"]
    told = manager.do(told["id"], "answer", {"columns": {"Length": {"unit": "ft"}}})
    assert told["state"] == "ready", told
    manager.do(told["id"], "accept")
    assert manager.records("room")[0]["size"] == {"length_ticks": 30 * TICKS_PER_FOOT}


@pytest.mark.parametrize(
    ("text", "ticks"),
    [  # 1 in = 25.4 mm exactly (NIST SP 811 B.6, from memory), 1 mm = 320 ticks
        ("145 3/16 in", 145 * 8128 + 3 * 508),
        ("12' 6\"", 150 * 8128),
        ("70 ft 6 in", 846 * 8128),
        ("3810 mm", 3810 * 320),
        ("3.81 m", 3810 * 320),
        ("381 cm", 3810 * 320),
    ],
)
def test_a_unit_in_the_cell_is_read(manager: Bringer, text: str, ticks: int) -> None:
    manager.take("rooms", csv_text([["Floor", "Room", "Length"], ["Ground", "101", text]]))
    assert manager.records("room")[0]["size"] == {"length_ticks": ticks}


def test_a_decimal_comma_is_recognised_by_the_numbers_that_have_no_other_reading(manager: Bringer) -> None:
    rows = [["Floor", "Room", "Length [m]", "Hours"], ["Ground", "101", "12,5", "2.600"]]
    manager.take("rooms", csv_text(rows, ";"))
    (room,) = manager.records("room")
    assert (room["size"]["length_ticks"], room["hours"]["hours_year"]) == (12500 * 320, 2600)


def test_a_decimal_mark_that_may_be_either_is_asked_for(manager: Bringer) -> None:
    rows = [["Floor", "Room", "Hours"], ["Ground", "101", "2.600"]]
    told = manager.bring("rooms", csv_text(rows, ";"))
    assert [each["code"] for each in told["questions"]] == ["files.which-decimal"]
    told = manager.do(told["id"], "answer", {"decimal": ","})
    manager.do(told["id"], "accept")
    assert manager.records("room")[0]["hours"] == {"hours_year": 2600}


@pytest.mark.parametrize(
    "data",
    [
        csv_text([HEADS, *ROWS]).encode("utf-8-sig"),
        csv_text([HEADS, *ROWS], "\t").encode("utf-16"),
        csv_text([HEADS, *ROWS]).encode("utf-16-le"),
        csv_text([HEADS, *ROWS], ";").encode("cp1252"),
        csv_text([["Rooms of the Old Cannery"], [], HEADS, *ROWS]).encode(),
        csv_text([HEADS, ["", "", "", "", "", "", "h"], *ROWS]).encode(),
        xlsx([["Rooms of the Old Cannery"], [], HEADS, *ROWS]),
    ],
    ids=[
        "BOM",
        "UTF-16",
        "UTF-16 unmarked",
        "Windows-1252",
        "a title above",
        "a row of units",
        "a title in a workbook",
    ],
)
def test_a_file_is_read_whatever_it_is_written_in(manager: Bringer, data: bytes) -> None:
    manager.take("rooms", data)
    names = {each["identity"]["name"] for each in manager.records("room")}
    assert names == {"Gate", "Café “Süd”", "Loft"}


def test_of_several_sheets_the_meant_one_is_asked_for(manager: Bringer) -> None:
    told = manager.bring("rooms", xlsx([["nothing"]], Rooms=[HEADS, *ROWS]))
    (question,) = told["questions"]
    assert (question["about"], question["choices"]) == ("sheet", ["Sheet1", "Rooms"])
    told = manager.do(told["id"], "answer", {"sheet": "Rooms"})
    assert (told["state"], told["counts"]["new"]) == ("ready", 3)


def test_where_the_site_has_one_floor_a_list_need_not_name_it(manager: Bringer) -> None:
    manager.here.floor()
    manager.take("rooms", csv_text([["Room", "Room name"], ["7", "Store"]]))
    (floor,) = manager.records("floor")
    assert manager.records("room")[0]["identity"] == {"number": "7", "name": "Store", "parent": floor["id"]}


def test_the_trades_words_for_choices_are_understood(manager: Bringer) -> None:
    rows = [["Floor", "Room", "Space type", "Ceiling"], ["Ground", "1", "Conference room", "T-bar"]]
    manager.take("rooms", csv_text(rows))
    (room,) = manager.records("room")
    assert (room["identity"]["space_type"], room["ceiling"]["ceiling"]) == ("meeting-room", "lay-in-grid")


def test_a_file_that_was_cancelled_writes_nothing(manager: Bringer) -> None:
    told = manager.bring("rooms", csv_text([HEADS, *ROWS]))
    assert manager.do(told["id"], "cancel")["state"] == "cancelled"
    answer = manager.here.call("manager", "POST", f"/api/sites/{{site}}/imports/{told['id']}/accept")
    assert (answer.status_code, answer.json["code"]) == (409, "files.not-now")
    assert manager.records("room") == []


def test_a_file_is_accepted_once(manager: Bringer) -> None:
    told = manager.take("rooms", csv_text([HEADS, *ROWS]))
    answer = manager.here.call("manager", "POST", f"/api/sites/{{site}}/imports/{told['id']}/accept")
    assert (answer.status_code, answer.json["code"]) == (409, "files.not-now")


def test_rows_that_speak_of_one_room_twice_are_told(manager: Bringer) -> None:
    told = manager.bring("rooms", csv_text([HEADS, ROWS[0], ROWS[1], ROWS[0]]))
    assert codes(told) == [(4, "", "files.row-twice")]


def _id() -> str:
    from tests.support.installation import new_id

    return new_id()
