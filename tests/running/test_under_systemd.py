"""The unit under systemd itself: it starts closed as it is, keeps a photo and reads a table in workers of its own, and ends well."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
import sqlalchemy

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = ROOT / "tests/support/under_systemd.sh"
BOUND_S = 180
NAMESPACES = ["unshare", "--fork", "--pid", "--kill-child", "--mount", "--mount-proc", "--uts", "--ipc", "--net"]


@pytest.mark.soak
def test_the_unit_starts_works_and_ends_under_systemd(tmp_path: Path) -> None:
    """Not as a machine's own first process: as that of namespaces which see this machine's files (Linux, as root)."""
    if not Path("/lib/systemd/systemd").exists() or shutil.which("unshare") is None:
        pytest.skip("systemd is not here: run 'apt-get install systemd'.")
    if subprocess.run([*NAMESPACES, "true"], capture_output=True, timeout=30).returncode != 0:
        pytest.skip("namespaces cannot be made here: it takes root, or a container that may.")
    out, said = tmp_path / "out", tmp_path / "said"
    words = [sys.base_prefix, str(Path(sqlalchemy.__file__).parents[1]), str(ROOT), str(out)]
    with said.open("wb") as log:
        running = subprocess.Popen([*NAMESPACES, "bash", str(SCRIPT), *words], stdout=log, stderr=log)
    try:
        end = time.monotonic() + BOUND_S
        while not (out.exists() and out.read_text().endswith("end\n")):
            assert time.monotonic() < end, (out.read_text() if out.exists() else "") + said.read_text()[-2000:]
            assert running.poll() is None, said.read_text()[-2000:]
            time.sleep(1)
    finally:
        running.kill()
        running.wait(30)
    told = out.read_text()
    assert "ready True" in told
    assert "photo 201" in told, told
    assert "table 201" in told, told
    assert "Result=success" in told
    assert "ActiveState=inactive" in told
    assert "ExecMainStatus=0" in told
