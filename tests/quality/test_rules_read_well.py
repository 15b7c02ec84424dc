"""Each public function of the rules says what it answers, in which units; its examples hold."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

import pytest

import spanwalk.rules

UNITS = frozenset(
    [
        "ticks",
        "ticks2",
        "milliticks",
        "mm",
        "m",
        "m2",
        "ft",
        "in",
        "c",
        "k",
        "w",
        "watts",
        "kw",
        "kwh",
        "kwh_year",
        "v",
        "ma",
        "h",
        "year",
        "years",
        "hours",
        "minutes",
        "lm",
        "lumens",
        "lm_per_w",
        "lx",
        "lux",
        "pct",
        "share",
        "thousandths",
        "factor",
        "min",
        "s",
        "kg",
        "usd",
    ]
)
"""What a quantity's name ends in; shares and factors are numbers without a unit, and say so."""
MONEY = frozenset(
    {
        "cost",
        "each",
        "rebate_sum",
        "first_year_short",
        "price_per_kw_month",
        "bill_now_year",
        "bill_then_year",
        "saving_year",
    }
)
"""Sums in the site's own currency."""
PURE = frozenset(
    {
        "n",
        "m",
        "population",
        "degrees",
        "dividend",
        "divisor",
        "square",
        "position",
        "factor",
        "sir",
        "start",
        "x",
        "y",
    }
)
"""Counts, ratios and numbers of pure arithmetic."""
THINGS = re.compile(r"(^|_)(bars|lamps|ballasts|drivers|fixtures|batteries)(_each|_taken|_a_day)?$")
"""How many there are of a thing that one can point at."""
QUANTITY = re.compile(r"^(int|float)( \| None)?$")


def modules() -> Iterator[ModuleType]:
    for found in pkgutil.walk_packages(spanwalk.rules.__path__, "spanwalk.rules."):
        yield importlib.import_module(found.name)


def public_functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    for module in modules():
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not name.startswith("_"):
                yield f"{module.__name__.removeprefix('spanwalk.rules.')}.{name}", function


def has_unit(name: str, text: str) -> bool:
    """Whether a quantity's name says its unit or that it has none, or the docstring gives a unit for it in brackets."""
    last = name.removesuffix("_a_day").removesuffix("_year").rsplit("_", 1)[-1]
    if name in MONEY | PURE or last in UNITS or THINGS.search(name):
        return True
    told = re.search(rf"^\s*{name} :.*\n((?:\s{{4,}}.*\n?)+)", text, re.MULTILINE)
    return bool(told and re.search(r"\[[^\]]+\]", told[1]))


FUNCTIONS = dict(public_functions())


@pytest.mark.parametrize("module", list(modules()), ids=lambda module: module.__name__.removeprefix("spanwalk."))
def test_the_examples_in_the_docstrings_hold(module: ModuleType) -> None:
    assert doctest.testmod(module, optionflags=doctest.IGNORE_EXCEPTION_DETAIL).failed == 0


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_public_function_says_what_it_answers(name: str) -> None:
    assert inspect.getdoc(FUNCTIONS[name])


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_quantity_has_its_unit(name: str) -> None:
    function = FUNCTIONS[name]
    text = inspect.getdoc(function) or ""
    parameters = inspect.signature(function).parameters.values()
    without = [
        each.name for each in parameters if QUANTITY.match(str(each.annotation)) and not has_unit(each.name, text)
    ]
    assert not without, f"{name}: {', '.join(without)}: which unit?"


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [("length", "", False), ("length_mm", "", True), ("bars", "", True), ("rise", "", False)],
)
def test_a_bare_number_is_noticed(name: str, text: str, said: bool) -> None:
    assert has_unit(name, text) == said


def test_a_unit_in_the_docstring_counts() -> None:
    assert has_unit("length", "Parameters\n----------\nlength : int\n    Of the bar [mm].\n")
    assert not has_unit("length", "Parameters\n----------\nlength : int\n    Of the bar.\n")
