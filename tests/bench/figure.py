"""One figure of speed: ours and a reference, measured in turns in one run, with the ratio that is wanted."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True)
class Figure:
    """Medians of interleaved runs, or counts beside a limit; `ratio` is ours / reference, `most` the largest ratio that is wanted.

    `notes` are printed below it; `within` says whether what they tell is within what is wanted.
    """

    name: str
    ours: float
    reference: str
    of_reference: float
    most: float
    runs: int
    notes: tuple[str, ...] = ()
    within: bool = True
    unit: str = "ms"

    @property
    def ratio(self) -> float:
        return self.ours / self.of_reference

    @property
    def met(self) -> bool:
        return self.ratio <= self.most and self.within

    def row(self) -> dict[str, object]:
        return {**asdict(self), "ratio": round(self.ratio, 2), "met": self.met}


def milliseconds(work: Callable[[], object]) -> float:
    """How long one call takes [ms]."""
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def highest_mb() -> float:
    """The most memory that this process held so far [MB]: what its parent held is not in it, as it is in `ru_maxrss`."""
    (line,) = [each for each in Path("/proc/self/status").read_text().splitlines() if each.startswith("VmHWM:")]
    return int(line.split()[1]) / 1024


def in_turns(ours: Callable[[], float], reference: Callable[[], float], runs: int) -> tuple[float, float]:
    """Medians of both, taken in turns so that a busy machine slows both alike; each call returns its own milliseconds."""
    taken = [(ours(), reference()) for _ in range(runs)]
    return statistics.median(t[0] for t in taken), statistics.median(t[1] for t in taken)


def table(figures: list[Figure]) -> str:
    lines = [f"{'figure':44} {'ours':>10} {'reference':>10} {'ratio':>7} {'wanted':>7}  met"]
    for f in figures:
        met = "yes" if f.met else "NO"
        lines.append(
            f"{f.name:44} {f.ours:8.1f}{f.unit:2} {f.of_reference:8.1f}{f.unit:2} {f.ratio:7.2f} {f.most:7.1f}  {met}"
        )
        runs = f"{f.runs} runs in turns" if f.runs > 1 else "one run"
        lines.append(f"{'':44} against {f.reference}, {runs}")
        lines += [f"{'':44} {note}" for note in f.notes]
    return "\n".join(lines)
