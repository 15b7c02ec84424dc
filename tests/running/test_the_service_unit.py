"""`spanwalk service-unit`: a unit that systemd itself finds nothing wrong with, closed on all sides that it can do without."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from spanwalk.cli import main
from spanwalk.services.service_unit import unit_text

EXPOSURE_MOST = 2.0
"""systemd's own scale from 0, closed, to 10; a service that says nothing of this has 9.6."""


@pytest.fixture
def unit(tmp_path: Path) -> Path:
    program = tmp_path / "bin" / "spanwalk"
    program.parent.mkdir()
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    path = tmp_path / "spanwalk.service"
    path.write_text(unit_text(program, Path("/var/lib/spanwalk"), "spanwalk", 8000))
    return path


def analysed(*words: str) -> subprocess.CompletedProcess[str]:
    if shutil.which("systemd-analyze") is None:
        pytest.skip("systemd's own check needs it: run 'apt-get install systemd'.")
    return subprocess.run(["systemd-analyze", *words], capture_output=True, text=True, timeout=60)


def test_systemd_finds_nothing_wrong_with_it(unit: Path) -> None:
    told = analysed("verify", "--man=no", str(unit))
    assert (told.returncode, told.stderr) == (0, "")


def test_a_planted_mistake_is_found(unit: Path) -> None:
    unit.write_text(unit.read_text().replace("ProtectSystem=strict", "ProtectSistem=strict"))
    assert "ProtectSistem" in analysed("verify", "--man=no", str(unit)).stderr


def test_it_can_do_little_besides_its_work(unit: Path) -> None:
    told = analysed("security", "--offline=true", str(unit))
    found = re.search(r"Overall exposure level for \S+: ([\d.]+)", told.stdout)
    assert found, told.stdout + told.stderr
    assert float(found[1]) <= EXPOSURE_MOST


def test_it_waits_longer_for_the_end_than_a_request_may_take_and_begins_again_after_a_failure(unit: Path) -> None:
    text = unit.read_text()
    assert "TimeoutStopSec=40" in text
    assert "Restart=on-failure" in text
    assert "UMask=0077" in text


def test_the_command_prints_it_with_the_folder_user_and_port_that_were_asked_for(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["service-unit", "--data", "/srv/walk", "--user", "walker", "--port", "8123"]) == 0
    told = capsys.readouterr().out
    assert "ReadWritePaths=/srv/walk\n" in told
    assert "User=walker\n" in told
    assert "--port 8123\n" in told
    assert re.search(r"^ExecStart=/\S+/spanwalk serve", told, re.MULTILINE)


@pytest.mark.parametrize("data", ["/srv/a b", "/srv/%h", "/srv/a\nUser=root", '/srv/"', "/srv/$HOME"])
def test_a_path_that_would_mean_something_else_in_a_unit_is_refused(
    data: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["service-unit", "--data", data]) == 2
    assert "cannot stand in a unit" in capsys.readouterr().err
