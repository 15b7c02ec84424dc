"""On the phone imports run one way too: views -> store -> storage, sync, rules; sync -> storage; rules import nothing."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

PAGE = Path(__file__).resolve().parents[2] / "pwa"
MAY_IMPORT = {
    "views": {"views", "store", "rules"},
    "store": {"store", "storage", "sync", "rules"},
    "sync": {"sync", "storage"},
    "storage": {"storage"},
    "rules": {"rules"},
}
OPERATIONS_FIELD = "kind"
"""An operation has a field of this name, as a record type has."""
IMPORTED = re.compile(
    r"""^\s*(?:import|export)\b[^'"]*?from\s*['"](\.[^'"]+)['"]|^\s*import\s*['"](\.[^'"]+)['"]""", re.MULTILINE
)


def modules() -> list[Path]:
    return sorted(p for folder in MAY_IMPORT for p in (PAGE / folder).rglob("*.js"))


@pytest.mark.parametrize("module", modules(), ids=lambda p: str(p.relative_to(PAGE)))
def test_a_module_imports_only_what_its_layer_may(module: Path) -> None:
    layer = module.relative_to(PAGE).parts[0]
    for found in IMPORTED.findall(module.read_text(encoding="utf-8")):
        target = (module.parent / (found[0] or found[1])).resolve().relative_to(PAGE)
        assert target.parts[0] in MAY_IMPORT[layer] | {"vendor"}, f"{module.relative_to(PAGE)} imports {target}"


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
    names = re.split(r", | with |; what they stand on: ", told[1])
    assert sorted(names) == sorted({path.stem for path in RULES.iterdir()})


def test_sync_names_no_record_type() -> None:
    """Sync moves records of any type; a name here would mean that a new type needs new sync code."""
    import json

    types = json.loads((PAGE.parent / "server/spanwalk/spec/records.json").read_text(encoding="utf-8"))["records"]
    for module in [*(PAGE / "sync").rglob("*.js"), *(PAGE.parent / "server/spanwalk/sync").rglob("*.py")]:
        text = module.read_text(encoding="utf-8")
        named = [t for t in types if t != OPERATIONS_FIELD and re.search(rf"""['"]{t}['"]""", text)]
        assert not named, f"{module.name} names {named}"
