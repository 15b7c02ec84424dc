"""Security events: what somebody who watches over the server wants to be told of, a line and a count each."""

from __future__ import annotations

import logging
from typing import Literal, get_args

from spanwalk.telemetry.counting import count
from spanwalk.telemetry.logs import told

SecurityEvent = Literal[
    "sign-in",
    "sign-in-failed",
    "sign-in-slowed",
    "sign-out",
    "session-ended",
    "session-unknown",
    "password-changed",
    "password-reset",
    "second-factor-changed",
    "second-factor-failed",
    "recovery-code-used",
    "reentry-failed",
    "link-made",
    "link-used",
    "link-withdrawn",
    "link-unknown",
    "person-added",
    "person-changed",
    "person-disabled",
    "role-changed",
    "person-off-site",
    "owner-changed",
    "phone-enrolled",
    "phone-shut-out",
    "phone-let-in",
    "phone-refused",
    "refused",
    "origin-refused",
    "site-deleted",
    "site-archived",
    "data-exported",
    "audit-broken",
    "file-refused",
    "too-large",
    "metrics-refused",
]
"""Their names: what happened, in the past, never a value that somebody typed."""
EVENTS: tuple[SecurityEvent, ...] = get_args(SecurityEvent)
ROUTINE = frozenset(
    {"sign-in", "sign-out", "session-ended", "link-made", "link-used", "phone-enrolled", "data-exported"}
)
"""What happens every day; all others are warnings."""
log = logging.getLogger("spanwalk.security")


class NoSecurityEvent(ValueError):
    """What was to be written down is none of `EVENTS`."""


def security_event(
    event: SecurityEvent,
    *,
    person: str | None = None,
    site: str | None = None,
    device: str | None = None,
    subject: str | None = None,
    code: str | None = None,
    address: str | None = None,
) -> None:
    """Write a security event down, and count it.

    Request id, address and who is signed in stand on the line by themselves. There is no place for free text: a name
    that was typed may be a password in the wrong field.

    Parameters
    ----------
    event : SecurityEvent
        What happened.
    person : str, optional
        Id of who did it, where that is not who is signed in.
    site, device : str, optional
        Ids of what it was about.
    subject : str, optional
        Id of the person, link, session or other thing it happened to.
    code : str, optional
        The code of a refusal.
    address : str, optional
        Where it came from, where that is not the request's own address.
    """
    if event not in EVENTS:
        raise NoSecurityEvent(event)
    named = {"person": person, "site": site, "device": device, "subject": subject, "code": code, "address": address}
    facts = {name: value for name, value in named.items() if value is not None}
    told(log, logging.INFO if event in ROUTINE else logging.WARNING, event, {"security": True, **facts})
    count("security_events", event=event)
