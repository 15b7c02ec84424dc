"""10,000 labels as a PDF beside the bare drawing of the same symbols and lines, and a sample of them read back."""

from __future__ import annotations

import random
from io import BytesIO

from reportlab.lib.pagesizes import LETTER
from reportlab.pdfgen.canvas import Canvas

from spanwalk.rules.codes import spaced
from spanwalk.services.labels.geometry import SHEETS
from spanwalk.services.labels.layout import Label
from spanwalk.services.labels.sheets import label_pdf
from spanwalk.services.labels.symbols import draw_symbol, symbol_of, symbol_text
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.labels.printed import EDGE_MM, URL, cut_out, labels, read, read_by_another, rendered

COUNT, RUNS, PAGES_READ = 10_000, 3, 4
RATIO_MOST, BYTES_MOST = 2.0, 600
SHEET = SHEETS["letter"]


def bare(printed: list[Label]) -> bytes:
    """The same symbols drawn alike, and the same lines at one place in a font that every reader has: nothing is measured."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=LETTER, pageCompression=1)
    for number, label in enumerate(printed):
        if number and number % SHEET.places == 0:
            canvas.showPage()
        draw_symbol(canvas, symbol_of(symbol_text(URL, label.code)), 10, 10, 60)
        canvas.setFont("Helvetica", 8)
        place = f"{label.kind} {label.position}"
        for line in (spaced(label.code), "G02 Reading room", place, "R4: 350 mA", label.bars, label.driver):
            canvas.drawString(100, 100, line)
    canvas.save()
    return out.getvalue()


def labels_of_10000_fixtures() -> Figure:
    """The time of 10,000 labels, the bytes of each, and whether a sample of them is read by two decoders at 300 dpi."""
    printed = labels(COUNT, release=4)
    pdf = label_pdf(printed, URL, SHEET)
    each = len(pdf) / COUNT
    wanted, found = sample(pdf, printed)
    ours, reference = in_turns(
        lambda: milliseconds(lambda: label_pdf(printed, URL, SHEET)), lambda: milliseconds(lambda: bare(printed)), RUNS
    )
    return Figure(
        name="10,000 labels",
        ours=ours,
        reference="the bare drawing",
        of_reference=reference,
        most=RATIO_MOST,
        runs=RUNS,
        notes=(
            f"{each:.0f} bytes each of at most {BYTES_MOST}",
            f"{found} of {2 * wanted} readings of {wanted} labels by two decoders, edges of {EDGE_MM} mm cut",
        ),
        within=each < BYTES_MOST and found == 2 * wanted,
    )


def sample(pdf: bytes, printed: list[Label]) -> tuple[int, int]:
    """How many labels of a few pages, and how many right readings of them by both decoders together."""
    wanted = found = 0
    for page in random.Random(11).sample(range(COUNT // SHEET.places), PAGES_READ):
        picture = rendered(pdf, page, EDGE_MM)
        for place in range(SHEET.places):
            text = {symbol_text(URL, printed[page * SHEET.places + place].code)}
            label = cut_out(picture, SHEET, place)
            wanted += 1
            found += (read(label) == text) + (read_by_another(label) == text)
    return wanted, found
