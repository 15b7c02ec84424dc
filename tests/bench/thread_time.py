"""What a page's main thread itself works for each interaction, of Chromium's own trace: load beside it does not change that."""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass
from typing import NotRequired, TypedDict

CATEGORIES = ["devtools.timeline", "disabled-by-default-devtools.timeline", "blink.user_timing"]
MARK = "spanwalk-walk:"
"""Begins the name of each of the page's marks: they tell its thread, and what was tapped."""


class TraceId(TypedDict):
    local: str


class Timing(TypedDict):
    interactionId: NotRequired[int]


class TraceArgs(TypedDict):
    data: NotRequired[Timing]


class TraceEvent(TypedDict):
    """An entry of a trace (Trace Event Format); times in microseconds, `tdur` is what the thread itself ran."""

    name: str
    ph: str
    pid: int
    tid: int
    ts: float
    dur: NotRequired[float]
    tdur: NotRequired[float]
    id2: NotRequired[TraceId]
    args: TraceArgs


@dataclass(frozen=True)
class Interaction:
    """One tap or key until the paint that answers it."""

    name: str
    wall_ms: float
    thread_ms: float


def interactions_of(trace: bytes) -> list[Interaction]:
    """All interactions of the page that set marks, as they came."""
    events: list[TraceEvent] = json.loads(trace)["traceEvents"]
    marks = sorted((each for each in events if each["name"].startswith(MARK)), key=lambda each: each["ts"])
    pid, tid = marks[0]["pid"], marks[0]["tid"]
    ours = [each for each in events if each["pid"] == pid]
    tasks = [each for each in ours if each["tid"] == tid and each["name"] == "RunTask" and each["ph"] == "X"]
    found: dict[int, list[tuple[float, float]]] = defaultdict(list)
    begun: dict[str, TraceEvent] = {}
    for event in sorted((each for each in ours if each["name"] == "EventTiming"), key=lambda each: each["ts"]):
        key = event.get("id2", TraceId(local=""))["local"]
        if event["ph"] == "b":
            begun[key] = event
        elif key in begun:
            first = begun.pop(key)
            data = first["args"].get("data", event["args"].get("data", Timing()))
            if number := data.get("interactionId", 0):
                found[number].append((first["ts"], event["ts"]))
    return [
        Interaction(
            next((m["name"] for m in reversed(marks) if m["ts"] <= spans[0][0] + 1000), "").removeprefix(MARK),
            max(end - start for start, end in spans) / 1000,
            sum(_ran_within(task, min(s for s, _ in spans), max(e for _, e in spans)) for task in tasks) / 1000,
        )
        for spans in found.values()
    ]


def _ran_within(task: TraceEvent, start: float, end: float) -> float:
    """The share of a task's own time that lies in a span [µs]."""
    whole = task.get("dur", 0)
    within = min(task["ts"] + whole, end) - max(task["ts"], start)
    return task.get("tdur", whole) * within / whole if within > 0 and whole > 0 else 0
