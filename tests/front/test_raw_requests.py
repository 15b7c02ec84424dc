"""Requests that no browser sends, as raw bytes, at the server itself and behind nginx: none is taken for two, none stops it.

The rules: RFC 9112 (HTTP/1.1), sections 2.2, 3, 5, 6 and 7; RFC 9110, section 15.
"""

from __future__ import annotations

from contextlib import closing

import pytest
from tests.front.raw import Door, read_all, statuses
from tests.support.tried import note

HOST = b"Host: localhost\r\n"
CHUNKED = b"Transfer-Encoding: chunked\r\n"
POST = b"POST /api/session HTTP/1.1\r\nSec-Fetch-Site: none\r\nContent-Type: application/json\r\n" + HOST
SECOND = b"GET /api/health HTTP/1.1\r\n" + HOST + b"X-Second: yes\r\n\r\n"
REFUSED = {400, 411, 413, 414, 431, 501, 505}
ODDITIES: dict[str, tuple[bytes, set[int]]] = {
    "both lengths": (POST + b"Content-Length: 2\r\nContent-Length: 40\r\n\r\n{}" + SECOND, REFUSED),
    "the same length twice": (POST + b"Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}", REFUSED | {422}),
    "lengths in one line": (POST + b"Content-Length: 2, 2\r\n\r\n{}", REFUSED | {422}),
    "a length with a sign": (POST + b"Content-Length: +2\r\n\r\n{}", REFUSED),
    "a length below nothing": (POST + b"Content-Length: -2\r\n\r\n{}", REFUSED),
    "a length in hexadecimal": (POST + b"Content-Length: 0x2\r\n\r\n{}", REFUSED),
    "a length of forty digits": (POST + b"Content-Length: " + b"9" * 40 + b"\r\n\r\n{}", REFUSED),
    "length and chunks": (
        POST + b"Content-Length: 4\r\n" + CHUNKED + b"\r\n2\r\n{}\r\n0\r\n\r\n" + SECOND,
        REFUSED,
    ),
    "chunks and length": (
        POST + CHUNKED + b"Content-Length: 60\r\n\r\n0\r\n\r\n" + SECOND,
        REFUSED,
    ),
    "chunks under a cloak": (POST + b"Transfer-Encoding: xchunked\r\nContent-Length: 2\r\n\r\n{}", REFUSED),
    "chunks twice": (POST + CHUNKED * 2 + b"\r\n2\r\n{}\r\n0\r\n\r\n", REFUSED | {422}),
    "chunks not last": (POST + b"Transfer-Encoding: chunked, gzip\r\n\r\n2\r\n{}\r\n0\r\n\r\n", REFUSED),
    "a space before the colon": (POST + b"Transfer-Encoding : chunked\r\nContent-Length: 2\r\n\r\n{}", REFUSED),
    "a chunk without a size": (POST + CHUNKED + b"\r\n\r\n{}\r\n0\r\n\r\n", REFUSED),
    "a chunk size that is none": (POST + CHUNKED + b"\r\nzz\r\n{}\r\n0\r\n\r\n", REFUSED),
    "a chunk size with a sign": (POST + CHUNKED + b"\r\n-2\r\n{}\r\n0\r\n\r\n", REFUSED),
    "a chunk that is longer than it says": (POST + CHUNKED + b"\r\n2\r\n{}{}\r\n0\r\n\r\n", REFUSED),
    "whole chunks": (POST + CHUNKED + b"\r\n1\r\n{\r\n1\r\n}\r\n0\r\n\r\n", {422}),
    "a head that is folded": (b"GET /api/health HTTP/1.1\r\n" + HOST + b"X-A: b\r\n c\r\n\r\n", REFUSED | {200}),
    "a bare carriage return": (b"GET /api/health HTTP/1.1\r" + HOST + b"\r\n", REFUSED),
    "a zero byte in a header": (b"GET /api/health HTTP/1.1\r\n" + HOST + b"X-A: a\0b\r\n\r\n", REFUSED | {200}),
    "no host": (b"GET /api/health HTTP/1.1\r\nConnection: close\r\n\r\n", REFUSED | {200}),
    "a host of another": (b"GET /api/health HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n", {200, 400, 421}),
    "a path with a line break": (b"GET /api/%0d%0aSet-Cookie:a HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n", {404}),
    "a path above the root": (b"GET /../../etc/passwd HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n", {200, 400, 404}),
    "a path of forty thousand letters": (b"GET /" + b"a" * 40_000 + b" HTTP/1.1\r\n" + HOST + b"\r\n", REFUSED | {200, 404}),
    "a head of three hundred thousand bytes": (b"GET / HTTP/1.1\r\n" + HOST + b"X: " + b"a" * 300_000 + b"\r\n\r\n", REFUSED),
    "ten thousand headers": (
        b"GET / HTTP/1.1\r\n" + HOST + b"".join(b"X-%d: 1\r\n" % number for number in range(10_000)) + b"\r\n",
        REFUSED | {200},
    ),
    "a method of nobody's": (b"WALK /api/health HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n", {400, 403, 405, 501}),
    "another version": (b"GET / HTTP/9.9\r\n" + HOST + b"\r\n", REFUSED | {200}),
    "not HTTP at all": (b"SSH-2.0-hello\r\n\r\n", REFUSED),
}  # fmt: skip


