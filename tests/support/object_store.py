"""A real S3-compatible object store of the tests' own: Swift from Debian's packages, on free ports, in a temporary folder.

One replica and one disk: a proxy that speaks S3, its account, container and object servers, and memcached for its tokens.
"""

from __future__ import annotations

import atexit
import functools
import os
import shutil
import socket
import subprocess
import tempfile
import time
import urllib.request
import uuid
from pathlib import Path

from tests.support import machine
from tests.support.server import free_port

START_SECONDS = 120
PYTHON = "/usr/bin/python3"
"""Debian's Python, which Debian's Swift belongs to."""
KEY, SECRET = "test:tester", "testing"
RUN = """
import runpy, sys
from swift.common import utils
utils.set_swift_dir(sys.argv[1])  # its own /etc/swift/swift.conf stays as it is
sys.argv = sys.argv[2:]
runpy.run_path(sys.argv[0], run_name="__main__")
"""
BUCKET = "walks"
KINDS = ("account", "container", "object")
RINGS = """
import sys
from swift.common.ring import RingBuilder
for kind, port in zip(sys.argv[1::2], sys.argv[2::2]):
    ring = RingBuilder(4, 1, 0)
    ring.add_dev({"region": 1, "zone": 1, "ip": "127.0.0.1", "port": int(port), "device": "d1", "weight": 1})
    ring.rebalance()
    ring.get_ring().save(kind + ".ring.gz")
"""

HASHES = """
[swift-hash]
swift_hash_path_suffix = a
swift_hash_path_prefix = b
[storage-policy:0]
name = one
default = yes
"""

STORAGE = """
[DEFAULT]
devices = {folder}/devices
mount_check = false
bind_ip = 127.0.0.1
bind_port = {port}
workers = 0
swift_dir = {folder}
user = {user}
log_level = ERROR
fallocate_reserve = 0
[pipeline:main]
pipeline = {kind}-server
[app:{kind}-server]
use = egg:swift#{kind}
"""

PROXY = """
[DEFAULT]
bind_ip = 127.0.0.1
bind_port = {port}
workers = 0
swift_dir = {folder}
user = {user}
log_level = ERROR
[pipeline:main]
pipeline = catch_errors cache s3api tempauth copy slo dlo proxy-server
[app:proxy-server]
use = egg:swift#proxy
account_autocreate = true
# A machine that is busy with other tests is slow: half a second, the usual limit, is not to fail them.
conn_timeout = 10
node_timeout = 60
[filter:catch_errors]
use = egg:swift#catch_errors
[filter:cache]
use = egg:swift#memcache
memcache_servers = 127.0.0.1:{memory_port}
[filter:s3api]
use = egg:swift#s3api
location = us-east-1
[filter:tempauth]
use = egg:swift#tempauth
user_test_tester = testing .admin
[filter:copy]
use = egg:swift#copy
[filter:slo]
use = egg:swift#slo
[filter:dlo]
use = egg:swift#dlo
"""


class ObjectStore:
    """A running object store; can be taken away and brought back, with what it holds."""

    def __init__(self) -> None:
        machine.object_store()
        self.folder = Path(tempfile.mkdtemp(prefix="spanwalk-objects-"))
        self.user = subprocess.check_output(["id", "-un"], text=True).strip()
        self.ports = {kind: free_port() for kind in (*KINDS, "proxy", "memory")}
        self.processes: list[subprocess.Popen[bytes]] = []
        self._write_settings()
        self.start()

    @property
    def url(self) -> str:
        """Where it speaks S3."""
        return f"http://127.0.0.1:{self.ports['proxy']}"

    def _write_settings(self) -> None:
        (self.folder / "devices" / "d1").mkdir(parents=True)
        (self.folder / "swift.conf").write_text(HASHES)
        for kind in KINDS:
            self._write(kind, STORAGE, kind=kind, port=self.ports[kind])
        places = [word for kind in KINDS for word in (kind, str(self.ports[kind]))]
        subprocess.run([PYTHON, "-c", RINGS, *places], cwd=self.folder, check=True, env=plain_environment())
        self._write("proxy", PROXY, port=self.ports["proxy"], memory_port=self.ports["memory"])

    def _write(self, name: str, text: str, **facts: object) -> None:
        (self.folder / f"{name}.conf").write_text(text.format(folder=self.folder, user=self.user, **facts))

    def start(self) -> None:
        """Start all its processes, and wait until it answers."""
        who = ["-u", "root"] if os.geteuid() == 0 else []
        self._run(["memcached", "-l", "127.0.0.1", "-p", str(self.ports["memory"]), *who])
        for kind in (*KINDS, "proxy"):
            program = str(shutil.which(f"swift-{kind}-server"))
            self._run([PYTHON, "-c", RUN, str(self.folder), program, str(self.folder / f"{kind}.conf")])
        end = time.monotonic() + START_SECONDS
        while True:
            try:
                for port in self.ports.values():  # the proxy answers before those behind it listen
                    socket.create_connection(("127.0.0.1", port), timeout=2).close()
                with urllib.request.urlopen(self.url + "/info", timeout=2) as answer:
                    answer.read()
                self._make_bucket()
                return
            except OSError:
                if time.monotonic() > end:
                    raise RuntimeError((self.folder / "log").read_text(errors="replace")[-3000:]) from None
                time.sleep(0.1)

    def _run(self, command: list[str]) -> None:
        with (self.folder / "log").open("ab") as log:
            self.processes.append(subprocess.Popen(command, stdout=log, stderr=log, env=plain_environment(), cwd="/"))

    def _make_bucket(self) -> None:
        """Make the bucket of all tests through the store's own interface, unless it is there."""
        sign_in = urllib.request.Request(self.url + "/auth/v1.0", headers={"X-Auth-User": KEY, "X-Auth-Key": SECRET})
        with urllib.request.urlopen(sign_in, timeout=10) as answer:
            token, account = answer.headers["X-Auth-Token"], answer.headers["X-Storage-Url"]
        make = urllib.request.Request(f"{account}/{BUCKET}", method="PUT", headers={"X-Auth-Token": token})
        with urllib.request.urlopen(make, timeout=10) as answer:
            assert answer.status in (201, 202), answer.status

    def settings(self) -> dict[str, str]:
        """Settings of a server that keeps its photos here, under a prefix of its own."""
        return {
            "SPANWALK_PHOTO_URL": f"s3://{BUCKET}/{uuid.uuid4().hex[:12]}/photos",
            "SPANWALK_S3_ENDPOINT": self.url,
            "SPANWALK_S3_KEY": KEY,
            "SPANWALK_S3_SECRET": SECRET,
        }

    def halt(self) -> None:
        """Take it away; what it holds stays."""
        for process in self.processes:
            process.kill()
            process.wait()
        self.processes = []

    def stop(self) -> None:
        """Stop it and remove its folder."""
        self.halt()
        shutil.rmtree(self.folder, ignore_errors=True)


def plain_environment() -> dict[str, str]:
    """The environment without what points Python at this project."""
    return {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "VIRTUAL_ENV"))}


@functools.cache
def store() -> ObjectStore:
    """The run's object store, started when it is first asked for."""
    made = ObjectStore()
    atexit.register(made.stop)
    return made
