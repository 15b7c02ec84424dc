"""The merge rules, one by one. What they say stands in server/spanwalk/sync/README.md."""

from __future__ import annotations

from typing import Any

import pytest
from tests.sync.paper_site import ANN, BOB, FLOOR, ROOM, SITE, PaperSite, furnished, operation_hash, pen

from spanwalk.sync.model import Flaw

WALK_1, WALK_2, WALK_3 = {"order": 1}, {"order": 2}, {"order": 3}
KID = "00000000-0000-4000-8000-0000000000c1"


@pytest.fixture
def site() -> PaperSite:
    return furnished()


def all_seen(site: PaperSite, record: str) -> dict[str, str | None]:
    return {facet: held["op"] for facet, held in site.states[record].facets.items()}


# -- rule 1: the same values


def test_the_same_value_is_the_same_whatever_was_seen(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    site.push(first)
    (answer,) = site.push(pen(2, BOB).set(ROOM, "walk", WALK_1, seen="nobody.00000000.1"))
    assert (answer.result, answer.base) == ("same", first["id"])
    assert site.conflicts(ROOM) == []


def test_the_same_value_gives_the_record_no_new_sequence(site: PaperSite) -> None:
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    before = site.states[ROOM].seq
    (answer,) = site.push(pen(2).set(ROOM, "walk", WALK_1))
    assert answer.seq == before == site.states[ROOM].seq == site.head


def test_an_agreeing_operation_stands_for_the_writer_it_agreed_with(site: PaperSite) -> None:
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    two = pen(2, BOB)
    agreeing = two.set(ROOM, "walk", WALK_1)
    site.push(agreeing)
    (answer,) = site.push(two.set(ROOM, "walk", WALK_2, seen=agreeing["id"]))
    assert answer.result == "applied"
    assert site.value(ROOM, "walk") == WALK_2


def test_true_is_not_one(site: PaperSite) -> None:
    site.push(pen(1).set(ROOM, "later", {"x": 1}, spec=9))
    (answer,) = site.push(pen(2, BOB).set(ROOM, "later", {"x": True}, spec=9))
    assert answer.result == "conflict"


# -- rule 2: what was seen is what is there


def test_who_saw_what_is_there_writes(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    site.push(first)
    (answer,) = site.push(pen(2, BOB).set(ROOM, "walk", WALK_2, seen=first["id"]))
    assert answer.result == "applied"
    assert site.value(ROOM, "walk") == WALK_2
    assert site.conflicts(ROOM) == []


def test_own_edits_in_a_row_all_apply(site: PaperSite) -> None:
    one = pen(1)
    first = one.set(ROOM, "walk", WALK_1)
    second = one.set(ROOM, "walk", WALK_2, seen=first["id"])
    third = one.set(ROOM, "walk", WALK_3, seen=second["id"])
    assert [answer.result for answer in site.push(first, second, third)] == ["applied"] * 3


def test_two_facets_of_one_record_do_not_meet(site: PaperSite) -> None:
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    (answer,) = site.push(pen(2, BOB).set(ROOM, "hours", {"hours_year": 2000}))
    assert answer.result == "applied"


# -- rule 4: conflict


def test_who_did_not_see_it_loses_and_both_values_are_kept(site: PaperSite) -> None:
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    lost = pen(2, BOB).set(ROOM, "walk", WALK_2)
    (answer,) = site.push(lost)
    assert answer.result == "conflict"
    assert site.value(ROOM, "walk") == WALK_1
    (conflict,) = site.states[ROOM].conflicts
    assert conflict == {
        "id": lost["id"],
        "facet": "walk",
        "op": lost["id"],
        "by": BOB,
        "at": "2026-03-01T09:00:00Z",
        "seq": site.head,
        "value": WALK_2,
        "kind": "set",
        "device": lost["id"].split(".")[0],
    }


def test_opening_a_conflict_gives_the_record_a_new_sequence(site: PaperSite) -> None:
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    before = site.states[ROOM].seq
    (answer,) = site.push(pen(2, BOB).set(ROOM, "walk", WALK_2))
    assert answer.seq == site.states[ROOM].seq == before + 1


def test_an_edit_of_what_someone_else_has_changed_since_is_a_conflict(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    site.push(first, pen(2, BOB).set(ROOM, "walk", WALK_2, seen=first["id"]))
    (answer,) = site.push(pen(3).set(ROOM, "walk", WALK_3, seen=first["id"]))
    assert answer.result == "conflict"


# -- rule 3: seen is an own losing operation


def lost_by_bob(site: PaperSite, bob: Any) -> str:
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    lost = bob.set(ROOM, "walk", WALK_2)
    site.push(lost)
    return str(lost["id"])


def test_going_on_from_an_own_losing_value_opens_one_conflict_that_replaces_it(site: PaperSite) -> None:
    bob = pen(2, BOB)
    lost = lost_by_bob(site, bob)
    again = bob.set(ROOM, "walk", WALK_3, seen=lost)
    (answer,) = site.push(again)
    assert answer.result == "conflict"
    assert site.conflicts(ROOM) == [again["id"]]


def test_an_own_losing_value_of_another_facet_is_not_closed(site: PaperSite) -> None:
    """A phone that a copy had confused named the wrong operation: what lost stays to be seen."""
    bob = pen(2, BOB)
    lost = lost_by_bob(site, bob)
    site.push(bob.set(ROOM, "hours", {"hours_year": 9}, seen=lost))
    assert lost in site.conflicts(ROOM)


def test_going_back_to_what_is_there_closes_the_own_conflict(site: PaperSite) -> None:
    bob = pen(2, BOB)
    lost = lost_by_bob(site, bob)
    before = site.head
    (answer,) = site.push(bob.set(ROOM, "walk", WALK_1, seen=lost))
    assert answer.result == "same"
    assert site.conflicts(ROOM) == []
    assert answer.seq == site.states[ROOM].seq == before + 1


def test_a_long_row_of_own_losing_edits_leaves_one_conflict(site: PaperSite) -> None:
    bob = pen(2, BOB)
    seen = lost_by_bob(site, bob)
    for order in range(10, 20):
        operation = bob.set(ROOM, "walk", {"order": order}, seen=seen)
        site.push(operation)
        seen = operation["id"]
    assert site.conflicts(ROOM) == [seen]


def test_going_on_from_an_own_losing_value_on_another_phone_replaces_the_conflict_too(site: PaperSite) -> None:
    lost = lost_by_bob(site, pen(2, BOB))
    again = pen(3, BOB).set(ROOM, "walk", WALK_3, seen=lost)
    site.push(again)
    assert site.conflicts(ROOM) == [again["id"]]


def test_who_goes_on_from_a_losing_value_on_the_same_phone_replaces_the_conflict_too(site: PaperSite) -> None:
    lost = lost_by_bob(site, pen(2, BOB))
    again = pen(2, ANN).set(ROOM, "walk", WALK_3, seen=lost, id=pen(2).device + ".0000000e.9")
    site.push(again)
    assert site.conflicts(ROOM) == [again["id"]]


def test_a_losing_operation_of_someone_else_is_not_closed_unseen(site: PaperSite) -> None:
    lost = lost_by_bob(site, pen(2, BOB))
    site.push(pen(3, ANN).set(ROOM, "walk", WALK_3, seen=lost))
    assert lost in site.conflicts(ROOM)


# -- settling


def test_a_settlement_closes_what_it_names_and_is_written(site: PaperSite) -> None:
    lost = lost_by_bob(site, pen(2, BOB))
    (answer,) = site.push(pen(3).set(ROOM, "walk", WALK_2, seen=site.writer(ROOM, "walk"), settles=[lost]))
    assert answer.result == "applied"
    assert site.value(ROOM, "walk") == WALK_2
    assert site.conflicts(ROOM) == []


def test_settling_for_what_is_there_is_a_write_too(site: PaperSite) -> None:
    lost = lost_by_bob(site, pen(2, BOB))
    settlement = pen(3).set(ROOM, "walk", WALK_1, seen=site.writer(ROOM, "walk"), settles=[lost])
    (answer,) = site.push(settlement)
    assert answer.result == "applied"
    assert site.writer(ROOM, "walk") == settlement["id"]
    assert site.conflicts(ROOM) == []


def test_a_conflict_that_is_not_named_stays_open(site: PaperSite) -> None:
    lost = lost_by_bob(site, pen(2, BOB))
    site.push(pen(3).set(ROOM, "walk", WALK_3, seen=site.writer(ROOM, "walk")))
    assert site.conflicts(ROOM) == [lost]


def test_a_settlement_that_loses_still_closes_what_it_named(site: PaperSite) -> None:
    lost = lost_by_bob(site, pen(2, BOB))
    old = site.writer(ROOM, "walk")
    site.push(pen(3).set(ROOM, "walk", WALK_3, seen=old))
    late = pen(4).set(ROOM, "walk", WALK_2, seen=old, settles=[lost])
    (answer,) = site.push(late)
    assert answer.result == "conflict"
    assert site.conflicts(ROOM) == [late["id"]]


def test_naming_what_is_closed_already_closes_nothing(site: PaperSite) -> None:
    lost = lost_by_bob(site, pen(2, BOB))
    settle = {"seen": site.writer(ROOM, "walk"), "settles": [lost]}
    site.push(pen(3).set(ROOM, "walk", WALK_1, **settle))
    (answer,) = site.push(pen(4).set(ROOM, "walk", WALK_1, **settle))
    assert answer.result == "same"


# -- removal and life


def test_a_removal_that_saw_everything_applies(site: PaperSite) -> None:
    (answer,) = site.push(pen(1).remove(ROOM, all_seen(site, ROOM)))
    assert answer.result == "applied"
    assert site.states[ROOM].removed
    assert site.value(ROOM, "life") == {"removed": True}


def test_a_removal_that_did_not_see_some_facet_is_a_conflict_and_the_record_stays(site: PaperSite) -> None:
    seen = all_seen(site, ROOM)
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    (answer,) = site.push(pen(2, BOB).remove(ROOM, seen))
    assert answer.result == "conflict"
    assert not site.states[ROOM].removed
    assert site.states[ROOM].conflicts[0]["kind"] == "remove"


def test_a_removal_that_leaves_live_children_is_a_conflict(site: PaperSite) -> None:
    (answer,) = site.push(pen(1).remove(FLOOR, all_seen(site, FLOOR), type="floor"))
    assert answer.result == "conflict"
    assert not site.states[FLOOR].removed


def test_children_first_and_then_the_parent_all_go(site: PaperSite) -> None:
    one = pen(1)
    answers = site.push(one.remove(ROOM, all_seen(site, ROOM)), one.remove(FLOOR, all_seen(site, FLOOR), type="floor"))
    assert [answer.result for answer in answers] == ["applied", "applied"]


def test_two_removals_agree(site: PaperSite) -> None:
    seen = all_seen(site, ROOM)
    site.push(pen(1).remove(ROOM, seen))
    (answer,) = site.push(pen(2, BOB).remove(ROOM, seen))
    assert answer.result == "same"


def test_a_removal_that_agrees_gives_no_new_sequence(site: PaperSite) -> None:
    site.push(pen(1).remove(ROOM, all_seen(site, ROOM)))
    head = site.head
    site.push(pen(2, BOB).remove(ROOM, all_seen(site, ROOM)))
    assert site.head == head == site.states[ROOM].seq


def test_an_edit_of_what_was_removed_is_a_conflict_and_never_brings_it_back(site: PaperSite) -> None:
    identity = site.writer(ROOM, "identity")
    site.push(pen(1).remove(ROOM, all_seen(site, ROOM)))
    (answer,) = site.push(pen(2, BOB).set(ROOM, "identity", {"number": "002", "parent": FLOOR}, seen=identity))
    assert answer.result == "conflict"
    assert site.states[ROOM].removed
    assert site.states[ROOM].conflicts[0]["value"] == {"number": "002", "parent": FLOOR}


def test_an_edit_and_a_removal_conflict_in_the_other_order_too(site: PaperSite) -> None:
    seen = all_seen(site, ROOM)
    site.push(pen(2, BOB).set(ROOM, "identity", {"number": "002", "parent": FLOOR}, seen=seen["identity"]))
    (answer,) = site.push(pen(1).remove(ROOM, seen))
    assert answer.result == "conflict"
    assert site.value(ROOM, "identity")["number"] == "002"


def test_a_restoration_that_saw_the_removal_applies(site: PaperSite) -> None:
    removal = pen(1).remove(ROOM, all_seen(site, ROOM))
    site.push(removal)
    (answer,) = site.push(pen(2, BOB).restore(ROOM, removal["id"]))
    assert answer.result == "applied"
    assert not site.states[ROOM].removed


def test_a_restoration_that_saw_an_older_removal_is_a_conflict(site: PaperSite) -> None:
    one = pen(1)
    first = one.remove(ROOM, all_seen(site, ROOM))
    back = one.restore(ROOM, first["id"])
    site.push(first, back)
    site.push(one.remove(ROOM, all_seen(site, ROOM)))
    (answer,) = site.push(pen(2, BOB).restore(ROOM, first["id"]))
    assert answer.result == "conflict"
    assert site.states[ROOM].removed


def test_keeping_a_record_settles_the_removal_that_lost(site: PaperSite) -> None:
    seen = all_seen(site, ROOM)
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    site.push(pen(2, BOB).remove(ROOM, seen))
    (answer,) = site.push(pen(3).restore(ROOM, None, settles=site.conflicts(ROOM)))
    assert answer.result == "applied"
    assert site.conflicts(ROOM) == []
    assert not site.states[ROOM].removed


def test_removing_again_settles_an_edit_that_came_too_late(site: PaperSite) -> None:
    site.push(pen(1).remove(ROOM, all_seen(site, ROOM)))
    site.push(pen(2, BOB).set(ROOM, "walk", WALK_1))
    (answer,) = site.push(
        pen(1).remove(ROOM, all_seen(site, ROOM), settles=site.conflicts(ROOM), id=pen(9).device + ".0000000e.9")
    )
    assert answer.result == "applied"
    assert site.conflicts(ROOM) == []
    assert site.states[ROOM].removed


def test_restoring_what_lives_is_the_same_and_writes_nothing(site: PaperSite) -> None:
    head = site.head
    (answer,) = site.push(pen(2, BOB).restore(ROOM, None))
    assert (answer.result, site.head) == ("same", head)
    assert "life" not in site.states[ROOM].facets


def test_who_takes_an_own_removal_back_that_lost_closes_its_conflict(site: PaperSite) -> None:
    bob = pen(2, BOB)
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    lost = bob.remove(ROOM, {"identity": site.writer(ROOM, "identity")})
    site.push(lost)
    (answer,) = site.push(bob.restore(ROOM, lost["id"]))
    assert answer.result == "same"
    assert site.conflicts(ROOM) == []


def test_who_lost_a_removal_and_has_now_seen_the_rest_removes(site: PaperSite) -> None:
    one, bob = pen(1), pen(2, BOB)
    gone = one.remove(ROOM, all_seen(site, ROOM))
    back = one.restore(ROOM, gone["id"])
    site.push(gone, back, one.set(ROOM, "walk", WALK_1))
    lost = bob.remove(ROOM, {"identity": site.writer(ROOM, "identity"), "life": back["id"]})
    (told,) = site.push(lost)
    assert (told.result, told.base) == ("conflict", back["id"])
    (answer,) = site.push(bob.remove(ROOM, {**all_seen(site, ROOM), "life": lost["id"]}))
    assert answer.result == "applied"
    assert site.conflicts(ROOM) == []


def test_a_removal_closes_an_own_conflict_that_it_saw(site: PaperSite) -> None:
    one, bob = pen(1), pen(2, BOB)
    first = one.set(ROOM, "walk", WALK_1)
    site.push(first)
    gone = one.remove(ROOM, all_seen(site, ROOM))
    late = bob.set(ROOM, "walk", WALK_2, seen=first["id"])
    site.push(gone, late, one.restore(ROOM, gone["id"]))
    assert site.conflicts(ROOM) == [late["id"]]
    (answer,) = site.push(bob.remove(ROOM, {**all_seen(site, ROOM), "walk": late["id"]}))
    assert answer.result == "applied"
    assert site.conflicts(ROOM) == []


def test_removing_again_what_is_removed_says_the_same_though_a_child_came_to_live_there(site: PaperSite) -> None:
    removed_floor(site)
    site.push(pen(2, BOB).set(KID, "identity", {"number": "009", "parent": FLOOR}))
    (answer,) = site.push(pen(3).remove(FLOOR, all_seen(site, FLOOR), type="floor"))
    assert answer.result == "same"
    assert len(site.conflicts(FLOOR)) == 1


# -- children under what was removed


def removed_floor(site: PaperSite) -> str:
    hand = pen(1)
    floor = hand.remove(FLOOR, all_seen(site, FLOOR), type="floor")
    site.push(hand.remove(ROOM, all_seen(site, ROOM)), floor)
    assert site.states[FLOOR].removed
    return str(floor["id"])


def test_a_child_that_arrives_under_a_removed_parent_is_kept_and_opens_a_conflict_there(
    site: PaperSite,
) -> None:
    removed_floor(site)
    child = pen(2, BOB).set(KID, "identity", {"number": "009", "parent": FLOOR})
    (answer,) = site.push(child)
    assert answer.result == "applied"
    assert not site.states[KID].removed
    (conflict,) = site.states[FLOOR].conflicts
    assert (conflict["id"], conflict["kind"], conflict["child"]) == (child["id"], "child", KID)
    assert (conflict["facet"], conflict["value"]) == ("life", {"removed": False})
    assert site.states[FLOOR].seq != site.states[KID].seq


def test_each_child_that_arrives_under_a_removed_parent_opens_a_conflict_of_its_own(site: PaperSite) -> None:
    removed_floor(site)
    bob = pen(2, BOB)
    kids = [bob.set(KID[:-1] + n, "identity", {"number": n, "parent": FLOOR}) for n in "78"]
    site.push(*kids)
    assert site.conflicts(FLOOR) == [kid["id"] for kid in kids]


def test_a_child_that_moves_under_a_removed_parent_opens_a_conflict_there(site: PaperSite) -> None:
    other = "00000000-0000-4000-8000-0000000000f2"
    site.push(pen(3).set(other, "identity", {"name": "First", "parent": SITE}, type="floor"))
    kid = pen(3).set(KID, "identity", {"number": "009", "parent": other}, id=pen(3).device + ".0000000e.7")
    site.push(kid)
    removed_floor(site)
    (answer,) = site.push(pen(2, BOB).set(KID, "identity", {"number": "009", "parent": FLOOR}, seen=kid["id"]))
    assert answer.result == "applied"
    assert len(site.conflicts(FLOOR)) == 1


def test_a_child_restored_under_a_removed_parent_opens_a_conflict_there(site: PaperSite) -> None:
    removed_floor(site)
    (answer,) = site.push(pen(2, BOB).restore(ROOM, site.writer(ROOM, "life")))
    assert answer.result == "applied"
    assert len(site.conflicts(FLOOR)) == 1


def test_restoring_the_parent_settles_the_child(site: PaperSite) -> None:
    floor = removed_floor(site)
    site.push(pen(2, BOB).set(KID, "identity", {"number": "009", "parent": FLOOR}))
    (answer,) = site.push(pen(3).restore(FLOOR, floor, settles=site.conflicts(FLOOR), type="floor"))
    assert answer.result == "applied"
    assert site.conflicts(FLOOR) == []
    assert not site.states[FLOOR].removed


def test_a_child_cannot_be_settled_away_while_it_lives(site: PaperSite) -> None:
    removed_floor(site)
    site.push(pen(2, BOB).set(KID, "identity", {"number": "009", "parent": FLOOR}))
    again = pen(3).remove(FLOOR, all_seen(site, FLOOR), settles=site.conflicts(FLOOR), type="floor")
    (answer,) = site.push(again)
    assert answer.result == "conflict"
    assert site.conflicts(FLOOR) == [again["id"]]


def test_a_child_is_not_settled_by_a_new_name_of_its_removed_parent(site: PaperSite) -> None:
    removed_floor(site)
    child = pen(2, BOB).set(KID, "identity", {"number": "009", "parent": FLOOR})
    site.push(child)
    renamed = pen(3).set(FLOOR, "identity", {"name": "Cellar", "parent": SITE}, type="floor", settles=[child["id"]])
    site.push(renamed)
    assert site.conflicts(FLOOR) == [child["id"], renamed["id"]]


def test_an_edit_of_a_child_that_lives_under_a_removed_parent_opens_no_second_conflict(site: PaperSite) -> None:
    removed_floor(site)
    bob = pen(2, BOB)
    site.push(bob.set(KID, "identity", {"number": "009", "parent": FLOOR}), bob.set(KID, "walk", WALK_1))
    assert len(site.conflicts(FLOOR)) == 1


def test_a_removed_child_does_not_come_to_live_by_a_conflict_settled_on_it(site: PaperSite) -> None:
    removed_floor(site)
    mine = site.value(ROOM, "identity")
    other = pen(2, BOB).set(ROOM, "identity", {"number": "7", "parent": FLOOR})
    (told,) = site.push(other)
    assert told.result == "conflict"
    (answer,) = site.push(pen(3).set(ROOM, "identity", mine, settles=[other["id"]]))
    assert (answer.result, site.states[ROOM].removed) == ("applied", True)
    assert site.conflicts(FLOOR) == []


def test_a_parent_removed_in_the_batch_that_made_its_child_stays(site: PaperSite) -> None:
    one, other = pen(1), "00000000-0000-4000-8000-0000000000f2"
    first = one.set(other, "identity", {"name": "First", "parent": SITE}, type="floor")
    kid = one.set(KID, "identity", {"number": "009", "parent": other})
    answers = site.push(first, kid, one.remove(other, {"identity": first["id"]}, type="floor"))
    assert [answer.result for answer in answers] == ["applied", "applied", "conflict"]
    assert not site.states[other].removed


def test_a_record_stays_where_it_is_when_something_else_of_it_changes(site: PaperSite) -> None:
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    assert site.states[ROOM].parent == FLOOR


# -- repeated, forked, renamed


def test_the_same_id_again_repeats_the_answer_and_changes_nothing(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    (told,) = site.push(first)
    site.push(pen(2, BOB).set(ROOM, "walk", WALK_2, seen=first["id"]))
    head = site.head
    assert site.push(first) == [told]
    assert (site.head, site.value(ROOM, "walk")) == (head, WALK_2)


def test_an_id_with_other_content_is_a_fork_and_is_not_taken(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    site.push(first)
    (answer,) = site.push(first | {"to": WALK_2})
    assert answer.result == "fork"
    assert site.value(ROOM, "walk") == WALK_1


def test_nothing_new_is_taken_from_a_batch_in_which_an_id_is_forked(site: PaperSite) -> None:
    one, copied = pen(1), pen(1)
    site.push(one.set(ROOM, "walk", WALK_1))
    first = copied.set(ROOM, "walk", WALK_2)
    second = copied.set(ROOM, "walk", WALK_3, seen=first["id"])
    assert [answer.result for answer in site.push(first, second)] == ["fork", "fork"]
    assert site.value(ROOM, "walk") == WALK_1


def test_a_low_counter_that_is_not_known_is_merely_late(site: PaperSite) -> None:
    one = pen(1)
    early, late = one.set(ROOM, "walk", WALK_1), one.set(ROOM, "hours", {"hours_year": 10})
    site.push(late)
    (answer,) = site.push(early)
    assert answer.result == "applied"


def test_an_operation_renamed_after_a_fork_is_the_one_already_known(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    (told,) = site.push(first)
    renamed = first | {
        "id": pen(7).device + ".0000000f.1",
        "formerly": {"id": first["id"], "hash": operation_hash(first)},
    }
    (answer,) = site.push(renamed)
    assert (answer.result, answer.seq) == ("same", told.seq)
    assert site.writer(ROOM, "walk") == first["id"]


def test_an_operation_that_arrives_after_its_renamed_self_is_the_same_one(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    renamed = first | {
        "id": pen(7).device + ".0000000f.1",
        "formerly": {"id": first["id"], "hash": operation_hash(first)},
    }
    (told,) = site.push(renamed)
    head = site.head
    (answer,) = site.push(first)
    assert (answer.result, answer.seq, site.head) == ("same", told.seq, head)


def test_who_has_seen_a_renamed_operation_has_seen_the_one_that_is_there(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    site.push(first)
    copied = pen(7)
    renamed = first | {
        "id": copied.device + ".0000000f.1",
        "formerly": {"id": first["id"], "hash": operation_hash(first)},
    }
    answers = site.push(renamed, copied.set(ROOM, "walk", WALK_2, seen=renamed["id"]))
    assert [answer.result for answer in answers] == ["same", "applied"]
    assert site.conflicts(ROOM) == []


def renamed_after(first: dict[str, Any], number: int, formerly: dict[str, Any] | None = None) -> dict[str, Any]:
    """An operation as a copied phone sends it, under an id of its own."""
    former = formerly or first
    told = {"id": former["id"], "hash": operation_hash(former)}
    return first | {"id": f"{pen(number).device}.0000000f.1", "formerly": told}


def test_a_renamed_operation_does_not_come_back_when_another_has_been_written_since(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    site.push(first, pen(2, BOB).set(ROOM, "walk", WALK_2, seen=first["id"]))
    (answer,) = site.push(renamed_after(first, 7))
    assert (answer.result, answer.base) == ("same", first["id"])
    assert (site.value(ROOM, "walk"), site.conflicts(ROOM)) == (WALK_2, [])


def test_a_renamed_operation_that_had_lost_has_lost_once(site: PaperSite) -> None:
    site.push(pen(1).set(ROOM, "walk", WALK_1))
    lost = pen(2, BOB).set(ROOM, "walk", WALK_2)
    site.push(lost)
    (answer,) = site.push(renamed_after(lost, 7))
    assert answer.result == "conflict"
    assert site.conflicts(ROOM) == [lost["id"]]


def test_an_operation_that_two_copies_have_renamed_is_one(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    one, two = renamed_after(first, 7), renamed_after(first, 8)
    site.push(one, pen(2, BOB).set(ROOM, "walk", WALK_2, seen=one["id"]))
    (answer,) = site.push(two)
    assert (answer.result, answer.base, site.value(ROOM, "walk")) == ("same", one["id"], WALK_2)


def test_an_operation_renamed_twice_is_one_in_whichever_order_it_arrives(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    once = renamed_after(first, 7)
    twice = renamed_after(first, 8, formerly=once)
    site.push(twice, pen(2, BOB).set(ROOM, "walk", WALK_2, seen=twice["id"]))
    (answer,) = site.push(once)
    assert (answer.result, answer.base, site.value(ROOM, "walk")) == ("same", twice["id"], WALK_2)


def test_an_operation_and_its_renamed_self_in_one_batch_are_one(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    renamed = renamed_after(first, 7)
    answers = site.push(renamed, pen(2, BOB).set(ROOM, "walk", WALK_2, seen=renamed["id"]), first)
    assert [answer.result for answer in answers] == ["applied", "applied", "same"]
    assert (site.value(ROOM, "walk"), site.conflicts(ROOM)) == (WALK_2, [])


def test_a_phone_that_repeats_one_operation_with_a_new_one_is_not_copied(site: PaperSite) -> None:
    one = pen(1)
    first = one.set(ROOM, "walk", WALK_1)
    site.push(first)
    answers = site.push(first, one.set(ROOM, "walk", WALK_2, seen=first["id"]))
    assert [answer.result for answer in answers] == ["applied", "applied"]


def test_a_former_id_with_other_content_is_another_operation(site: PaperSite) -> None:
    first = pen(1).set(ROOM, "walk", WALK_1)
    site.push(first)
    other = pen(7).set(ROOM, "hours", {"hours_year": 10}, formerly={"id": first["id"], "hash": "0" * 64})
    (answer,) = site.push(other)
    assert answer.result == "applied"
    assert site.value(ROOM, "hours") == {"hours_year": 10}


# -- refused


def test_a_change_of_a_record_that_is_not_there_is_refused(site: PaperSite) -> None:
    (answer,) = site.push(pen(1).set(KID, "walk", WALK_1))
    assert (answer.result, answer.code) == ("refused", "record-missing")


def test_a_removal_of_a_record_that_is_not_there_is_refused(site: PaperSite) -> None:
    (answer,) = site.push(pen(1).remove(KID, {"identity": "nobody.00000000.1"}))
    assert (answer.result, answer.code) == ("refused", "record-missing")


def test_a_reference_to_a_record_that_is_not_there_is_refused_naming_field_and_id(site: PaperSite) -> None:
    (answer,) = site.push(pen(1).set(KID, "identity", {"number": "9", "parent": KID}))
    assert answer.code == "referred-record-missing"
    assert (answer.facts or {})["field"] == "parent"


def test_a_parent_of_the_wrong_sort_is_refused(site: PaperSite) -> None:
    (answer,) = site.push(pen(1).set(KID, "identity", {"number": "9", "parent": ROOM}))
    assert answer.code == "referred-record-of-other-type"


def test_a_change_of_a_record_of_another_type_is_refused_naming_both(site: PaperSite) -> None:
    (answer,) = site.push(pen(1).set(ROOM, "identity", {"name": "Second", "parent": SITE}, type="floor"))
    assert (answer.result, answer.code) == ("refused", "record-of-other-type")
    assert answer.facts == {"record": ROOM, "value": "floor", "right": "room"}


def test_a_room_that_stands_in_the_site_itself_is_refused(site: PaperSite) -> None:
    site.push(pen(1).set(SITE, "identity", {"name": "An invented site"}, type="site"))
    (answer,) = site.push(
        pen(1).set(KID, "identity", {"number": "9", "parent": SITE}, id=pen(1).device + ".0000000e.9")
    )
    assert answer.code == "referred-record-of-other-type"


def test_what_refers_to_a_refused_record_is_refused_with_it_and_nothing_else_waits(site: PaperSite) -> None:
    one = pen(1)
    new_floor = "00000000-0000-4000-8000-0000000000f2"
    bad = one.set(new_floor, "identity", {"parent": SITE}, type="floor")
    child = one.set(KID, "identity", {"number": "9", "parent": new_floor})
    free = one.set(ROOM, "walk", WALK_1)
    answers = site.push(bad, child, free)
    assert [answer.result for answer in answers] == ["refused", "refused", "applied"]
    assert answers[1].code == "refers-to-refused"
    assert (answers[1].facts or {})["operation"] == bad["id"]


def test_what_refers_to_a_record_refused_in_an_earlier_push_names_it_too(site: PaperSite) -> None:
    one = pen(1)
    new_floor = "00000000-0000-4000-8000-0000000000f2"
    bad = one.set(new_floor, "identity", {"parent": SITE}, type="floor")
    site.push(bad)
    (answer,) = site.push(one.set(KID, "identity", {"number": "9", "parent": new_floor}))
    assert answer.code == "refers-to-refused"


def test_corrected_it_goes_in_and_those_that_followed_it_follow(site: PaperSite) -> None:
    one = pen(1)
    new_floor = "00000000-0000-4000-8000-0000000000f2"
    bad = one.set(new_floor, "identity", {"parent": SITE}, type="floor")
    child = one.set(KID, "identity", {"number": "9", "parent": new_floor})
    site.push(bad, child)
    good = one.set(new_floor, "identity", {"name": "Second", "parent": SITE}, type="floor", replaces=bad["id"])
    again = one.set(KID, "identity", {"number": "9", "parent": new_floor}, replaces=child["id"])
    assert [answer.result for answer in site.push(good, again)] == ["applied", "applied"]


def test_who_saw_a_refused_operation_has_seen_the_one_that_corrects_it(site: PaperSite) -> None:
    one = pen(1)
    bad = one.set(ROOM, "walk", {"order": -5})
    later = one.set(ROOM, "walk", WALK_2, seen=bad["id"])
    good = one.set(ROOM, "walk", WALK_1, replaces=bad["id"])
    site.push(bad)
    answers = site.push(good, later)
    assert [answer.result for answer in answers] == ["applied", "applied"]
    assert site.conflicts(ROOM) == []


def test_a_refused_operation_is_judged_by_what_it_had_seen(site: PaperSite) -> None:
    one = pen(1)
    first = one.set(ROOM, "walk", WALK_1)
    bad = one.set(ROOM, "walk", {"order": -5}, seen=first["id"])
    third = one.set(ROOM, "walk", WALK_3, seen=bad["id"])
    assert [answer.result for answer in site.push(first, bad, third)] == ["applied", "refused", "applied"]


def test_the_own_conflict_closes_through_a_refused_operation_between(site: PaperSite) -> None:
    bob = pen(2, BOB)
    lost = lost_by_bob(site, bob)
    bad = bob.set(ROOM, "walk", {"order": -5}, seen=lost)
    site.push(bad)
    site.push(bob.set(ROOM, "walk", WALK_1, seen=bad["id"]))
    assert site.conflicts(ROOM) == []


def test_corrections_of_each_other_do_not_go_round_for_ever(site: PaperSite) -> None:
    one = pen(1)
    a = one.set(ROOM, "walk", {"order": -1})
    b = one.set(ROOM, "walk", {"order": -2}, replaces=a["id"])
    a["replaces"] = b["id"]
    answers = site.push(a, b, one.set(ROOM, "walk", WALK_1, seen=a["id"]))
    assert answers[2].result in ("applied", "conflict")


def test_who_saw_an_applied_operation_has_not_seen_what_claims_to_correct_it(site: PaperSite) -> None:
    one = pen(1)
    first = one.set(ROOM, "walk", WALK_1)
    site.push(first, one.set(ROOM, "walk", WALK_2, seen=first["id"], replaces=first["id"]))
    (answer,) = site.push(pen(2, BOB).set(ROOM, "walk", WALK_3, seen=first["id"]))
    assert answer.result == "conflict"


def test_who_saw_what_nobody_knows_has_not_seen_what_claims_to_correct_it(site: PaperSite) -> None:
    one, unknown = pen(1), "nobody.00000000.1"
    site.push(one.set(ROOM, "walk", WALK_1, replaces=unknown))
    (answer,) = site.push(pen(2, BOB).set(ROOM, "walk", WALK_3, seen=unknown))
    assert answer.result == "conflict"


def test_a_missing_right_refuses_one_operation_and_not_the_rest(site: PaperSite) -> None:
    one = pen(1)
    first, second = one.set(ROOM, "walk", WALK_1), one.set(ROOM, "hours", {"hours_year": 10})
    answers = site.push(first, second, flaws={first["id"]: Flaw("no-right", {})})
    assert [answer.result for answer in answers] == ["refused", "applied"]


# -- held


def test_held_operations_are_answered_and_change_nothing(site: PaperSite) -> None:
    before = site.digest()
    (answer,) = site.push(pen(1).set(ROOM, "walk", WALK_1), held=True)
    assert answer.result == "held"
    assert site.digest() == before


def test_what_refers_to_a_held_record_is_held_with_it(site: PaperSite) -> None:
    new_floor = "00000000-0000-4000-8000-0000000000f2"
    site.push(pen(1).set(new_floor, "identity", {"name": "Second", "parent": SITE}, type="floor"), held=True)
    (answer,) = site.push(pen(2, BOB).set(KID, "identity", {"number": "9", "parent": new_floor}))
    assert (answer.result, answer.code) == ("held", "waits-for-held")


# -- two phones make one record


def test_one_record_made_on_two_phones_with_the_same_values_is_one(site: PaperSite) -> None:
    value = {"number": "9", "parent": FLOOR}
    site.push(pen(1).set(KID, "identity", value))
    (answer,) = site.push(pen(2, BOB).set(KID, "identity", value))
    assert answer.result == "same"


def test_one_record_made_on_two_phones_with_other_values_is_a_conflict(site: PaperSite) -> None:
    site.push(pen(1).set(KID, "identity", {"number": "9", "parent": FLOOR}))
    (answer,) = site.push(pen(2, BOB).set(KID, "identity", {"number": "10", "parent": FLOOR}))
    assert answer.result == "conflict"


def test_every_change_has_a_sequence_of_its_own(site: PaperSite) -> None:
    removed_floor(site)
    site.push(*(pen(n).set(KID[:-1] + str(n), "identity", {"number": str(n), "parent": FLOOR}) for n in range(2, 6)))
    sequences = [state.seq for state in site.states.values()]
    assert len(set(sequences)) == len(sequences)
    assert max(sequences) == site.head
    assert ANN in {state.facets["identity"]["by"] for state in site.states.values()}


# -- what tells of work stays below what is removed

WORK = "00000000-0000-4000-8000-0000000000c1"


def work_in_the_room(site: PaperSite, number: int = 3) -> None:
    found = {"parent": ROOM, "words": "A cover is cracked", "noted_at": "2026-05-02T09:00:00Z"}
    (answer,) = site.push(pen(number, BOB).set(WORK, "identity", found, type="punch_point"))
    assert answer.result == "applied"


def test_a_removal_that_saw_the_work_below_it_takes_effect_and_the_work_stays(site: PaperSite) -> None:
    work_in_the_room(site)
    (answer,) = site.push(pen(1).remove(ROOM, {**all_seen(site, ROOM), WORK: None}))
    assert answer.result == "applied"
    assert site.states[ROOM].removed
    assert not site.states[WORK].removed


def test_a_removal_that_did_not_see_the_work_below_it_is_a_conflict(site: PaperSite) -> None:
    seen = all_seen(site, ROOM)
    work_in_the_room(site)
    (answer,) = site.push(pen(1).remove(ROOM, seen))
    assert answer.result == "conflict"
    assert not site.states[ROOM].removed


def test_what_does_not_stay_is_not_left_below_by_being_named(site: PaperSite) -> None:
    (answer,) = site.push(pen(1).remove(FLOOR, {**all_seen(site, FLOOR), ROOM: None}, type="floor"))
    assert answer.result == "conflict"
    assert not site.states[FLOOR].removed


def test_work_noted_and_removed_around_in_one_push_stays(site: PaperSite) -> None:
    one = pen(1)
    found = one.set(WORK, "identity", {"parent": ROOM, "words": "A cover is cracked"}, type="punch_point")
    answers = site.push(found, one.remove(ROOM, {**all_seen(site, ROOM), WORK: None}))
    assert [answer.result for answer in answers] == ["applied", "applied"]
    assert not site.states[WORK].removed


def test_work_that_arrives_below_what_was_removed_is_kept_until_somebody_who_saw_it_leaves_it_removed(
    site: PaperSite,
) -> None:
    site.push(pen(1).remove(ROOM, all_seen(site, ROOM)))
    work_in_the_room(site)
    (conflict,) = site.conflicts(ROOM)
    unaware = pen(2).remove(ROOM, all_seen(site, ROOM), settles=[conflict])
    assert site.push(unaware)[0].result == "conflict"
    again = pen(4).remove(ROOM, {**all_seen(site, ROOM), WORK: None}, settles=site.conflicts(ROOM))
    assert site.push(again)[0].result == "applied"
    assert site.conflicts(ROOM) == []
    assert (site.states[ROOM].removed, site.states[WORK].removed) == (True, False)
