"""A test that fails is run once more, and what stood in its way the first time is printed.

Browsers, servers, threads and two processors that some hundred tests share are slow now and then in ways that no wait
foresees. One such test in fifteen thousand does not end a run; but none is passed over in silence, and more than a few end
it, as what is broken breaks more than once. A property has one try: what it found once is a counterexample.
"""

from __future__ import annotations

import socket
from typing import Protocol

import pytest
from hypothesis import is_hypothesis_test

MOST = 3
"""More second tries than this fail the run, passed or not."""


class Reporter(Protocol):
    """What pytest's own reporter is asked for."""

    stats: dict[str, list[pytest.TestReport]]

    def section(self, title: str, sep: str = "=") -> None: ...
    def write_line(self, line: str) -> None: ...


def allow(items: list[pytest.Item]) -> None:
    """Marks all tests but those that draw their examples at random."""
    for item in items:
        if not is_hypothesis_test(getattr(item, "obj", None)):
            item.add_marker(pytest.mark.flaky(reruns=1))


def count_without_waiting(config: pytest.Config) -> None:
    """Lets each process's short messages to the one that counts tries go at once.

    What runs tests again after a crash writes two such messages a test over a local socket. By TCP's rule of small packets
    (RFC 896) the second waits for the first to be acknowledged, and that answer is delayed (RFC 1122, 4.2.3.2): 40 ms a
    test in which nobody works, five minutes of a whole run.
    """
    connection = getattr(getattr(config, "failures_db", None), "sock", None)
    if isinstance(connection, socket.socket):
        connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)


def tell(reporter: Reporter) -> None:
    """Prints why each first try failed."""
    again = reporter.stats.get("rerun", [])
    if again:
        reporter.section(f"{len(again)} failed at the first try: look into each")
    for report in again:
        reporter.section(report.nodeid, sep="_")
        reporter.write_line(report.longreprtext)


def are_too_many(reporter: Reporter) -> bool:
    return len(reporter.stats.get("rerun", [])) > MOST
