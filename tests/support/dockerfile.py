"""A Dockerfile read, and its steps executed one by one in a root of their own, where there is no container engine.

What it proves: that each RUN, COPY and CMD works in a fresh Debian as the file's own user, on a root mounted read-only.
What it does not: layers and their cache, the engine's own isolation, the registry's image of the same name.
"""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

STEP_SECONDS = 600
PATH = "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"
TRUST = ("PIP_CERT", "SSL_CERT_FILE")
"""Where this machine keeps whom it trusts, if it says so: a step that fetches something must trust them too."""
TRUSTED = "/run/trusted.crt"
MOUNTS = """set -e
mount --bind "$R" "$R"
mkdir -p "$R/proc" "$R/dev" "$R/tmp" "$R/run"
mount --bind /proc "$R/proc"
mount --rbind /dev "$R/dev"
"""
READ_ONLY = """mount -t tmpfs -o mode=1777 none "$R/tmp"
mount --bind "$R$D" "$R$D"
mount -o remount,bind,ro "$R"
"""


@dataclass(frozen=True)
class Step:
    """One instruction: its word, in capitals, and what stands behind it."""

    word: str
    rest: str

    def listed(self) -> list[str]:
        """What stands behind it as a list, where it is one."""
        found: list[str] = json.loads(self.rest[self.rest.index("[") :])
        return found


def read(text: str) -> list[Step]:
    """The instructions of a Dockerfile, continued lines joined, comments left out."""
    plain = "\n".join(line for line in text.splitlines() if not line.lstrip().startswith("#"))
    lines = re.sub(r"\\\n", " ", plain).splitlines()
    words = (line.strip().partition(" ") for line in lines if line.strip())
    return [Step(word.upper(), rest.strip()) for word, _, rest in words]


class Root:
    """A folder that stands for the image's file system."""

    def __init__(self, folder: Path, context: Path) -> None:
        self.folder, self.context = folder, context
        self.env, self.workdir, self.user = {"PATH": PATH, "HOME": "/root"}, "/", "root"
        self.healthcheck: list[str] = []
        self.command: list[str] = []

    def build(self, steps: list[Step]) -> None:
        """Execute all steps but FROM, whose root this is."""
        for step in steps:
            getattr(self, f"_{step.word.lower()}", lambda _step: None)(step)

    def _run(self, step: Step) -> None:
        done = self.call(["/bin/sh", "-c", step.rest])
        assert done.returncode == 0, f"RUN {step.rest}\n{(done.stdout + done.stderr)[-3000:]}"

    def _copy(self, step: Step) -> None:
        *sources, target = shlex.split(step.rest)
        place = self.folder / (self.workdir.lstrip("/")) / target
        for source in sources:
            found = self.context / source
            if found.is_dir():
                shutil.copytree(
                    found, place, dirs_exist_ok=True, ignore=shutil.ignore_patterns("__pycache__", "node_modules")
                )
            else:
                place.mkdir(parents=True, exist_ok=True)
                shutil.copy(found, place)

    def _workdir(self, step: Step) -> None:
        self.workdir = step.rest
        (self.folder / step.rest.lstrip("/")).mkdir(parents=True, exist_ok=True)

    def _env(self, step: Step) -> None:
        self.env |= dict(each.split("=", 1) for each in shlex.split(step.rest))

    def _user(self, step: Step) -> None:
        self.user = step.rest

    def _healthcheck(self, step: Step) -> None:
        self.healthcheck = step.listed()

    def _cmd(self, step: Step) -> None:
        self.command = step.listed()

    def words(self, command: list[str], read_only_but: str | None = None, **env: str) -> list[str]:
        """What starts a command inside, as the user, in the folder and with the environment that the steps have set."""
        told = " ".join(shlex.quote(f"{name}={value}") for name, value in {**self.env, **self._trust(), **env}.items())
        inner = f"cd {shlex.quote(self.workdir)} && exec {shlex.join(command)}"
        user = "" if self.user == "root" else f"--userspec={self.user}:{self.user} "
        enter = f'exec chroot {user}"$R" env -i {told} /bin/sh -c {shlex.quote(inner)}'
        script = MOUNTS + self._trusted() + (READ_ONLY if read_only_but else "") + enter
        outer = ["env", f"R={self.folder}", f"D={read_only_but or ''}", "sh", "-c", script]
        return ["unshare", "--mount", "--propagation", "private", *outer]

    def call(
        self, command: list[str], read_only_but: str | None = None, **env: str
    ) -> subprocess.CompletedProcess[str]:
        """Run a command inside, to its end."""
        words = self.words(command, read_only_but, **env)
        return subprocess.run(words, capture_output=True, text=True, timeout=STEP_SECONDS)

    def _trust(self) -> dict[str, str]:
        return dict.fromkeys(TRUST, TRUSTED) if self._certificates() else {}

    def _certificates(self) -> str | None:
        return next((os.environ[name] for name in TRUST if os.environ.get(name)), None)

    def _trusted(self) -> str:
        found = self._certificates()
        copied = 'cp /etc/resolv.conf "$R/etc/resolv.conf"\n'
        return copied if found is None else copied + f'cp {shlex.quote(found)} "$R{TRUSTED}"\n'