@pytest.mark.parametrize("name", ODDITIES)
def test_an_odd_request_is_answered_once_or_refused_and_the_next_person_is_served(door: Door, name: str) -> None:
    data, right = ODDITIES[name]
    got = statuses(door.answers(data, more_s=0.3))
    note("raw requests, at the server and behind nginx", got[0] if got else "closed")
    assert 1 <= len(got) <= 1 + data.count(SECOND)
    assert got[0] in right
    assert not [each for each in got if each >= 500 and each not in (501, 505)]
    assert door.ask("GET /api/health").status == 200


@pytest.mark.parametrize("name", ["both lengths", "chunks and length", "length and chunks"])
def test_what_is_hidden_in_a_body_is_not_taken_for_a_request_of_another(door: Door, name: str) -> None:
    """Two people share a connection of the proxy: what the first hides must not be answered in the place of the second's.

    RFC 9112, 6.3: a server may refuse a request with both, and must end the connection after it.
    """
    data, _ = ODDITIES[name]
    assert statuses(door.answers(data, more_s=0.3)) == [400]


@pytest.mark.parametrize(
    "begun", [b"GET /api/health HTTP/1.1\nHost: x\n\n", b"\x16\x03\x01\x02\x00\x01\x00", b"\r\n" * 50]
)
def test_what_never_becomes_a_head_keeps_nobody_waiting(door: Door, begun: bytes) -> None:
    """Whether it is refused at once or waited for is left to the server; `HEAD_S` ends it."""
    with closing(door.connect()) as to:
        to.sendall(begun)
        assert door.ask("GET /api/health").status == 200


def test_requests_sent_without_waiting_are_answered_in_their_order(door: Door) -> None:
    first = b"GET /api/nowhere HTTP/1.1\r\n" + HOST + b"\r\n"
    last = b"GET /api/health HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n"
    assert statuses(door.answers(first + last)) == [404, 200]


def test_a_request_that_comes_byte_by_byte_is_answered(door: Door) -> None:
    with closing(door.connect()) as to:
        for byte in b"GET /api/health HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n":
            to.sendall(bytes([byte]))
        assert statuses(read_all(to, 30)) == [200]


def test_who_asks_whether_to_go_on_is_told(door: Door) -> None:
    with closing(door.connect()) as to:
        to.sendall(POST + b"Expect: 100-continue\r\nContent-Length: 2\r\nConnection: close\r\n\r\n")
        to.settimeout(30)
        assert to.recv(1000).startswith(b"HTTP/1.1 100")
        to.sendall(b"{}")
        assert statuses(read_all(to, 30)) == [422]


def test_who_hangs_up_in_the_middle_of_a_body_stops_nothing(door: Door) -> None:
    for _ in range(20):
        with closing(door.connect()) as to:
            to.sendall(POST + b"Content-Length: 50000\r\n\r\n{")
    assert door.ask("GET /api/health").status == 200
