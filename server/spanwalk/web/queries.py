"""What is asked in a query, read strictly."""

from __future__ import annotations

from flask import request

from spanwalk.services.refusals import WrongInput

NUMBER_MOST = 2**53


def whole_number(name: str, default: int) -> int:
    """A whole number of the query; the default where it is not there.

    Raises
    ------
    WrongInput
        It is not a whole number from 0.
    """
    text = request.args.get(name)
    if text is None:
        return default
    if not text.isascii() or not text.isdigit() or int(text) > NUMBER_MOST:
        raise WrongInput("query-wrong", field=name, value=text[:60], right="a whole number from 0")
    return int(text)
