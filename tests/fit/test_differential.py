"""Server and page judge drawn groups alike, to the last tick."""

from __future__ import annotations

from tests.fit.differential import run


def test_two_thousand_groups_come_out_alike_on_both_sides() -> None:
    found = run(2000, seed=320)
    assert not found.different, found.different[0]
    assert found.near >= found.cases // 3
    met_often = ("fits", "tight", "too long", "cannot tell", "trusted: known", "trusted: two clusters", "trusted: cannot tell", "basis: all", "basis: sample", "basis: lamp")
    for met in met_often:
        assert found.verdicts[met] >= 20, met
