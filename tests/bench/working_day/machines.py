"""What the day is played against: n servers behind nginx, PostgreSQL that flushes each commit, an object store."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from tests.support import machine, object_store, postgres
from tests.support.server import Server, free_port

NGINX = """
daemon off; {user}worker_processes 1; pid {folder}/nginx.pid; error_log stderr warn; events {{ worker_connections 1024; }}
http {{
  access_log off;
  client_body_temp_path {folder}/b; proxy_temp_path {folder}/p; fastcgi_temp_path {folder}/f;
  uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;
  upstream app {{ least_conn; {servers} keepalive 32; }}
  server {{
    listen 127.0.0.1:{port}; client_max_body_size 12m;
    location / {{ proxy_pass http://app; proxy_http_version 1.1; proxy_set_header Connection "";
      proxy_set_header Host $http_host; proxy_set_header X-Request-ID $request_id; proxy_read_timeout 120s; }}
  }}
}}
"""
TICKS_A_SECOND = os.sysconf("SC_CLK_TCK")


@dataclass
class Machines:
    """What runs, and where phones reach it."""

    url: str
    env: dict[str, str]
    parts: dict[str, list[int]] = field(default_factory=dict)

    def processor_s(self) -> dict[str, float]:
        """Seconds of processor time that each part has used so far, with its children."""
        children: dict[int, list[int]] = {}
        for stat in Path("/proc").glob("[0-9]*/stat"):
            try:
                after = stat.read_text().rpartition(")")[2].split()
            except OSError:
                continue
            children.setdefault(int(after[1]), []).append(int(stat.parent.name))
        # What the bench has started are its children; the phones are itself alone.
        return {
            part: sum(_used(pid, {} if pid == os.getpid() else children) for pid in pids)
            for part, pids in self.parts.items()
        }


def _used(pid: int, children: dict[int, list[int]]) -> float:
    try:
        after = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    times = after[11:13] if pid == os.getpid() else after[11:15]
    own = sum(int(each) for each in times) / TICKS_A_SECOND
    return own + sum(_used(child, children) for child in children.get(pid, []))


def new_back_end() -> dict[str, str]:
    """Settings of servers on a new database and a new bucket."""
    cluster = postgres.cluster()
    cluster.execute("ALTER SYSTEM SET fsync = on")
    cluster.execute("SELECT pg_reload_conf()")
    return {
        "SPANWALK_DATABASE_URL": cluster.migrated_database(),
        **object_store.store().settings(),
        "SPANWALK_LOG_LEVEL": "warning",
    }


@contextmanager
def running(env: dict[str, str], servers: int) -> Iterator[Machines]:
    """So many servers behind nginx."""
    program = shutil.which("nginx") or shutil.which("/usr/sbin/nginx")
    if program is None:
        raise machine.MachineLacks("A working day is played behind nginx: run 'apt-get install nginx-light'.")
    with tempfile.TemporaryDirectory() as made:
        folder, started = Path(made), []
        try:
            for number in range(servers):
                started.append(Server(folder / f"data{number}", command="serve", env=env).start())
            port, user = free_port(), "user root; " if os.geteuid() == 0 else ""
            listed = " ".join(f"server 127.0.0.1:{each.port};" for each in started)
            (folder / "nginx.conf").write_text(NGINX.format(folder=folder, servers=listed, port=port, user=user))
            with (folder / "nginx.log").open("wb") as log:
                proxy = subprocess.Popen([program, "-p", str(folder), "-c", "nginx.conf", "-e", "stderr"], stderr=log)
            try:
                url = f"http://127.0.0.1:{port}"
                _wait_for(url, proxy, folder / "nginx.log")
                parts = {
                    "servers": [each.process.pid for each in started if each.process is not None],
                    "PostgreSQL": [postgres.cluster().process.pid],
                    "object store": [each.pid for each in object_store.store().processes],
                    "nginx": [proxy.pid],
                    "phones": [os.getpid()],
                }
                yield Machines(url, env, parts)
            finally:
                proxy.terminate()
                proxy.wait(10)
        finally:
            for each in started:
                each.stop()


def _wait_for(url: str, proxy: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + 30
    while time.monotonic() < end and proxy.poll() is None:
        try:
            with urllib.request.urlopen(url + "/api/ready", timeout=5):
                return
        except OSError:
            time.sleep(0.05)
    raise RuntimeError(log.read_text(errors="replace")[-2000:])
