"""A real nginx with a certificate of its own, in a folder under the system's temporary one, gone at the end."""

from __future__ import annotations

import base64
import hashlib
import os
import shutil
import socket
import subprocess
import tempfile
import time
from pathlib import Path

from spanwalk.cli import main
from tests.support import machine
from tests.support.server import free_port

START_SECONDS = 30
NAME = "localhost"
MAIN = """\
daemon off; worker_processes 1; pid nginx.pid; error_log stderr; events {{ worker_connections 2048; }}
http {{
  access_log off;
  client_body_temp_path tmp/b; proxy_temp_path tmp/p; fastcgi_temp_path tmp/f; uwsgi_temp_path tmp/u; scgi_temp_path tmp/s;
  include {folder}/spanwalk.conf;
}}
"""


class Nginx:
    """nginx in front of a server, configured by `spanwalk proxy-config` and nothing else."""

    def __init__(self, server: str, configuration: str | None = None) -> None:
        program = machine.nginx()
        self.folder = Path(tempfile.mkdtemp(prefix="spanwalk-nginx-"))
        self.port, self.http_port = free_port(), free_port()
        self._certificate()
        (self.folder / "tmp").mkdir()
        told = configuration or proxy_config(self.folder, server, self.port, self.http_port)
        (self.folder / "spanwalk.conf").write_text(told)
        (self.folder / "nginx.conf").write_text(MAIN.format(folder=self.folder))
        as_nobody = self._as_nobody()
        self.log = self.folder / "log"
        with self.log.open("wb") as log:
            command = [program, "-p", str(self.folder), "-c", "nginx.conf", "-e", "stderr"]
            self.process = subprocess.Popen(command, stdout=log, stderr=log, cwd="/", **as_nobody)  # type: ignore[call-overload]
        self._wait()

    @property
    def url(self) -> str:
        return f"https://{NAME}:{self.port}"

    def _certificate(self) -> None:
        made = ["-keyout", str(self.folder / "key.pem"), "-out", str(self.folder / "cert.pem"), "-days", "2", "-nodes"]
        name = ["-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME},IP:127.0.0.1"]
        key = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1"]
        subprocess.run(["openssl", "req", "-x509", *key, *made, *name], check=True, capture_output=True, timeout=60)

    def spki(self) -> str:
        """The hash of its key, by which Chromium trusts it (base64 of SHA-256 of the public key's DER)."""
        public = subprocess.run(
            ["openssl", "x509", "-in", str(self.folder / "cert.pem"), "-pubkey", "-noout"],
            check=True, capture_output=True, timeout=60,
        ).stdout  # fmt: skip
        der = base64.b64decode(b"".join(public.splitlines()[1:-1]))
        return base64.b64encode(hashlib.sha256(der).digest()).decode()

    def _as_nobody(self) -> dict[str, object]:
        """Run as nobody where the tests run as root, as its workers do on a real machine."""
        if os.geteuid() != 0:
            return {}
        for path in (self.folder, *self.folder.rglob("*")):
            shutil.chown(path, "nobody", "nogroup")
        return {"user": "nobody", "group": "nogroup", "extra_groups": []}

    def _wait(self) -> None:
        end = time.monotonic() + START_SECONDS
        while time.monotonic() < end and self.process.poll() is None:
            try:
                with socket.create_connection(("127.0.0.1", self.port), 1):
                    return
            except OSError:
                time.sleep(0.02)
        raise RuntimeError(self.log.read_text(errors="replace"))

    def stop(self) -> None:
        """Stop it and remove its folder."""
        self.process.terminate()
        try:
            self.process.wait(5)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)


def proxy_config(folder: Path, server: str, port: int, http_port: int) -> str:
    """What `spanwalk proxy-config` prints for these places."""
    import io
    from contextlib import redirect_stdout

    out = io.StringIO()
    with redirect_stdout(out):
        code = main(
            [
                "proxy-config", "--name", NAME, "--server", server,
                "--certificate", str(folder / "cert.pem"), "--key", str(folder / "key.pem"),
                "--https", f"127.0.0.1:{port}", "--http", f"127.0.0.1:{http_port}",
            ]
        )  # fmt: skip
    assert code == 0
    return out.getvalue()
