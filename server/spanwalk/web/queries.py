"""What is asked in a query, read strictly."""

from __future__ import annotations

from flask import request

from spanwalk.services.refusals import WrongInput

NUMBER_MOST = 2**53
DIGITS_MOST = 60


def whole_number(name: str, default: int, most: int = NUMBER_MOST) -> int:
    """A whole number of the query; the default where it is not there.

    Raises
    ------
    WrongInput
        It is not a whole number from 0 to `most`.
    """
    text = request.args.get(name)
    if text is None:
        return default
    digits = text.isascii() and text.isdigit() and len(text) <= DIGITS_MOST
    if not digits or int(text) > most:
        right = f"a whole number from 0 to {most}"
        raise WrongInput("query-wrong", field=name, value=text[:60], right=right)
    return int(text)
