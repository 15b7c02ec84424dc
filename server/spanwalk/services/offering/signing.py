"""A place to sign, drawn at the end of a paper."""

from __future__ import annotations

from collections.abc import Sequence

from spanwalk.services.handover.paper import FONT, MARGIN, SMALL_PT, Paper
from spanwalk.words import say

LINE_PT = 30.0
"""Room for one line that is written on [pt]."""


def to_sign(paper: Paper, about: str, first: Sequence[str] = ("option", "day")) -> None:
    """Lines for what is accepted, the day, a name and a signature, kept together with what they mean."""
    paper.heading(say("offer-sheet.sign"), 2, keep=4 * LINE_PT)
    paper.say(about)
    half = paper.inner / 2
    for names in (first, ("name", "signature")):
        paper.gap(LINE_PT)
        for place, name in enumerate(names):
            x = MARGIN + place * half
            with paper.tags.artifact():
                paper.canvas.setStrokeGray(0)
                paper.canvas.line(x, paper.y, x + half - 12, paper.y)
            with paper.tags.element("P"):
                paper.canvas.setFont(FONT, SMALL_PT)
                paper.canvas.drawString(x, paper.y - SMALL_PT - 2, say(f"offer-sheet.sign.{name}"))
        paper.gap(SMALL_PT + 6)


__all__ = ["to_sign"]
