"""Each published result that was gathered: in which test it stands, or why not.

`checks.csv` lists them with source and how each is known. Status: 'covered'; 'in part', with what is not ours; 'not followed',
a printed value that is wrong or one of several, which must not come out of our code; 'not implemented', with why it need not be.
"""

from __future__ import annotations

import ast
import csv
from collections import Counter
from pathlib import Path

import pytest

HERE = Path(__file__).parent
CHECKS = list(csv.DictReader((HERE / "checks.csv").read_text(encoding="utf-8").splitlines()))
STATUSES = {"covered": 172, "in part": 11, "not followed": 3, "not implemented": 34}


def named_in(name: str) -> set[str]:
    tree = ast.parse((HERE / f"{name}.py").read_text(encoding="utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")}


def test_none_is_left_out_or_told_twice() -> None:
    assert len({check["id"] for check in CHECKS}) == len(CHECKS) == 220
    assert Counter(check["status"] for check in CHECKS) == STATUSES


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check["id"])
def test_each_names_tests_that_exist_or_says_why_not(check: dict[str, str]) -> None:
    assert check["source"]
    assert check["known"]
    named = [each.split("::") for each in check["tests"].split()]
    assert bool(named) is (check["status"] != "not implemented")
    assert bool(check["why"]) is (check["status"] != "covered")
    for file, test in named:
        assert test in named_in(file), f"{check['id']}: {file}.py has no {test}"
