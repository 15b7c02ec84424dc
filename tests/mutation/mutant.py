"""One small fault planted in a source file, as a piece of text put in place of another."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Json = Any
ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Mutant:
    """A fault: `text` in place of what stands from `start` to `end` (characters) in `file`, a path below the root.

    `kind` is the sort of fault ('comparison', 'term', 'constant' and so on).
    """

    file: str
    start: int
    end: int
    text: str
    kind: str

    def source(self) -> str:
        """The whole file with the fault in it."""
        whole = (ROOT / self.file).read_text(encoding="utf-8")
        return whole[: self.start] + self.text + whole[self.end :]

    def change(self) -> tuple[int, str, str]:
        """Number of the first line touched, the lines as they are, and as they become; runs of blanks are one."""
        whole = (ROOT / self.file).read_text(encoding="utf-8")
        first = whole.rfind("\n", 0, self.start) + 1
        last = whole.find("\n", self.end)
        was, now = whole[first:last], whole[first : self.start] + self.text + whole[self.end : last]
        return whole.count("\n", 0, first) + 1, _one_line(was), _one_line(now)

    def __str__(self) -> str:
        line, was, now = self.change()
        return f"{self.file}:{line} ({self.kind})\n    was {was}\n    now {now}"


def _one_line(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()
