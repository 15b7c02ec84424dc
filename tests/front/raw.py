"""Requests as bytes, over a socket: from whatever address, with or without TLS, as right or wrong as they are written."""

from __future__ import annotations

import re
import socket
import ssl
import time
from contextlib import closing, suppress
from dataclasses import dataclass

WAIT_S = 30


@dataclass(frozen=True)
class Door:
    """Where requests go: the server itself, or the nginx in front of it."""

    port: int
    tls: bool = False

    def connect(self, source: str = "127.0.0.2", alpn: str | None = None) -> socket.socket:
        """A connection from an address of this machine."""
        plain = socket.create_connection(("127.0.0.1", self.port), WAIT_S, source_address=(source, 0))
        if not self.tls:
            return plain
        context = ssl.create_default_context()
        context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
        if alpn:
            context.set_alpn_protocols([alpn])
        return context.wrap_socket(plain, server_hostname="localhost")

    def answers(self, data: bytes, source: str = "127.0.0.2", more_s: float = WAIT_S) -> bytes:
        """All that comes back for some bytes until the other side closes, or for so long after the first of it."""
        with closing(self.connect(source)) as to:
            with suppress(BrokenPipeError, ConnectionResetError, ssl.SSLError):  # it has heard enough
                to.sendall(data)
            first = read_some(to)
            return first + (read_all(to, more_s) if first else b"")

    def ask(self, head: str, body: bytes = b"", source: str = "127.0.0.2", **headers: str) -> Answer:
        """One whole request, and its answer."""
        told = {"Host": f"localhost:{self.port}", "Connection": "close", "Sec-Fetch-Site": "none"}
        told |= {"Content-Length": str(len(body))} if body else {}
        told |= {name.replace("_", "-"): value for name, value in headers.items()}
        lines = [f"{head} HTTP/1.1", *(f"{name}: {value}" for name, value in told.items()), "", ""]
        return Answer.read(self.answers("\r\n".join(lines).encode() + body, source=source))


@dataclass(frozen=True)
class Answer:
    """The first answer of what came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    cookies: tuple[str, ...] = ()
    """What is to be sent back: `name=value` of each."""

    @staticmethod
    def read(data: bytes) -> Answer:
        head, _, body = data.partition(b"\r\n\r\n")
        first, *lines = head.decode("latin-1").split("\r\n")
        pairs = [line.partition(":")[::2] for line in lines]
        told = [(name.lower(), value.strip()) for name, value in pairs]
        cookies = tuple(value.split(";")[0] for name, value in told if name == "set-cookie")
        return Answer(int(first.split()[1]), dict(told), body, cookies)


def read_some(to: socket.socket) -> bytes:
    """The first bytes that come; nothing if the other side closes without a word."""
    to.settimeout(WAIT_S)
    with suppress(ConnectionResetError, ssl.SSLError):
        return to.recv(65_536)
    return b""


def read_all(to: socket.socket, wait_s: float) -> bytes:
    to.settimeout(wait_s)
    got, end = b"", time.monotonic() + wait_s
    try:
        while time.monotonic() < end and (some := to.recv(65_536)):
            got += some
    except (TimeoutError, ConnectionResetError, ssl.SSLError):
        pass
    return got


def statuses(data: bytes) -> list[int]:
    """The status of each answer in what came back, one behind another."""
    return [int(found) for found in re.findall(rb"HTTP/1\.[01] (\d{3}) ", data)]
