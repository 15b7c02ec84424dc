"""What is done over HTTP goes into the audit: every change that is no operation of the log, sign-ins, and all that is taken away.

One place for all endpoints: whatever changes something is entered under the endpoint's name unless it is passed over
here, and whatever leaves as a file is, too. Facts are codes, counts and ids, never names: a person who left is
forgotten by id.
"""

from __future__ import annotations

import logging

from flask import Flask, Response, g, request
from sqlalchemy import select
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from spanwalk.services.audit.chain import FIRM, Event, enter
from spanwalk.services.people.people import person_named
from spanwalk.services.people.signing_in import SignedIn
from spanwalk.storage.database import writing
from spanwalk.storage.tables import Site
from spanwalk.web.request.auth import SAFE_METHODS
from spanwalk.web.request.errors import problem
from spanwalk.web.request.leaving import leaves

PASSED_OVER = frozenset(
    {
        "push.push",  # the log's own entries
        "photos.put",  # a photo's record is an operation
        "plan_pages.draw",
        "catalogue.what_if",
        "site_order.look",
        "site_order.compare",
        "scenarios.look",
        "ordering.draft",
        "links.show",
        "phones.show",
        "files.begin",
        "files.answer",
        "files.cancel",
        "labels.printed",
    }
)
"""What changes nothing that lasts, or is vouched for as operations."""
FACTS = ("role", "state", "owner", "archived", "kind", "units")
"""Fields of a body that are codes, or yes and no."""
SIGN_IN, SIGN_OUT, ON_SITE = "sessions.begin", "sessions.end", "people.put_on_site"
log = logging.getLogger("spanwalk")


def register(app: Flask) -> None:
    """Enter what requests of this app have done."""
    app.before_request(_note_who)
    app.after_request(_enter)


def _note_who() -> None:
    """Who signs out is known only before it is done."""
    if request.endpoint == SIGN_OUT:
        from spanwalk.web.request.auth import signed_in

        signed_in()


def _enter(answer: Response) -> Response:
    what = _what(answer)
    if what is None:
        return answer
    try:
        with writing() as session:
            enter(session, _scope(session), _event(session, what, answer))
    except DBAPIError:
        if request.method in SAFE_METHODS:  # nothing leaves that is not entered
            return problem(503, "database-busy", Retry_After="5")
        log.exception("not entered in the audit: %s", what)
    return answer


def _what(answer: Response) -> str | None:
    """What this request did, as the audit calls it; None: nothing that is entered."""
    endpoint = request.endpoint
    if endpoint is None or endpoint in PASSED_OVER:
        return None
    if endpoint == SIGN_IN and answer.status_code == 401:
        return "sign-in-refused"
    if not 200 <= answer.status_code < 300:
        return None
    if request.method in SAFE_METHODS:
        return "export" if leaves(answer) else None
    return {SIGN_IN: "signed-in", SIGN_OUT: "signed-out"}.get(endpoint, endpoint)


def _scope(session: Session) -> str:
    site_id = str((request.view_args or {}).get("site_id", ""))
    known = session.execute(select(Site.id).where(Site.id == site_id)).first() if site_id else None
    return site_id if known is not None else FIRM


def _event(session: Session, what: str, answer: Response) -> Event:
    body = request.get_json(silent=True) if request.is_json or request.method not in SAFE_METHODS else None
    body = body if isinstance(body, dict) else {}
    about: dict[str, object] = {
        name: str(value) for name, value in (request.view_args or {}).items() if name not in ("site_id", "number")
    }
    about |= {name: body[name] for name in FACTS if isinstance(body.get(name), (str, bool))}
    if "person_id" in about:
        about["person"] = about.pop("person_id")
    if what == ON_SITE and isinstance(body.get("name"), str):
        about["person"] = person_named(session, body["name"])
    if what == "export":
        about["file"] = request.path.rsplit("/", 1)[-1]
    if request.endpoint == "sites.remove":
        about["site"] = str((request.view_args or {})["site_id"])
    person = _who(session, what, body, answer)
    device: SignedIn | None = g.get("person")
    phone = getattr(device, "phone", None) if device is not None else None
    return Event(what, person=person, sender=person, device=str(phone) if phone else None, about=about or None)


def _who(session: Session, what: str, body: dict[str, object], answer: Response) -> str | None:
    if what == "sign-in-refused":
        name = body.get("name")
        return person_named(session, name) if isinstance(name, str) else None
    person: SignedIn | None = g.get("person")
    if person is not None:
        return person.id
    told = (
        answer.get_json(silent=True) if answer.mimetype == "application/json" and not answer.content_encoding else None
    )
    found = told.get("person") if isinstance(told, dict) else None
    if isinstance(found, dict):
        return str(found["id"])
    name = body.get("name")
    return person_named(session, name) if isinstance(name, str) else None
