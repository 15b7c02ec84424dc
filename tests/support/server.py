"""A real Spanwalk server in a process of its own, on a free port of this machine."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.support.forked_server import ForkedProcess, forked

PASSWORD = "walk the span"
START_SECONDS = 90


def free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


NO_RATE = {"SPANWALK_PERSON_RATE": "no"}
"""A test asks faster than people do, as one person."""


@dataclass
class Server:
    """`spanwalk demo` (or another command) over one data folder; can be killed and started again on the same port.

    A command of `spanwalk.cli` is forked from a process that has Spanwalk loaded, another module starts from nothing. With a
    place that was `planned` it has those plans when it is first started; started again it has nothing but its data.
    """

    data: Path
    port: int = field(default_factory=free_port)
    command: str = "demo"
    module: str = "spanwalk.cli"
    env: dict[str, str] = field(default_factory=dict)
    plant: str = "none"
    planned: str = ""
    process: subprocess.Popen[bytes] | ForkedProcess | None = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> Server:
        words = [self.command, "--port", str(self.port), "--data", str(self.data)]
        self.data.parent.mkdir(parents=True, exist_ok=True)
        log = self.data.parent / f"{self.data.name}.log"
        log.touch()
        if self.module == "spanwalk.cli":
            self.process = forked(words, {**NO_RATE, **self.env}, {"log": str(log)}, self.plant, self.planned)
            self.planned = ""
        else:
            self.process = self._from_nothing(words, log)
        self.wait_until_healthy()
        return self

    def _from_nothing(self, words: list[str], log: Path) -> subprocess.Popen[bytes]:
        command, env = [sys.executable, "-m", self.module, *words], {**os.environ, **NO_RATE, **self.env}
        with log.open("ab") as out:
            return subprocess.Popen(command, env=env, stdout=out, stderr=out, start_new_session=True)

    def wait_until_healthy(self) -> None:
        end = time.monotonic() + START_SECONDS
        while time.monotonic() < end:
            assert self.process is not None
            if self.process.poll() is not None:
                raise RuntimeError(f"the server ended at once:\n{self.log()}")
            try:
                with urllib.request.urlopen(self.url + "/api/health", timeout=2) as answer:
                    if answer.status == 200:
                        return
            except OSError:
                time.sleep(0.05)
        raise RuntimeError(f"the server did not become healthy:\n{self.log()}")

    def log(self, letters: int | None = 4000) -> str:
        """What it wrote last; `None`: all of it."""
        text = (self.data.parent / f"{self.data.name}.log").read_text(errors="replace")
        return text if letters is None else text[-letters:]

    def logged(self, part: str) -> list[str]:
        """Whole lines of its log with a part, once there is one: an answer goes out before its line is written."""
        end = time.monotonic() + START_SECONDS
        while time.monotonic() < end:
            lines = [line for line in self.log(None).splitlines(keepends=True) if part in line and line.endswith("\n")]
            if lines:
                return [line.rstrip("\n") for line in lines]
            time.sleep(0.02)
        raise AssertionError(f"{part!r} is in no line of the log:\n{self.log()}")

    def kill(self) -> None:
        """kill -9 the server and all it started."""
        if self.process and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()

    def stop(self) -> None:
        if self.process and self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(10)
            except subprocess.TimeoutExpired:
                self.kill()


class Client:
    """A signed-in HTTP client without a browser: JSON in, JSON out.

    It is a phone of its own, unless it is `on` that of another.
    """

    def __init__(self, url: str, name: str | None = None, password: str = PASSWORD, on: Client | None = None) -> None:
        self.url = url
        self.cookies: dict[str, str] = {k: v for k, v in (on.cookies if on else {}).items() if k == "spanwalk_phone"}
        if name:
            status = self._sign_in(name, password)
            assert status == 200, f"{name} could not sign in: {status}"

    def _sign_in(self, name: str, password: str) -> int:
        """Sign in; where many do so at once, again as the server asks."""
        for _ in range(20):
            status, _told = self.call("POST", "/api/session", {"name": name, "password": password})
            if status not in (429, 503):
                break
            time.sleep(0.5)
        return status

    @property
    def cookie(self) -> str:
        """What it sends as its cookies: its sign-in, and its phone."""
        return "; ".join(f"{name}={value}" for name, value in self.cookies.items())

    @cookie.setter
    def cookie(self, text: str) -> None:
        self.cookies = dict(each.split("=", 1) for each in text.split("; ") if each)

    def call(
        self, method: str, path: str, body: Any = None, raw: bytes | None = None, **headers: str
    ) -> tuple[int, Any]:
        """Status and decoded JSON (or bytes, where the answer is not JSON)."""
        data = raw if raw is not None else (json.dumps(body).encode() if body is not None else None)
        sent = {"Sec-Fetch-Site": "same-origin", **{k.replace("_", "-"): v for k, v in headers.items()}}
        if body is not None:
            sent.setdefault("Content-Type", "application/json")
        if self.cookies:
            sent["Cookie"] = self.cookie
        request = urllib.request.Request(self.url + path, data=data, method=method, headers=sent)
        try:
            answer = urllib.request.urlopen(request, timeout=60)
        except urllib.error.HTTPError as refused:
            answer = refused
        with answer:
            for cookie in answer.headers.get_all("Set-Cookie") or []:
                name, _, value = cookie.split(";")[0].partition("=")
                self.cookies[name] = value
            content = answer.read()
            if "json" in answer.headers.get("Content-Type", ""):
                return answer.status, json.loads(content)
            return answer.status, content

    def get(self, path: str) -> Any:
        status, answer = self.call("GET", path)
        assert status == 200, f"GET {path}: {status} {answer!r:.300}"
        return answer

    def site_id(self) -> str:
        return str(self.get("/api/session")["sites"][0]["id"])
