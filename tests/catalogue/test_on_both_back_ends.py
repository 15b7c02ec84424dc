"""Taking a version asks of both databases what it needs: locks in one order, one transaction, many operations at once."""

from __future__ import annotations

from tests.catalogue.shelf import Shelf
from tests.support.back_ends import on_both

back_end = on_both()


def test_a_version_is_taken_changes_are_seen_and_taken(shelf: Shelf) -> None:
    (item, price), (gone, gone_price) = shelf.bar("B-4", 12.9), shelf.bar("B-2", 8)
    assert shelf.taken()["items"] == 2
    shelf.price(item, price, 13.5)
    shelf.remove(gone_price, "price", ("identity",))
    shelf.remove(gone, "catalogue_item", ("identity", "bar"))
    assert [(each["code"], each["change"]) for each in shelf.told()["differences"]] == [
        ("B-2", "removed"),
        ("B-4", "changed"),
    ]
    assert shelf.taken()["items"] == 2
    assert shelf.building()[price]["identity"]["each"] == 13.5
    assert gone not in shelf.building()
