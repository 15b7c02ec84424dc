"""What a process of tests does otherwise while it collects them: it looks for no garbage, and keeps what it compiles.

Fifteen thousand collected tests are some million objects that stay to the end. Python would look through all of them again
and again, while nothing of theirs ever becomes garbage. And each process of each run would compile a thousand files anew
where Python is told to write no bytecode, as containers tell it.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from spanwalk.cli import NEW_OBJECTS_MOST


@contextmanager
def at_less_cost() -> Iterator[None]:
    """Collect within this. Garbage is looked for once at its end, and from then on only in what comes."""
    told = sys.dont_write_bytecode
    sys.dont_write_bytecode = False
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
        gc.collect()
        gc.freeze()
        gc.set_threshold(NEW_OBJECTS_MOST)
        sys.dont_write_bytecode = told
