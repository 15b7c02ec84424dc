"""Are the third-party files that the page loads the ones we took? `python -m spanwalk.services.vendor` says so."""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path
from typing import TypedDict

from spanwalk.terminal_words import say

MANIFEST = "manifest.json"
OURS = {MANIFEST}
OUR_ENDINGS = (".d.ts",)
"""What lies in the folder and is our own: the manifest, and declarations that point the type checker elsewhere."""


class VendoredPackage(TypedDict):
    """A package in the manifest: where it is from, and the SHA-256 of each of its files."""

    package: str
    version: str
    origin: str
    licence: str
    files: dict[str, str]
    licence_files: dict[str, str]


def check(folder: Path) -> list[str]:
    """Compare a folder of vendored files with its manifest.

    Parameters
    ----------
    folder : Path
        Holds `manifest.json`, the files, and their licence texts.

    Returns
    -------
    list of str
        One sentence for each thing that is wrong; empty when all is as it was taken.
    """
    packages = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["packages"]
    named = {name for package in packages for name in [*package["files"], *package["licence_files"]]}
    wrong = [told for package in packages for told in _check_package(folder, package)]
    return wrong + [say("vendor.in-no-package", {"file": name}) for name in sorted(_present(folder) - named)]


def _check_package(folder: Path, package: VendoredPackage) -> list[str]:
    wrong = [
        say("vendor.not-said", {"package": package["package"], "key": key})
        for key in ("version", "origin", "licence")
        if not package.get(key)
    ]
    for name, expected in [*package["files"].items(), *package["licence_files"].items()]:
        path, facts = folder / name, {"file": name, "package": package["package"]}
        if not path.is_file():
            wrong.append(say("vendor.missing", facts))
        elif (found := hashlib.sha256(path.read_bytes()).hexdigest()) != expected:
            wrong.append(say("vendor.other-bytes", facts | {"found": found, "wanted": expected}))
    return wrong


def _present(folder: Path) -> set[str]:
    found = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    return {name for name in found if name not in OURS and not name.endswith(OUR_ENDINGS)}


def main() -> int:
    """Say what is wrong with the page's vendored files; 0 when nothing is."""
    from spanwalk.package_folders import page_folder

    wrong = check(page_folder() / "vendor")
    print("\n".join(wrong) or say("vendor.whole"))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
