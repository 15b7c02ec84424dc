"""The types of the server catch what they are for: a misspelt word planted in each layer fails the check at its line.

Checked is a copy, with neither Python's path nor the installed package saying where it is, as on a clean clone. All plants
stand in it at once, each in a file of its own or where the word stands in the code, and nothing else may be found.
"""

from __future__ import annotations

import ast
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "server" / "spanwalk"
MYPY = Path(sys.executable).parent / "mypy"


@dataclass(frozen=True)
class Plant:
    """A mistake in a function of its own: what it is given, what it says of that, and the word that must be named."""

    layer: str
    name: str
    imports: str
    given: str
    says: str
    word: str


VIEWS = "from spanwalk.rules.record_types import ConversionView, GroupView, KindView, facet"
PLANS = "from spanwalk.rules.arrangements.plan_types import DriverTold, PlanInShort, Proposal"
PLANTS = [
    Plant("rules", "a_plan", PLANS, "it: PlanInShort", 'it["wsate"]', "wsate"),
    Plant("rules", "a_proposal", PLANS, "it: Proposal", 'it["bars_eech"]', "bars_eech"),
    Plant("rules", "a_wiring", PLANS, "it: DriverTold", 'it["outputs"][0]["joind"]', "joind"),
    Plant("rules", "a_card", "from spanwalk.rules.arrangements.card.card_types import CrewCard", "it: CrewCard", 'it["remove"]["pbc"]', "pbc"),
    Plant("rules", "a_judgement", "from spanwalk.rules.judging.judgement_types import Judgement", "it: Judgement", 'it["fits"][0]["clearence_ticks"]', "clearence_ticks"),
    Plant("rules", "a_standing", "from spanwalk.rules.since_release.standing import Standing", "it: Standing", 'it["stadning"]', "stadning"),
    Plant("rules", "an_open_point", "from spanwalk.rules.points.found import OpenPoint", "it: OpenPoint", 'it["pth"]', "pth"),
    Plant("rules", "a_facet_of_a_record", VIEWS, "it: GroupView", 'it["facets"]["suply"]', "suply"),
    Plant("rules", "a_field_of_a_record", VIEWS, "it: KindView", 'facet(it, "identity")["mrak"]', "mrak"),
    Plant("rules", "a_record_of_the_survey", "from spanwalk.rules.survey import Survey, facet", "it: Survey", 'facet(it.of_type("room")[0], "size")["lenght_ticks"]', "lenght_ticks"),
    Plant("rules", "a_type_of_record", "from spanwalk.rules.survey import Survey", "it: Survey", 'it.of_type("romm")', "OfType"),
    Plant("sync", "an_operation", "from spanwalk.sync.model import Operation", "it: Operation", "it.recrod", "recrod"),
    Plant("sync", "a_conflict", "from spanwalk.sync.model import State", "it: State", 'it.conflicts[0]["facte"]', "facte"),
    Plant("records", "a_field", "from spanwalk.records.specification import Field", "it: Field", "it.requierd", "requierd"),
    Plant("messages", "a_query", "from spanwalk.messages.sync import PullAsked", "it: PullAsked", 'it["sinec"]', "sinec"),
    Plant("messages", "a_body", "from spanwalk.messages.bodies import NewPerson", "it: NewPerson", 'it["pasword"]', "pasword"),
    Plant("services", "a_plan_in_a_list", "from spanwalk.services.planning.plan_answers import SiteAnswer", "it: SiteAnswer", 'it["totals"]["quantites"]', "quantites"),
    Plant("services", "an_answer_to_a_push", "from spanwalk.services.sync.answering import Answer", "it: Answer", 'it["reslut"]', "reslut"),
    Plant("services", "what_the_server_does", "from spanwalk.services.sync.server_operations import ServerOperation", "it: ServerOperation", 'it["recrod"]', "recrod"),
    Plant("services", "what_a_release_says", "from spanwalk.services.releases.releasing import ReleaseAnswer", "it: ReleaseAnswer", 'it["left_otu"]', "left_otu"),
    Plant("services", "a_change_by_a_file", "from spanwalk.services.files.changes import Change", "it: Change", 'it["facte"]', "facte"),
    Plant("services", "a_file_as_it_stands", "from spanwalk.services.files.imports import ImportTold", "it: ImportTold", 'it["problmes"]', "problmes"),
    Plant("storage", "a_store", "from spanwalk.storage.photos import FolderStore", "it: FolderStore", "it.foldre", "foldre"),
    Plant("storage", "a_table", "from spanwalk.storage.tables import Device", "it: Device", "it.unsent_operatoins", "unsent_operatoins"),
    Plant("web", "who_asks", "from spanwalk.web.request.auth import current_member", "it: object", "current_member().site_di", "site_di"),
    Plant("web", "a_session", "from spanwalk.web.people.sessions import SessionAbout", "it: SessionAbout", 'it["sites"][0]["peolpe"]', "peolpe"),
]  # fmt: skip


@dataclass(frozen=True)
class Misspelling:
    """A word of a module as it is, spelt wrongly where it stands."""

    file: str
    right: str
    wrong: str


MISSPELLINGS = [
    Misspelling("rules/arrangements/card/crew_card.py", 'plan["waste"]', 'plan["wsate"]'),
    Misspelling("rules/arrangements/card/crew_card.py", 'proposal["bars_each"]', 'proposal["bars_eech"]'),
    Misspelling("sync/decide.py", "operation.kind == RESTORE", "operation.knid == RESTORE"),
    Misspelling("records/markdown.py", "if field.required", "if field.requierd"),
    Misspelling("services/planning/told.py", '"watts_then": proposal["watts"]', '"watts_then": proposal["wtats"]'),
    Misspelling("storage/photos.py", "self.folder / name[:2] / name", "self.foldre / name[:2] / name"),
    Misspelling("web/survey/photos.py", "receipt.sha256", "receipt.sha265"),
    Misspelling("cli.py", "settings.data.mkdir(", "settings.dtaa.mkdir("),
]

