"""Does anything notice a fault? Drawn groups first, then the tests, then more groups; the first failure is enough."""

from __future__ import annotations

import atexit
import importlib.abc
import importlib.util
import json
import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType
from typing import Any

import hypothesis
import pytest

from spanwalk.reference import tables
from tests.fit.differential import JUDGE, drawn, page_judges, server_judges
from tests.mutation.mutant import ROOT, Mutant
from tests.mutation.python_mutants import mutants_of
from tests.mutation.targets import Target
from tests.support import machine

Json = Any
HERE = Path(__file__).parent
SIDES = ("python", "javascript")
KILLED, SURVIVED, ENDLESS = "killed", "survived", "endless"
SECONDS = 60
"""Only for faults that make a loop endless; everything that is run for one mutant takes a few seconds."""
FIRST_GROUPS = 150
GROUPS, SEED = 2000, 320
"""The very groups of tests/fit/test_differential.py."""
FRESH = ("spanwalk.rules", "spanwalk.sync", "spanwalk.services", "spanwalk.storage", "tests.fit", "tests.sync")
QUIET = (
    "-x",
    "-q",
    "--noconftest",
    "--assert=plain",
    "-m",
    "not soak",
    "-p",
    "no:cacheprovider",
    "-p",
    "no:playwright",
    "-p",
    "no:base_url",
    "-o",
    "faulthandler_timeout=0",  # its watchdog does not live in a forked process, which would wait for it for ever
    "--import-mode=importlib",
)


hypothesis.settings.register_profile("mutation", phases=[hypothesis.Phase.generate], derandomize=True, database=None)


class NoticedWithoutFault(Exception):
    pass


@dataclass(frozen=True)
class Groups:
    """Drawn groups and what either side says of them; both say the same."""

    cases: list[Json]
    answers: list[Json]
    first_lines: Path
    lines: Path
    tables: Path


@cache
def groups(count: int) -> Groups:
    """So many drawn groups, judged without a fault by server and page."""
    cases = drawn(count, SEED)
    answers = page_judges(cases)
    assert answers == [server_judges(case) for case in cases], "page and server differ without any fault"
    folder = Path(tempfile.mkdtemp(prefix="mutation-"))
    atexit.register(shutil.rmtree, folder)
    known = Groups(cases, answers, folder / "first.jsonl", folder / "cases.jsonl", folder / "tables.json")
    written = [json.dumps(case) + "\n" for case in cases]
    known.lines.write_text("".join(written), encoding="utf-8")
    known.first_lines.write_text("".join(written[:FIRST_GROUPS]), encoding="utf-8")
    known.tables.write_text(json.dumps(dict(tables())), encoding="utf-8")
    return known


def mutants(target: Target, side: str) -> list[Mutant]:
    """All faults of a target on one side."""
    file = target.file(side)
    if file is None:
        return []
    if side == "python":
        return mutants_of(file)
    tools = machine.page_tools() / "typescript"
    command = [machine.node(), str(HERE / "javascript_mutants.js"), str(tools), "pwa/jsconfig.json", file]
    said = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return [Mutant(*each) for each in json.loads(said.stdout)]


def try_all(target: Target, side: str, chosen: Iterable[Mutant], count: int = GROUPS) -> Iterator[tuple[Mutant, str]]:
    """Each mutant with what became of it, as soon as it is known, in order; `count` groups are judged.

    Raises
    ------
    NoticedWithoutFault
        Where the tests fail as it is, so that they say nothing of a fault.
    """
    if target.judged:
        groups(count)
    every = list(chosen)
    attempt = _attempt_on(side)
    if every and not _passes_unharmed(target, side, every[0].file, count):
        raise NoticedWithoutFault(every[0].file)
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        yield from zip(every, pool.map(lambda mutant: attempt(target, mutant, count), every), strict=True)


def _attempt_on(side: str) -> Callable[[Target, Mutant, int], str]:
    return _try_python if side == "python" else _try_javascript


