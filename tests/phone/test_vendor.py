"""What the page loads from others is what we took, with its origin, licence and hash."""

from __future__ import annotations

import shutil
from pathlib import Path

from spanwalk.package_folders import page_folder
from spanwalk.services.vendor import check

VENDOR = page_folder() / "vendor"


def test_every_vendored_file_is_as_it_was_taken() -> None:
    assert check(VENDOR) == []


def test_a_changed_a_missing_and_a_stray_file_are_named(tmp_path: Path) -> None:
    folder = tmp_path / "vendor"
    shutil.copytree(VENDOR, folder)
    (folder / "htm.js").write_text("changed")
    (folder / "idb.js").unlink()
    (folder / "stray.js").write_text("")
    told = check(folder)
    assert len(told) == 3
    assert told[0].startswith("htm.js of htm has SHA-256")
    assert told[1] == "idb.js of idb is missing."
    assert told[2] == "stray.js is in no package of the manifest."
