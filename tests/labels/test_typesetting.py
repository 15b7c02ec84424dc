"""Text on labels: what the font has, what is told, and where '…' stands."""

from __future__ import annotations

import doctest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spanwalk.services.labels import symbols, typesetting
from spanwalk.services.labels.layout import Label
from spanwalk.services.labels.notice import Notice
from spanwalk.services.labels.printing import cannot_print
from spanwalk.services.labels.typesetting import (
    BOLD,
    FONT,
    fitted,
    printable,
    unprintable,
    whole_size,
    width_of,
    wrapped,
)


@pytest.mark.parametrize(
    "text", ["Łódź ąęśćżźń", "Αίθουσα Ωμέγα", "Котельная Ё", "Őrült Žluť Ţără", "→ ≤ ≥ × ± ² ½ … □"]
)
def test_latin_greek_and_cyrillic_are_printed(text: str) -> None:
    assert unprintable([text]) == ""
    assert printable(text) == text


@pytest.mark.parametrize(
    ("text", "signs"), [("3F 教室", "教室"), ("ห้อง 2", "ห้อง"), ("غرفة 7", "غرفة"), ("חדר 7", "חדר"), ("hall 🙂", "🙂")]
)
def test_what_no_font_has_or_runs_from_right_to_left_is_told_and_printed_as_boxes(text: str, signs: str) -> None:
    assert set(unprintable([text])) == set(signs)
    assert not set(printable(text)) & set(signs)
    assert "□" in printable(text)


def test_before_printing_each_name_is_told_once_with_its_signs() -> None:
    printed = [Label("0000016JD", "教室", "", "K1", n, 2) for n in (1, 2)]
    assert cannot_print(printed, Notice(firm="שם")) == [
        {"where": "教室", "signs": "教室"},
        {"where": "שם", "signs": "שם"},
    ]


def test_an_accent_written_as_a_sign_of_its_own_is_printed_with_its_letter() -> None:
    assert printable("Ło\u0301dz\u0301") == "Łódź"


@given(st.text(max_size=60), st.sampled_from([FONT, BOLD]), st.floats(4, 14), st.floats(30, 200))
def test_a_fitted_text_is_never_wider_and_says_where_it_was_cut(
    text: str, font: str, size: float, width: float
) -> None:
    got = fitted(text, font, size, width)
    assert width_of(got, font, size) <= width + 1e-6
    assert got == printable(text) or got.endswith("…")


@given(st.text(max_size=120), st.floats(30, 200), st.integers(1, 4))
def test_wrapped_lines_are_never_wider_nor_more_than_wanted(text: str, width: float, most: int) -> None:
    lines = wrapped(text, FONT, 8, width, most)
    assert 1 <= len(lines) <= most
    assert max(width_of(line, FONT, 8) for line in lines) <= width + 1e-6


@given(st.text(min_size=1, max_size=30), st.floats(20, 200))
def test_what_must_stand_whole_is_made_smaller_instead(text: str, width: float) -> None:
    size = whole_size(text, BOLD, 11, width)
    assert size <= 11
    assert width_of(printable(text), BOLD, size) <= width * 1.0001


def test_the_examples_in_the_docstrings_hold() -> None:
    assert doctest.testmod(typesetting).failed == doctest.testmod(symbols).failed == 0
