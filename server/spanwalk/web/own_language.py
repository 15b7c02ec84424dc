"""In which language somebody is answered: as they chose, else as their request says."""

from __future__ import annotations

from flask import g, request

from spanwalk.words import FIRST, known, languages


def own_language() -> str:
    """The language of who asks.

    What a person chose goes first, then what the request accepts (Accept-Language, RFC 9110, 12.5.4), then the first one.
    """
    chosen = getattr(g.get("person"), "language", None)
    return known(chosen) if chosen else request.accept_languages.best_match(languages()) or FIRST
