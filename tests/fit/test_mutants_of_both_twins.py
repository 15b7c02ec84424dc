"""A term of the fit left out, or a comparison shifted, on either side: the run against the other side fails.

More sorts of fault, more rules and the merging: `python -m tests.mutation`.
"""

from __future__ import annotations

import pytest
from tests.mutation.judging import judged, why
from tests.mutation.mutant import Mutant
from tests.mutation.targets import TARGETS
from tests.mutation.trying import FIRST_GROUPS, SIDES, SURVIVED, mutants, try_all

FIT = TARGETS["fit"]
KINDS = ("term", "comparison", "min/max", "rounding", "sign")


@pytest.mark.parametrize("side", SIDES)
def test_a_term_left_out_or_a_comparison_shifted_is_noticed(side: str) -> None:
    known = judged()
    planted = [each for each in mutants(FIT, side) if each.kind in KINDS and why(each, known) is None]
    assert {each.kind for each in planted} == set(KINDS)
    fates = list(try_all(FIT, side, planted, FIRST_GROUPS))
    unnoticed = [str(mutant) for mutant, fate in fates if fate == SURVIVED]
    assert not unnoticed, "\n".join(unnoticed)
    assert len(fates) >= 40


@pytest.mark.parametrize(("side", "comment"), [("python", "# nothing\n"), ("javascript", "// nothing\n")], ids=SIDES)
def test_what_changes_nothing_is_not_called_noticed(side: str, comment: str) -> None:
    file = FIT.file(side)
    assert file is not None
    same = Mutant(file, 0, 0, comment, "none")
    assert list(try_all(FIT, side, [same], FIRST_GROUPS)) == [(same, SURVIVED)]
