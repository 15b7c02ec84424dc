"""What hatchling runs when it builds a wheel: the page goes in packed. An editable install serves the checkout's own files."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class PackedPage(BuildHookInterface[Any]):
    """Puts the packed page in the place of the loose one."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Pack the page, unless nothing of it is copied."""
        if self.target_name != "wheel" or version == "editable":
            return
        sys.path.insert(0, str(Path(self.root) / "server"))
        from packing.page import pack

        self._made = tempfile.TemporaryDirectory(prefix="spanwalk-page-")
        folder = Path(self._made.name) / "page"
        pack(Path(self.root), folder)
        build_data["force_include"][str(folder)] = "spanwalk/_pwa"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """The wheel has it: the folder may go."""
        if hasattr(self, "_made"):
            self._made.cleanup()
