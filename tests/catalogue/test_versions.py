"""A building takes the firm's catalogue, sees what has changed since, and takes that by choice."""

from __future__ import annotations

from tests.catalogue.shelf import Shelf
from tests.support.installation import Installation, new_id


def test_before_an_owner_asks_there_is_no_catalogue_and_nothing_to_take(here: Installation) -> None:
    told = here.call("manager", "GET", "/api/sites/{site}/catalogue").json
    assert (told["firm"], told["taken"], told["differences"]) == (None, None, [])
    answer = here.call("manager", "POST", "/api/sites/{site}/catalogue/take", json={})
    assert (answer.status_code, answer.json["code"]) == (409, "catalogue-none")


def test_an_owner_who_asks_twice_is_given_the_same_catalogue(here: Installation, shelf: Shelf) -> None:
    assert here.call("owner", "POST", "/api/catalogue", json={"name": "Another"}).json["id"] == shelf.site
    sites = here.call("owner", "GET", "/api/sites").json["sites"]
    assert [(each["kind"], each["role"]) for each in sites] == [("building", "owner"), ("catalogue", "owner")]


def test_the_catalogue_stands_on_the_lists_of_those_alone_who_keep_it(here: Installation, shelf: Shelf) -> None:
    assert [each["kind"] for each in here.call("manager", "GET", "/api/sites").json["sites"]] == ["building"]
    put = here.call("owner", "PUT", f"/api/sites/{shelf.site}/people", json={"name": "manager", "role": "manager"})
    assert put.status_code == 200
    kinds = [each["kind"] for each in here.call("manager", "GET", "/api/sites").json["sites"]]
    assert kinds == ["building", "catalogue"]


def test_all_items_are_taken_at_once_under_the_same_ids(shelf: Shelf) -> None:
    item, price = shelf.bar("B-4")
    assert [(each["code"], each["change"], each["whose"]) for each in shelf.told()["differences"]] == [
        ("B-4", "new", "firm")
    ]
    assert shelf.taken()["items"] == 1
    building = shelf.building()
    assert building[item]["identity"] == {
        "parent": shelf.here.site,
        "item": "bar",
        "code": "B-4",
        "name": "Bar B-4",
    }
    assert building[price]["identity"] == {"parent": item, "each": 12.9}
    assert shelf.told()["differences"] == []
    version = building[shelf.here.site]["catalogue"]
    assert (version["catalogue"], version["left"]) == (shelf.site, 0)
    assert version == shelf.told()["taken"]


def test_what_is_taken_is_the_operations_of_the_person_who_took_it(here: Installation, shelf: Shelf) -> None:
    item, _ = shelf.bar("B-4")
    shelf.taken()
    record = next(each for each in here.pull("owner", "since=0&limit=5000")["records"] if each["id"] == item)
    assert {said["by"] for said in record["facets"].values()} == {here.people["manager"]}


def test_taking_again_changes_nothing(here: Installation, shelf: Shelf) -> None:
    shelf.bar("B-4")
    shelf.taken()
    head = here.pull("manager", "since=0&limit=5000")["head"]
    assert shelf.taken() == {"items": 0, "operations": 0, "version": shelf.told()["taken"]}
    assert here.pull("manager", "since=0&limit=5000")["head"] == head


def test_a_price_that_changes_is_one_item_changed_since_with_both_prices(shelf: Shelf) -> None:
    item, price = shelf.bar("B-4", 12.9)
    shelf.bar("B-2", 8.2)
    shelf.taken()
    shelf.price(item, price, 13.5)
    (difference,) = shelf.told()["differences"]
    assert (difference["item"], difference["change"], difference["whose"]) == (item, "changed", "firm")
    assert difference["fields"] == [{"type": "price", "facet": "identity", "field": "each", "here": 12.9, "firm": 13.5}]
    assert shelf.taken()["items"] == 1
    assert shelf.building()[price]["identity"]["each"] == 13.5


def test_chosen_items_are_taken_and_the_others_are_said_to_be_left(shelf: Shelf) -> None:
    (one, _), (other, _) = shelf.bar("B-2"), shelf.bar("B-4")
    answer = shelf.taken(items=[one])
    assert (answer["items"], answer["version"]["left"]) == (1, 1)
    assert one in shelf.building()
    assert other not in shelf.building()
    assert [each["item"] for each in shelf.told()["differences"]] == [other]
    assert shelf.taken()["version"]["left"] == 0


def test_what_was_left_is_still_the_firms_change_after_a_later_version(shelf: Shelf) -> None:
    (one, one_price), (other, other_price) = shelf.bar("B-2", 8), shelf.bar("B-4", 12)
    shelf.taken()
    shelf.price(one, one_price, 9)
    shelf.price(other, other_price, 13)
    shelf.taken(items=[one])
    assert [(each["item"], each["whose"]) for each in shelf.told()["differences"]] == [(other, "firm")]


