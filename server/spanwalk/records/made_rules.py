"""What the rules of both languages share, made from spec/rules.json: their numbers, and the list of rules of open points.

`python -m spanwalk.records.made_rules` writes the four modules of a checkout anew; a test fails while one is stale.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from importlib.resources import files
from pathlib import Path
from typing import TypedDict, cast

Value = int | str | list[int] | list[str]


class Point(TypedDict):
    """A rule of open points: its name, the roles that close what it finds, on which screen, and which function finds."""

    name: str
    who: list[str]
    path: str
    find: str


class Shared(TypedDict):
    """What spec/rules.json holds."""

    version: str
    constants: dict[str, dict[str, Value]]
    open_points: list[Point]


class ConstantTwice(ValueError):
    """A name stands for two values; it says which name."""


MODULES = ("emergency", "groups", "kinds", "planned", "readings", "records", "rooms", "work")
"""Modules of `rules/points`."""
HEAD = "Made from spec/rules.json by `python -m spanwalk.records.made_rules`: do not edit."
FEW = 88
"""A list longer than this goes on lines of its own [letters]."""
PAGE_LINE = 110
"""A line of the page is no longer [letters]: `lineWidth` of pwa/biome.json."""


def shared() -> Shared:
    """What spec/rules.json holds."""
    return cast("Shared", json.loads(files("spanwalk").joinpath("spec/rules.json").read_text(encoding="utf-8")))


def constants(told: Shared) -> dict[str, Value]:
    """Every constant by its name, the version of the rules among them.

    Raises
    ------
    ConstantTwice
        Two modules mean different values by one name.
    """
    found: dict[str, Value] = {"RULES_VERSION": told["version"]}
    for values in told["constants"].values():
        for name, value in values.items():
            if found.setdefault(name, value) != value:
                raise ConstantTwice(name)
    return dict(sorted(found.items()))


def python_constants(told: Shared) -> str:
    """Text of server/spanwalk/rules/constants.py."""
    lines = [f'"""{HEAD} Twin: pwa/rules/constants.js."""\n']
    for name, value in constants(told).items():
        items = [_quoted(each, '"') for each in value] if isinstance(value, list) else []
        told_as = _spread(items, "(", ")", "    ") if items else _quoted(cast("int | str", value), '"')
        lines.append(f"{name} = {told_as}")
    return "\n".join(lines) + "\n"


def page_constants(told: Shared) -> str:
    """Text of pwa/rules/constants.js."""
    lines = [f"// {HEAD} Twin: server/spanwalk/rules/constants.py.\n"]
    for name, value in constants(told).items():
        items = [_quoted(each, "'") for each in value] if isinstance(value, list) else []
        begun = f"export const {name} = "
        most = min(FEW, PAGE_LINE - len(begun) - len(";"))
        told_as = _spread(items, "[", "]", "  ", most) if items else _quoted(cast("int | str", value), "'")
        lines.append(f"{begun}{told_as};")
    return "\n".join(lines) + "\n"


def python_points(told: Shared) -> str:
    """Text of server/spanwalk/rules/points/open_point_rules.py."""
    head = f'''"""{HEAD} Twin: pwa/rules/points/open_point_rules.js."""

from __future__ import annotations

from spanwalk.rules.points import {", ".join(MODULES)}
from spanwalk.rules.points.found import Rule

RULES = (
'''
    return head + "".join(_python_rule(each) for each in told["open_points"]) + ")\n"


def page_points(told: Shared) -> str:
    """Text of pwa/rules/points/open_point_rules.js."""
    imports = "".join(f"import * as {name} from './{name}.js';\n" for name in MODULES)
    head = f"// {HEAD} Twin: server/spanwalk/rules/points/open_point_rules.py.\n\n{imports}\n"
    kind = "/** @type {import('./found.js').Rule[]} */\n"
    rules = "".join(_page_rule(each) for each in told["open_points"])
    return f"{head}{kind}export const RULES = [\n{rules}];\n"


MADE = {
    "server/spanwalk/rules/constants.py": python_constants,
    "server/spanwalk/rules/points/open_point_rules.py": python_points,
    "pwa/rules/constants.js": page_constants,
    "pwa/rules/points/open_point_rules.js": page_points,
}
"""What is made, by its path in a checkout."""


def _quoted(value: int | str, quote: str) -> str:
    return str(value) if isinstance(value, int) else f"{quote}{value}{quote}"


def _spread(items: list[str], opening: str, closing: str, indent: str, most: int = FEW) -> str:
    alone = "," if len(items) == 1 and opening == "(" else ""
    line = f"{opening}{', '.join(items)}{alone}{closing}"
    return line if len(line) <= most else f"{opening}\n" + "".join(f"{indent}{each},\n" for each in items) + closing


def _python_rule(point: Point) -> str:
    who = ", ".join(f'"{role}"' for role in point["who"])
    lines = (
        f'"{point["name"]}"',
        f"({who}{',' if len(point['who']) == 1 else ''})",
        f'"{point["path"]}"',
        point["find"],
    )
    return "    Rule(\n" + "".join(f"        {line},\n" for line in lines) + "    ),\n"


def _page_rule(point: Point) -> str:
    who = ", ".join(f"'{role}'" for role in point["who"])
    find = re.sub(r"_([a-z])", lambda found: found[1].upper(), point["find"])
    fields: Mapping[str, str] = {
        "name": f"'{point['name']}'",
        "who": f"[{who}]",
        "path": f"'{point['path']}'",
        "find": find,
    }
    return "  {\n" + "".join(f"    {name}: {value},\n" for name, value in fields.items()) + "  },\n"


def written(root: Path) -> Iterator[Path]:
    """Write each module of a checkout anew; the paths, as they are written."""
    told = shared()
    for path, make in MADE.items():
        (root / path).write_text(make(told), encoding="utf-8")
        yield root / path


if __name__ == "__main__":
    for made in written(Path(__file__).resolve().parents[3]):
        print(made)
