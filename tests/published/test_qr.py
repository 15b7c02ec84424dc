"""QR symbols and label sheets against published figures."""

from __future__ import annotations

import pytest
import qrcode
from qrcode import constants
from qrcode.exceptions import DataOverflowError

from spanwalk.services import label_sheets
from spanwalk.services.label_sheets import A4, LETTER, QUIET_ZONE_MODULES, SHEETS, label_url

# ISO/IEC 18004 capacity table (alphanumeric), as reproduced in a marking-machine manual and a second page; read.
CAPACITY = {
    1: (21, [25, 20, 16, 10]),
    2: (25, [47, 38, 29, 20]),
    3: (29, [77, 61, 47, 35]),
    4: (33, [114, 90, 67, 50]),
}
LEVELS = [
    constants.ERROR_CORRECT_L,
    constants.ERROR_CORRECT_M,
    constants.ERROR_CORRECT_Q,
    constants.ERROR_CORRECT_H,
]


@pytest.mark.parametrize("version", CAPACITY)
def test_each_version_takes_as_many_letters_as_published_and_not_one_more(version: int) -> None:
    modules, capacities = CAPACITY[version]
    for level, letters in zip(LEVELS, capacities, strict=True):
        symbol = qrcode.QRCode(version=version, error_correction=level, border=0)
        symbol.add_data("F" * letters)
        symbol.make(fit=False)
        assert len(symbol.get_matrix()) == modules
        fuller = qrcode.QRCode(version=version, error_correction=level)
        fuller.add_data("F" * (letters + 1))
        with pytest.raises(DataOverflowError):
            fuller.make(fit=False)


def test_a_labels_address_of_up_to_47_letters_fits_version_3_at_level_q() -> None:
    """47 letters at Q in 29 modules (same table): a host name of up to 27 letters beside https, the path and the code."""
    longest = label_url("https://" + "h" * 27, "0000016JD")
    assert len(longest) == 47
    assert len(label_sheets._matrix(longest, constants.ERROR_CORRECT_Q)) == 29


def test_the_quiet_zone_is_four_modules() -> None:
    """Pages of the symbol's originator on margin and module size; read."""
    assert QUIET_ZONE_MODULES == 4


@pytest.mark.parametrize("dpi", [300, 600])
def test_modules_are_at_least_four_dots_of_an_office_printer(dpi: int) -> None:
    """Four dots a module (originator's page on module size, read): 0.33 mm at 300 dpi, 0.17 mm at 600 dpi."""
    for sheet in SHEETS.values():
        side = min(sheet.label[1], sheet.label[0] / 2)
        assert side / (29 + 2 * QUIET_ZONE_MODULES) >= 4 * 72 / dpi


@pytest.mark.parametrize(
    ("paper", "page", "right_margin"), [("a4", A4, 0.0), ("letter", LETTER, 0.1875 * 72)]
)
def test_the_sheets_close_exactly_on_their_paper(
    paper: str, page: tuple[float, float], right_margin: float
) -> None:
    """A4 3 × 8 of 70 × 37 mm, margin 0.5 mm; Letter 3 × 10 of 2 5/8 × 1 in, margins 3/16 and 1/2 in (from memory; they close)."""
    sheet = SHEETS[paper]
    x, _ = sheet.corner(sheet.columns - 1)
    _, y = sheet.corner(sheet.places - 1)
    assert x + sheet.label[0] + right_margin == pytest.approx(page[0])
    assert y == pytest.approx(sheet.top)
