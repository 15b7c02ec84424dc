"""The types of the page catch what they are for: a misspelt word planted in each layer fails the check at its line.

The page is copied, so that nothing is planted where others work; its tools are linked. All plants stand in one copy and
are looked for in one run of the compiler, each by its own line: none can stand in for another. Before that the copy passes.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.support import machine

PAGE = Path(__file__).resolve().parents[2] / "pwa"


@dataclass(frozen=True)
class Plant:
    """A mistake: the import it needs, and the line that has to be named, with what is said of it."""

    layer: str
    file: str
    line: str
    says: str


PLANTS = [
    Plant("views", "a_method_of_the_site.js", "/** @param {Site} site */ export const f = (site) => site.svae([]);", "svae"),
    Plant("views", "a_field_of_a_record.js", "/** @param {RecordView<'kind'>} kind */ export const f = (kind) => kind.facets.identity?.mrak;", "mrak"),
    Plant("views", "a_facet_of_a_record.js", "/** @param {RecordView<'group'>} group */ export const f = (group) => group.facets.suply;", "suply"),
    Plant("views", "a_record_by_its_type.js", "/** @param {Site} site */ export const f = async (site) => (await site.all('room'))[0].facets.size?.lenght_ticks;", "lenght_ticks"),
    Plant("views", "a_type_of_record.js", "/** @param {Site} site */ export const f = (site) => site.all('romm');", "romm"),
    Plant("views", "a_choice_that_is_none.js", "/** @param {ValueOf<'room', 'ceiling'>} ceiling */ export const f = (ceiling) => ceiling.access === 'lader';", "lader"),
    Plant("views", "a_card.js", "/** @param {Card} card */ export const f = (card) => card.wiring[0].outputs[0].joind;", "joind"),
    Plant("views", "a_judgement.js", "/** @param {Judgement} told */ export const f = (told) => told.fits[0].clearence_ticks;", "clearence_ticks"),
    Plant("views", "a_plan.js", "/** @param {GroupPlan} plan */ export const f = (plan) => plan.proposal?.wats;", "wats"),
    Plant("views", "a_total.js", "/** @param {SitePlan} plan */ export const f = (plan) => plan.totals.wsate;", "wsate"),
    Plant("views", "a_standing.js", "/** @param {import('../rules/since_release/standing.js').Standing} stands */ export const f = (stands) => stands.finger_print;", "finger_print"),
    Plant("views", "an_open_point.js", "/** @param {import('../rules/points/open_points.js').OpenPoint} point */ export const f = (point) => point.pth;", "pth"),
    Plant("store", "a_method_of_storage.js", "/** @param {Site} site */ export const f = (site) => site.storage.undoabel();", "undoabel"),
    Plant("storage", "a_row.js", "/** @param {import('./types.js').Phone} phone */ export const f = (phone) => phone.conter;", "conter"),
    Plant("storage", "a_transaction.js", "/** @param {Tx} tx */ export const f = (tx) => tx.objectStroe('records');", "objectStroe"),
    Plant("sync", "an_answer.js", "/** @param {import('./transport.js').Transport} to */ export const f = async (to) => (await to.pull({})).heed;", "heed"),
    Plant("sync", "an_operation.js", "/** @param {Operation} op */ export const f = (op) => op.recrod;", "recrod"),
    Plant("rules", "a_survey.js", "/** @param {import('./survey.js').Survey} survey */ export const f = (survey) => survey.kindof;", "kindof"),
    Plant("rules", "a_table.js", "/** @param {Reference} tables */ export const f = (tables) => tables.lamps.sizes[0].a_max_tenth_mm;", "a_max_tenth_mm"),
    Plant("rules", "a_group_of_the_survey.js", "/** @param {import('./survey.js').Survey} survey */ export const f = (survey) => survey.ofType('group')[0].facets.count?.cuont;", "cuont"),
]  # fmt: skip


@dataclass(frozen=True)
class Misspelling:
    """A word of a module as it is, spelt wrongly where it first stands in its layer."""

    layer: str
    right: str
    wrong: str


MISSPELLINGS = [
    Misspelling("views", "await site.save(", "await site.svae("),
    Misspelling("views", "facets.identity?.mark", "facets.identity?.mrak"),
    Misspelling("views", "each.room_name", "each.room_nmae"),
    Misspelling("views", "totals.quantities", "totals.quantites"),
    Misspelling("views", "site.referring(", "site.refering("),
    Misspelling("store", "this.storage.waiting(", "this.storage.waitnig("),
    Misspelling("storage", "tx.objectStore(", "tx.objectSotre("),
    Misspelling("sync", "page.more", "page.mroe"),
    Misspelling("rules", "trusted.read_ticks", "trusted.raed_ticks"),
    Misspelling("rules", "survey.kindOf(", "survey.kidnOf("),
]


def named(plant: Plant) -> str:
    return f"{plant.layer}/{Path(plant.file).stem}"


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page with its tools, to be spoilt."""
    page = tmp_path_factory.mktemp("planted") / "pwa"
    shutil.copytree(PAGE, page, ignore=shutil.ignore_patterns("node_modules"))
    (page / "node_modules").symlink_to(machine.page_tools())
    return page


def checked(page: Path) -> str:
    compiler = machine.page_tools() / "typescript" / "bin" / "tsc"
    done = subprocess.run(
        [machine.node(), str(compiler), "-p", "jsconfig.json", "--pretty", "false"],
        cwd=page,
        capture_output=True,
        text=True,
        timeout=300,
    )
    return done.stdout + done.stderr


