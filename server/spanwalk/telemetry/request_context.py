"""What every log line of a request shares: its id, who asks and from where; and what must never stand in one."""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field

REQUEST_ID = re.compile(r"[0-9a-f]{32}")
HIDDEN = "[hidden]"
SHORTEST_HIDDEN = 3
"""Shorter texts are not looked for: hiding each 'a' of a line would leave nothing of it."""
ALWAYS_SECRET = re.compile(
    r"\$argon2[^\s'\"]+"  # a hashed password
    r"|(?<![A-Za-z0-9_-])[A-Za-z0-9_-]{43}(?![A-Za-z0-9_-])"  # 256 random bits: a session, a link, a phone
    r"|(?<=://)[^\s/@:]+:[^\s/@]+(?=@)"  # name and password in an address
)


@dataclass
class RequestAbout:
    """One request."""

    id: str
    address: str = ""
    person: str | None = None
    hidden: set[str] = field(default_factory=set)


_current: ContextVar[RequestAbout | None] = ContextVar("spanwalk_request", default=None)
_always_hidden: set[str] = set()


def request_id(told: str | None) -> str:
    """The id of a request: what a proxy says, if it is 32 hexadecimal digits, else a new one."""
    return told if told is not None and REQUEST_ID.fullmatch(told) else secrets.token_hex(16)


def begin_request(about: RequestAbout) -> None:
    """From here on this thread works for a request; what was before it is forgotten."""
    _current.set(about)


def end_request() -> None:
    """This thread works for no request any more."""
    _current.set(None)


def current_request() -> RequestAbout | None:
    """The request that this thread works for, or None."""
    return _current.get()


@contextmanager
def working_for(about: RequestAbout) -> Iterator[None]:
    """A block that belongs to a request, whichever thread it runs in."""
    token = _current.set(about)
    try:
        yield
    finally:
        _current.reset(token)


def hide(*values: object) -> None:
    """Let these texts stand in no log line of this request."""
    about = _current.get()
    if about is not None:
        about.hidden.update(value for value in values if isinstance(value, str) and len(value) >= SHORTEST_HIDDEN)


def hide_always(*values: str | None) -> None:
    """Let these texts stand in no log line of this process: secrets among the settings."""
    _always_hidden.update(value for value in values if value and len(value) >= SHORTEST_HIDDEN)


def without_secrets(text: str) -> str:
    """A text in which what must not be seen is replaced: what was hidden, and whatever looks like a secret of ours."""
    about = _current.get()
    hidden = _always_hidden | about.hidden if about is not None else _always_hidden
    for value in sorted(hidden, key=len, reverse=True):
        text = text.replace(value, HIDDEN)
    return ALWAYS_SECRET.sub(HIDDEN, text)
