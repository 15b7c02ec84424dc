"""Plain bar charts: a title, a bar for each line, its number beside it; readable in black and white and as text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from spanwalk.services.labels.typesetting import BOLD, FONT, LEADING, fitted

TITLE_PT, BAR_PT = 9.5, 8.5
ROW, BAR = 20.0, 11.0
NAME_SHARE, NUMBER_SHARE = 0.3, 0.2
SHADES = (0.25, 0.5, 0.65, 0.78, 0.88)


@dataclass(frozen=True)
class Bar:
    """A line of a chart: what it is, how much, and how that is written."""

    name: str
    value: float
    text: str


@dataclass(frozen=True)
class Chart:
    """A title and its bars, all on one scale from zero."""

    title: str
    bars: Sequence[Bar]

    @property
    def height(self) -> float:
        """How high it is drawn [pt]."""
        return TITLE_PT * LEADING + 6 + len(self.bars) * ROW


def draw_chart(canvas: Canvas, chart: Chart, x: float, top: float, width: float) -> None:
    """Draw a chart below and to the right of a point [pt]."""
    canvas.setFont(BOLD, TITLE_PT)
    canvas.drawString(x, top - TITLE_PT, fitted(chart.title, BOLD, TITLE_PT, width))
    most = max((each.value for each in chart.bars), default=0) or 1
    left, room = x + width * NAME_SHARE, width * (1 - NAME_SHARE - NUMBER_SHARE)
    y = top - TITLE_PT * LEADING - 6
    for place, each in enumerate(chart.bars):
        base = y - ROW + (ROW - BAR) / 2
        canvas.setFillGray(SHADES[place % len(SHADES)])
        long = room * max(each.value, 0) / most
        canvas.rect(left, base, long, BAR, stroke=0, fill=1)
        canvas.setFillGray(0)
        canvas.setFont(FONT, BAR_PT)
        canvas.drawString(x, base + 2, fitted(each.name, FONT, BAR_PT, width * NAME_SHARE - 4))
        canvas.drawString(left + long + 4, base + 2, each.text)
        y -= ROW
    canvas.setStrokeGray(0.3)
    canvas.setLineWidth(0.6)
    canvas.line(left, top - TITLE_PT * LEADING - 6, left, y)
