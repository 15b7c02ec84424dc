"""`spanwalk` with a fault put into its modules as they are loaded, told by SPANWALK_TEST_PLANT.

A JSON list of `{"module", "from", "to"}`. A text that is no longer there is an error: a planted fault that plants
nothing shows nothing.
"""

from __future__ import annotations

import importlib.abc
import importlib.machinery
import json
import os
import sys
from collections.abc import Sequence
from types import ModuleType
from typing import Any


class _Planted(importlib.machinery.SourceFileLoader):
    """Loads a module's source with some of its text replaced."""

    def __init__(self, name: str, path: str, plants: list[dict[str, str]]) -> None:
        super().__init__(name, path)
        self.plants = plants

    def get_code(self, fullname: str) -> Any:
        source = self.get_data(self.path).decode()
        for plant in self.plants:
            if source.count(plant["from"]) != 1:
                raise RuntimeError(f"not once in {fullname}: {plant['from']}")
            source = source.replace(plant["from"], plant["to"])
        return self.source_to_code(source.encode(), self.path)


class _Finder(importlib.abc.MetaPathFinder):
    def __init__(self, plants: list[dict[str, str]]) -> None:
        self.plants = plants

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        mine = [plant for plant in self.plants if plant["module"] == name]
        if not mine:
            return None
        found = importlib.machinery.PathFinder.find_spec(name, path, target)
        if found is None or found.origin is None:
            raise RuntimeError(f"no module {name}")
        found.loader = _Planted(name, found.origin, mine)
        return found


if __name__ == "__main__":
    sys.meta_path.insert(0, _Finder(json.loads(os.environ.get("SPANWALK_TEST_PLANT", "[]"))))
    from spanwalk.cli import main

    sys.exit(main())
