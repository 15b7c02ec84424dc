"""What the fuzzers tried, counted: how many cases of what kind, and what became of them.

`python -m tests.support.tried` runs them and prints a table; `server/asvs.md` has the one of a run.
"""

from __future__ import annotations

import sys
import time
from collections import Counter

WHERE = (
    "tests/conformance/test_the_document.py",
    "tests/front/test_raw_requests.py",
    "tests/photos/test_hostile_photos.py",
)
ONLY = "drawn_requests or odd_request or hidden_in_a_body or whatever_bytes"
_counts: Counter[tuple[str, str]] = Counter()


def note(kind: str, became: object) -> None:
    """One case of a kind, and what became of it."""
    _counts[kind, str(became)] += 1


def table() -> list[str]:
    """A line for each kind: how many cases, and how many became what."""
    kinds = sorted({kind for kind, _ in _counts})
    lines = ["| kind | cases | what became of them |", "| --- | --- | --- |"]
    for kind in kinds:
        became = {what: count for (each, what), count in sorted(_counts.items()) if each == kind}
        told = ", ".join(f"{what}: {count:,}" for what, count in became.items())
        lines.append(f"| {kind} | {sum(became.values()):,} | {told} |")
    return lines


def main() -> int:
    """Run the fuzzers and print what they tried."""
    import pytest

    from tests.support import tried

    began = time.monotonic()
    failed = pytest.main(["-q", "-p", "no:cacheprovider", "-k", ONLY, *WHERE])
    print("\n".join(tried.table()))
    print(f"{time.monotonic() - began:.0f} s; pytest ended with {int(failed)}")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
