"""A report is read aloud as it is meant: another reader finds each text under a tag, tables with heads, pictures with words.

Read back by PDFium, which knows nothing of us. What is asked follows ISO 32000-1 (14.7, 14.8) and ISO 14289-1 (7.1, 7.3, 7.5;
from memory); that the file is PDF/UA as a whole is not claimed, for no validator of that looked at it.
"""

from __future__ import annotations

import ctypes
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from xml.etree import ElementTree

import pymupdf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from tests.handover.some_report import CountedStore, a_report

from spanwalk.services.handover.pages import report_pdf
from spanwalk.services.handover.paper import Paper

DUBLIN_CORE = "{http://purl.org/dc/elements/1.1/}"
ARTIFACT, FIGURE = "Artifact", "Figure"
INSIDE = {"TR": {"Table"}, "TH": {"TR"}, "TD": {"TR"}, "LI": {"L"}, "LBody": {"LI"}}


@dataclass
class Read:
    """What a page's tags say: (type, what it is in, text read instead), and whose each mark is."""

    elements: list[tuple[str, str, str]] = field(default_factory=list)
    of_mark: dict[int, str] = field(default_factory=dict)


def text_of(call: object, element: object) -> str:
    long = call(element, None, 0)  # type: ignore[operator]
    if not long:
        return ""
    held = ctypes.create_string_buffer(long)
    call(element, held, long)  # type: ignore[operator]
    return held.raw[:long].decode("utf-16-le").rstrip("\0")


def walk(element: object, inside: str, found: Read) -> None:
    kind = text_of(pdfium.FPDF_StructElement_GetType, element)
    found.elements.append((kind, inside, text_of(pdfium.FPDF_StructElement_GetAltText, element)))
    for place in range(pdfium.FPDF_StructElement_CountChildren(element)):
        mark = pdfium.FPDF_StructElement_GetChildMarkedContentID(element, place)
        if mark >= 0:
            found.of_mark[mark] = kind
        elif child := pdfium.FPDF_StructElement_GetChildAtIndex(element, place):
            walk(child, kind, found)


def tags_of(page: pypdfium2.PdfPage) -> Read:
    tree, found = pdfium.FPDF_StructTree_GetForPage(page.raw), Read()
    for place in range(pdfium.FPDF_StructTree_CountChildren(tree)):
        walk(pdfium.FPDF_StructTree_GetChildAtIndex(tree, place), "", found)
    pdfium.FPDF_StructTree_Close(tree)
    return found


def marks_of(page: pypdfium2.PdfPage) -> Iterator[tuple[int, int, list[str]]]:
    """Each thing that is drawn: its sort, its mark (-1: none), and the names of the marks that it stands in."""
    for each in page.get_objects():
        names = []
        for place in range(pdfium.FPDFPageObj_CountMarks(each.raw)):
            mark, held, long = pdfium.FPDFPageObj_GetMark(each.raw, place), (ctypes.c_ushort * 64)(), ctypes.c_ulong()
            pdfium.FPDFPageObjMark_GetName(mark, held, ctypes.sizeof(held), ctypes.byref(long))
            names.append(bytes(held)[: long.value].decode("utf-16-le").rstrip("\0"))
        yield each.type, pdfium.FPDFPageObj_GetMarkedContentID(each.raw), names


@pytest.fixture(scope="module")
def report() -> pypdfium2.PdfDocument:
    made = report_pdf(a_report(rooms=12, fixtures=9, photos=2, name="Ωmega 教室"), CountedStore())
    return pypdfium2.PdfDocument(made)


def test_it_says_that_it_is_tagged_and_shows_its_title(report: pypdfium2.PdfDocument) -> None:
    assert len(report) > 3
    assert pdfium.FPDFCatalog_IsTagged(report.raw)
    assert report.get_metadata_dict()["Title"].startswith("Hand-over report")


def test_each_thing_that_is_drawn_is_under_a_tag_or_said_not_to_be_read(report: pypdfium2.PdfDocument) -> None:
    drawn = 0
    for page in report:
        found = tags_of(page)
        for _, mark, names in marks_of(page):
            drawn += 1
            assert names == [ARTIFACT] or names == [found.of_mark[mark]]
    assert drawn > 500


def test_cells_stand_in_rows_of_tables_under_heads_and_points_in_lists(report: pypdfium2.PdfDocument) -> None:
    every = [each for page in report for each in tags_of(page).elements]
    kinds = Counter(kind for kind, _, _ in every)
    assert {"Document", "H1", "H2", "P", "Table", "TR", "TH", "TD", "L", "LI", "LBody", FIGURE} <= set(kinds)
    for kind, inside, _ in every:
        assert inside in INSIDE.get(kind, {"Document", "", "L"}), (kind, inside)


