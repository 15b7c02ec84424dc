"""What a stranger sends is not read: bodies are judged by their head, connections counted, slow ones ended."""

from __future__ import annotations

import hashlib
import json
import resource
from contextlib import ExitStack, closing
from types import SimpleNamespace
from typing import Any

import pytest
from tests.front.raw import Answer, Door, read_all
from tests.photos.hostile import jpeg, noise
from tests.support.installation import OWN_PAGE, Installation, installed, new_id

from spanwalk.app import create_app
from spanwalk.config import SettingWrong, read_settings
from spanwalk.web.request.limits import HEAVY, OPEN_BYTES_MOST, PersonRates, heaviness
from spanwalk.web.server import connections
from spanwalk.web.server.connections import Channel, body_within_s

HUGE = 200_000_000


def begun(method: str, path: str, length: int | None, cookie: str = "") -> bytes:
    """The head of a request that says how long its body will be, or that it comes in chunks."""
    how = "Transfer-Encoding: chunked" if length is None else f"Content-Length: {length}"
    lines = [f"{method} {path} HTTP/1.1", "Host: localhost", "Sec-Fetch-Site: none", how]
    return "\r\n".join([*lines, *([f"Cookie: {cookie}"] if cookie else []), "", ""]).encode()


def site_path(home: Installation, rest: str) -> str:
    return f"/api/sites/{home.site}/{rest}"


@pytest.mark.parametrize(
    ("method", "rest"),
    [("PUT", f"photos/{'a' * 64}"), ("POST", "push"), ("POST", "plan-pages"), ("POST", "imports?kind=rooms&name=x")],
)
def test_of_two_hundred_megabytes_of_a_stranger_nothing_is_read_before_the_401(
    home: Installation, direct: Door, method: str, rest: str
) -> None:
    """Only the head is sent: an answer can come for no other reason than that the server does not wait for the body."""
    answer = Answer.read(direct.answers(begun(method, site_path(home, rest), HUGE)))
    assert (answer.status, json.loads(answer.body)["code"]) == (401, "not-signed-in")
    assert answer.headers["connection"] == "close"


def test_a_strangers_photo_is_not_read_through_the_proxy_either(home: Installation, through: Door) -> None:
    answer = Answer.read(through.answers(begun("PUT", site_path(home, f"photos/{'a' * 64}"), 12_000_000)))
    assert (answer.status, json.loads(answer.body)["code"]) == (401, "not-signed-in")
    answer = Answer.read(through.answers(begun("PUT", site_path(home, f"photos/{'a' * 64}"), HUGE)))
    assert (answer.status, json.loads(answer.body)["code"]) == (413, "proxy-413")


def test_a_body_in_chunks_is_read_no_further_than_anyones_may_be(home: Installation, direct: Door) -> None:
    chunk = b"8000\r\n" + bytes(0x8000) + b"\r\n"
    path = site_path(home, f"photos/{'a' * 64}")
    with closing(direct.connect()) as to:
        to.sendall(begun("PUT", path, None) + chunk * (OPEN_BYTES_MOST // 0x8000 + 2))
        answer = Answer.read(read_all(to, 30))
    assert (answer.status, json.loads(answer.body)["code"]) == (401, "not-signed-in")


def test_a_long_body_to_what_is_open_to_anyone_is_too_long(direct: Door) -> None:
    answer = Answer.read(direct.answers(begun("POST", "/api/session", OPEN_BYTES_MOST + 1)))
    assert (answer.status, json.loads(answer.body)["code"]) == (413, "body-too-large")


@pytest.mark.parametrize(
    ("who", "method", "rest", "length", "status"),
    [
        ("surveyor", "PUT", f"photos/{'a' * 64}", 12_100_001, 413),
        ("surveyor", "POST", "push", 4_100_001, 413),
        ("surveyor", "POST", "plan-pages", 40_100_001, 413),
        ("surveyor", "POST", "nowhere", 4_100_001, 413),
    ],
)
def test_who_is_signed_in_is_told_how_much_is_taken_before_it_is_sent(
    home: Installation,
    direct: Door,
    cookies: dict[str, str],
    who: str,
    method: str,
    rest: str,
    length: int,
    status: int,
) -> None:
    answer = Answer.read(direct.answers(begun(method, site_path(home, rest), length, cookies[who])))
    assert answer.status == status
    assert json.loads(answer.body)["most"] == length - 1


def test_a_whole_site_may_be_brought_by_an_owner_only(direct: Door, cookies: dict[str, str]) -> None:
    refused = Answer.read(direct.answers(begun("POST", "/api/site-copies", 50_000_000, cookies["manager"])))
    assert (refused.status, json.loads(refused.body)["code"]) == (413, "body-too-large")
    with closing(direct.connect()) as to:
        to.sendall(begun("POST", "/api/site-copies", 50_000_000, cookies["owner"]) + bytes(100_000))
        assert read_all(to, 0.5) == b"", "it is still being taken"


def test_a_photo_of_a_person_who_is_signed_in_is_taken(home: Installation, door: Door, cookies: dict[str, str]) -> None:
    data = jpeg(noise(900, 700, new_id()), quality=95)
    assert len(data) > OPEN_BYTES_MOST
    path = site_path(home, f"photos/{hashlib.sha256(data).hexdigest()}")
    assert door.ask(f"PUT {path}", data, Cookie=cookies["surveyor"]).status == 201
    assert door.ask(f"GET {path}", Cookie=cookies["surveyor"]).body[:2] == b"\xff\xd8"


def test_each_endpoint_that_takes_bytes_has_its_limit() -> None:
    document = create_app(read_settings({})).test_client().get("/api/openapi.json").json
    takers = [
        (method.upper(), path)
        for path, methods in document["paths"].items()
        for method, told in methods.items()
        if method != "parameters"
        and "application/json" not in told.get("requestBody", {"content": ["application/json"]})["content"]
    ]
    assert len(takers) >= 4
    named = [heaviness(method, path.replace("{site_id}", "0a-1b").replace("{sha256}", "a")) for method, path in takers]
    assert [each for each in named if each not in HEAVY] == []


# -- connections


@pytest.fixture
def many_files() -> None:
    _soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, 4096), hard))


