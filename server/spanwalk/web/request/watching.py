"""One log line and one count for each request, and a security event for what is refused or changes who may do what."""

from __future__ import annotations

import logging
import time
from collections.abc import Mapping

from flask import Flask, Response, g, request

from spanwalk.services import refusals
from spanwalk.telemetry.counting import count, observe
from spanwalk.telemetry.logs import told
from spanwalk.telemetry.request_context import (
    RequestAbout,
    begin_request,
    current_request,
    end_request,
    hide,
    request_id,
    working_for,
)
from spanwalk.telemetry.security import SecurityEvent, security_event
from spanwalk.web.request.leaving import leaves

REQUEST_ID = "X-Request-ID"
QUIET = ("/api/health", "/api/ready", "/api/metrics", "/app/")
"""What programs ask all the time, and the page's own files: written at level debug, unless they fail."""
DONE: dict[str, SecurityEvent] = {
    "sessions.begin": "sign-in",
    "sessions.end": "sign-out",
    "own.password": "password-changed",
    "own.end_others": "session-ended",
    "own.end_one": "session-ended",
    "links.invite": "link-made",
    "links.invite_to_firm": "link-made",
    "links.reset": "link-made",
    "links.reset_anybody": "link-made",
    "links.withdraw": "link-withdrawn",
    "links.withdraw_from_firm": "link-withdrawn",
    "links.accept": "link-used",
    "links.take": "link-used",
    "people.add": "person-added",
    "people.change": "person-changed",
    "people.put_on_site": "role-changed",
    "people.revoke": "phone-shut-out",
    "people.shut_out": "phone-shut-out",
    "phones.shut_out": "phone-shut-out",
    "phones.make": "link-made",
    "phones.withdraw": "link-withdrawn",
    "phones.accept": "phone-enrolled",
    "phones.end_on": "session-ended",
    "second_factor.prove_authenticator": "second-factor-changed",
    "second_factor.keep_passkey": "second-factor-changed",
    "second_factor.new_codes": "second-factor-changed",
    "second_factor.remove": "second-factor-changed",
    "second_factor.take_off": "second-factor-changed",
    "privacy.anonymise": "person-changed",
    "sites.archive": "site-archived",
    "sites.remove": "site-deleted",
}
"""Endpoints whose success is a security event by itself; whatever leaves as a file is one, too."""
BY_BODY: Mapping[tuple[str, str, object], SecurityEvent] = {
    ("people.shut_out", "shut_out", False): "phone-let-in",
    ("phones.shut_out", "shut_out", False): "phone-let-in",
    ("people.change", "state", "disabled"): "person-disabled",
    ("people.change", "owner", True): "owner-changed",
    ("people.change", "owner", False): "owner-changed",
    ("people.put_on_site", "role", None): "person-off-site",
}
"""Of these, the ones whose body tells more: endpoint, field and value."""
REFUSED: dict[str, SecurityEvent] = {
    "sign-in-refused": "sign-in-failed",
    "password-old-wrong": "sign-in-failed",
    "second-factor-wrong": "second-factor-failed",
    "factor-code-wrong": "reentry-failed",
    "sign-in-too-often": "sign-in-slowed",
    "link-too-often": "sign-in-slowed",
    "link-unknown": "link-unknown",
    "origin-other": "origin-refused",
    "device-revoked": "phone-refused",
    "metrics-token-wrong": "metrics-refused",
    "body-too-large": "too-large",
    "photo-kind-unknown": "file-refused",
    "photo-pixels": "file-refused",
    "photo-too-much-inside": "file-refused",
}
"""Codes of refusals that have an event of their own; others of these sorts are `refused`."""
ALWAYS = (refusals.NotAllowed, refusals.TooOften)
log = logging.getLogger("spanwalk.request")


def register(app: Flask) -> None:
    """Watch every request of this app; before all else, so that what others refuse is seen too."""
    app.before_request(_begin)
    app.after_request(_end)
    app.teardown_request(_forget)


def note_refusal(refusal: refusals.Refusal) -> None:
    """A service's refusal, as a security event where it is one. A missing sign-in is one only with a cookie that is none."""
    event = REFUSED.get(refusal.code)
    if event is None and isinstance(refusal, ALWAYS):
        event = "refused"
    if event is None and refusal.code == "not-signed-in" and request.cookies:
        event = "session-unknown"
    if event is not None:
        _note_person()
        security_event(event, code=refusal.code, site=_site(), **_thing())
        if event in ("sign-in-failed", "sign-in-slowed"):
            count("sign_ins", result=event.removeprefix("sign-in-"))


def _begin() -> None:
    about = RequestAbout(request_id(request.headers.get(REQUEST_ID)), request.remote_addr or "")
    begin_request(about)
    hide(*request.cookies.values(), request.headers.get("Authorization"))
    g.began = time.perf_counter()


def _note_person() -> None:
    """Who is signed in, as far as somebody has asked by now, stands on this request's lines."""
    about, person = current_request(), g.get("person")
    if about is not None and person is not None:
        about.person = person.id


def _forget(_error: BaseException | None) -> None:
    end_request()


def _end(answer: Response) -> Response:
    about = current_request()
    if about is None:
        return answer
    _note_person()
    answer.headers.setdefault(REQUEST_ID, about.id)
    route = request.url_rule.rule if request.url_rule is not None else "none"
    facts: dict[str, object] = {
        "method": request.method,
        "route": route,
        "status": answer.status_code,
        "bytes_in": request.content_length or 0,
        "bytes_out": answer.content_length or 0,
    } | ({"site": site} if (site := _site()) is not None else {})
    level = _level(request.path, answer.status_code)
    began: float = g.began
    if answer.status_code < 300 and (event := _done(answer)) is not None:
        security_event(event, site=_site(), **_thing())
        if event == "sign-in":
            count("sign_ins", result="done")

    def sent() -> None:
        """Called when the last byte has been handed over."""
        seconds = time.perf_counter() - began
        count("requests", method=request_method, route=route, status=str(facts["status"]))
        observe("request_seconds", seconds, route=route)
        with working_for(about):
            told(log, level, "request", facts | {"ms": round(seconds * 1000, 1)})

    request_method = request.method
    answer.call_on_close(sent)
    return answer


def _done(answer: Response) -> SecurityEvent | None:
    endpoint = request.endpoint or ""
    for (name, field, value), event in BY_BODY.items():
        if name == endpoint and request.get_json().get(field) == value:
            return event
    return "data-exported" if leaves(answer) else DONE.get(endpoint)


def _level(path: str, status: int) -> int:
    if status >= 500:
        return logging.ERROR
    return logging.DEBUG if path.startswith(QUIET) and status < 400 else logging.INFO


def _site() -> str | None:
    site = (request.view_args or {}).get("site_id")
    return str(site) if site is not None else None


def _thing() -> dict[str, str]:
    """Ids of what the address names, besides the site."""
    found = {name: str(value) for name, value in (request.view_args or {}).items() if name.endswith("_id")}
    named = {"device": found.get("device_id")}
    named["subject"] = next((found[n] for n in ("person_id", "link_id", "session_id") if n in found), None)
    return {name: value for name, value in named.items() if value is not None}
