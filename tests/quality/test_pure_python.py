"""rules/ and sync/ are pure: they import a few modules of the standard library and one another, and nothing at run time."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "server" / "spanwalk"
PURE = frozenset(
    {
        "__future__",
        "bisect",
        "collections",
        "copy",
        "dataclasses",
        "datetime",
        "enum",
        "fractions",
        "functools",
        "hashlib",
        "heapq",
        "itertools",
    }
    | {"json", "math", "operator", "re", "typing", "typing_extensions", "unicodedata"}
)
"""Modules that read no clock, no file, no network and no chance."""
OWN = {"rules": ("spanwalk.rules",), "sync": ("spanwalk.sync", "spanwalk.rules")}
AT_RUN_TIME = frozenset({"__import__", "exec", "eval", "open", "import_module"})
"""Calls that import late or read a file."""
CLOCKS = frozenset({"date.today", "datetime.now", "datetime.today", "datetime.utcnow"})


def modules() -> list[Path]:
    return sorted(path for layer in OWN for path in (PACKAGE / layer).rglob("*.py"))


def breaches(layer: str, source: str) -> list[str]:
    """What a module of a pure layer imports, or calls, and may not."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [each.name for each in node.names if not allowed(layer, each.name)]
        elif isinstance(node, ast.ImportFrom) and not allowed(layer, node.module or "."):
            found.append(node.module or ".")
        elif isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            asks = ".".join(called.split(".")[-2:]) in CLOCKS or called.split(".")[-1] in AT_RUN_TIME
            found += [called] if asks else []
    return found


def allowed(layer: str, module: str) -> bool:
    return module.split(".")[0] in PURE or module.startswith(OWN[layer])


@pytest.mark.parametrize("module", modules(), ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_a_pure_module_imports_only_what_is_pure(module: Path) -> None:
    assert breaches(module.relative_to(PACKAGE).parts[0], module.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("layer", "source", "found"),
    [
        ("rules", "import time", ["time"]),
        ("rules", "from pathlib import Path", ["pathlib"]),
        ("rules", "from spanwalk.storage import tables", ["spanwalk.storage"]),
        ("rules", "def f():\n    from flask import request", ["flask"]),
        ("rules", "import spanwalk.services.sites", ["spanwalk.services.sites"]),
        ("sync", "tables = __import__('spanwalk.storage.tables')", ["__import__"]),
        ("sync", "import importlib\nimportlib.import_module('flask')", ["importlib", "importlib.import_module"]),
        ("sync", "import random, secrets", ["random", "secrets"]),
        ("rules", "from datetime import date\nday = date.today()", ["date.today"]),
    ],
)
def test_a_planted_breach_is_found(layer: str, source: str, found: list[str]) -> None:
    assert breaches(layer, source) == found