def test_idle_connections_of_one_address_keep_nobody_else_out(direct: Door, many_files: None) -> None:
    with ExitStack() as open_ones:
        for _ in range(300):
            open_ones.enter_context(closing(direct.connect("127.0.2.1")))
        assert direct.ask("GET /api/health", source="127.0.2.2").status == 200


def test_idle_connections_of_many_addresses_keep_nobody_out(direct: Door, many_files: None) -> None:
    with ExitStack() as open_ones:
        for number in range(1100):
            open_ones.enter_context(closing(direct.connect(f"127.0.3.{1 + number // 200}")))
        assert direct.ask("GET /api/health", source="127.0.2.3").status == 200


def test_heads_that_never_end_and_bodies_that_drip_keep_nobody_out(
    home: Installation, door: Door, cookies: dict[str, str]
) -> None:
    body = begun("POST", site_path(home, "push"), 60_000, cookies["surveyor"]) + b"{"
    with ExitStack() as open_ones:
        for number in range(40):
            to = open_ones.enter_context(closing(door.connect("127.0.2.4")))
            to.sendall(body if number % 2 else b"GET /api/health HTTP/1.1\r\nHost: x\r\nX-Slow: ")
        assert door.ask("GET /api/health", source="127.0.2.5").status == 200


def a_channel(**told: Any) -> Channel:
    made = Channel.__new__(Channel)
    usual = {"requests": [], "request": None, "creation_time": 1000.0, "last_activity": 1000.0, "began_s": None}
    for name, value in (usual | told).items():
        setattr(made, name, value)
    return made


def request_being_read(head: bool, length: int = 0) -> SimpleNamespace:
    return SimpleNamespace(headers_finished=head, content_length=length, body_bytes_received=0)


@pytest.mark.parametrize(
    ("told", "from_s"),
    [
        ({}, 20),
        ({"request": request_being_read(head=False), "began_s": 1000.0, "last_activity": 1019.0}, 20),
        ({"request": request_being_read(head=True, length=0), "began_s": 1000.0}, 20 + 60),
        ({"request": request_being_read(head=True, length=400_000), "began_s": 1000.0}, 20 + 460),
        ({"request": request_being_read(head=True, length=900_000_000), "began_s": 1000.0}, 20 + 1200),
    ],
    ids=["nothing asked", "a head that drips", "a body without length", "a photo", "a whole site"],
)
def test_a_connection_that_takes_too_long_to_ask_is_ended(told: dict[str, Any], from_s: int) -> None:
    assert not a_channel(**told).overdue(1000.0 + from_s)
    assert a_channel(**told).overdue(1000.5 + from_s)


def test_a_connection_that_has_asked_and_waits_is_not_ended() -> None:
    assert not a_channel(last_activity=1001.0).overdue(1100.0), "between two requests"
    assert not a_channel(requests=[object()]).overdue(9999.0), "while its request runs"


def test_a_phone_in_a_basement_has_minutes_for_a_photo() -> None:
    # 400 kB at 8 kbit/s, the slowest that GPRS gives (common practice, no source), are 400 s.
    assert body_within_s(400_000) >= 400


# -- each person


def test_a_person_has_a_minutes_worth_at_once_and_it_comes_back_by_and_by() -> None:
    rates = PersonRates(60)
    assert [rates.take("a", 1, 100.0) for _ in range(60)] == [0.0] * 60
    assert rates.take("a", 1, 100.0) == pytest.approx(1.0)
    assert rates.take("b", 1, 100.0) == 0.0, "another person has another bucket"
    assert rates.take("a", 10, 105.0) == pytest.approx(5.0)
    assert rates.take("a", 5, 105.0) == 0.0
    assert [rates.take("a", 60, 9999.0), rates.take("a", 1, 9999.0) > 0] == [0.0, True], "no more than a minute's worth"


def test_who_sends_too_much_is_told_when_to_go_on_and_others_go_on(tmp_path: Any) -> None:
    with installed(tmp_path / "data", SPANWALK_PERSON_RATE="60") as here:
        path = f"/api/sites/{here.site}/photos/{'0' * 64}"
        taken = 0
        # One more is taken each second that it lasts.
        while (told := here.client("surveyor").put(path, data=b"x", headers=OWN_PAGE)).status_code == 422:
            taken += 1
            assert taken < 1000, "nobody is ever told to wait"
        assert taken >= 60
        assert (told.status_code, told.json["code"]) == (429, "person-too-often")
        assert 1 <= int(told.headers["Retry-After"]) <= 60
        assert here.client("manager").put(path, data=b"x", headers=OWN_PAGE).status_code == 422
        assert here.call("surveyor", "GET", "/api/sites/{site}/pull?since=0").status_code == 200, "reading goes on"


@pytest.mark.parametrize("text", ["many", "0", "59", "-60", "1.5"])
def test_a_rate_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(SettingWrong, match="SPANWALK_PERSON_RATE"):
        read_settings({"SPANWALK_PERSON_RATE": text})
    assert read_settings({"SPANWALK_PERSON_RATE": "no"}).person_rate == 0
    assert connections.HEAD_S == 20
