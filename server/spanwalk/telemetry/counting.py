"""Figures of this process: counted where things happen, kept only where a setting asks for them.

Each process counts for itself; what comes from the database (`GAUGES`) is the same whichever process is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from spanwalk.words import say

if TYPE_CHECKING:
    from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram


@dataclass(frozen=True)
class Figure:
    """By which labels a figure is split, and for a distribution its steps; `metric.<name>` says what it tells."""

    labels: tuple[str, ...] = ()
    steps: tuple[float, ...] = ()


SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)
COUNTERS = {
    "requests": Figure(("method", "route", "status")),
    "operations": Figure(("result",)),
    "photos_received": Figure(("new",)),
    "sign_ins": Figure(("result",)),
    "security_events": Figure(("event",)),
}
DISTRIBUTIONS = {
    "request_seconds": Figure(("route",), SECONDS),
    "push_operations": Figure((), (0, 1, 5, 20, 100, 300, 1000)),
    "push_bytes": Figure((), (1e3, 1e4, 3e4, 1e5, 3e5, 1e6, 4e6)),
    "photo_bytes": Figure((), (5e4, 1e5, 2e5, 4e5, 8e5, 2e6, 12e6)),
}
GAUGES = {
    "photos_unsent": Figure(),
    "operations_unsent": Figure(),
    "phones_behind": Figure(),
    "sync_lag_seconds": Figure(),
    "conflicts_open": Figure(),
    "operations_held": Figure(),
    "writers_waiting": Figure(),
}
PREFIX = "spanwalk_"


def said(name: str) -> str:
    """What a figure tells, as a collector shows it beside the figure."""
    return say(f"metric.{name.replace('_', '-')}")


class Counting:
    """The figures of a process in a registry of their own."""

    def __init__(self) -> None:
        from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, ProcessCollector

        self.registry: CollectorRegistry = CollectorRegistry()
        ProcessCollector(registry=self.registry)
        self.counters: Mapping[str, Counter] = {
            name: Counter(PREFIX + name, said(name), each.labels, registry=self.registry)
            for name, each in COUNTERS.items()
        }
        self.distributions: Mapping[str, Histogram] = {
            name: Histogram(PREFIX + name, said(name), each.labels, buckets=each.steps, registry=self.registry)
            for name, each in DISTRIBUTIONS.items()
        }
        self.gauges: Mapping[str, Gauge] = {
            name: Gauge(PREFIX + name, said(name), each.labels, registry=self.registry) for name, each in GAUGES.items()
        }

    def text(self, gauges: Mapping[str, float]) -> bytes:
        """All figures in the text format that collectors read, with what the database says now."""
        from prometheus_client import generate_latest

        for name, value in gauges.items():
            self.gauges[name].set(value)
        return generate_latest(self.registry)


_counting: Counting | None = None


def begin_counting() -> Counting:
    """Count from now on, in this process; what is counted already stays."""
    global _counting
    if _counting is None:
        _counting = Counting()
    return _counting


def count(name: str, by: int = 1, **labels: str) -> None:
    """Count something, where figures are kept."""
    if _counting is not None:
        counter = _counting.counters[name]
        (counter.labels(**labels) if labels else counter).inc(by)


def observe(name: str, value: float, **labels: str) -> None:
    """Add one value to a distribution, where figures are kept."""
    if _counting is not None:
        distribution = _counting.distributions[name]
        (distribution.labels(**labels) if labels else distribution).observe(value)
