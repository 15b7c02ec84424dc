"""A spec with something planted in it, for this process."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from spanwalk.records import specification

CACHED = type(specification.spec)


@contextmanager
def planted_spec(document: dict[str, Any]) -> Iterator[None]:
    """Work under another spec; what is made of a spec once is made anew, before and after."""
    shipped = specification.spec_text
    _forget()
    specification.spec_text = lambda: json.dumps(document).encode()
    try:
        yield
    finally:
        specification.spec_text = shipped
        _forget()


def _forget() -> None:
    modules = [module for name, module in sys.modules.items() if name.partition(".")[0] == "spanwalk"]
    for each in [each for module in modules for each in vars(module).values()]:
        if type(each) is CACHED:
            each.cache_clear()