@cache
def _passes_unharmed(target: Target, side: str, file: str, count: int) -> bool:
    """Whether nothing is noticed where nothing is wrong; asked once of a process."""
    return _attempt_on(side)(target, Mutant(file, 0, 0, "", "none"), count) == SURVIVED


# -- the server's side: a forked process that loads the faulty module afresh


def _try_python(target: Target, mutant: Mutant, count: int) -> str:
    child = multiprocessing.get_context("fork").Process(target=_alone, args=(target, mutant, count))
    child.start()
    child.join(SECONDS)
    if child.is_alive():
        child.kill()
        child.join()
        return ENDLESS
    return SURVIVED if child.exitcode == 0 else KILLED


def _alone(target: Target, mutant: Mutant, count: int) -> None:
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    hypothesis.settings.load_profile("mutation")
    _load_with(mutant)
    os._exit(_python_notices(target, count))


def _python_notices(target: Target, count: int) -> bool:
    if target.judged and _other_answers(slice(0, FIRST_GROUPS), count):
        return True
    choice = ("-k", target.chosen) if target.chosen else ()
    if pytest.main([*QUIET, *choice, *(str(ROOT / file) for file in target.python_tests)]) != 0:
        return True
    return target.judged and _other_answers(slice(FIRST_GROUPS, None), count)


def _other_answers(some: slice, count: int) -> bool:
    from tests.fit.differential import server_judges as judges  # loaded afresh, on the faulty rules

    known = groups(count)
    return any(judges(case) != answer for case, answer in zip(known.cases[some], known.answers[some], strict=True))


def _load_with(mutant: Mutant) -> None:
    """From now on the faulty module is the one that everything imports; only for a process of its own."""
    name = mutant.file.removeprefix("server/").removesuffix(".py").replace("/", ".")
    for loaded in [each for each in sys.modules if each.startswith(FRESH)]:
        del sys.modules[loaded]
    sys.meta_path.insert(0, _Faulty(name, mutant))


class _Faulty(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Finds one module, and loads it with the fault."""

    def __init__(self, name: str, mutant: Mutant) -> None:
        self.name, self.mutant = name, mutant

    def find_spec(self, fullname: str, path: Json, target: ModuleType | None = None) -> ModuleSpec | None:
        return importlib.util.spec_from_loader(fullname, self) if fullname == self.name else None

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self.mutant.source(), str(ROOT / self.mutant.file), "exec"), module.__dict__)


# -- the page's side: Node, told to load the faulty source for that file


def _try_javascript(target: Target, mutant: Mutant, count: int) -> str:
    told = json.dumps({"path": str(ROOT / mutant.file), "source": mutant.source()})
    environment = {**os.environ, "SPANWALK_MUTANT": told, "NODE_NO_WARNINGS": "1"}
    try:
        return KILLED if _page_notices(target, count, environment) else SURVIVED
    except subprocess.TimeoutExpired:
        return ENDLESS


def _page_notices(target: Target, count: int, environment: dict[str, str]) -> bool:
    known = groups(count) if target.judged else None
    if known and _page_answers(known, known.first_lines, environment) != known.answers[:FIRST_GROUPS]:
        return True
    code, _ = _node(environment, str(HERE / "run_tests.js"), *target.javascript_tests)
    if code != 0:
        return True
    return known is not None and _page_answers(known, known.lines, environment) != known.answers


def _page_answers(known: Groups, lines: Path, environment: dict[str, str]) -> list[Json]:
    """The faulty page's judgements, as far as it came."""
    code, said = _node(environment, str(JUDGE), str(lines), str(known.tables))
    return [json.loads(line) for line in said.splitlines()] if code == 0 else []


def _node(environment: dict[str, str], *arguments: str) -> tuple[int, str]:
    """Exit code of Node, and what it printed; ended with all that it started where it takes too long."""
    command = [machine.node(), "--import", str(HERE / "with_mutant.js"), *arguments]
    running = subprocess.Popen(
        command,
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    )
    try:
        said, _ = running.communicate(timeout=SECONDS)
    except subprocess.TimeoutExpired:
        os.killpg(running.pid, signal.SIGKILL)
        running.communicate()
        raise
    return running.returncode, said
