"""What is made from the spec is made anew with each change of it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from spanwalk import records
from spanwalk.records import made_rules

ROOT = Path(__file__).resolve().parents[2]
MADE = {
    "server/spanwalk/spec/records.md": ("--markdown", records.markdown),
    "pwa/records.d.ts": ("--types", records.typescript),
    "server/spanwalk/rules/record_types.py": ("--python", records.python_types),
}

RULES = ROOT / "server/spanwalk/rules"


@pytest.mark.parametrize("path", made_rules.MADE)
def test_what_both_languages_share_is_made_of_one_table(path: str) -> None:
    made = made_rules.MADE[path](made_rules.shared())
    assert (ROOT / path).read_text(encoding="utf-8") == made, "make it anew: python -m spanwalk.records.made_rules"


def test_a_changed_number_changes_both_languages() -> None:
    told = made_rules.shared()
    told["constants"]["cavity"]["LEAST_GAP_TICKS"] = 641
    assert "\nLEAST_GAP_TICKS = 641\n" in made_rules.python_constants(told)
    assert "\nexport const LEAST_GAP_TICKS = 641;\n" in made_rules.page_constants(told)


def test_a_name_of_two_values_is_refused() -> None:
    told = made_rules.shared()
    told["constants"]["somewhere"] = {"LEAST_GAP_TICKS": 641}
    with pytest.raises(made_rules.ConstantTwice):
        made_rules.constants(told)


def test_no_rule_states_a_shared_number_again() -> None:
    """A module names what it takes from `constants`; a number given to a shared name by hand would part the languages."""
    found = []
    for module, values in made_rules.shared()["constants"].items():
        sides = [*RULES.rglob(f"{module}.py"), *(ROOT / "pwa/rules").rglob(f"{module}.js")]
        assert sides, f"spec/rules.json has constants of {module}: no such module"
        for path in sides:
            found += [(path.name, each) for each in given_by_hand(path.read_text(encoding="utf-8"), list(values))]
    assert found == []


def given_by_hand(text: str, names: list[str]) -> list[str]:
    """Which of the names a module gives a value of its own."""
    return re.findall(rf"^(?:export )?(?:const )?({'|'.join(names)}) = (?!.*constants\.)", text, re.MULTILINE)


def test_a_shared_number_stated_again_is_found() -> None:
    assert given_by_hand("MOST = 3\nLEAST_GAP_TICKS = 640\n", ["LEAST_GAP_TICKS"]) == ["LEAST_GAP_TICKS"]
    assert given_by_hand("export const LEAST_GAP_TICKS = 640;\n", ["LEAST_GAP_TICKS"]) == ["LEAST_GAP_TICKS"]
    assert given_by_hand("LEAST_GAP_TICKS = constants.LEAST_GAP_TICKS\n", ["LEAST_GAP_TICKS"]) == []


@pytest.mark.parametrize("path", MADE)
def test_what_is_made_from_the_spec_is_not_stale(path: str) -> None:
    option, make = MADE[path]
    assert (ROOT / path).read_text(encoding="utf-8") == make(), f"make it anew: spanwalk spec {option} > {path}"
