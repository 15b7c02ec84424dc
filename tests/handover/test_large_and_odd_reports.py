"""Many photos, photos that are missing, names in any script: the file stays small, and nothing of the text is lost."""

from __future__ import annotations

import io
from dataclasses import replace

import openpyxl
import pypdfium2
from tests.handover.some_report import CountedStore, a_report, fixture, photo
from tests.handover.taken_away import sheet_of, text_of

from spanwalk.services.handover.pages import report_pdf
from spanwalk.services.handover.workbook import report_workbook
from spanwalk.words import reading_in


def test_two_thousand_photos_are_fetched_once_each_and_the_file_can_still_be_sent() -> None:
    store, report = CountedStore(), a_report(rooms=40, fixtures=3, photos=50)
    data = report_pdf(report, store)
    assert len(data) < 10_000_000
    assert len(store.asked) == len(set(store.asked))
    assert 300 < len(store.asked) <= 2000
    assert f"{2000 - len(store.asked)} photos more are not shown" in text_of(data)
    assert len(sheet_of(report_workbook(report), "Photos", "Floor")) == 2000


def test_the_pictures_are_those_of_the_store_byte_for_byte() -> None:
    store = CountedStore()
    data = report_pdf(a_report(photos=2), store)
    assert data.count(store.picture) == 2
    document = pypdfium2.PdfDocument(data)
    images = [each for page in document for each in page.get_objects([3])]
    document.close()
    assert len(images) == 2


def test_a_photo_that_is_shown_twice_is_kept_once() -> None:
    report, store = a_report(photos=1), CountedStore()
    (room,) = report.rooms
    (group,) = room.groups
    twice = replace(group, photos=group.photos * 2)
    data = report_pdf(replace(report, rooms=(replace(room, groups=(twice,)),)), store)
    assert data.count(store.picture) == 1
    assert len(store.asked) == 1


def test_a_photo_that_is_missing_is_said_to_be_and_the_others_are_shown() -> None:
    report = a_report(photos=2)
    gone = frozenset({report.photos[0].sha256})
    data = report_pdf(report, CountedStore(missing=gone))
    assert text_of(data).count("photo has not arrived") == 1


def test_a_photo_that_never_arrived_is_not_asked_for() -> None:
    report, store = a_report(photos=1), CountedStore()
    (room,) = report.rooms
    (group,) = room.groups
    waiting = replace(group, photos=(photo(0, arrived=False),))
    assert "photo has not arrived" in text_of(
        report_pdf(replace(report, rooms=(replace(room, groups=(waiting,)),)), store)
    )
    assert store.asked == []


def test_what_is_no_picture_is_said_to_be_missing() -> None:
    data = report_pdf(a_report(photos=1), CountedStore(picture=b"\xff\xd8\xff not a picture"))
    assert "photo has not arrived" in text_of(data)


def test_names_in_any_script_are_told_where_letters_lack_and_stand_in_full_in_the_workbook() -> None:
    report = a_report(name="旧缶詰工場 Łódź", room="שלום =1+1 教室")
    page = text_of(report_pdf(report, CountedStore()))
    assert "Łódź" in page
    assert "□" in page
    assert "the workbook has every text in full" in page
    (first, *_) = sheet_of(report_workbook(report), "Fixtures", "Floor")
    assert first["Room"] == "שלום =1+1 教室 0"


def test_a_name_without_a_blank_is_broken_over_lines_and_nothing_of_it_is_lost() -> None:
    long = "ABCDEFGHIJ" * 30
    report = a_report()
    (room,) = report.rooms
    (group,) = room.groups
    odd = replace(group, fixtures=(replace(fixture(1), fitted=long),))
    page = text_of(report_pdf(replace(report, rooms=(replace(room, groups=(odd,)),)), CountedStore()))
    assert long in page.replace(" ", "").replace("\ufffe", "")


def test_a_report_without_a_room_is_a_report() -> None:
    page = text_of(report_pdf(replace(a_report(), rooms=()), CountedStore()))
    assert "NOT ONE FIXTURE IS NOTED AS DONE" in page
    assert "Nothing is noted as taken out yet." in page


def test_it_is_printed_in_the_language_of_who_asks_for_it_and_names_stay() -> None:
    report = a_report(photos=1, room="Boiler hall")
    with reading_in("es"):
        page = text_of(report_pdf(report, CountedStore()))
        sheets = sheet_of(report_workbook(report), "Fotos", "Planta")
    assert "Informe de entrega" in page
    assert "Precauciones" in page
    assert "Boiler hall" in page
    assert "Hand-over report" not in page
    assert len(sheets) == 1


def test_the_light_on_a_task_area_stands_in_the_report_and_its_workbook_though_nothing_was_read() -> None:
    report = a_report(rooms=2)
    first, second = report.rooms
    told = ("Task area of 1,600 mm by 800 mm.", "Fixtures all alike, the area has between 69 and 122 % of the mean.")
    with_task = replace(report, rooms=(replace(first, task=told), second))
    page = " ".join(text_of(report_pdf(with_task, CountedStore())).split())
    assert "Light on task areas" in page
    assert f"Loft 0: {' '.join(told)}" in page
    assert "Light on task areas" not in text_of(report_pdf(report, CountedStore()))
    book = openpyxl.load_workbook(io.BytesIO(report_workbook(with_task)))
    assert any(told[1] in str(cell.value) for sheet in book.worksheets for row in sheet.rows for cell in row)