def test_a_strict_reader_repairs_nothing_of_the_packed_file() -> None:
    """MuPDF says where it had to guess; the tree is packed, and so small beside what is drawn."""
    made = report_pdf(a_report(rooms=60, fixtures=9), CountedStore())
    document = pymupdf.open(stream=made)
    assert not document.is_repaired
    assert made.count(b"/Type/ObjStm") >= 2
    tree = document.xref_get_key(document.pdf_catalog(), "StructTreeRoot")
    assert tree == ("xref", "1000000 0 R")
    assert "ParentTree" in document.xref_object(1_000_000)
    text = "".join(page.get_text() for page in document)
    assert text.count("0000 016J D") == 540


def test_each_picture_has_words_in_its_place(report: pypdfium2.PdfDocument) -> None:
    said = [alt for page in report for kind, _, alt in tags_of(page).elements if kind == FIGURE]
    assert len(said) > 20
    assert all(each.strip() for each in said)


def test_a_paragraph_over_two_pages_is_one_element_and_its_heads_are_not_read_twice() -> None:
    paper = Paper("Long", inches=False, foot=lambda page: f"page {page}")
    paper.heading("A heading")
    paper.gap(paper.y - 80)
    paper.say("word " * 400)
    paper.table(["Head", "Other"], [[f"cell {n}", "x"] for n in range(150)], (1, 1))
    pages = list(pypdfium2.PdfDocument(paper.finished()))
    assert len(pages) > 3
    assert list(tags_of(pages[0]).of_mark.values()) == ["H1", "P"]
    assert set(tags_of(pages[1]).of_mark.values()) >= {"P", "TH", "TD"}
    assert set(tags_of(pages[2]).of_mark.values()) == {"TD"}
    read = sum(list(tags_of(page).of_mark.values()).count("TD") for page in pages)
    assert read == 300


def test_a_text_in_any_script_is_read_in_full_where_its_letters_are_drawn_as_squares() -> None:
    paper = Paper("Any script", inches=True, foot=lambda page: "")
    paper.heading("קומה 教室")
    paper.say("plain")
    paper.table(["Room"], [["مدرسة"]], (1,))
    (page,) = pypdfium2.PdfDocument(paper.finished())
    tree = pdfium.FPDF_StructTree_GetForPage(page.raw)
    root = pdfium.FPDF_StructTree_GetChildAtIndex(tree, 0)
    heading, plain, table = (pdfium.FPDF_StructElement_GetChildAtIndex(root, place) for place in range(3))
    row = pdfium.FPDF_StructElement_GetChildAtIndex(table, 1)
    cell = pdfium.FPDF_StructElement_GetChildAtIndex(row, 0)
    meant = [text_of(pdfium.FPDF_StructElement_GetActualText, each) for each in (heading, plain, cell)]
    assert meant == ["קומה 教室", "", "مدرسة"]
    assert paper.has_squares


def test_a_letter_that_no_font_draws_is_read_in_the_words_of_its_picture() -> None:
    paper = Paper("Any script", inches=True, foot=lambda page: "")
    paper.figure("教室 שלום 😀", lambda: paper.canvas.rect(50, 50, 10, 10))
    made = paper.finished()
    assert b"/DisplayDocTitle true" in made
    assert b"/Lang (en)" in made
    (page,) = pypdfium2.PdfDocument(made)
    assert ("Figure", "Document", "教室 שלום 😀") in tags_of(page).elements


def test_its_fonts_are_in_it_with_what_their_letters_mean_and_its_title_stands_where_readers_look() -> None:
    """ISO 14289-1, 7.21.4.1 and 7.21.7 (fonts), 7.1 (title in the metadata), 7.18.3 (order of tabs); from memory."""
    document = pymupdf.open(stream=report_pdf(a_report(rooms=3, photos=1, name="Ω & < 教室"), CountedStore()))
    fonts = {font[0]: font[1] for page in document for font in page.get_fonts(full=True)}
    assert len(fonts) >= 2
    assert set(fonts.values()) == {"ttf"}
    assert all(document.xref_get_key(font, "ToUnicode")[0] == "xref" for font in fonts)
    assert all(document.xref_get_key(page.xref, "Tabs") == ("name", "/S") for page in document)
    sort, held = document.xref_get_key(document.pdf_catalog(), "Metadata")
    assert sort == "xref"
    told = document.xref_stream(int(held.split()[0])).decode()
    (title,) = ElementTree.fromstring(told).iter(f"{DUBLIN_CORE}title")
    assert "".join(title.itertext()) == document.metadata["title"]
    assert "pdfuaid" not in told


def test_no_level_of_headings_is_left_out(report: pypdfium2.PdfDocument) -> None:
    """ISO 14289-1, 7.4.2 (from memory)."""
    levels = [int(kind[1]) for page in report for kind, _, _ in tags_of(page).elements if re.fullmatch("H[1-6]", kind)]
    assert levels[0] == 1
    assert len(set(levels)) > 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
