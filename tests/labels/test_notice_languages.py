"""The notice in the languages of those who change lamps: chosen at printing, marked where nobody of the trade has read it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.labels.printed import EDGE_MM, URL, cut_out, labels, read, read_by_another, rendered, text_of

from spanwalk import words
from spanwalk.services.labels.geometry import SHEETS
from spanwalk.services.labels.notice import Notice, label_and_notice_pdf, languages_told, notice_pdf, sentences
from spanwalk.services.labels.symbols import symbol_text
from spanwalk.services.labels.typesetting import unprintable

SPEC = Path(str(words.spec_folder()))
OTHERS = ["de", "el", "es", "fr", "pl"]
SHEETS_LARGE_ENOUGH = ["a4-2x4", "letter-2x5", "letter-2x3"]
NOTICE = Notice("Old Cannery Works", "555 0100", "2026-11-28")
NO_FLUORESCENT = {
    "de": "Leuchtstofflampen",
    "el": "λαμπτήρες φθορισμού",
    "es": "tubos fluorescentes",
    "fr": "tube fluorescent",
    "pl": "świetlówek",
}
"""What the trade calls the lamps that it must not take (common practice, no source)."""


def in_language(language: str, region: str = "") -> Notice:
    return Notice(NOTICE.firm, NOTICE.call, NOTICE.date, language=language, region=region)


def test_six_languages_are_offered_and_the_page_itself_in_two_of_them() -> None:
    assert {each.partition("-")[0] for each in words.notice_languages()} == {"en", *OTHERS}
    assert words.languages() == ("en", "en-GB", "en-US", "es")
    assert [words.known(each) for each in OTHERS] == ["es" if each == "es" else "en" for each in OTHERS]


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_of_the_notice_is_said_in_the_language_with_the_same_facts(language: str) -> None:
    own = json.loads((SPEC / f"words.{language}" / "notice.json").read_text("utf-8"))
    wanted = [code for code in words.words() if code.startswith("notice.") and code.count(".") == 1]
    assert len(wanted) >= 9
    for code in wanted:
        english = words.words()[code]
        assert set(words.PLACEHOLDER.findall(own[code])) == set(words.PLACEHOLDER.findall(english)), code
        assert own[code] != english or "{" in english, code


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("paper", SHEETS_LARGE_ENOUGH)
def test_it_is_printed_whole_in_letters_that_the_font_has(language: str, paper: str) -> None:
    notice = in_language(language)
    assert unprintable(sentences(notice)) == ""
    text = text_of(notice_pdf(notice, SHEETS[paper], "1", 1)).replace("\n", " ")
    assert NO_FLUORESCENT[language] in text
    assert "fluorescent lamps" not in text
    assert NOTICE.firm in text
    assert NOTICE.call in text
    assert "…" not in text
    assert "□" not in text


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_that_nobody_of_the_trade_has_read_says_so_in_its_file_and_before_printing(language: str) -> None:
    own = json.loads((SPEC / f"words.{language}" / "notice.json").read_text("utf-8"))
    assert next(iter(own.items())) == ("notice.not-reviewed", "Not yet reviewed by a native electrician.")
    told = {each["tag"]: each for each in languages_told()}
    assert told[language]["reviewed"] is False
    assert told["en"]["reviewed"] is True


@pytest.mark.parametrize(
    ("language", "region", "called"),
    [
        ("en", "US", "National Electrical Code"),
        ("en-US", "US", "National Electrical Code"),
        ("en", "GB", "BS 7671"),
        ("es", "MX", "NOM-001-SEDE"),
        ("es", "ES", "REBT"),
        ("fr", "FR", "NF C 15-100"),
        ("fr", "CA", "Code canadien"),
        ("de", "DE", "DIN VDE 0100"),
        ("de", "AT", "OVE E 8101"),
        ("pl", "PL", "PN-HD 60364"),
        ("el", "GR", "ΕΛΟΤ 60364"),
    ],
)
def test_a_region_says_what_its_local_code_is_called(language: str, region: str, called: str) -> None:
    """Names of the codes from memory."""
    assert called in " ".join(sentences(in_language(language, region)))
    assert called not in " ".join(sentences(in_language(language)))
    told = {each["tag"]: each["regions"] for each in languages_told()}
    assert region in told[language]


@pytest.mark.parametrize("language", OTHERS)
def test_on_a_notice_that_is_the_label_too_the_rest_is_in_the_language_as_well_and_is_read_by_two_decoders(
    language: str,
) -> None:
    sheet = SHEETS["letter-2x3"]
    printed = labels(sheet.places, release=3)
    pdf = label_and_notice_pdf(in_language(language), printed, URL, sheet, "1")
    assert f"K3 2 / {sheet.places}" in text_of(pdf)
    page = rendered(pdf, edge_mm=EDGE_MM)
    wanted = [{symbol_text(URL, label.code)} for label in printed]
    assert [read(cut_out(page, sheet, place)) for place in range(sheet.places)] == wanted
    assert [read_by_another(cut_out(page, sheet, place)) for place in range(sheet.places)] == wanted


def test_a_region_that_the_language_does_not_know_leaves_local_code_unnamed() -> None:
    assert sentences(in_language("pl", "US")) == sentences(in_language("pl"))
