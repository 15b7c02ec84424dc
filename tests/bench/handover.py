"""A hand-over report of 400 rooms, 3,000 fixtures and 1,200 photos beside the bare drawing of the same pages; its memory."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass, field
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from spanwalk.services.handover import paper
from spanwalk.services.handover.pages import report_pdf
from spanwalk.services.labels.typesetting import ready
from tests.bench.figure import Figure, highest_mb, in_turns, milliseconds
from tests.handover.some_report import CountedStore, a_report

ROOMS, FIXTURES_EACH, PHOTOS_EACH, RUNS = 400, 8, 3, 3
"""3,200 fixtures and 1,200 photos in all."""
RATIO_MOST, MEMORY_MB_MOST, BYTES_MOST = 3.0, 400, 10_000_000
CHILD_S = 300
DRAWN = (
    "drawString",
    "drawRightString",
    "setFont",
    "line",
    "rect",
    "drawImage",
    "showPage",
    "setFillColorRGB",
    "setStrokeColorRGB",
    "setFillGray",
    "setStrokeGray",
    "setLineWidth",
    "bookmarkHorizontal",
    "addOutlineEntry",
)
"""What the report asks of the library: nothing is measured or broken into lines when it is asked again."""
Call = tuple[str, tuple[object, ...], dict[str, object]]


@dataclass
class Recorded:
    """The calls of one report, in their order."""

    calls: list[Call] = field(default_factory=list)
    inside: bool = False
    """Whether the library is calling itself: that it does again by itself."""


def recorded() -> Recorded:
    """The calls by which the report is drawn."""
    told, real = Recorded(), paper.Canvas

    class Recording(Canvas):  # type: ignore[misc]
        def __getattribute__(self, name: str) -> object:
            found = super().__getattribute__(name)
            if name not in DRAWN:
                return found

            def call(*args: object, **named: object) -> object:
                if not told.inside:
                    told.calls.append((name, args, named))
                before, told.inside = told.inside, True
                try:
                    return found(*args, **named)
                finally:
                    told.inside = before

            return call

    paper.Canvas = Recording  # type: ignore[misc]
    try:
        report_pdf(a_report(ROOMS, FIXTURES_EACH, PHOTOS_EACH), CountedStore())
    finally:
        paper.Canvas = real  # type: ignore[misc]
    return told


def bare(told: Recorded) -> bytes:
    """The same pages by the library alone."""
    out = BytesIO()
    canvas = Canvas(out, pagesize=(612, 792), pageCompression=1, invariant=1)
    for name, args, named in told.calls:
        getattr(canvas, name)(*args, **named)
    canvas.save()
    return out.getvalue()


def report_of_400_rooms() -> Figure:
    """The time of the report, its bytes, and the memory of a process that makes it and nothing else."""
    ready()
    report, told = a_report(ROOMS, FIXTURES_EACH, PHOTOS_EACH), recorded()
    made = report_pdf(report, CountedStore())
    ours, reference = in_turns(
        lambda: milliseconds(lambda: report_pdf(report, CountedStore())), lambda: milliseconds(lambda: bare(told)), RUNS
    )
    memory = memory_mb()
    return Figure(
        name="hand-over report, 400 rooms",
        ours=ours,
        reference="the same calls of the library alone",
        of_reference=reference,
        most=RATIO_MOST,
        runs=RUNS,
        notes=(
            f"{len(made):,} bytes of at most {BYTES_MOST:,}",
            f"{memory:.0f} MB at most in a process of its own, of {MEMORY_MB_MOST} MB",
        ),
        within=len(made) < BYTES_MOST and memory < MEMORY_MB_MOST,
    )


def memory_mb() -> float:
    """The most memory of a process that makes the report once [MB]."""
    command = [sys.executable, "-m", "tests.bench.handover"]
    told = subprocess.run(command, capture_output=True, text=True, timeout=CHILD_S, check=True)
    return float(told.stdout)


def main() -> None:
    """Make the report once and say how much memory that took at most [MB]."""
    report_pdf(a_report(ROOMS, FIXTURES_EACH, PHOTOS_EACH), CountedStore())
    print(highest_mb())


if __name__ == "__main__":
    main()
