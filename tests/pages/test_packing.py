"""Modules packed into few files do what they did apart; what the linker cannot do stops the build and says where."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.support import packed  # noqa: F401 - puts `packing` on the path
from tests.support.machine import ROOT, node

from packing.linking import Ring, link, link_alone, parts_of
from packing.page import without_comments
from packing.source import Module, NotPackable, parse, read_module
from spanwalk.page_files import page_sources

PAGE = {name: path.read_bytes() for name, path in page_sources(ROOT / "pwa").items() if name.endswith(".js")}
OWN = sorted(name for name in PAGE if not name.startswith("vendor/"))
BARE = {"preact": "vendor/preact.js", "preact/hooks": "vendor/preact-hooks.js", "htm": "vendor/htm.js"}


def reading(modules: dict[str, str]) -> Iterator[Module]:
    return (read_module(name, text.encode(), BARE) for name, text in modules.items())


def linked(modules: dict[str, str]) -> dict[str, str]:
    """The text of each file of a page whose first module is main.js."""
    read = {module.name: module for module in reading(modules)}
    return {part.name: link(part) for part in parts_of("main.js", lambda name: read[name])}


def printed(files: dict[str, str], folder: Path) -> object:
    """What the first file's main.js hands to `globalThis.done`, run by Node."""
    for name, text in files.items():
        for each in files:
            text = text.replace(f"'{each}'", f"'./{each.removeprefix('#')}.mjs'")
        (folder / f"{name.removeprefix('#')}.mjs").write_text(text)
    begin = "globalThis.done = (told) => console.log(JSON.stringify(told)); await import('./main.mjs');"
    (folder / "begin.mjs").write_text(begin)
    run = subprocess.run([node(), "begin.mjs"], cwd=folder, capture_output=True, text=True, timeout=60)
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


# -- linking


def test_every_form_of_import_and_export_brings_what_it_brought_apart(tmp_path: Path) -> None:
    modules = {
        "main.js": """import one, { two as zwei, three } from './a.js'; import * as all from './b.js'; import './effect.js';
            import { four as vier, Five, five } from './b.js'; import three3 from './c.js'; import { six } from './d.js';
            globalThis.done([one(), zwei, three(), all.four, vier, new Five().told, five, three3, six, globalThis.touched]);""",
        "a.js": "export default function one() { return 1 } const two = 2; export { two }; export async function unused() {}\nexport function three() { return 3 }",
        "b.js": "export const four = 4, five = 5; export class Five { told = 'five' }",
        "c.js": "export default ['c', 3]",
        "d.js": "export { four as six } from './b.js';",
        "effect.js": "globalThis.touched = true;",
    }
    assert printed(linked(modules), tmp_path) == [1, 2, 3, 4, 4, "five", 5, ["c", 3], 4, True]


def test_a_module_runs_once_and_after_what_it_imports(tmp_path: Path) -> None:
    modules = {
        "main.js": "import './a.js'; import './b.js'; globalThis.done(globalThis.order);",
        "a.js": "import './deep.js'; globalThis.order.push('a');",
        "b.js": "import './deep.js'; globalThis.order.push('b');",
        "deep.js": "globalThis.order = [...(globalThis.order ?? []), 'deep'];",
    }
    assert printed(linked(modules), tmp_path) == ["deep", "a", "b"]


def test_a_part_that_comes_later_shares_the_modules_that_are_there(tmp_path: Path) -> None:
    modules = {
        "main.js": "import { store } from './store.js'; store.name = 'set'; import('./desk/screens.js').then(({ name }) => globalThis.done(name()));",
        "desk/screens.js": "import { store } from '../store.js'; export const name = () => store.name;",
        "store.js": "export const store = { name: '' };",
    }
    files = linked(modules)
    assert set(files) == {"#main", "#desk"}
    assert printed(files, tmp_path) == "set"


def test_what_two_later_parts_share_is_in_a_file_of_its_own_that_both_import() -> None:
    modules = {
        "main.js": "import('./desk/screens.js'); import('./crew/screens.js');",
        "desk/screens.js": "import { both } from '../both.js'; export const desk = both;",
        "crew/screens.js": "import { both } from '../both.js'; export const crew = both;",
        "both.js": "import { below } from './below.js'; export const both = below;",
        "below.js": "export const below = 'in both';",
    }
    files = linked(modules)
    counted = {name: text.count("in both") for name, text in files.items()}
    assert counted == {"#main": 0, "#shared": 1, "#desk": 0, "#crew": 0}
    assert files["#shared"].index("$m['below.js'] =") < files["#shared"].index("$m['both.js'] =")
    assert {name for name, text in files.items() if "import '#shared';" in text} == {"#desk", "#crew"}


def test_every_module_of_the_page_is_in_one_file_once() -> None:
    read = {name: read_module(name, PAGE[name], BARE) for name in PAGE}
    parts = parts_of("main.js", lambda name: read[name])
    placed = [module.name for part in parts for module in part.modules]
    asked = {each.module for name in placed for each in read[name].imports}
    assert len(placed) == len(set(placed)) > 100
    assert asked <= set(placed)
    assert {
        "views/desk/planning/plan.js",
        "views/scanning/scan.js",
        "views/sign_in.js",
        "rules/judging/judging.js",
    } <= set(placed)


