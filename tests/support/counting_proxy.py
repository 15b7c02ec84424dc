"""A wire between browser and server that counts what goes over it, headers and all."""

from __future__ import annotations

import re
import socket
import threading
from contextlib import suppress
from dataclasses import dataclass, field, replace
from types import TracebackType

from tests.support.server import free_port

REQUEST = re.compile(rb"(?:GET|POST|PUT|DELETE|HEAD|OPTIONS|PATCH) /\S* HTTP/1\.1\r\n")
CHUNK = 65536


@dataclass(frozen=True)
class Carried:
    """Requests, and bytes of both directions."""

    requests: int = 0
    up: int = 0
    down: int = 0

    def since(self, before: Carried) -> Carried:
        return Carried(self.requests - before.requests, self.up - before.up, self.down - before.down)

    @property
    def bytes(self) -> int:
        return self.up + self.down


@dataclass
class CountingProxy:
    """Passes every byte on unchanged, both ways, to a port of this machine."""

    target: int
    port: int = field(default_factory=free_port)
    carried: Carried = Carried()
    counting: threading.Lock = field(default_factory=threading.Lock)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def __enter__(self) -> CountingProxy:
        self.listener = socket.create_server(("127.0.0.1", self.port))
        threading.Thread(target=self._accept, daemon=True).start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.listener.close()

    def _accept(self) -> None:
        while True:
            try:
                phone, _ = self.listener.accept()
            except OSError:  # closed: the test is over
                return
            threading.Thread(target=self._carry, args=(phone,), daemon=True).start()

    def _carry(self, phone: socket.socket) -> None:
        with phone, socket.create_connection(("127.0.0.1", self.target)) as server:
            down = threading.Thread(target=self._pass_on, args=(server, phone, False), daemon=True)
            down.start()
            self._pass_on(phone, server, True)
            down.join()

    def _pass_on(self, sender: socket.socket, receiver: socket.socket, goes_up: bool) -> None:
        with suppress(OSError):  # one side went away: the other hears of it below
            while part := sender.recv(CHUNK):
                self._count(part, goes_up)
                receiver.sendall(part)
        with suppress(OSError):
            receiver.shutdown(socket.SHUT_WR)

    def _count(self, part: bytes, goes_up: bool) -> None:
        with self.counting:
            now = self.carried
            if goes_up:
                self.carried = replace(now, requests=now.requests + len(REQUEST.findall(part)), up=now.up + len(part))
            else:
                self.carried = replace(now, down=now.down + len(part))
