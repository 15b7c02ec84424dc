"""Statements compiled once for a process: what SQLAlchemy makes of them is the same for each database of a sort.

It keeps that for each engine. A server has one for as long as it runs; a process of tests makes thousands, and would compile
the same hundred statements for each. What a statement says, and what its values are, is not kept.
"""

from __future__ import annotations

from typing import Any

from flask_sqlalchemy import SQLAlchemy
from sqlalchemy import Engine

KEPT_MOST = 5000


class _Compiled(dict[Any, Any]):
    """Compiled statements by what SQLAlchemy knows them by, of which the first is a dialect: its class stands in its place."""

    def get(self, key: Any, default: Any = None) -> Any:
        return super().get((type(key[0]), *key[1:]), default)

    def __setitem__(self, key: Any, compiled: Any) -> None:
        if len(self) >= KEPT_MOST:
            self.clear()
        super().__setitem__((type(key[0]), *key[1:]), compiled)


_compiled = _Compiled()
_make = SQLAlchemy._make_engine


def _with_compiled(database: SQLAlchemy, *told: Any) -> Engine:
    engine = _make(database, *told)
    engine.update_execution_options(compiled_cache=_compiled)
    return engine


def compile_once(does: bool = True) -> None:
    """Have apps that are made from now on share their compiled statements, or not."""
    SQLAlchemy._make_engine = _with_compiled if does else _make  # type: ignore[method-assign]
