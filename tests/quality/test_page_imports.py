"""On the phone imports run one way too: main -> routes -> views -> store -> storage, sync, rules; sync -> storage; rules import nothing."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from tests.quality.visible_text import PARSER, flat, text_of, walk
from tree_sitter import Node

PAGE = Path(__file__).resolve().parents[2] / "pwa"
MAY_IMPORT = {
    "main.js": {"routes.js", "update.js", "store", "sync"},
    "routes.js": {"update.js", "views", "store"},
    "update.js": set[str](),
    "views": {"views", "store", "rules"},
    "store": {"store", "storage", "sync", "rules"},
    "sync": {"sync", "storage"},
    "storage": {"storage"},
    "rules": {"rules"},
}
"""What the modules of each folder may import, and those that stand at the top by themselves."""
BARE = {"views": {"preact/hooks"}, "routes.js": {"preact", "preact/hooks"}, "main.js": {"preact"}}
"""What others wrote, imported by its name in the shell's import map, by layer."""
FROM_OTHERS = {
    "views/html.js": {"htm", "preact"},
    "views/scanning/scan_worker.js": {"vendor/zxing-reader.js"},
    "storage/connection.js": {"vendor/idb.js"},
}
"""Each module through which the rest of the page uses what others wrote."""
OPERATIONS_FIELD = "kind"
"""An operation has a field of this name, as a record type has."""
COMPUTED = "an address that is computed"


def modules() -> list[Path]:
    top = [PAGE / name for name in MAY_IMPORT if name.endswith(".js")]
    return sorted([*top, *(path for folder in MAY_IMPORT for path in (PAGE / folder).rglob("*.js"))])


def imports(source: str) -> Iterator[str]:
    """What a module imports: in a statement, in an export from elsewhere, in an `import()`, and as a worker's address."""
    nodes = list(walk(PARSER.parse(source.encode()).root_node))
    constants = dict(constant for node in nodes if (constant := text_constant(node)))
    for node in nodes:
        if node.type in ("import_statement", "export_statement"):
            told = node.child_by_field_name("source")
            if told is not None:
                yield flat(told)
        elif loads(node):
            yield address(node, constants)


def text_constant(node: Node) -> tuple[str, str] | None:
    """Name and text of `const NAME = 'text'`."""
    value = node.child_by_field_name("value") if node.type == "variable_declarator" else None
    return (
        (text_of(node.child_by_field_name("name")), flat(value))
        if value is not None and value.type == "string"
        else None
    )


def loads(node: Node) -> bool:
    """Whether it is `import(…)` or `new Worker(…)`."""
    if node.type == "new_expression":
        return text_of(node.child_by_field_name("constructor")).endswith("Worker")
    return node.type == "call_expression" and text_of(node.child_by_field_name("function")) == "import"


def address(call: Node, constants: Mapping[str, str]) -> str:
    told = call.child_by_field_name("arguments")
    first = told.named_children[0] if told is not None and told.named_children else None
    if first is not None and first.type == "string":
        return flat(first)
    return constants.get(text_of(first), COMPUTED)


def breaches(name: str, source: str) -> list[str]:
    """What a module of the page imports and may not; `name` is its path in the page's folder."""
    layer = name.split("/")[0]
    found = []
    for each in imports(source):
        if each.startswith("."):
            target = posixpath.normpath(posixpath.join(posixpath.dirname(name), each))
        else:
            target = each.removeprefix("/app/")
        of_layer = target.split("/")[0] in MAY_IMPORT[layer] or target in BARE.get(layer, set())
        if not of_layer and target not in FROM_OTHERS.get(name, set()):
            found.append(target)
    return found


@pytest.mark.parametrize("module", modules(), ids=lambda p: str(p.relative_to(PAGE)))
def test_a_module_imports_only_what_its_layer_may(module: Path) -> None:
    assert breaches(module.relative_to(PAGE).as_posix(), module.read_text(encoding="utf-8")) == []


