"""The Dockerfile: what it promises is read in every run; its steps are executed one by one in a fresh Debian with -m soak.

There is no container engine on the machines that run these tests. `tests/support/dockerfile.py` says what is proved.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.support import dockerfile, machine
from tests.support.server import free_port

ROOT = Path(__file__).resolve().parents[2]
STEPS = dockerfile.read((ROOT / "Dockerfile").read_text(encoding="utf-8"))


def steps(word: str) -> list[str]:
    return [step.rest for step in STEPS if step.word == word]


def test_it_ends_as_a_user_who_is_not_root() -> None:
    words = [step.word for step in STEPS]
    assert steps("USER") == ["spanwalk"]
    assert words.index("USER") > max(place for place, word in enumerate(words) if word in ("RUN", "COPY"))


def test_it_brings_what_postgresql_and_buckets_need_in_the_versions_that_were_tested() -> None:
    assert any("'.[scale]'" in each and "-c requirements.lock" in each for each in steps("RUN"))


def test_it_asks_itself_whether_it_is_healthy_and_is_ended_gently() -> None:
    assert any("/api/health" in each for each in steps("HEALTHCHECK"))
    assert steps("STOPSIGNAL") == ["SIGTERM"]


def test_its_head_says_how_to_make_the_first_owner_and_to_keep_the_root_read_only() -> None:
    head = (ROOT / "Dockerfile").read_text(encoding="utf-8").partition("FROM")[0]
    assert "spanwalk init" in head
    assert head.count("--read-only") == 2
    assert "no-new-privileges" in head


def test_nothing_that_a_build_does_not_need_is_sent_to_it() -> None:
    ignored = (ROOT / ".dockerignore").read_text(encoding="utf-8").split()
    assert {".git", ".venv", "**/node_modules", "spanwalk-data"} <= set(ignored)


def test_every_folder_that_it_copies_is_there() -> None:
    copied = [name for each in steps("COPY") for name in each.split()[:-1]]
    assert copied
    assert [name for name in copied if not (ROOT / name).exists()] == []


# -- executed


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dockerfile.Root]:
    """Debian 12 and nothing else, then every step of the file in it."""
    if os.geteuid() != 0 or not shutil.which("mmdebstrap"):
        pytest.skip("A fresh Debian is made by root with mmdebstrap: run 'apt-get install mmdebstrap'.")
    folder = tmp_path_factory.mktemp("image") / "root"
    if kept := os.environ.get("SPANWALK_TEST_DEBIAN"):
        subprocess.run(["cp", "-a", "--reflink=auto", kept, str(folder)], check=True)
    else:
        make = ["mmdebstrap", "--variant=minbase", "bookworm", str(folder), "http://deb.debian.org/debian"]
        subprocess.run(make, check=True, timeout=900, capture_output=True)
    root = dockerfile.Root(folder, ROOT)
    root.build(STEPS)
    yield root
    shutil.rmtree(folder, ignore_errors=True)


@pytest.mark.soak
def test_its_steps_work_one_by_one_and_what_they_make_serves_as_no_root_on_a_read_only_root(
    built: dockerfile.Root,
) -> None:
    init = ["sh", "-c", "echo 'walk the quiet span' | spanwalk init --owner 'First owner' --password-from -"]
    done = built.call(init, "/data")
    assert done.returncode == 0, done.stderr
    who = built.call(
        ["sh", "-c", "id -u; touch /opt/spanwalk/x 2>/dev/null || echo refused; touch /data/x && echo kept"], "/data"
    )
    assert who.stdout.split() == ["10001", "refused", "kept"]
    port = str(free_port())
    command = [port if word == "8000" else word for word in built.command]
    check = [word.replace(":8000", f":{port}") for word in built.healthcheck]
    process = subprocess.Popen(
        built.words(command, "/data"), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    try:
        end = time.monotonic() + 90
        while (asked := built.call(check, "/data")).returncode != 0:
            assert process.poll() is None, process.communicate()[0]
            assert time.monotonic() < end, asked.stderr
            time.sleep(0.5)
        packages = built.call(["python3", "-c", "import psycopg, obstore, prometheus_client"], "/data")
        assert packages.returncode == 0, packages.stderr
    finally:
        process.send_signal(signal.SIGTERM)
        told = process.communicate(timeout=60)[0]
    assert "Traceback" not in told
    assert built.call(check, "/data").returncode != 0, "the check tells a server that is gone"
    assert machine.ROOT == ROOT
