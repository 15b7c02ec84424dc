"""The server process: waitress with limits of our own, and an end that lets what runs finish."""

from __future__ import annotations

import gc
import os
import resource
import signal
import sys
import threading
import time
from collections.abc import Iterable
from functools import partial
from types import FrameType
from wsgiref.types import StartResponse, WSGIEnvironment

import waitress
from flask import Flask
from waitress.server import BaseWSGIServer

from spanwalk.config import Settings
from spanwalk.services.background.standing_back import ANSWERING
from spanwalk.services.planning.planner import begin_planning
from spanwalk.services.planning.under_way import give_back_claims
from spanwalk.web.health import STOPPING
from spanwalk.web.request.limits import COPY_BYTES_MOST, bytes_taken
from spanwalk.web.server.connections import CONNECTIONS_MOST, Channel, Parser, open_channel

THREADS = 8
IDLE_S = 120
"""Between two requests of a connection."""
BACKLOG = 1024
FILES_WANTED = 4096
DRAIN_S = 20
"""For what runs when the process is told to end. A service manager must wait longer before it kills."""
LOOK_AGAIN_S = 0.05


def serve(app: Flask, host: str, port: int) -> None:
    """Answer requests until the process is told to end; what runs then is answered first, within `DRAIN_S`."""
    sys.stdout.flush()
    # What is loaded by now stays: the collector need not look at it again and again while a push is taken in.
    gc.collect()
    gc.freeze()
    _allow_files()
    begin_planning(app)
    made = _listening(app, host, port)
    signal.signal(signal.SIGTERM, partial(_drain, app, made))
    made.run()
    _leave_work_to_others(app)


def _allow_files() -> None:
    """A connection is a file: as many as the limits of connections count on."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = FILES_WANTED if hard == resource.RLIM_INFINITY else min(FILES_WANTED, hard)
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, wanted), hard))


def _listening(app: Flask, host: str, port: int) -> BaseWSGIServer:
    """A server that listens, and does nothing yet."""
    settings: Settings = app.extensions["spanwalk"]
    Parser.gate = staticmethod(partial(bytes_taken, app))
    Channel.trusted = settings.trusted_proxy
    proxy: dict[str, object] = {}
    if settings.trusted_proxy is not None:
        proxy = {
            "trusted_proxy": settings.trusted_proxy,
            "trusted_proxy_count": 1,
            "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"},
        }
    made = waitress.create_server(
        partial(_answer, app),
        host=host,
        port=port,
        threads=THREADS,
        ident=None,
        channel_timeout=IDLE_S,
        connection_limit=CONNECTIONS_MOST + 100,
        backlog=BACKLOG,
        max_request_body_size=COPY_BYTES_MOST + 1,  # `Parser` is stricter
        asyncore_use_poll=True,
        clear_untrusted_proxy_headers=True,
        **proxy,
    )
    for listener in _listeners(made):
        listener.channel_class = open_channel
    return made


def _answer(app: Flask, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
    """Answer a request; work in the background stands back until what is sent is made."""
    with ANSWERING.one():
        return app(environ, start_response)


def _listeners(server: BaseWSGIServer) -> list[BaseWSGIServer]:
    """One for each address: a name may have several."""
    found = getattr(server, "map", None) or server._map
    return [each for each in found.values() if isinstance(each, BaseWSGIServer)]


def _drain(app: Flask, server: BaseWSGIServer, number: int, frame: FrameType | None) -> None:
    """Take no more connections, answer what runs, and end. Told twice, end at once."""
    if Channel.ending:
        os._exit(1)
    Channel.ending = True
    app.extensions[STOPPING] = True
    listeners = _listeners(server)
    for each in listeners:
        each.accepting = False
        each.del_channel()
        each.socket.close()
    threading.Thread(target=_end_when_idle, args=(app, server, listeners), daemon=True).start()


def _leave_work_to_others(app: Flask) -> None:
    """What this server was planning goes on with the next that starts, without a wait."""
    with app.app_context():
        give_back_claims()


def _end_when_idle(app: Flask, server: BaseWSGIServer, listeners: list[BaseWSGIServer]) -> None:
    end = time.monotonic() + DRAIN_S
    while time.monotonic() < end and not _idle(server, listeners):
        time.sleep(LOOK_AGAIN_S)
    _leave_work_to_others(app)
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(0)


def _idle(server: BaseWSGIServer, listeners: list[BaseWSGIServer]) -> bool:
    tasks = server.task_dispatcher
    channels = [channel for each in listeners for channel in list(each.active_channels.values())]
    return not tasks.queue and not tasks.active_count and all(channel.idle() for channel in channels)
