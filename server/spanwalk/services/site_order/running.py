"""Have a search done by a process of its own, and hand on what it tells; whoever stops listening ends it at once."""

from __future__ import annotations

import logging
import os
import select
import subprocess
import time
from collections.abc import Iterator
from threading import Lock
from typing import TypedDict, cast

import orjson

from spanwalk.rules.site_order.problem import Problem, to_json
from spanwalk.services.apart import bare_environment, command_of
from spanwalk.services.refusals import Unavailable
from spanwalk.telemetry.logs import told

MODULE = "spanwalk.services.site_order.process"
SLACK_S = 20.0
"""By how much a search may go over its time before it is ended: the solver looks at the clock seldom [s]."""
QUIET_S = 0.5
"""After so long without news the last answer is told again, so that it shows whether anybody still listens [s]."""
AGAIN_S = 30
PIECE_BYTES = 65_536
_one = Lock()
log = logging.getLogger(__name__)


class Told(TypedDict):
    """What a search has found so far: see `searching.Answer`."""

    step: str
    worth: float | None
    items: int | None
    bound: float | None
    gap: float | None
    proved: bool
    seconds: float
    choice: list[int] | None


NOTHING_YET: Told = {
    "step": "begun",
    "worth": None,
    "items": None,
    "bound": None,
    "gap": None,
    "proved": False,
    "seconds": 0.0,
    "choice": None,
}


def searched(given: Problem, seconds: float) -> Iterator[Told]:
    """Answers one after another, the last one last; each holds the best choice so far.

    Parameters
    ----------
    given : Problem
        What may be chosen.
    seconds : float
        How long to look [s].

    Raises
    ------
    Unavailable
        Another search is running in this server: each takes a processor for itself.
    """
    if not _one.acquire(blocking=False):
        raise Unavailable("site-order.busy", seconds=AGAIN_S)
    try:
        yield from _searched(given, seconds)
    finally:
        _one.release()


def _searched(given: Problem, seconds: float) -> Iterator[Told]:
    with subprocess.Popen(
        command_of(MODULE),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=bare_environment(os.environ),
    ) as process:
        try:
            yield from _answers(process, given, seconds)
        finally:
            process.kill()


def _answers(process: subprocess.Popen[bytes], given: Problem, seconds: float) -> Iterator[Told]:
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(orjson.dumps({"problem": to_json(given), "seconds": seconds}) + b"\n")
    process.stdin.flush()
    end, last, held = time.monotonic() + seconds + SLACK_S, NOTHING_YET, b""
    out = process.stdout.fileno()
    while time.monotonic() < end:
        ready, _, _ = select.select([out], [], [], QUIET_S)
        if not ready:
            yield last
            continue
        some = os.read(out, PIECE_BYTES)
        if not some:
            break
        *lines, held = (held + some).split(b"\n")
        for line in lines:
            answer = cast("Told", orjson.loads(line))
            last = {**answer, "choice": answer.get("choice", last["choice"])}
        if lines:
            yield last
    # Ended before it said that it was done: the best so far stands.
    if last["step"] != "done":
        told(log, logging.WARNING, "a search for the best order ended early", {"exit_code": process.poll()})
        yield {**last, "step": "done"}


__all__ = ["Told", "searched"]
