"""Log lines: one for each request with its id, in JSON or to be read; security events; and never a secret in any."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from typing import Any

import pytest
from flask import Flask
from tests.running.conftest import TOKEN
from tests.support.installation import DEVICES, OWN_PAGE, PASSWORD, Installation, new_id

from spanwalk.telemetry.logs import JSON, PLAIN, JsonLines, PlainLines, begin_logs
from spanwalk.telemetry.request_context import RequestAbout, hide, working_for
from spanwalk.telemetry.security import EVENTS, NoSecurityEvent, security_event
from spanwalk.web.request.watching import DONE

ID = "0123456789abcdef0123456789abcdef"


class Lines(logging.Handler):
    """What was logged, in both forms, at every level."""

    def __init__(self) -> None:
        super().__init__(logging.DEBUG)
        self.json: list[dict[str, Any]] = []
        self.text = ""

    def emit(self, record: logging.LogRecord) -> None:
        one = JsonLines().format(record)
        assert "\n" not in one
        self.json.append(json.loads(one))
        self.text += one + "\n" + PlainLines().format(record) + "\n"

    def of(self, event: str) -> list[dict[str, Any]]:
        return [line for line in self.json if line["event"] == event]


@pytest.fixture
def lines() -> Iterator[Lines]:
    handler, logger = Lines(), logging.getLogger("spanwalk")
    before = logger.level
    logger.setLevel(logging.DEBUG)
    logger.addHandler(handler)
    yield handler
    logger.removeHandler(handler)
    logger.setLevel(before)


# -- requests


def test_a_request_is_one_line_with_what_was_asked_by_whom_and_how_it_ended(here: Installation, lines: Lines) -> None:
    here.client("surveyor")
    lines.json.clear()
    answer = here.call("surveyor", "GET", "/api/sites/{site}/pull?since=0&secret=planted-in-the-query", buffered=True)
    (line,) = lines.of("request")
    assert (line["method"], line["route"]) == ("GET", "/api/sites/<uuid:site_id>/pull")
    assert (line["status"], line["site"], line["person"]) == (200, here.site, here.people["surveyor"])
    assert line["request"] == answer.headers["X-Request-ID"]
    assert line["ms"] > 0
    assert line["bytes_out"] > 0
    assert "planted-in-the-query" not in lines.text


def test_the_proxys_id_of_a_request_stands_on_its_lines_and_on_its_answer(here: Installation, lines: Lines) -> None:
    answer = here.app.test_client().get("/api/session", headers={"X-Request-ID": ID}, buffered=True)
    assert answer.headers["X-Request-ID"] == ID
    assert [line["request"] for line in lines.of("request")] == [ID]


@pytest.mark.parametrize("told", ["x" * 32, ID + "\r\nforged", ID[1:], ID.upper(), "", '"}'])
def test_an_id_that_is_none_is_not_taken_over(here: Installation, lines: Lines, told: str) -> None:
    headers = {} if "\n" in told else {"X-Request-ID": told}
    answer = here.app.test_client().get("/api/session", headers=headers, buffered=True)
    made = answer.headers["X-Request-ID"]
    assert made != told
    assert len(made) == 32
    assert lines.of("request")[0]["request"] == made


def test_two_requests_have_two_ids_and_nothing_of_the_first_stays(here: Installation, lines: Lines) -> None:
    here.client("surveyor")
    lines.json.clear()
    here.call("surveyor", "GET", "/api/session", buffered=True)
    here.app.test_client().get("/api/session", buffered=True)
    first, second = lines.of("request")
    assert first["request"] != second["request"]
    assert "person" not in second
    logging.getLogger("spanwalk").warning("between requests")
    assert "request" not in lines.of("between requests")[0]


def test_a_failure_is_written_down_with_its_trace_and_the_id_that_the_answer_tells(
    failing: Flask, lines: Lines
) -> None:
    answer = failing.test_client().get("/api/planted/boom")
    assert answer.status_code == 500
    (line,) = [line for line in lines.json if "trace" in line]
    assert line["request"] == answer.json["request"] == answer.headers["X-Request-ID"]
    assert "ZeroDivisionError" in line["trace"]
    assert "planted" not in answer.text.replace("/api/planted", "")


def test_what_monitors_and_pages_ask_all_the_time_is_only_for_those_who_look_closely(
    here: Installation, lines: Lines
) -> None:
    client = here.app.test_client()
    for path in ("/api/health", "/api/ready", "/app/main.js", "/api/session"):
        client.get(path, buffered=True)
    assert [line["level"] for line in lines.of("request")] == ["debug", "debug", "debug", "info"]


# -- no secrets


@pytest.fixture
def failing(here: Installation, monkeypatch: pytest.MonkeyPatch) -> Flask:
    """The same app, with an endpoint that fails in a way that tells everything that was sent."""
    from flask import request

    from spanwalk.messages.bodies import SignInIn
    from spanwalk.web.people import sessions

    def boom() -> None:
        1 / 0  # noqa: B018

    def tell(*told: object, **_more: object) -> None:
        raise RuntimeError(f"{told} {dict(request.headers)} {request.get_data()!r}")

    assert SignInIn is not None
    if "boom" not in here.app.view_functions:
        here.app._got_first_request = False
        here.app.add_url_rule("/api/planted/boom", "boom", boom)
    monkeypatch.setattr(sessions, "sign_in", tell)
    return here.app


PLANTED = "planted password of a person"


def test_no_password_or_cookie_stands_in_a_line_not_even_of_a_failure_that_tells_all(
    failing: Flask, lines: Lines
) -> None:
    client = failing.test_client()
    client.set_cookie("spanwalk_session", "planted-cookie")
    body = {"name": "surveyor", "password": PLANTED}
    headers = OWN_PAGE | {"Authorization": "Bearer planted-bearer"}
    assert client.post("/api/session", json=body, headers=headers).status_code == 500
    assert "RuntimeError" in lines.text
    for secret in (PLANTED, "planted-cookie", "planted-bearer"):
        assert secret not in lines.text


def test_no_secret_of_a_whole_day_stands_in_a_line(here: Installation, lines: Lines) -> None:
    """Signing in right and wrong, a link made, opened and used, a password changed, figures fetched, a photo, a push."""
    client, secrets = here.app.test_client(), [PASSWORD, PLANTED, "planted-new-one and more words", TOKEN]

    def call(method: str, path: str, **more: Any) -> Any:
        answer = client.open(path, method=method, headers=OWN_PAGE | more.pop("headers", {}), buffered=True, **more)
        return answer.json if answer.is_json else answer

    assert call("POST", "/api/session", json={"name": "manager", "password": PLANTED})["status"] == 401
    assert call("POST", "/api/session", json={"name": PASSWORD, "password": "manager"})["status"] == 401
    call("POST", "/api/session", json={"name": "manager", "password": PASSWORD})
    cookie = client.get_cookie("spanwalk_session")
    assert cookie is not None
    made = call("POST", f"/api/sites/{here.site}/invites", json={"role": "surveyor"})
    secret = made["address"].partition("#")[2]
    assert len(secret) > 20
    secrets += [cookie.value, secret, secret.split("/")[-1]]
    call("PUT", "/api/session/password", json={"old": PASSWORD, "password": "short"})
    call("PUT", "/api/session/password", json={"old": PLANTED, "password": "planted-new-one and more words"})
    other = here.app.test_client()
    for path in ("open", "accept"):
        body = {"secret": secret.split("/")[-1], "name": f"Newcomer {new_id()[:4]}", "password": secrets[2]}
        other.post(f"/api/links/{path}", json=body, headers=OWN_PAGE, buffered=True)
    used = other.get_cookie("spanwalk_session")
    assert used is not None, "the link could not be used"
    secrets.append(used.value)
    call("GET", "/api/metrics", headers={"Authorization": f"Bearer {TOKEN.replace(' ', '-')}"})
    client.get("/join?secret=" + PLANTED.replace(" ", "-"), buffered=True)
    call("DELETE", "/api/session")
    secrets += [each.replace(" ", "-") for each in secrets]
    assert len(lines.of("request")) >= 10
    assert [each for each in secrets if each in lines.text] == []


def test_values_of_the_database_stand_in_no_error_of_it(here: Installation) -> None:
    from sqlalchemy import text
    from sqlalchemy.exc import DBAPIError

    from spanwalk.storage.database import reading

    with here.app.app_context(), reading() as session, pytest.raises(DBAPIError) as failed:
        session.execute(text("SELECT * FROM not_there WHERE it = :it"), {"it": PLANTED})
    assert PLANTED not in str(failed.value)


@pytest.mark.parametrize(
    "secret",
    [
        "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHQ$aGFzaA",
        "nM3yJ0u2Wl8xq7Zr5vTt9cKbGf1dHsEaPiLo4_-NmQx",
        "spanwalk:opensesame",
    ],
)
def test_what_looks_like_a_secret_of_ours_is_hidden_whoever_writes_it(lines: Lines, secret: str) -> None:
    told = f"postgresql://{secret}@db/spanwalk" if ":" in secret else f"it was {secret}"
    logging.getLogger("spanwalk.anything").warning("someone wrote: %s", told)
    assert secret not in lines.text
    assert "[hidden]" in lines.text


def test_what_was_hidden_for_one_request_is_shown_in_another(lines: Lines) -> None:
    log = logging.getLogger("spanwalk.anything")
    with working_for(RequestAbout(ID)):
        hide("walnut")
        log.warning("a walnut")
    log.warning("another walnut")
    assert [line["event"] for line in lines.json] == ["a [hidden]", "another walnut"]


# -- the two forms


@pytest.mark.parametrize("evil", ["a\nforged line", "a\x1b[2Jcleared", "a\u202ebackwards", "a\u2028b", "a\rb"])
def test_no_value_can_begin_a_line_or_move_the_cursor(lines: Lines, evil: str) -> None:
    logging.getLogger("spanwalk.anything").warning("told: %s", evil, extra={"facts": {"value": evil}})
    plain = lines.text.splitlines()[1]
    assert len(lines.text.splitlines()) == 2
    assert plain.isprintable()
    assert lines.json[0]["value"] == evil


@pytest.mark.parametrize("form", [JSON, PLAIN])
def test_what_other_packages_log_has_the_same_form(form: str, capsys: pytest.CaptureFixture[str]) -> None:
    root = logging.getLogger()
    handlers, level = root.handlers[:], root.level
    try:
        begin_logs(form, "warning")
        logging.getLogger("waitress.queue").warning("Task queue depth is %d", 3)
        logging.getLogger("waitress.queue").info("not asked for")
    finally:
        root.handlers[:] = handlers
        root.setLevel(level)
    (line,) = capsys.readouterr().err.splitlines()
    if form == JSON:
        told = json.loads(line)
        assert (told["logger"], told["level"], told["event"]) == ("waitress.queue", "warning", "Task queue depth is 3")
    else:
        assert line.endswith("WARNING Task queue depth is 3")


# -- security events


def test_a_wrong_password_is_an_event_without_the_name_that_was_typed(here: Installation, lines: Lines) -> None:
    here.app.test_client().post(
        "/api/session", json={"name": "typed into the wrong field", "password": "x"}, headers=OWN_PAGE
    )
    (line,) = lines.of("sign-in-failed")
    assert (line["level"], line["security"], line["code"]) == ("warning", True, "sign-in-refused")
    assert line["address"] == "127.0.0.1"
    assert "typed into the wrong field" not in lines.text


def test_a_right_one_is_an_event_of_its_person(here: Installation, lines: Lines) -> None:
    here.clients.pop("crew", None)
    here.client("crew")
    (line,) = lines.of("sign-in")
    assert (line["level"], line["person"]) == ("info", here.people["crew"])


def test_a_refusal_is_an_event_with_its_code_and_site(here: Installation, lines: Lines) -> None:
    assert here.call("crew", "GET", "/api/sites/{site}/order.csv").status_code == 403
    (line,) = lines.of("refused")
    assert (line["code"], line["site"], line["person"]) == ("role-not-enough", here.site, here.people["crew"])


def test_a_request_from_another_page_is_an_event(here: Installation, lines: Lines) -> None:
    here.call("crew", "POST", "/api/sites/{site}/push", headers={"Sec-Fetch-Site": "cross-site"})
    assert [line["code"] for line in lines.of("origin-refused")] == ["origin-other"]


def test_a_phone_shut_out_is_an_event_that_names_it(here: Installation, lines: Lines) -> None:
    here.floor()
    phones = here.call("manager", "GET", "/api/sites/{site}/devices").json["devices"]
    phone = next(each for each in phones if each["id"] == DEVICES["surveyor"])
    assert here.call("manager", "DELETE", f"/api/sites/{{site}}/devices/{phone['id']}").status_code in (200, 204)
    (line,) = lines.of("phone-shut-out")
    assert (line["device"], line["site"]) == (phone["id"], here.site)
    path = f"/api/sites/{{site}}/devices/{phone['id']}"
    assert here.call("manager", "PUT", path, json={"shut_out": False}).status_code == 204
    (line,) = lines.of("phone-let-in")
    assert (line["device"], line["site"]) == (phone["id"], here.site)
    assert len(lines.of("phone-shut-out")) == 1


def test_whatever_leaves_as_a_file_is_an_event_and_what_is_read_is_none(here: Installation, lines: Lines) -> None:
    assert here.call("manager", "GET", "/api/sites/{site}/devices").status_code == 200
    assert lines.of("data-exported") == []
    assert here.call("manager", "GET", "/api/sites/{site}/walk.csv").status_code == 200
    (line,) = lines.of("data-exported")
    assert line["site"] == here.site


def test_an_old_or_invented_cookie_is_an_event_and_no_cookie_is_none(here: Installation, lines: Lines) -> None:
    client = here.app.test_client()
    client.get("/api/session")
    assert lines.of("session-unknown") == []
    client.set_cookie("spanwalk_session", "invented")
    client.get("/api/session")
    assert len(lines.of("session-unknown")) == 1


def test_every_endpoint_that_is_an_event_by_itself_is_there(here: Installation) -> None:
    assert set(DONE) - set(here.app.view_functions) == set()
    assert set(DONE.values()) <= set(EVENTS)


def test_an_event_that_nobody_knows_is_refused() -> None:
    with pytest.raises(NoSecurityEvent, match="something"):
        security_event("something")  # type: ignore[arg-type]
