"""How much of a request is taken, and of whom: judged by its head, before its body is read.

`web/server/serving` asks before it takes a longer body; `web/server/proxy_config` tells a proxy the same.
"""

from __future__ import annotations

import re
import time
from collections.abc import Mapping
from threading import Lock
from typing import NamedTuple

from flask import Flask, current_app, request

from spanwalk.config import ATTACHMENT_BYTES_MOST, PHOTO_BYTES_MOST, PUSH_BYTES_MOST, Settings
from spanwalk.services.files.imports import FILE_BYTES_MOST
from spanwalk.services.photos.plan_pages import PDF_BYTES_MOST
from spanwalk.services.refusals import TooLarge, TooOften
from spanwalk.web.request.auth import Right, current_person, signed_in

SLACK_BYTES = 100_000
OPEN_BYTES_MOST = 64_000
"""From anyone, signed in or not: a name, a password, a one-time link."""
COPY_BYTES_MOST = 1_000_000_000
REFUSED = "spanwalk.body-refused"
"""In the environment of a request whose body was not taken: the most that would be [bytes]."""


class Heavy(NamedTuple):
    """A request that takes more than others: the most bytes of its body, what it counts against a person's rate."""

    method: str
    path: str
    bytes_most: int
    cost: int = 1
    owner: bool = False


SITE = "/api/sites/[0-9a-fA-F-]+"
HEAVY = (
    Heavy("POST", f"{SITE}/push", PUSH_BYTES_MOST + SLACK_BYTES),
    Heavy("PUT", f"{SITE}/photos/[^/]+", PHOTO_BYTES_MOST + SLACK_BYTES),
    Heavy("PUT", f"{SITE}/attachments/[^/]+", ATTACHMENT_BYTES_MOST + SLACK_BYTES, cost=5),
    Heavy("POST", f"{SITE}/imports", FILE_BYTES_MOST + SLACK_BYTES, cost=10),
    Heavy("POST", f"{SITE}/plan-pages", PDF_BYTES_MOST + SLACK_BYTES, cost=10),
    Heavy("POST", f"{SITE}/best-order", OPEN_BYTES_MOST * 4, cost=10),
    Heavy("POST", f"{SITE}/(?:handover|proof)/files", OPEN_BYTES_MOST, cost=10),
    Heavy("POST", "/api/site-copies", COPY_BYTES_MOST, cost=60, owner=True),
)
USUAL = Heavy("", "", PUSH_BYTES_MOST + SLACK_BYTES, cost=0)
"""All others, of who is signed in."""


def heaviness(method: str, path: str) -> Heavy:
    """What a request may weigh, by its method and its path.

    >>> heaviness("PUT", "/api/sites/0a-1b/photos/abc").bytes_most
    12100000
    >>> heaviness("GET", "/api/sites/0a-1b/photos/abc") is USUAL
    True
    """
    for each in HEAVY:
        if each.method == method and re.fullmatch(each.path, path):
            return each
    return USUAL


def bytes_taken(app: Flask, method: str, path: str, headers: Mapping[str, str]) -> int:
    """The most bytes that are taken of a body that is longer than anyone's may be.

    Parameters
    ----------
    app : Flask
        Whose people may send more.
    method, path : str
        Of the request.
    headers : mapping of str to str
        Its headers, as a server names them: in capitals, with underscores.
    """
    heavy = heaviness(method, path)
    environment = {f"HTTP_{name}": value for name, value in headers.items()}
    with app.test_request_context(path, method=method, environ_overrides=environment):
        person = signed_in()
    if person is None or (heavy.owner and not person.owner):
        return OPEN_BYTES_MOST
    return heavy.bytes_most


def refuse_body() -> None:
    """Refuse a request whose body was not taken: who should sign in is told so, others how much is taken.

    Raises
    ------
    NotSignedIn, TooLarge
        Always, if it was not.
    """
    most = request.environ.get(REFUSED)
    if most is None:
        return
    view = current_app.view_functions.get(request.endpoint or "")
    if getattr(view, "right", Right.OPEN) is not Right.OPEN:
        current_person()
    raise TooLarge("body-too-large", most=most)


class PersonRates:
    """How often each person may ask for what takes much: a bucket of a minute's worth, which fills again by itself.

    Counted in each process of the server by itself: with n of them a person may ask n times as often.
    """

    def __init__(self, a_minute: int) -> None:
        self.a_minute = a_minute
        self._left: dict[str, tuple[float, float]] = {}
        self._lock = Lock()

    def take(self, person: str, cost: int, at_s: float) -> float:
        """Take from a person's bucket; 0, or the seconds until there is enough in it."""
        with self._lock:
            left, before = self._left.get(person, (float(self.a_minute), at_s))
            left = min(float(self.a_minute), left + (at_s - before) * self.a_minute / 60)
            enough = left >= cost
            self._left[person] = (left - cost if enough else left, at_s)
        return 0.0 if enough else (cost - left) * 60 / self.a_minute


def refuse_rate() -> None:
    """Refuse what a person asks for too often.

    Raises
    ------
    TooOften
        With the seconds to wait.
    """
    rates: PersonRates | None = current_app.extensions.get("spanwalk-rates")
    cost = heaviness(request.method, request.path).cost
    person = signed_in() if rates is not None and cost else None
    if rates is None or person is None:
        return
    wait_s = rates.take(person.id, cost, time.monotonic())
    if wait_s:
        raise TooOften("person-too-often", seconds=int(wait_s) + 1)


def register(app: Flask) -> None:
    """Limit every request of this app."""
    settings: Settings = app.extensions["spanwalk"]
    if settings.person_rate:
        app.extensions["spanwalk-rates"] = PersonRates(settings.person_rate)
    app.before_request(refuse_body)
    app.before_request(refuse_rate)
