"""Work in the background stands back while somebody is answered: both share one interpreter, which runs one thread at a time.

A request is short and waits for its turn anew after each look into the database; beside work that never pauses it takes many times
as long. So such work asks between two pieces of it, mostly a few milliseconds each, whether it is to wait.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

TIMES_MOST = 4.0
"""So many times as long as it worked it waits at most: a server that never rests gets on with it at a fifth of the speed."""
MOST_S = 1.0
"""No longer than this, however long a piece took [s]."""


class Answering:
    """How many requests a process answers just now."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._now = 0

    @contextmanager
    def one(self) -> Iterator[None]:
        """A block that answers a request."""
        with self._changed:
            self._now += 1
        try:
            yield
        finally:
            with self._changed:
                self._now -= 1
                if self._now == 0:
                    self._changed.notify_all()

    def wait_for_none(self, most_s: float) -> None:
        """Wait until none is answered, so long at most [s]."""
        with self._changed:
            self._changed.wait_for(lambda: self._now == 0, most_s)


ANSWERING = Answering()
"""The requests of this process."""


class StandingBack:
    """Waits between two pieces of work while requests are answered.

    Parameters
    ----------
    wait : callable
        Waits until no request is answered, so many seconds at most.
    clock : callable
        Seconds that pass [s].
    """

    def __init__(self, wait: Callable[[float], None], clock: Callable[[], float] = time.monotonic) -> None:
        self._wait, self._clock = wait, clock
        self._began = clock()

    def between(self) -> None:
        """Between two pieces of work."""
        self._wait(min(MOST_S, TIMES_MOST * (self._clock() - self._began)))
        self._began = self._clock()


_here: ContextVar[StandingBack | None] = ContextVar("spanwalk_standing_back", default=None)


@contextmanager
def standing_back() -> Iterator[None]:
    """A block that works in the background: whatever it calls stands back where `stand_back` is asked."""
    token = _here.set(StandingBack(ANSWERING.wait_for_none))
    try:
        yield
    finally:
        _here.reset(token)


def stand_back() -> None:
    """Between two pieces of work, outside a writing transaction: wait while requests are answered, if this works in the background."""
    here = _here.get()
    if here is not None:
        here.between()


__all__ = ["ANSWERING", "MOST_S", "TIMES_MOST", "Answering", "StandingBack", "stand_back", "standing_back"]
