"""Connections of the server: how many, how long they may take to ask, and what of a body is taken before anything runs.

What is overridden here are waitress's inner parts (3.0); `tests/front` tries each with raw bytes.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Mapping
from socket import socket

from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser, ParsingError
from waitress.server import BaseWSGIServer
from waitress.task import WSGITask

from spanwalk.web.request.limits import OPEN_BYTES_MOST, REFUSED

CONNECTIONS_MOST = 1000
FROM_ONE_ADDRESS_MOST = 256
"""A browser opens six; a firm's people share an address. A trusted proxy counts its own clients."""
HEAD_S = 20
"""From a connection, or the first byte of a request, until its head is there."""
BODY_S, BODY_BYTES_A_SECOND, BODY_MOST_S = 60, 1000, 1200
"""A photo of 400 kB may take seven minutes: phones send from basements."""
BodyGate = Callable[[str, str, Mapping[str, str]], int]
log = logging.getLogger("spanwalk")


def body_within_s(size: int) -> float:
    """How long a body may take [s].

    >>> body_within_s(0), body_within_s(400_000), body_within_s(12_000_000)
    (60.0, 460.0, 1200.0)
    """
    return float(min(BODY_MOST_S, BODY_S + size / BODY_BYTES_A_SECOND))


class Parser(HTTPRequestParser):  # type: ignore[misc]  # waitress says nothing of its types
    """A request being read. Of a body that its sender may not send nothing is taken, and the app says why."""

    gate: BodyGate | None = None
    most: int | None = None
    refused = False
    body_rcv: object = None

    def received(self, data: bytes) -> int:
        """Take bytes in; how many were used."""
        used: int = super().received(data)
        if self.headers_finished and not self.error and not self.empty and not self.refused:
            size = max(self.content_length, self.body_bytes_received)
            if size > OPEN_BYTES_MOST and size > self._most():
                self._refuse()
        return used

    def parse_header(self, header_plus: bytes) -> None:
        """Read the head. One that names a length and chunks is refused: two who read it might see two ends (RFC 9112, 6.3)."""
        super().parse_header(header_plus)
        if self.chunked and "CONTENT_LENGTH" in self.headers:
            raise ParsingError("Both Content-Length and Transfer-Encoding")

    def _most(self) -> int:
        if self.most is None:
            asked = type(self).gate
            try:
                self.most = asked(self.command, self.path, self.headers) if asked else OPEN_BYTES_MOST
            except Exception:  # a database that is away: the app says that, of a body that was not read
                log.warning("who sends a long body cannot be looked up", exc_info=True)
                self.most = OPEN_BYTES_MOST
        return self.most

    def _refuse(self) -> None:
        self.refused, self.completed = True, True
        self.expect_continue = False
        self.headers["CONNECTION"] = "close"  # the rest of it is still on the way
        self.close()
        self.body_rcv = None


class KeptOpen(WSGITask):  # type: ignore[misc]  # as above
    """An answer after which the connection stays as it was asked for.

    waitress 3.0 ends the connection after each 204 and 304, for it takes an answer without a Content-Length for one
    whose end must be shown by closing. These have no body at all (RFC 9112, 6.3), and to open a connection again
    takes two round trips of a weak link.
    """

    def set_close_on_finish(self) -> None:
        """End the connection after this answer, unless only the missing Content-Length asks for it."""
        asked = self.request.headers.get("CONNECTION", "").lower() == "close"
        if self.has_body or self.version != "1.1" or asked:
            super().set_close_on_finish()

    def build_response_header(self) -> bytes:
        """The head of the answer; the last of a server that ends says that it is the last."""
        if self.channel.ending:
            self.request.headers["CONNECTION"] = "close"
        head: bytes = super().build_response_header()
        return head

    def get_environment(self) -> dict[str, object]:
        """What the app is told of the request."""
        told: dict[str, object] = super().get_environment()
        if self.request.refused:
            told[REFUSED] = self.request.most
            told["CONTENT_LENGTH"] = "0"
        self.channel.note_proxy(told)
        return told


class Channel(HTTPChannel):  # type: ignore[misc]  # as above
    """A connection that is closed when it takes too long to ask."""

    task_class = KeptOpen
    parser_class = Parser
    trusted: str | None = None
    ending = False
    told_of_proxy = False
    began_s: float | None = None
    """When the request that is being read began; None between two."""

    def received(self, data: bytes) -> bool:
        """Take bytes in."""
        if self.began_s is None:
            self.began_s = time.time()
        used: bool = super().received(data)
        if self.request is None:
            self.began_s = None
        return used

    def readable(self) -> bool:
        """Whether to read on; asked each time round."""
        if self.overdue(time.time()):
            self.will_close = True
        read_on: bool = super().readable()
        return read_on

    def overdue(self, now_s: float) -> bool:
        """Whether a request should be here by now. Between two, waitress's own limit of idle connections counts."""
        if self.requests:
            return False
        if self.request is None:
            return bool(self.last_activity == self.creation_time and now_s - self.creation_time > HEAD_S)
        began = self.began_s or self.creation_time
        within = body_within_s(self.request.content_length or self.request.body_bytes_received)
        return now_s - began > (HEAD_S + within if self.request.headers_finished else HEAD_S)

    def idle(self) -> bool:
        """Whether nothing is asked, run or written on it."""
        return not self.requests and not self.total_outbufs_len

    def note_proxy(self, told: Mapping[str, object]) -> None:
        """Warn once where a proxy names addresses that nobody here believes: all people then count as one."""
        address = told.get("REMOTE_ADDR")
        if "HTTP_X_FORWARDED_FOR" in told and address != self.trusted and not Channel.told_of_proxy:
            Channel.told_of_proxy = True
            log.warning(
                "%s says for whom it asks (X-Forwarded-For), but SPANWALK_TRUSTED_PROXY is %s: it is not believed, and all "
                "who come through it count as one address, in wrong passwords and in labels that lead nowhere",
                address,
                self.trusted or "not set",
            )


def open_channel(
    server: BaseWSGIServer, sock: socket, address: tuple[str, int], adjustments: object, map: dict[int, object]
) -> Channel | None:
    """A connection that was accepted; closed at once where its address has too many already.

    Where there is no room for more, the one that has been idle for longest goes.
    """
    there = list(server.active_channels.values())
    from_there = sum(channel.addr[0] == address[0] for channel in there)
    if from_there >= FROM_ONE_ADDRESS_MOST and address[0] != Channel.trusted:
        sock.close()
        return None
    if len(there) >= CONNECTIONS_MOST:
        idle = [channel for channel in there if channel.idle()]
        if idle:
            min(idle, key=lambda channel: float(channel.last_activity)).will_close = True
    return Channel(server, sock, address, adjustments, map=map)