PLANTED = [
    ("views/a.js", "import { openSite } from '../storage/site_storage.js';", "storage/site_storage.js"),
    ("views/desk/a.js", "import { pull } from '../../sync/pull.js';", "sync/pull.js"),
    ("views/a.js", "export const later = () => import('../storage/outbox.js');", "storage/outbox.js"),
    ("views/a.js", "import(`../${where}.js`);", COMPUTED),
    ("views/a.js", "import { openDB } from '../vendor/idb.js';", "vendor/idb.js"),
    ("views/a.js", "import { render } from 'preact';", "preact"),
    ("views/a.js", "new Worker('/app/sync/a_worker.js', { type: 'module' });", "sync/a_worker.js"),
    ("views/a.js", "import '../main.js';", "main.js"),
    ("store/a.js", "export { html } from '../views/html.js';", "views/html.js"),
    ("store/a.js", "import { navigate } from '../routes.js';", "routes.js"),
    ("sync/a.js", "import { fits } from '../rules/fit/fit.js';", "rules/fit/fit.js"),
    ("storage/a.js", "import { store } from '../store/store.js';", "store/store.js"),
    ("rules/a.js", "const { store } = await import('../store/store.js');", "store/store.js"),
    ("rules/points/a.js", "import htm from 'htm';", "htm"),
    ("main.js", "import { SiteStorage } from './storage/site_storage.js';", "storage/site_storage.js"),
    ("main.js", "import { Room } from './views/surveying/room.js';", "views/surveying/room.js"),
    ("update.js", "import { store } from './store/store.js';", "store/store.js"),
]


@pytest.mark.parametrize(("name", "source", "found"), PLANTED, ids=lambda each: str(each)[:40])
def test_a_planted_breach_is_found(name: str, source: str, found: str) -> None:
    assert breaches(name, source) == [found]


def test_what_stands_in_comments_and_texts_is_no_import() -> None:
    types = (
        "/** @type {import('../storage/types.js').Phone} */\n// import('../sync/pull.js')\nconst a = \"import('x')\";"
    )
    assert breaches("views/a.js", types) == []


RULES = PAGE / "rules"
TWINS = re.compile(r"^\| `pwa/rules` \| the twins: (.*); nothing else exists twice \|$", re.MULTILINE)


@pytest.mark.parametrize("module", sorted(RULES.rglob("*.js")), ids=lambda p: p.relative_to(RULES).as_posix())
def test_each_rule_of_the_page_has_its_twin_and_both_say_so(module: Path) -> None:
    name = module.relative_to(RULES).with_suffix("")
    twin = PAGE.parent / f"server/spanwalk/rules/{name}.py"
    assert f"Twin: server/spanwalk/rules/{name}.py" in module.read_text(encoding="utf-8").split("\n", 1)[0]
    assert f"Twin: pwa/rules/{name}.js" in twin.read_text(encoding="utf-8").split("\n", 1)[0]


def test_the_list_of_twins_is_whole() -> None:
    told = TWINS.search((PAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert told, "DEVELOPERS.md lists the twins no more"
    assert sorted(twins_told(told[1])) == sorted(path.relative_to(RULES).as_posix() for path in RULES.rglob("*.js"))


def twins_told(told: str) -> list[str]:
    """Paths of 'fit (cavity, fit), codes; what they stand on: survey': rooms with what is in them, and modules by themselves."""
    rooms = {
        each["room"]: each["names"].split(", ") for each in re.finditer(r"(?P<room>\w+) \((?P<names>[^)]*)\)", told)
    }
    alone = re.split(r", |; what they stand on: ", re.sub(r"\w+ \([^)]*\)(?:, )?", "", told))
    return [f"{room}/{name}.js" for room, names in rooms.items() for name in names] + [f"{each}.js" for each in alone]


def test_sync_names_no_record_type() -> None:
    """Sync moves records of any type; a name here would mean that a new type needs new sync code."""
    import json

    types = json.loads((PAGE.parent / "server/spanwalk/spec/records.json").read_text(encoding="utf-8"))["records"]
    for module in [*(PAGE / "sync").rglob("*.js"), *(PAGE.parent / "server/spanwalk/sync").rglob("*.py")]:
        text = module.read_text(encoding="utf-8")
        named = [t for t in types if t != OPERATIONS_FIELD and re.search(rf"""['"]{t}['"]""", text)]
        assert not named, f"{module.name} names {named}"
