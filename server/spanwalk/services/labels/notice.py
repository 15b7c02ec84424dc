"""The notice on a converted fixture: that it takes no lamps, in letters that are read when a lamp is changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from spanwalk.services.labels.geometry import Box, Sheet, first_place
from spanwalk.services.labels.layout import Label, code_lines
from spanwalk.services.labels.sheets import draw_lines, pages
from spanwalk.services.labels.symbols import dark_side, draw_symbol, symbol_of, symbol_text
from spanwalk.services.labels.typesetting import BOLD, CAP_HEIGHT, FONT, LEADING, Line, width_of, wrapped
from spanwalk.services.refusals import WrongInput
from spanwalk.words import FIRST, is_reviewed, notice_languages, own_words, say

LEAST_CAPITAL_MM = 2.0
"""Height of a capital in the smallest line. A two-hundredth of the reading distance is a usual least (common practice, no
source); a lamp is changed at 0.4 m from the eye."""
HEAD_TO_TEXT = 1.5
"""The first line is so much larger: it is read from the floor beside the ladder."""
MOST_CAPITAL_MM = 5.0
STEP = 0.94
RULE_PT = 1.2
INSIDE_MM = 1.2
"""Between the frame and the text."""
LOCAL_CODE = "notice.local-code"
OF_REGION = f"{LOCAL_CODE}."
"""Before a region: what its code is called there."""
CODE_SIDE_MM = 26.0
"""Side of the fixture's own symbol on a notice that is its label too: modules of 0.7 mm with an address of 36 signs."""


@dataclass(frozen=True)
class Notice:
    """What a notice says besides its fixed words: firm, whom to call, date, and what local code wants."""

    firm: str = ""
    call: str = ""
    date: str = ""
    words: str = ""
    language: str = FIRST
    region: str = ""
    """Whose code is named, as ISO 3166 has it; empty: it is 'local code'."""


class LanguageTold(TypedDict):
    """A language of notices: whether somebody of the trade who speaks it has read it, and the regions whose code it names."""

    tag: str
    reviewed: bool
    regions: list[str]


def languages_told() -> list[LanguageTold]:
    """The languages in which notices are printed."""
    return [
        {
            "tag": tag,
            "reviewed": is_reviewed(tag),
            "regions": sorted(code.removeprefix(OF_REGION) for code in own_words(tag) if code.startswith(OF_REGION)),
        }
        for tag in notice_languages()
    ]


def refuse_too_small(notice: Notice, sheet: Sheet, beside: bool) -> None:
    """Raise where the words do not fit the labels of a sheet in letters that can be read; `beside`: with the fixture's symbol.

    Raises
    ------
    WrongInput
        They would be too small, with the height of a capital that is wanted.
    """
    _lines_for(notice, sheet, beside)


def notice_pdf(notice: Notice, sheet: Sheet, start: str, count: int) -> bytes:
    """So many notices alike, on any sheet that is large enough.

    Raises
    ------
    WrongInput
        No such place, or labels on which the words would be too small.
    """
    lines = _lines_for(notice, sheet, beside=False)

    def draw(canvas: Canvas, number: int, place: int) -> None:
        _draw_notice(canvas, sheet.box(place), lines)

    return pages(say("notice.title", {}, notice.language), sheet, first_place(sheet, start), count, draw)


def label_and_notice_pdf(
    notice: Notice, labels: Sequence[Label], public_url: str | None, sheet: Sheet, start: str
) -> bytes:
    """Notices that are the fixtures' labels too: symbol, code and place at the right.

    Raises
    ------
    WrongInput
        No such place, or labels on which the words would be too small.
    """
    lines = _lines_for(notice, sheet, beside=True)

    def draw(canvas: Canvas, number: int, place: int) -> None:
        box = sheet.box(place)
        _draw_notice(canvas, box, lines)
        _draw_code(canvas, box, labels[number], public_url, notice.language)

    return pages(say("notice.title", {}, notice.language), sheet, first_place(sheet, start), len(labels), draw)


def sentences(notice: Notice) -> list[str]:
    """What the notice says, the first line first."""
    of_region = OF_REGION + notice.region
    code = of_region if of_region in own_words(notice.language) else LOCAL_CODE
    local_code = say(code, {}, notice.language)
    facts = {"firm": notice.firm, "call": notice.call, "date": notice.date, "local_code": local_code}
    said = ["notice.head", "notice.no-lamps", "notice.sockets", "notice.caution"]
    said += ["notice.by"] if notice.firm and notice.date else ["notice.date"] if notice.date else []
    said += ["notice.call"] if notice.call else []
    return [say(each, facts, notice.language) for each in said] + ([notice.words] if notice.words else [])


def _lines_for(notice: Notice, sheet: Sheet, beside: bool) -> list[Line]:
    """The lines in the largest letters that fit the sheet's smallest label, inside the frame."""
    width, height = ((side - 2 * INSIDE_MM) * mm for side in sheet.smallest)
    width -= CODE_SIDE_MM * mm if beside else 0.0
    size = MOST_CAPITAL_MM * mm / CAP_HEIGHT
    while size * CAP_HEIGHT >= LEAST_CAPITAL_MM * mm:
        lines = _at(notice, size, width)
        if sum(line.size for line in lines) * LEADING <= height and _whole_words(lines, width):
            return lines
        size *= STEP
    told = f"{sheet.label[0]:g} × {sheet.label[1]:g}"
    raise WrongInput("notice-too-small", field="paper", value=told, right=LEAST_CAPITAL_MM)


def _at(notice: Notice, size: float, width: float) -> list[Line]:
    head, *rest = sentences(notice)
    lines = [Line(BOLD, size * HEAD_TO_TEXT, each) for each in _all(head, BOLD, size * HEAD_TO_TEXT, width)]
    lines += [Line(BOLD, size, each) for each in _all(rest[0], BOLD, size, width)]
    for sentence in rest[1:]:
        lines += [Line(FONT, size, each) for each in _all(sentence, FONT, size, width)]
    return lines


def _all(text: str, font: str, size: float, width: float) -> list[str]:
    return wrapped(text, font, size, width, len(text))


def _whole_words(lines: Sequence[Line], width: float) -> bool:
    return all(width_of(line.text, line.font, line.size) <= width for line in lines) and not any(
        line.text.endswith("…") for line in lines
    )


def _draw_notice(canvas: Canvas, box: Box, lines: Sequence[Line]) -> None:
    canvas.setLineWidth(RULE_PT)
    half = RULE_PT / 2
    canvas.rect(box.x * mm + half, box.y * mm + half, box.width * mm - RULE_PT, box.height * mm - RULE_PT)
    draw_lines(canvas, lines, (box.x + INSIDE_MM) * mm, (box.y + box.height - INSIDE_MM) * mm)


def _draw_code(canvas: Canvas, box: Box, label: Label, public_url: str | None, language: str) -> None:
    """The fixture's symbol in the upper right corner, with its code and place below."""
    matrix = symbol_of(symbol_text(public_url, label.code))
    side = CODE_SIDE_MM * mm
    dark = dark_side(matrix, side)
    quiet = (side - dark) / 2
    x, y = (box.x + box.width) * mm - side + quiet, (box.y + box.height) * mm - quiet - dark
    draw_symbol(canvas, matrix, x, y, dark)
    below = y - quiet / 2
    draw_lines(canvas, code_lines(label, dark, below - (box.y + INSIDE_MM) * mm, language), x, below)
