"""A line in which the writers of one SQLite database wait inside this process: who comes first is served first.

SQLite's own waiting is a poll with growing pauses, in which who has waited longest looks least often: with twelve phones
that push without pause, one waited 36 times as long as the median. Several processes on one file still poll each other.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from threading import Event, Lock


class WaitedTooLong(Exception):
    """The time for which a writer waits is over, and it is not its turn."""


class Line:
    """One may write at a time; the turn is handed to whoever waits longest, and nobody can step in before them."""

    def __init__(self) -> None:
        self._guard = Lock()
        self._waiting: deque[Event] = deque()
        self._busy = False

    @contextmanager
    def turn(self, wait_s: float) -> Iterator[None]:
        """Wait for one's turn, and hand it on at the end.

        Parameters
        ----------
        wait_s : float
            How long to wait for it at most [s].

        Raises
        ------
        WaitedTooLong
            It did not come.
        """
        self._join(wait_s)
        try:
            yield
        finally:
            self._hand_on()

    def waiting(self) -> int:
        """How many wait now."""
        with self._guard:
            return len(self._waiting)

    def _join(self, wait_s: float) -> None:
        with self._guard:
            if not self._busy:
                self._busy = True
                return
            mine = Event()
            self._waiting.append(mine)
        if mine.wait(wait_s):
            return
        with self._guard:
            if mine in self._waiting:
                self._waiting.remove(mine)
                raise WaitedTooLong
        # The turn came in the very moment in which the time was over.

    def _hand_on(self) -> None:
        with self._guard:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._busy = False


@cache
def line_of(database: str) -> Line:
    """The line of a database, by its address."""
    return Line()
