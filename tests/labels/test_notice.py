"""The notice on a converted fixture: what it says, how large, and where it does not fit."""

from __future__ import annotations

import pymupdf
import pytest
from tests.labels.printed import EDGE_MM, URL, cut_out, labels, read, rendered, text_of

from spanwalk.services.labels.geometry import SHEETS
from spanwalk.services.labels.notice import LEAST_CAPITAL_MM, Notice, label_and_notice_pdf, notice_pdf
from spanwalk.services.labels.symbols import symbol_text
from spanwalk.services.labels.typesetting import CAP_HEIGHT
from spanwalk.services.refusals import WrongInput

NOTICE = Notice("Old Cannery Works", "555 0100", "2026-11-28", "As the inspector wants it.")
LARGE = ["a4-2x4", "letter-2x5", "letter-2x3"]


def smallest_capital_mm(pdf: bytes) -> float:
    with pymupdf.open(stream=pdf) as document:
        blocks = document[0].get_text("dict")["blocks"]
    sizes = [span["size"] for block in blocks for line in block.get("lines", []) for span in line["spans"]]
    return float(min(sizes)) * CAP_HEIGHT * 25.4 / 72


@pytest.mark.parametrize("paper", LARGE)
def test_it_says_all_that_whoever_changes_a_lamp_must_know(paper: str) -> None:
    text = text_of(notice_pdf(NOTICE, SHEETS[paper], "1", 1))
    for said in ("CONVERTED", "no fluorescent lamps", "sockets are dead", "external driver", "local code", "isolate"):
        assert said in text
    for said in (NOTICE.firm, NOTICE.call, NOTICE.date, NOTICE.words):
        assert said in text


@pytest.mark.parametrize("paper", LARGE)
def test_its_capitals_are_two_millimetres_high_at_least(paper: str) -> None:
    assert LEAST_CAPITAL_MM == 2.0
    assert smallest_capital_mm(notice_pdf(NOTICE, SHEETS[paper], "1", 1)) >= LEAST_CAPITAL_MM - 0.01


def test_on_labels_on_which_it_could_not_be_read_it_is_refused() -> None:
    with pytest.raises(WrongInput) as refused:
        notice_pdf(NOTICE, SHEETS["letter"], "1", 1)
    assert refused.value.code == "notice-too-small"


def test_a_region_reads_its_own_words() -> None:
    british = text_of(notice_pdf(Notice(language="en-GB"), SHEETS["a4-2x4"], "1", 1))
    american = text_of(notice_pdf(Notice(language="en-US"), SHEETS["a4-2x4"], "1", 1))
    assert "luminaire" in british
    assert "fixture" in american


@pytest.mark.parametrize("paper", ["a4-2x4", "letter-2x3"])
def test_a_notice_that_is_the_label_too_is_read_and_says_the_set_point(paper: str) -> None:
    sheet = SHEETS[paper]
    printed = labels(sheet.places, release=3)
    pdf = label_and_notice_pdf(NOTICE, printed, URL, sheet, "1")
    page = rendered(pdf, edge_mm=EDGE_MM)
    found = [read(cut_out(page, sheet, place)) for place in range(sheet.places)]
    assert found == [{symbol_text(URL, label.code)} for label in printed]
    assert text_of(pdf).count("R3: 350 mA") == sheet.places


def test_without_firm_and_date_it_says_neither() -> None:
    text = text_of(notice_pdf(Notice(), SHEETS["a4-2x4"], "1", 1))
    assert "CONVERTED" in text
    assert "Call" not in text
    assert "{" not in text
