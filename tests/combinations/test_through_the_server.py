"""At push a value that cannot be is refused by itself, with field, value and what would be right; the rest arrives."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.support.installation import Installation, installed, new_id


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("combinations") / "data") as made:
        yield made


def a_kind(here: Installation) -> str:
    record = new_id()
    (answer,) = here.push(
        "surveyor", here.operation("surveyor", record, "kind", "identity", {"parent": here.site, "mark": "K1"})
    )
    assert answer["result"] == "applied", answer
    return record


def test_a_g13_lamp_called_t5_is_refused_with_the_reason_and_what_stands_beside_it_arrives(here: Installation) -> None:
    kind = a_kind(here)
    wrong = here.operation("surveyor", kind, "kind", "lamps", {"cap": "G13", "diameter": "T5", "rows": 2})
    beside = here.operation("surveyor", kind, "kind", "wiring", {"feeds": "one"})
    refused, applied = here.push("surveyor", wrong, beside)
    assert applied["result"] == "applied"
    assert (refused["result"], refused["code"]) == ("refused", "combination.pairs")
    assert refused["facts"] == {
        "type": "kind", "facet": "lamps", "where": "Kind, Lamps", "field": "cap", "title": "Cap", "value": "G13",
        "other_title": "Diameter", "other": "T5", "right": "T8 or T12",
    }  # fmt: skip


def test_sent_again_it_is_answered_as_before_and_corrected_it_arrives(here: Installation) -> None:
    kind = a_kind(here)
    wrong = here.operation("surveyor", kind, "kind", "lamps", {"cap": "G5", "diameter": "T8"})
    first, again = here.push("surveyor", wrong), here.push("surveyor", wrong)
    assert first == again
    right = here.operation("surveyor", kind, "kind", "lamps", {"cap": "G13", "diameter": "T8"}, replaces=wrong["id"])
    (answer,) = here.push("surveyor", right)
    assert answer["result"] == "applied"


def test_an_operation_of_an_app_with_a_wider_rule_is_refused_not_lost_and_its_followers_stand_on_what_was_there(
    here: Installation,
) -> None:
    """A phone saved, before the rule, a value that the rule now forbids, and then went on from it."""
    kind = a_kind(here)
    good = here.operation("surveyor", kind, "kind", "ballast", {"ballast": "electronic", "ballast_count": 1})
    bad = here.operation("surveyor", kind, "kind", "ballast", {"ballast": "none", "ballast_count": 1}, seen=good["id"])
    then = here.operation("surveyor", kind, "kind", "ballast", {"ballast": "none", "ballast_count": 0}, seen=bad["id"])
    answers = here.push("surveyor", good, bad, then)
    assert [answer["result"] for answer in answers] == ["applied", "refused", "applied"]


def test_half_of_what_is_held_together_is_no_reason_to_refuse(here: Installation) -> None:
    for value in (
        {"cap": "G13"},
        {"diameter": "T5"},
        {"cap": "G13", "diameter": "not-seen"},
        {"cap": "not-seen", "diameter": "T5"},
    ):
        (answer,) = here.push("surveyor", here.operation("surveyor", a_kind(here), "kind", "lamps", value))
        assert answer["result"] == "applied", value


def test_emptying_a_facet_is_never_refused(here: Installation) -> None:
    kind = a_kind(here)
    first = here.operation("surveyor", kind, "kind", "lamps", {"cap": "G13", "diameter": "T8"})
    answers = here.push("surveyor", first, here.operation("surveyor", kind, "kind", "lamps", {}, seen=first["id"]))
    assert [answer["result"] for answer in answers] == ["applied", "applied"]


def test_a_value_of_a_newer_app_is_held_to_what_this_server_knows(here: Installation) -> None:
    kind = a_kind(here)
    told = here.operation("surveyor", kind, "kind", "lamps", {"cap": "G13", "diameter": "T5", "glare": 3}, spec=99)
    assert here.push("surveyor", told)[0]["code"] == "combination.pairs"