REFUSED = {
    "a circle": {"main.js": "import './a.js'", "a.js": "import './b.js'", "b.js": "import './a.js'"},
    "export let": {"main.js": "export let count = 0;"},
    "export var": {"main.js": "export var count = 0;"},
    "a let that is exported below": {"main.js": "let count = 0; export { count };"},
    "an exported pattern": {"main.js": "export const { a } = { a: 1 };"},
    "export *": {"main.js": "export * from './a.js'", "a.js": ""},
    "an await at the top": {"main.js": "await fetch('/');"},
    "import.meta": {"main.js": "const here = import.meta.url;"},
    "a computed import()": {"main.js": "const at = './a.js'; import(at);"},
    "an import() inside a template": {"main.js": "const t = `${import('./a.js')}`;", "a.js": ""},
    "a bare name that nobody maps": {"main.js": "import { x } from 'lodash';"},
    "a mistake": {"main.js": "const = 1;"},
    "two later files of one name": {
        "main.js": "import('./a/desk/screens.js'); import('./b/desk/screens.js');",
        "a/desk/screens.js": "",
        "b/desk/screens.js": "",
    },
    "an import() of what is there": {"main.js": "import './a.js'; import('./a.js');", "a.js": ""},
}


@pytest.mark.parametrize("modules", REFUSED.values(), ids=REFUSED.keys())
def test_what_cannot_be_linked_stops_the_build(modules: dict[str, str]) -> None:
    with pytest.raises(NotPackable):
        linked(modules)


def test_a_worker_that_imports_later_stops_the_build() -> None:
    read = {module.name: module for module in reading({"scan_worker.js": "import('./a.js')", "a.js": ""})}
    with pytest.raises(NotPackable):
        link_alone("scan_worker.js", lambda name: read[name])


def test_a_refusal_names_module_line_and_reason() -> None:
    with pytest.raises(NotPackable, match=r"^views/a\.js:2: .*import\.meta") as refused:
        read_module("views/a.js", b"const a = 1;\nconst b = import.meta.url;", BARE)
    assert (refused.value.module, refused.value.line) == ("views/a.js", 2)


def test_what_later_parts_share_is_apart_by_which_of_them_need_it_and_each_brings_only_what_it_needs() -> None:
    modules = {
        "main.js": "import('./a.js'); import('./b.js'); import('./c.js'); import('./d.js');",
        "a.js": "import './deep.js'; export const a = 1;",
        "b.js": "import './deep.js'; import './far.js'; export const b = 1;",
        "c.js": "import './far.js'; import './apart.js'; export const c = 1;",
        "d.js": "import './apart.js'; export const d = 1;",
        "deep.js": "export const deep = 1;",
        "far.js": "import './deep.js'; export const far = 1;",
        "apart.js": "export const apart = 1;",
    }
    read = {module.name: module for module in reading(modules)}
    rings: dict[str, Ring] = {"#close": lambda users: "a.js" in users, "#near": lambda users: "b.js" in users}
    parts = {part.name: part for part in parts_of("main.js", lambda name: read[name], rings)}
    assert {name: [each.name for each in part.modules] for name, part in parts.items()} == {
        "#main": ["main.js"],
        "#close": ["deep.js"],
        "#near": ["far.js"],
        "#shared": ["apart.js"],
        "#a": ["a.js"],
        "#b": ["b.js"],
        "#c": ["c.js"],
        "#d": ["d.js"],
    }
    assert {name: part.shares for name, part in parts.items() if part.shares} == {
        "#near": ("#close",),
        "#a": ("#close",),
        "#b": ("#close", "#near"),
        "#c": ("#close", "#near", "#shared"),
        "#d": ("#shared",),
    }


# -- cutting


def shape(text: bytes) -> list[str]:
    """What a module says: the nodes of its syntax tree and the text of each leaf, without comments."""
    told: list[str] = []
    waiting = [parse(text)]
    while waiting:
        at = waiting.pop()
        if at.type in ("comment", "html_comment"):
            continue
        told.append(at.type)
        if at.child_count == 0:
            told.append((at.text or b"").decode())
        waiting += reversed(at.children)
    return told


def test_a_cut_module_says_what_it_said() -> None:
    """Imports and exports stand apart, so each module is cut as the text of a function's body is: without them."""
    from packing.source import SEEN, QueryCursor, cut

    changed = []
    for name, text in PAGE.items():
        seen = QueryCursor(SEEN).captures(parse(text))
        shorter = cut(text, seen.get("comment", []), seen.get("literal", []), [])
        if shape(shorter) != shape(text) or (len(shorter) >= len(text) and name in OWN):
            changed.append(name)
    assert len(PAGE) > 100
    assert changed == []


@pytest.mark.parametrize(
    "text",
    [
        "const a = `x\n   // not a comment\n   ${`y\n   z`}`;",
        "const a = '/* not a comment */';",
        "const a = /\\/\\* x/g;",
        "const a = 1 /* said\n over two lines */ + 2;",
        "const f = () => {\n  return /* here */ 5;\n};",
        "let a = 1\n/* a break that ends a statement */\n++a",
    ],
)
def test_literals_stay_and_a_comment_leaves_what_separated(text: str) -> None:
    assert shape(read_module("a.js", text.encode(), {}).body) == shape(text.encode())


def test_comments_and_indentation_go_and_lines_stay() -> None:
    body = read_module("a.js", b"// first\nfunction a() {\n    // why\n    return 1; // one\n\n}\n", {}).body
    assert body == b"function a() {\nreturn 1;\n}\n"


def test_a_style_sheet_keeps_its_strings_and_may_not_name_another_file() -> None:
    css = without_comments("a.css", "/* why */\n.a::before {\n  content: '/* x */';\n}\n")
    assert css == ".a::before {\ncontent: '/* x */';\n}\n"
    with pytest.raises(NotPackable):
        without_comments("a.css", "@import 'b.css';")
