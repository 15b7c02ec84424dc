"""The same server with a newer page: a proxy in front of it that changes one file and the worker's list with it."""

from __future__ import annotations

import hashlib
import http.client
import json
import re
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

CHANGED = "/app/store/tabs.js"
MARK = b"\nglobalThis.newerApp = true;\n"
LIST = re.compile(rb'const VERSION = "[^"]*";\nconst PRECACHE = (\{.*?\});\n')
PASSED = (
    "content-type",
    "content-security-policy",
    "set-cookie",
    "cache-control",
    "service-worker-allowed",
    "retry-after",
)


class NewerApp:
    """A proxy on a port of its own. `newer` serves the newer page; `broken` lists it, but serves the old file;
    `deaf` answers no push."""

    def __init__(self, port: int) -> None:
        self.newer = self.broken = self.deaf = False
        self.port = port
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def log_message(self, *_: Any) -> None:
                pass

            def pass_on(self) -> None:
                outer.pass_on(self)

            do_GET = do_POST = do_PUT = do_DELETE = pass_on

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.url = f"http://127.0.0.1:{self.server.server_address[1]}"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()

    def pass_on(self, handler: BaseHTTPRequestHandler) -> None:
        if self.deaf and handler.path.endswith("/push"):
            handler.send_error(503)
            return
        length = int(handler.headers.get("Content-Length") or 0)
        headers = {k: v for k, v in handler.headers.items() if k.lower() not in ("accept-encoding", "connection")}
        to = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        to.request(handler.command, handler.path, handler.rfile.read(length), headers)
        answer = to.getresponse()
        body = self.changed(handler.path, answer.read())
        handler.send_response(answer.status)
        for name, value in answer.getheaders():
            if name.lower() in PASSED:
                handler.send_header(name, value)
        handler.send_header("Content-Length", str(len(body)))
        handler.end_headers()
        handler.wfile.write(body)
        to.close()

    def changed(self, path: str, body: bytes) -> bytes:
        if path == CHANGED and self.newer and not self.broken:
            return body + MARK
        if path.split("?")[0] != "/service-worker.js" or not self.newer:
            return body
        found = LIST.search(body)
        assert found
        listed = json.loads(found[1])
        listed[CHANGED] = hashlib.sha256(self.original() + MARK).hexdigest()[:16]
        head = f'const VERSION = "newer";\nconst PRECACHE = {json.dumps(listed)};\n'
        return head.encode() + body[found.end() :]

    def original(self) -> bytes:
        to = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        to.request("GET", CHANGED)
        body = to.getresponse().read()
        to.close()
        return body
