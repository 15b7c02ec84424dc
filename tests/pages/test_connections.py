"""A connection to the server process stays open from answer to answer, with a body or without: a weak link pays for each new one."""

from __future__ import annotations

import http.client

from tests.support.server import Server


def test_a_connection_outlives_answers_without_a_body(server: Server) -> None:
    line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=20)
    line.connect()
    opened = line.sock
    etag = ask(line, {}).headers["ETag"]
    for _ in range(3):
        answer = ask(line, {"If-None-Match": etag})
        assert (answer.status, answer.headers["Connection"]) == (304, None)
    assert line.sock is opened
    line.close()


def test_a_connection_ends_where_the_other_side_asks_for_it(server: Server) -> None:
    line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=20)
    etag = ask(line, {}).headers["ETag"]
    answer = ask(line, {"If-None-Match": etag, "Connection": "close"})
    assert (answer.status, answer.headers["Connection"]) == (304, "close")
    line.close()


def ask(line: http.client.HTTPConnection, headers: dict[str, str]) -> http.client.HTTPResponse:
    line.request("GET", "/app/tables.json", headers=headers)
    answer = line.getresponse()
    answer.read()
    return answer
