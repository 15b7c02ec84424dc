"""A process of its own that searches for the best order: a problem in on one line, answers out, one a line, until it is done.

It ends when its input does, so never outlives who asked; whatever it is in, since the solver looks at nothing for long.
"""

from __future__ import annotations

import json
import os
import resource
import sys
from threading import Thread

import orjson

from spanwalk.rules.site_order.problem import from_json
from spanwalk.services.site_order.searching import Answer, Search

MEMORY_BYTES_MOST = 4 * 1024**3
KINDLY = 5
"""By how much it stands back behind the server's own work."""


def main() -> None:
    """Read the problem, tell answers."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES_MOST, MEMORY_BYTES_MOST))
    os.nice(KINDLY)
    told = orjson.loads(sys.stdin.buffer.readline())
    Thread(target=_end_with_input, daemon=True).start()
    given = from_json(told["problem"])
    Search(given, float(told["seconds"]), _Teller()).run()


def _end_with_input() -> None:
    sys.stdin.read()
    os._exit(0)


class _Teller:
    """Writes answers; a choice only where it is another than the one told last."""

    def __init__(self) -> None:
        self._told: tuple[int, ...] | None = None

    def __call__(self, answer: Answer) -> None:
        """Write one answer as a line of JSON."""
        found = answer.found
        line: dict[str, object] = {
            "step": answer.step,
            "worth": None if found is None else round(found.told.worth, 2),
            "items": None if found is None else found.told.items,
            "bound": answer.bound,
            "gap": answer.gap,
            "proved": answer.proved,
            "seconds": answer.seconds,
        }
        if found is not None and (found.choice != self._told or answer.step == "done"):
            line["choice"], self._told = found.choice, found.choice
        try:
            print(json.dumps(line), flush=True)
        except BrokenPipeError:
            # Raised inside the solver's call-back it would be swallowed.
            os._exit(0)


if __name__ == "__main__":
    main()
