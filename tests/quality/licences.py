"""What others wrote and Spanwalk runs on, with its licence: made from installed metadata and the page's manifest.

`python -m tests.quality.licences` writes `server/spanwalk/spec/licences.md` anew; a test fails while it is stale.
"""

from __future__ import annotations

import json
import re
import tomllib
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[2]
LIST = ROOT / "server/spanwalk/spec/licences.md"
MANIFEST = ROOT / "pwa/vendor/manifest.json"
FONTS = ROOT / "server/spanwalk/services/labels/fonts"
FONT_LICENCE = "Bitstream-Vera"
EXTRA = "scale"
"""What large installations add."""
IDS = {
    "MIT License": "MIT",
    "BSD License": "BSD-3-Clause",
    "BSD": "BSD-3-Clause",
    "Apache Software License": "Apache-2.0",
    "Python Software Foundation License": "PSF-2.0",
    "PSFL": "PSF-2.0",
    "Zope Public License": "ZPL-2.1",
    "ZPL 2.1": "ZPL-2.1",
    "BSD-3-Clause, Apache-2.0, dependency licenses": "BSD-3-Clause AND Apache-2.0",
}
"""SPDX ids of what packages call their licences where they give no id."""
IN_ITS_FILE = {"pyrage": "MIT"}
"""Read in the licence file of those whose metadata says nothing."""


def runtime() -> list[Distribution]:
    """Every Python package that an installation brings, those that others bring included, by name."""
    found: dict[str, Distribution] = {}
    waiting = [("", "")]
    seen = set(waiting)
    while waiting:
        name, extra = waiting.pop()
        for text in (distribution(name).requires or []) if name else of_this_checkout():
            wanted = Requirement(text)
            if wanted.marker is not None and not wanted.marker.evaluate({"extra": extra}):
                continue
            key = re.sub(r"[-_.]+", "-", wanted.name).lower()
            found[key] = distribution(wanted.name)
            more = {(wanted.name, each) for each in ("", *wanted.extras)} - seen
            seen |= more
            waiting += sorted(more)
    return [found[key] for key in sorted(found)]


def of_this_checkout() -> list[str]:
    """What an installation of this checkout asks for."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [*project["dependencies"], *project["optional-dependencies"][EXTRA]]


def licence_of(told: Distribution) -> str:
    """The SPDX id of a package's licence; '?' where its metadata does not say one that is known here."""
    about = told.metadata
    if about["Name"] in IN_ITS_FILE:
        return IN_ITS_FILE[about["Name"]]
    if expression := about.get("License-Expression"):
        return expression
    classified = [
        each.rsplit(" :: ", 1)[-1] for each in about.get_all("Classifier") or [] if each.startswith("License :: ")
    ]
    for name in (*classified, about.get("License") or ""):
        if name in IDS:
            return IDS[name]
        if re.fullmatch(r"[A-Za-z]+-[\d.]+(?:-\w+)*|MIT|ISC|PSF", name):
            return name
    return "?"


def page_parts() -> list[tuple[str, str, str]]:
    """Package, version and licence of each part of the page that others wrote."""
    packages = json.loads(MANIFEST.read_text(encoding="utf-8"))["packages"]
    return sorted((each["package"], each["version"], each["licence"]) for each in packages)


def made() -> str:
    """The list as it should stand."""
    python = "".join(f"| {each.metadata['Name']} | {licence_of(each)} |\n" for each in runtime())
    page = "".join(f"| {name} | {version} | {licence} |\n" for name, version, licence in page_parts())
    fonts = "".join(f"| {name} | {FONT_LICENCE} |\n" for name in sorted(each.stem for each in FONTS.glob("*.ttf")))
    return f"""# What others wrote, and under which licence

Made by `python -m tests.quality.licences` from the metadata of the installed packages and from `pwa/vendor/manifest.json`.
Ids are SPDX's. Which licence Spanwalk itself has is its owner's to say. Tools of developers and tests are not listed: they
are not part of an installation.

## In the page (`pwa/vendor`, texts in `pwa/vendor/licences`)

| package | version | licence |
| --- | --- | --- |
{page}
## Fonts on labels (`server/spanwalk/services/labels/fonts`, with the text)

| font | licence |
| --- | --- |
{fonts}
## Python packages of an installation (`requirements.lock` has the versions)

| package | licence |
| --- | --- |
{python}"""


if __name__ == "__main__":
    LIST.write_text(made(), encoding="utf-8")
    print(LIST)
