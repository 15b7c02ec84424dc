"""What is told before labels are printed is what laying out every one would tell, and takes no longer for more fixtures of a kind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from sqlalchemy.orm import Session
from tests.support.installation import Installation
from tests.support.late_site import late_installation

from spanwalk.rules.installing.noted import in_force
from spanwalk.rules.survey import Survey, facet, has, positions_of
from spanwalk.services.labels import printing
from spanwalk.services.labels.geometry import SHEETS, Sheet
from spanwalk.services.labels.labels import bindings, groups_in_walk_order
from spanwalk.services.labels.layout import Label, lay_out
from spanwalk.services.labels.notice import Notice
from spanwalk.services.labels.printing import AGAIN, ALL, BLANK, NEW, Wanted, labels_to_print, told_before
from spanwalk.services.labels.symbols import symbol_of, symbol_text
from spanwalk.services.labels.typesetting import BOLD, FONT, run_of
from spanwalk.services.releases.releasing import bars_of, driver_of
from spanwalk.services.sync import state
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading

NOTICE = Notice("A firm", "555", "2026-11-30", "", "en", "")
URL = "https://walk.example.org"
NARROW = Sheet((62.0, 29.0), 1, 1, (24.0, 15.0), 1.0, 1.0)
LONG_ROOM = "B-117 Store room behind the loading dock, the part that was built on later"
ODD = (
    Label("0000016JD", room=LONG_ROOM, kind="K1", position=7, count=12, release=1, bars="2 × TERN-4", driver="CRANE-30", setting_ma=800),
    Label("WWWWWWWWW", room="R1", kind="A kind with a mark that runs on and on", position=10, count=120),
    Label("111111111", room="R1 …", kind="K2", position=1, count=3, release=12, bars="2 × TERN-4H + 1 × TERN-2 in rows 1 and 2"),
    Label("0000016JE"),
)  # fmt: skip


@pytest.fixture(scope="module")
def late(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with late_installation(tmp_path_factory.mktemp("late")) as made:
        yield made


@pytest.fixture
def session(late: Installation) -> Iterator[Session]:
    with late.app.app_context(), reading() as found:
        yield found


def by_all_records(session: Session, site: str, what: str) -> list[Label]:
    """The labels of whole records, one by one."""
    survey = Survey(site_records(session, site))
    if what == BLANK:
        bare = [
            each for each in survey.of_type("label") if not any(has(each, x) for x in ("binding", "voided", "printed"))
        ]
        codes = sorted((str(facet(each, "identity")["code"]), each["id"]) for each in bare)
        return [Label(code, record=id) for code, id in codes]
    live, voided, conversions = bindings(survey), bindings(survey, voided=True), in_force(survey)
    found = []
    for group in groups_in_walk_order(survey):
        for position in positions_of(group):
            at = (group["id"], position)
            label = live.get(at)
            if label is not None and {ALL: True, NEW: not has(label, "printed"), AGAIN: at in voided}[what]:
                found.append(one_label(survey, group, position, label, conversions.get(group["id"])))
    return found


def one_label(survey: Survey, group: Any, position: int, label: Any, conversion: Any) -> Label:
    room, floor, kind = survey.room_of(group), survey.floor_of(group), survey.kind_of(group)
    said = facet(room, "identity")
    plain = Label(
        code=label["facets"]["identity"]["code"],
        room=" ".join(said[key] for key in ("number", "name") if said.get(key)),
        floor=facet(floor, "identity")["name"],
        kind=facet(kind, "identity")["mark"],
        position=position,
        count=group["facets"]["count"]["count"],
        record=label["id"],
    )
    if conversion is None:
        return plain
    card, number = conversion["facets"]["identity"]["frozen"], conversion["facets"]["identity"]["number"]
    if card["driver"] is None:
        return replace(plain, release=number, bars=bars_of(card))
    driver = driver_of(card["driver"])
    return replace(plain, release=number, bars=bars_of(card), driver=driver, setting_ma=card["driver"]["setting_ma"])


@pytest.mark.parametrize("what", [NEW, ALL, AGAIN, BLANK])
def test_labels_to_print_are_those_that_all_records_tell(late: Installation, session: Session, what: str) -> None:
    wanted = by_all_records(session, late.site, what)
    assert wanted
    assert labels_to_print(session, late.site, Wanted(what)) == wanted


def test_of_labels_and_cards_no_whole_record_is_read(
    late: Installation, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    types: set[str] = set()
    whole = state.view_record

    def noted(row: Any, who: bool = False) -> Any:
        types.add(row.type)
        return whole(row, who)

    monkeypatch.setattr(state, "view_record", noted)
    assert labels_to_print(session, late.site, Wanted(ALL))
    assert types == {"site", "floor", "room", "kind", "group"}


@pytest.mark.parametrize("sheet", [*SHEETS.values(), NARROW])
@pytest.mark.parametrize("first", [0, 5])
def test_as_many_are_shortened_as_when_each_is_laid_out(
    late: Installation, session: Session, sheet: Sheet, first: int
) -> None:
    released = labels_to_print(session, late.site, Wanted(ALL))[:60]
    longer = [replace(each, room=LONG_ROOM, bars=f"{each.bars} + {each.bars}") for each in released[::5]]
    labels = [*released, *ODD * 9, *longer]
    first %= sheet.places
    matrix = symbol_of(symbol_text(URL, labels[0].code))
    laid = []
    for number, label in enumerate(labels, start=first):
        place = number % sheet.places
        laid.append(lay_out(label, matrix, sheet.label_box(place), sheet.box(place), "en"))
    told = told_before(labels, sheet, first, URL, NOTICE)
    assert told["shortened"] == sum(each.shortened for each in laid) > 0


def test_more_fixtures_of_the_same_kind_are_not_laid_out_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    laid: list[Label] = []

    def counted(label: Label, *more: Any) -> Any:
        laid.append(label)
        return lay_out(label, *more)

    monkeypatch.setattr(printing, "lay_out", counted)
    counts = []
    for fixtures in (100, 900):
        laid.clear()
        labels = [replace(ODD[0], code=f"{place:09d}", position=place % 90 + 10, count=99) for place in range(fixtures)]
        told_before(labels, SHEETS["a4"], 0, URL, NOTICE)
        counts.append(len(laid))
    assert counts[0] == counts[1]


@pytest.mark.parametrize("font", [FONT, BOLD])
def test_digits_are_equally_wide(font: str) -> None:
    """So that a label at 7 of 12 is laid out as one at 1 of 10 is."""
    assert len({run_of(digit, font, 10.0) for digit in "0123456789"}) == 1