def test_what_a_site_sets_itself_is_its_own_and_stays_unless_it_is_chosen(here: Installation, shelf: Shelf) -> None:
    item, price = shelf.bar("B-4", 12.9)
    shelf.taken()
    there = next(each for each in here.pull("manager", "since=0&limit=5000")["records"] if each["id"] == price)
    seen = there["facets"]["identity"]["op"]
    own = here.operation("manager", price, "price", "identity", {"parent": item, "each": 11.0}, seen=seen)
    assert here.push("manager", own)[0]["result"] == "applied"
    assert [(each["item"], each["whose"]) for each in shelf.told()["differences"]] == [(item, "own")]
    assert shelf.taken()["items"] == 0
    assert shelf.building()[price]["identity"]["each"] == 11.0
    assert shelf.taken(items=[item])["items"] == 1
    assert shelf.building()[price]["identity"]["each"] == 12.9


def test_an_item_removed_from_the_firms_catalogue_is_taken_off_with_its_price(shelf: Shelf) -> None:
    item, price = shelf.bar("B-4")
    shelf.taken()
    shelf.remove(price, "price", ("identity",))
    shelf.remove(item, "catalogue_item", ("identity", "bar"))
    assert [(each["item"], each["change"]) for each in shelf.told()["differences"]] == [(item, "removed")]
    shelf.taken()
    assert not {item, price} & set(shelf.building())
    assert shelf.told()["differences"] == []


def test_retired_and_recalled_come_with_a_version_like_any_other_change(shelf: Shelf) -> None:
    item, _ = shelf.bar("B-4")
    shelf.taken()
    shelf.say(item, "catalogue_item", "retired", {"retired": True, "reason": "no longer made"})
    shelf.say(item, "catalogue_item", "recall", {"reason": "cover falls off"})
    (difference,) = shelf.told()["differences"]
    assert {(each["facet"], each["field"], each["firm"]) for each in difference["fields"]} == {
        ("retired", "retired", True),
        ("retired", "reason", "no longer made"),
        ("recall", "reason", "cover falls off"),
    }
    shelf.taken()
    assert shelf.building()[item]["recall"] == {"reason": "cover falls off"}
    shelf.say(item, "catalogue_item", "recall", {})
    shelf.taken()
    assert shelf.building()[item]["recall"] == {}


def test_items_of_a_sites_own_are_left_alone_and_one_code_in_both_is_said(shelf: Shelf) -> None:
    own, _ = shelf.bar("B-4", site=shelf.here.site)
    theirs, _ = shelf.bar("B-4")
    told = shelf.told()
    assert (told["items"], told["own_items"], told["differences"][0]["same_code"]) == (1, 1, True)
    shelf.taken()
    assert {own, theirs} <= set(shelf.building())


def test_a_catalogue_that_moved_since_it_was_looked_at_is_not_taken_unseen(shelf: Shelf) -> None:
    shelf.bar("B-4")
    head = shelf.told()["firm"]["head"]
    shelf.bar("B-2")
    answer = shelf.take(head=head)
    assert (answer.status_code, answer.json["code"]) == (409, "catalogue-moved")
    assert shelf.told()["taken"] is None
    assert shelf.taken(head=shelf.told()["firm"]["head"])["items"] == 2


def test_what_cannot_be_taken_is_refused_with_its_reason(here: Installation, shelf: Shelf) -> None:
    shelf.bar("B-4")
    unknown = shelf.take(items=[new_id()])
    assert (unknown.status_code, unknown.json["code"]) == (404, "catalogue-item-unknown")
    itself = here.call("owner", "POST", f"/api/sites/{shelf.site}/catalogue/take", json={})
    assert (itself.status_code, itself.json["code"]) == (409, "catalogue-itself")
    wrong = shelf.take(items="all")
    assert (wrong.status_code, wrong.json["code"], wrong.json["field"]) == (422, "body-field-wrong", "items")
    assert shelf.told()["taken"] is None


def test_who_keeps_no_catalogue_may_still_take_it_and_a_surveyor_may_not(here: Installation, shelf: Shelf) -> None:
    shelf.bar("B-4")
    refused = shelf.take("surveyor")
    assert (refused.status_code, refused.json["code"]) == (403, "role-not-enough")
    assert shelf.take("manager").status_code == 200
    assert here.call("manager", "GET", f"/api/sites/{shelf.site}/catalogue").status_code == 404


def test_a_site_cannot_be_told_by_a_phone_which_version_it_took(here: Installation, shelf: Shelf) -> None:
    said = {"catalogue": shelf.site, "sequence": 1, "name": "mine"}
    (answer,) = here.push("owner", here.operation("owner", here.site, "site", "catalogue", said, spec=3))
    assert (answer["result"], answer["code"]) == ("refused", "no-right")


def test_the_firms_catalogue_says_which_buildings_have_an_item(here: Installation, shelf: Shelf) -> None:
    item, _ = shelf.bar("B-4")
    assert here.call("owner", "GET", f"/api/sites/{shelf.site}/catalogue/uses").json == {"uses": []}
    shelf.taken()
    (use,) = here.call("owner", "GET", f"/api/sites/{shelf.site}/catalogue/uses").json["uses"]
    assert (use["item"], use["sites"]) == (item, [{"id": here.site, "name": "Test building"}])
