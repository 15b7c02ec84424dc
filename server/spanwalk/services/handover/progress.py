"""How far reports are that are being made, by the word that who asked for one gave it.

Kept in the process that makes it: asked at another process of the server, nothing is known of it, and the page says only
that it is being made.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock

KEPT_MOST = 100
Step = Callable[[int, int], None]
"""Told after each step: how many are done, and of how many."""
_lock = Lock()
_known: OrderedDict[tuple[str, str], tuple[int, int]] = OrderedDict()


def step_of(site_id: str, asked: str) -> Step:
    """What a report that is being made tells its progress to; a report without a word tells it to nobody."""

    def step(done: int, of: int) -> None:
        if not asked:
            return
        with _lock:
            _known[site_id, asked] = (done, of)
            _known.move_to_end((site_id, asked))
            while len(_known) > KEPT_MOST:
                _known.popitem(last=False)

    return step


def progress_of(site_id: str, asked: str) -> tuple[int, int]:
    """How many steps are done, and of how many; (0, 0) where nothing is known of it."""
    with _lock:
        return _known.get((site_id, asked), (0, 0))


def nobody(done: int, of: int) -> None:
    """Progress that nobody watches."""


__all__ = ["Step", "nobody", "progress_of", "step_of"]
