"""QR symbols and label sheets against published figures."""

from __future__ import annotations

import pytest
import qrcode
from qrcode import constants
from qrcode.exceptions import DataOverflowError

from spanwalk.services.labels.geometry import A4, LETTER, SHEETS, Sheet
from spanwalk.services.labels.layout import SYMBOL_SHARE_MOST
from spanwalk.services.labels.symbols import QUIET_ZONE_MODULES, side_of, symbol_of, symbol_text

# ISO/IEC 18004 capacity table: modules a side, then letters, digits and bytes at L, M, Q, H; as reproduced in a
# marking-machine manual and a second page; read.
CAPACITY = {
    1: (21, {"F": [25, 20, 16, 10], "7": [41, 34, 27, 17], "f": [17, 14, 11, 7]}),
    2: (25, {"F": [47, 38, 29, 20], "7": [77, 63, 48, 34], "f": [32, 26, 20, 14]}),
    3: (29, {"F": [77, 61, 47, 35], "7": [127, 101, 77, 58], "f": [53, 42, 32, 24]}),
    4: (33, {"F": [114, 90, 67, 50], "7": [187, 149, 111, 82], "f": [78, 62, 46, 34]}),
    5: (37, {"F": [154, 122, 87, 64], "7": [255, 202, 144, 106], "f": [106, 84, 60, 44]}),
}
LEVELS = [
    constants.ERROR_CORRECT_L,
    constants.ERROR_CORRECT_M,
    constants.ERROR_CORRECT_Q,
    constants.ERROR_CORRECT_H,
]


@pytest.mark.parametrize("sign", ["F", "7", "f"], ids=["letters", "digits", "bytes"])
@pytest.mark.parametrize("version", CAPACITY)
def test_each_version_takes_as_many_signs_as_published_and_not_one_more(version: int, sign: str) -> None:
    modules, capacities = CAPACITY[version]
    for level, most in zip(LEVELS, capacities[sign], strict=True):
        symbol = qrcode.QRCode(version=version, error_correction=level, border=0)
        symbol.add_data(sign * most)
        symbol.make(fit=False)
        assert len(symbol.get_matrix()) == modules == 17 + 4 * version
        fuller = qrcode.QRCode(version=version, error_correction=level)
        fuller.add_data(sign * (most + 1))
        with pytest.raises(DataOverflowError):
            fuller.make(fit=False)


def test_a_labels_address_of_up_to_47_letters_fits_version_3_at_level_q() -> None:
    """47 letters at Q in 29 modules (same table): a host name of up to 27 letters beside https, the path and the code."""
    longest = symbol_text("https://" + "h" * 27, "0000016JD")
    assert len(longest) == 47
    assert len(symbol_of(longest)) == 29
    assert len(symbol_of(longest + "H")) == 33


def test_a_code_alone_fits_version_1_at_level_h() -> None:
    """10 letters at H in 21 modules (same table); a code has 9."""
    assert len(symbol_of("0000016JD")) == 21


def test_the_quiet_zone_is_four_modules() -> None:
    """Pages of the symbol's originator on margin and module size; read."""
    assert QUIET_ZONE_MODULES == 4


@pytest.mark.parametrize("dpi", [300, 600])
@pytest.mark.parametrize("paper", list(SHEETS))
def test_modules_are_at_least_four_dots_of_an_office_printer(dpi: int, paper: str) -> None:
    """Four dots a module (originator's page on module size, read): 0.34 mm at 300 dpi, 0.17 mm at 600 dpi."""
    sheet = SHEETS[paper]
    side = min(sheet.label[1], sheet.label[0] * SYMBOL_SHARE_MOST)
    assert side / (29 + 2 * QUIET_ZONE_MODULES) >= 4 * 25.4 / dpi


@pytest.mark.parametrize(("paper", "page", "right_margin"), [("a4", A4, 0.0), ("letter", LETTER, 0.1875 * 25.4)])
def test_the_sheets_close_exactly_on_their_paper(paper: str, page: tuple[float, float], right_margin: float) -> None:
    """A4 3 × 8 of 70 × 37 mm, margin 0.5 mm; Letter 3 × 10 of 2 5/8 × 1 in, margins 3/16 and 1/2 in (from memory; they close)."""
    sheet = SHEETS[paper]
    assert sheet.label_box(sheet.columns - 1).x + sheet.label[0] + right_margin == pytest.approx(page[0])
    assert sheet.label_box(sheet.places - 1).y == pytest.approx(sheet.top)


def test_a_symbol_of_version_2_with_half_millimetre_modules_is_16_5_mm_wide() -> None:
    """(17 + 4 v + 8) X: computed independently; 29 letters fill version 2 at Q (table above), 25 modules of 0.5 mm are 12.5."""
    matrix = symbol_of("F" * 29)
    assert len(matrix) == 25
    assert side_of(matrix, 25 * 0.5) == pytest.approx(16.5)


def test_the_geometry_of_a_sheet_closes_for_another_published_one() -> None:
    """A4, 3 × 7 of 63.5 × 38.1 mm, top 15.15, left 7.2, gap 2.5 mm (template page, read): 209.9 × 297.0 mm."""
    sheet = Sheet(A4, 3, 7, (63.5, 38.1), 7.2, 15.15, across=2.5)
    last = sheet.label_box(sheet.places - 1)
    assert last.x + sheet.label[0] + sheet.left == pytest.approx(209.9)
    assert last.y == pytest.approx(sheet.top)
