"""The server process: waitress, with connections that stay open after an answer without a body."""

from __future__ import annotations

import gc
import sys

import waitress
from flask import Flask
from waitress.channel import HTTPChannel
from waitress.task import WSGITask

THREADS = 8
IDLE_S = 120


class KeptOpen(WSGITask):  # type: ignore[misc]  # waitress says nothing of its types
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


def serve(app: Flask, host: str, port: int) -> None:
    """Answer requests until the process is told to end."""
    sys.stdout.flush()
    # What is loaded by now stays: the collector need not look at it again and again while a push is taken in.
    gc.collect()
    gc.freeze()
    HTTPChannel.task_class = KeptOpen
    waitress.serve(app, host=host, port=port, threads=THREADS, channel_timeout=IDLE_S, ident=None)
