"""Log lines: one line each, as JSON or for people to read, with the id of the request, never with a secret in it."""

from __future__ import annotations

import json
import logging
import sys
import time
from collections.abc import Mapping

from spanwalk.telemetry.request_context import current_request, without_secrets

PLAIN, JSON = "plain", "json"
FORMS = (PLAIN, JSON)
LEVELS = ("debug", "info", "warning", "error")


def begin_logs(form: str, level: str) -> None:
    """Send what this process logs to standard error, from now on and in one form.

    Parameters
    ----------
    form : str
        `plain` or `json`.
    level : str
        One of `LEVELS`; what is less than it is not written.
    """
    handler = _Stderr()
    handler.setFormatter(JsonLines() if form == JSON else PlainLines())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level.upper())


def facts_of(record: logging.LogRecord) -> dict[str, object]:
    """What a line tells beside its text: of the request it belongs to, then its own."""
    about = current_request()
    told: dict[str, object] = {}
    if about is not None:
        told = {"request": about.id, "address": about.address, "person": about.person}
    told |= getattr(record, "facts", {})
    return {name: _clean(value) for name, value in told.items() if value is not None}


def _clean(value: object) -> object:
    return value if isinstance(value, (int, float)) else without_secrets(str(value))


class _Stderr(logging.StreamHandler):  # type: ignore[type-arg]  # of whatever standard error is by then
    """Standard error as it is when a line is written, also where it has been replaced since."""

    def __init__(self) -> None:
        logging.Handler.__init__(self)

    @property
    def stream(self) -> object:
        return sys.stderr


class _Lines(logging.Formatter):
    """What both forms share."""

    def at(self, record: logging.LogRecord) -> str:
        """When it was, in UTC, to the millisecond."""
        moment = time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(record.created))
        return f"{moment}.{int(record.msecs):03d}Z"

    def text(self, record: logging.LogRecord) -> str:
        """What is said."""
        return without_secrets(record.getMessage())

    def trace(self, record: logging.LogRecord) -> str | None:
        """Where it failed: files and lines, without what the variables held."""
        return without_secrets(self.formatException(record.exc_info)) if record.exc_info else None


class JsonLines(_Lines):
    """One JSON object a line: at, level, logger, event, then the facts; a line break in a value cannot begin a line."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        told: dict[str, object] = {
            "at": self.at(record),
            "level": record.levelname.lower(),
            "logger": record.name,
            "event": self.text(record),
            **facts_of(record),
        }
        if trace := self.trace(record):
            told["trace"] = trace
        return json.dumps(told, ensure_ascii=True, separators=(",", ":"))


class PlainLines(_Lines):
    """Time, level and text, then `name=value`; whatever could begin a line or move a terminal's cursor is escaped."""

    def format(self, record: logging.LogRecord) -> str:
        """The line, and the lines of a trace below it."""
        line = f"{self.at(record)} {record.levelname:7} {_escaped(self.text(record))}"
        line += "".join(f" {name}={_value(value)}" for name, value in facts_of(record).items())
        trace = self.trace(record)
        return line if trace is None else line + "".join(f"\n    {_escaped(part)}" for part in trace.splitlines())


def _escaped(text: str) -> str:
    """Without control characters, also those of Unicode that turn the direction or end a line."""
    return "".join(each if each.isprintable() else each.encode("unicode_escape").decode() for each in text)


def _value(value: object) -> str:
    text = _escaped(str(value))
    return json.dumps(text, ensure_ascii=False) if not text or " " in text or '"' in text or "=" in text else text


def told(logger: logging.Logger, level: int, event: str, facts: Mapping[str, object]) -> None:
    """Write a line with facts."""
    logger.log(level, event, extra={"facts": dict(facts)})