def misspell(copy: Path, word: Misspelling) -> str:
    """Where it was: `file(line,`."""
    for path in sorted((copy / word.layer).rglob("*.js")):
        for number, line in enumerate(lines := path.read_text(encoding="utf-8").splitlines(keepends=True)):
            code = line.split("//")[0]
            if word.right in code and not line.lstrip().startswith(("*", "/*")):
                lines[number] = line.replace(word.right, word.wrong, 1)
                path.write_text("".join(lines), encoding="utf-8")
                return f"{path.relative_to(copy).as_posix()}({number + 1},"
    raise AssertionError(f"{word.right!r} stands nowhere in {word.layer}")


@pytest.fixture(scope="module")
def clean(copy: Path) -> str:
    """What the compiler says of the copy as it is."""
    return checked(copy)


@pytest.fixture(scope="module")
def misspelt(copy: Path, clean: str) -> dict[Misspelling, str]:
    return {word: misspell(copy, word) for word in MISSPELLINGS}


@pytest.fixture(scope="module")
def found(copy: Path, misspelt: dict[Misspelling, str]) -> str:
    """What the compiler says with every plant in its place: the new ones each in a file of its own beside the layer's."""
    for plant in PLANTS:
        (copy / plant.layer / plant.file).write_text(f"// planted\n{plant.line}\n", encoding="utf-8")
    return checked(copy)


@pytest.mark.parametrize("plant", PLANTS, ids=named)
def test_a_misspelt_word_is_named_at_its_line(found: str, plant: Plant) -> None:
    at = re.escape(f"{plant.layer}/{plant.file}(2,")
    said = [line for line in found.splitlines() if re.match(at, line)]
    assert said, f"nothing is said of {named(plant)}"
    assert any(plant.says in line for line in said), said


@pytest.mark.parametrize("word", MISSPELLINGS, ids=lambda word: f"{word.layer} {word.wrong}")
def test_a_word_of_a_module_spelt_wrongly_is_named_where_it_stands(
    found: str, misspelt: dict[Misspelling, str], word: Misspelling
) -> None:
    said = [line for line in found.splitlines() if line.startswith(misspelt[word])]
    assert said, f"nothing is said at {misspelt[word]}"
    assert any(word.wrong.strip("(").rsplit(".", 1)[-1] in line for line in said), said


def test_nothing_is_said_of_the_copy_before_anything_is_planted(clean: str) -> None:
    assert clean == ""


# -- how often the page says 'any'

MOST = 7
"""A ratchet: so many are left, each with its reason; when one goes, this goes down with it."""
TAG = re.compile(r"@(?:type|param|returns|property|typedef|template|throws|this|extends)\s*\{")
COMMENT_OR_TEXT = re.compile(r'/\*.*?\*/|//[^\n]*|"(?:[^"\\\n]|\\.)*"|' + r"'(?:[^'\\\n]|\\.)*'", re.DOTALL)
ANY = re.compile(r"(?<!['\w])any(?!['\w])")


def types_of(path: Path) -> Iterator[tuple[int, int]]:
    """Where types stand, from letter to letter: in the braces of a tag, or in a declaration outside comments and texts."""
    text = path.read_text(encoding="utf-8")
    if path.name.endswith(".d.ts"):
        ends = [0, *(at for each in COMMENT_OR_TEXT.finditer(text) for at in each.span()), len(text)]
        yield from zip(ends[::2], ends[1::2], strict=True)
        return
    for tag in TAG.finditer(text):
        depth, end = 1, tag.end()
        while depth and end < len(text):
            depth += {"{": 1, "}": -1}.get(text[end], 0)
            end += 1
        yield tag.end(), end


def lines_with_any(path: Path) -> Iterator[int]:
    """Line of each `any` that is a type."""
    text = path.read_text(encoding="utf-8")
    for start, end in types_of(path):
        for each in ANY.finditer(text, start, end):
            yield text.count("\n", 0, each.start()) + 1


def lines_saying_any(path: Path) -> set[int]:
    """Lines in which `any` is said in words: outside every type."""
    text = path.read_text(encoding="utf-8")
    for start, end in types_of(path):
        text = text[:start] + re.sub(r"[^\n]", " ", text[start:end]) + text[end:]
    return {number for number, line in enumerate(text.splitlines(), 1) if re.search(r"\bany\b", line)}


def pages_any() -> list[tuple[Path, int]]:
    files = sorted(
        path
        for path in PAGE.rglob("*")
        if (path.suffix == ".js" or path.name.endswith(".d.ts"))
        and not {"node_modules", "vendor"} & set(path.relative_to(PAGE).parts)
    )
    assert files
    return [(path, line) for path in files for line in lines_with_any(path)]


def test_the_counting_sees_any_in_tags_and_in_declarations(tmp_path: Path) -> None:
    script, declared = tmp_path / "a.js", tmp_path / "b.d.ts"
    script.write_text(
        "/** In any case. @param {{a: any}} b @returns {Promise<any>} at any time */\nconst any = 'any';\n"
    )
    declared.write_text("// any\ntype A = any; /* any */\ntype B = 'any' | Record<string, any>;\n")
    assert list(lines_with_any(script)) == [1, 1]
    assert list(lines_with_any(declared)) == [2, 3]


def test_the_page_says_any_no_more_often_than_it_did() -> None:
    found = pages_any()
    assert len(found) <= MOST, "\n".join(f"{path.relative_to(PAGE)}:{line}" for path, line in found)


def test_each_any_that_is_left_has_its_reason_on_its_line_or_the_one_above() -> None:
    left = pages_any()
    assert left, "there is none left: this test and the ratchet can go"
    unexplained = [
        f"{path.relative_to(PAGE)}:{line}" for path, line in left if not {line, line - 1} & lines_saying_any(path)
    ]
    assert not unexplained
