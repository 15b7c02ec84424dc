"""Addresses of the app are worked out once for a process, however many apps its tests make: a third of what an app costs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from werkzeug.routing.rules import Rule

Built = Callable[..., tuple[str, str]]
_made: dict[tuple[Any, ...], Built] = {}
_make = Rule._compile_builder


def _once(rule: Rule, append_unknown: bool = True) -> Built:
    """What builds the address of a rule: a function that is given the rule, and hangs on what is written in it alone."""
    if rule.defaults:
        return _make(rule, append_unknown)
    key = (rule.rule, append_unknown, *rule._trace)
    if key not in _made:
        _made[key] = _make(rule, append_unknown)
    return _made[key]


def build_once() -> None:
    """Do so from now on in this process."""
    Rule._compile_builder = _once
