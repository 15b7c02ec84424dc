"""A page that knows of nobody asks who is signed in: that nobody is, is no error there, and stays one where it is asked plainly."""

from __future__ import annotations

from tests.support.installation import Installation


def test_nobody_is_no_error_where_it_may_be_nobody(here: Installation) -> None:
    answer = here.call(None, "GET", "/api/session/if-any")
    assert (answer.status_code, answer.data) == (204, b"")


def test_nobody_is_still_an_error_where_it_is_asked_plainly(here: Installation) -> None:
    answer = here.call(None, "GET", "/api/session")
    assert (answer.status_code, answer.json["code"]) == (401, "not-signed-in")


def test_who_is_signed_in_reads_the_same_either_way(here: Installation) -> None:
    told = here.call("surveyor", "GET", "/api/session/if-any")
    assert told.status_code == 200
    assert told.json["person"]["name"] == "surveyor"
    assert told.json == here.call("surveyor", "GET", "/api/session").json
