"""A sign-in that is used lasts on: its end moves with use, and so does that of its cookie."""

from __future__ import annotations

import logging

from flask import Flask, Response, g, request
from sqlalchemy.exc import DBAPIError

from spanwalk.config import Settings
from spanwalk.services.people.signing_in import SignedIn, note_seen
from spanwalk.web.people.sessions import with_lasting_cookie
from spanwalk.web.request.auth import COOKIE

log = logging.getLogger("spanwalk")


def register(app: Flask) -> None:
    """Move the end of a sign-in on with every answer to it that is no refusal."""
    settings: Settings = app.extensions["spanwalk"]

    def slide(answer: Response) -> Response:
        person: SignedIn | None = g.get("person")
        token = request.cookies.get(COOKIE)
        told = any(each.startswith(f"{COOKIE}=") for each in answer.headers.getlist("Set-Cookie"))
        if person is None or not token or told or answer.status_code >= 400:
            return answer
        try:
            moved = note_seen(person, settings.session_days, settings.session_days_most)
        except DBAPIError:
            log.warning("a sign-in's end was not moved on: the database does not answer")
            return answer  # what was done is done, and the next request moves it
        return with_lasting_cookie(answer, token) if moved else answer

    app.after_request(slide)