Place = tuple[str, int]


def planted(copy: Path) -> dict[Plant | Misspelling, Place]:
    """Plant them all; by plant its file and line."""
    found: dict[Plant | Misspelling, Place] = {}
    for plant in PLANTS:
        path = copy / plant.layer / f"planted_{plant.name}.py"
        path.write_text(
            f"from __future__ import annotations\n{plant.imports}\ndef f({plant.given}) -> object:\n    return {plant.says}\n"
        )
        found[plant] = (f"{plant.layer}/{path.name}", 4)
    for word in MISSPELLINGS:
        path = copy / word.file
        text = path.read_text(encoding="utf-8")
        assert word.right in text, f"{word.right!r} stands nowhere in {word.file}"
        found[word] = (word.file, text[: text.index(word.right)].count("\n") + 1)
        path.write_text(text.replace(word.right, word.wrong, 1), encoding="utf-8")
    return found


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The server as a clean clone has it, to be spoilt."""
    folder = tmp_path_factory.mktemp("planted")
    shutil.copytree(ROOT / "server", folder / "server", ignore=shutil.ignore_patterns("__pycache__", "*.pyc"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder / "server" / "spanwalk"


@pytest.fixture(scope="module")
def places(copy: Path) -> dict[Plant | Misspelling, Place]:
    return planted(copy)


@pytest.fixture(scope="module")
def found(copy: Path, places: dict[Plant | Misspelling, Place]) -> dict[Place, str]:
    """What the check says of the copy, by file and line."""
    assert places
    clean = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "MYPYPATH")}
    done = subprocess.run(
        [str(MYPY), "--no-incremental", "--no-pretty"],
        cwd=copy.parents[1],
        env=clean,
        capture_output=True,
        text=True,
        timeout=400,
    )
    said: dict[Place, str] = {}
    for file, line, words in re.findall(
        r"^server/spanwalk/(\S+?):(\d+): error: (.*)$", done.stdout, flags=re.MULTILINE
    ):
        said[file, int(line)] = said.get((file, int(line)), "") + words
    assert said, done.stdout + done.stderr
    return said


@pytest.mark.parametrize("plant", PLANTS, ids=lambda plant: f"{plant.layer}/{plant.name}")
def test_a_misspelt_word_is_named_at_its_line(
    found: dict[Place, str], places: dict[Plant | Misspelling, Place], plant: Plant
) -> None:
    assert plant.word in found.get(places[plant], "")


@pytest.mark.parametrize("word", MISSPELLINGS, ids=lambda word: f"{word.file} {word.wrong}")
def test_a_word_of_a_module_spelt_wrongly_is_named_where_it_stands(
    found: dict[Place, str], places: dict[Plant | Misspelling, Place], word: Misspelling
) -> None:
    (name,) = set(re.findall(r"\w+", word.wrong)) - set(re.findall(r"\w+", word.right))
    assert name in found.get(places[word], "")


def test_nothing_else_is_found_however_the_package_is_installed(
    found: dict[Place, str], places: dict[Plant | Misspelling, Place]
) -> None:
    assert {place: words for place, words in found.items() if place not in places.values()} == {}


# -- how often the server says 'Any'

MOST = 9
"""A ratchet: so many are left, each with its reason; when one goes, this goes down with it."""


def any_in(path: Path) -> Iterator[int]:
    """Line of each `Any` in an annotation or an alias, also of one inside the text of a `cast`."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Name) and node.id == "Any":
            yield node.lineno
        is_cast = isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("cast", "typed")
        if is_cast and isinstance(text := getattr(node.args[0], "value", None), str) and re.search(r"\bAny\b", text):
            yield node.lineno


def servers_any() -> list[tuple[Path, int]]:
    files = sorted(SOURCE.rglob("*.py"))
    assert files
    return [(path, line) for path in files for line in any_in(path)]


def lines_saying_any(path: Path) -> set[int]:
    """Lines with a comment that says why."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return {number for number, line in enumerate(lines, 1) if re.search(r"#.*\bAny: ", line)}


def test_the_counting_sees_any_in_annotations_aliases_and_casts(tmp_path: Path) -> None:
    path = tmp_path / "a.py"
    path.write_text('from typing import Any\nA = dict[str, Any]\ndef f(x: Any) -> int: ...\ny = cast("list[Any]", 1)\n')
    assert sorted(any_in(path)) == [2, 3, 4]


def test_the_server_says_any_no_more_often_than_it_may() -> None:
    found = servers_any()
    assert len(found) <= MOST, "\n".join(f"{path.relative_to(SOURCE)}:{line}" for path, line in found)


def test_each_any_that_is_left_has_its_reason_on_its_line_or_the_one_above() -> None:
    left = servers_any()
    assert left, "there is none left: this test and the ratchet can go"
    bare = [
        f"{path.relative_to(SOURCE)}:{line}" for path, line in left if not {line, line - 1} & lines_saying_any(path)
    ]
    assert not bare


def test_no_alias_hides_a_whole_any() -> None:
    """`Json = Any` would be counted once and used everywhere."""
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in SOURCE.rglob("*.py")}
    assert trees
    hidden = [
        f"{path.relative_to(SOURCE)}:{node.lineno}"
        for path, tree in trees.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Name) and node.value.id == "Any"
    ]
    assert not hidden
