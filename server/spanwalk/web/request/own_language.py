"""In which language somebody is answered: as they chose, else as their request says; and in which a paper is made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import wraps
from typing import ParamSpec, cast

from flask import Response, g, request

from spanwalk.words import FIRST, known, languages, reading_in

P = ParamSpec("P")


def own_language() -> str:
    """The language of who asks.

    What a person chose goes first, then what the request accepts (Accept-Language, RFC 9110, 12.5.4), then the first one.
    """
    chosen = getattr(g.get("person"), "language", None)
    return known(chosen) if chosen else request.accept_languages.best_match(languages()) or FIRST


def in_own_language(view: Callable[P, Response]) -> Callable[P, Response]:
    """A view whose answer one person reads now and no record keeps: what is said in it is in their language.

    Where its query is a `PaperQuery` and names a language, the paper is made in that one.
    """

    @wraps(view)
    def read(*args: P.args, **kwargs: P.kwargs) -> Response:
        query = cast("Mapping[str, str]", kwargs.get("query") or {})
        with reading_in(query.get("language") or own_language()):
            return view(*args, **kwargs)

    return read
