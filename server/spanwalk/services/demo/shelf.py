"""The demo firm's catalogue: the items that the demo's building has, under the same ids, as if it had taken them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sqlalchemy.orm import Session

from spanwalk.records import IDENTITY, PARENT
from spanwalk.services.catalogue.firm import keep_catalogue
from spanwalk.services.catalogue.versions import take
from spanwalk.services.demo.building import Saved
from spanwalk.services.people.people import set_role
from spanwalk.services.sync.server_operations import ServerOperation, server_push

ITEM, PRICE = "catalogue_item", "price"


def fill_catalogue(session: Session, people: Mapping[str, str], site: str, operations: Iterable[Saved]) -> None:
    """Make the firm's catalogue of the operations that wrote a building's items, and note that the building took it.

    Parameters
    ----------
    session : Session
        A writing transaction.
    people : mapping of str to str
        Ids of the demo's people by name; owner and manager keep it.
    site : str
        The building.
    operations : iterable of operations
        The building's.
    """
    firm = keep_catalogue(session, people["owner"])
    set_role(session, firm, people["manager"], "manager")
    copies = [_copy(each, firm) for each in operations if each["type"] in (ITEM, PRICE)]
    server_push(session, firm, copies, by=people["manager"])
    take(session, site, people["manager"])


def _copy(operation: Saved, firm: str) -> ServerOperation:
    moved = {PARENT: firm} if operation["type"] == ITEM and operation["facet"] == IDENTITY else {}
    return {
        "record": operation["record"],
        "type": operation["type"],
        "facet": operation["facet"],
        "to": {**operation["to"], **moved},
    }


__all__ = ["fill_catalogue"]
