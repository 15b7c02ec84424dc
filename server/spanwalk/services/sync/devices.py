"""The phones of a site: listed, revoked."""

from __future__ import annotations

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from spanwalk.rules.points.found import UnsentDevice
from spanwalk.services.clock import now
from spanwalk.services.refusals import NotThere
from spanwalk.storage.tables import Device, Person


class DeviceSeen(UnsentDevice):
    """A phone of a site with what it said that it has not sent; `person` is the id of who holds it, `name` their name."""

    name: str
    seen_at: str
    revoked_at: str | None


def list_devices(session: Session, site_id: str) -> list[DeviceSeen]:
    """The phones of a site, the one heard of last first; `since` is when it first said it had unsent work."""
    query = (
        select(Device, Person.name)
        .join(Person, Person.id == Device.person)
        .where(Device.site == site_id)
        .order_by(Device.seen_at.desc())
    )
    return [
        {
            "id": device.id,
            "person": device.person,
            "name": name,
            "seen_at": device.seen_at,
            "operations": device.unsent_operations,
            "photos": device.unsent_photos,
            "since": device.unsent_since,
            "revoked_at": device.revoked_at,
        }
        for device, name in session.execute(query)
    ]


def revoke_device(session: Session, site_id: str, device_id: str) -> None:
    """Revoke a phone: it reads no more, and what it sends is held for a manager.

    Raises
    ------
    NotThere
        The site has not heard of that phone.
    """
    changed = session.execute(
        update(Device)
        .where(Device.site == site_id, Device.id == device_id)
        .values(revoked_at=now())
        .returning(Device.id)
    )
    if changed.first() is None:
        raise NotThere("device-unknown", value=device_id)
