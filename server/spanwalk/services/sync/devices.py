"""The phones of a site: which copy of it is on which, what they have not sent; shut out, and let in again.

A copy of a site on a phone has an id of its own (`device`), by which its operations are called. It belongs to the phone
that was first heard of with it: no other may ask by it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVarTuple

from sqlalchemy import Select, insert, or_, select, update
from sqlalchemy.orm import Session

from spanwalk.rules.points.found import UnsentDevice
from spanwalk.services.clock import later, now
from spanwalk.services.people.members import Member
from spanwalk.services.people.phones import end_sessions_of, note_on_site
from spanwalk.services.people.ranks import OFF_THE_SITE, OWNER_OF_THE_FIRM, RANK, Asker, roles_of
from spanwalk.services.refusals import InTheWay, NotAllowed, NotThere
from spanwalk.storage.tables import Device, Person, Phone, PhoneOfPerson, PhoneOnSite

Row = TypeVarTuple("Row")
SEEN_AGAIN_S = 60
"""A phone that has nothing new to say is written down once in so many seconds."""


class DeviceSeen(UnsentDevice):
    """A copy of the site on a phone, with what it said that it has not sent.

    `person` is the id of who holds it, `name` their name; `phone` is null until the phone has been heard of since phones
    are enrolled. A phone that has read the site without naming a copy stands in the list by its own id.
    """

    name: str
    seen_at: str
    revoked_at: str | None
    phone: str | None
    kind: str | None
    this: bool


# -- whose a device is


def note_device(session: Session, member: Member, device: str, operations: int, photos: int) -> None:
    """Write down that a phone was heard of, and how much it says it has not sent yet. It is that phone's from now on."""
    if not device_has_news(session, member, device, operations, photos):
        return
    here = (Device.site == member.site_id) & (Device.id == device)
    known = session.execute(select(Device.unsent_since, Device.revoked_at).where(here)).one_or_none()
    unsent = operations + photos > 0
    values: dict[str, object] = {
        "person": member.person_id,
        "seen_at": now(),
        "unsent_operations": operations,
        "unsent_photos": photos,
        "unsent_since": (known.unsent_since if known is not None else None) or now() if unsent else None,
    }
    if member.phone is not None:
        values["phone"] = member.phone
    if known is None:
        session.execute(insert(Device).values(site=member.site_id, id=device, first_at=now(), **values))
    else:
        session.execute(update(Device).where(here).values(**values))


def device_has_news(session: Session, member: Member, device: str, operations: int, photos: int) -> bool:
    """Whether what a phone says of itself differs from what is written, or that is a minute old."""
    row = session.execute(
        select(Device.person, Device.unsent_operations, Device.unsent_photos, Device.phone, Device.seen_at).where(
            Device.site == member.site_id, Device.id == device
        )
    ).one_or_none()
    told = (member.person_id, operations, photos, member.phone)
    return row is None or tuple(row)[:4] != told or row.seen_at < later(-SEEN_AGAIN_S)


def is_of_another(session: Session, member: Member, device: str) -> bool:
    """Whether a device is another phone's, on whichever site; or, before any phone has it, another person's.

    What the server brings in by itself is asked for nothing.
    """
    if member.phone is None:
        return False
    rows = session.execute(select(Device.phone, Device.person).where(Device.id == device)).all()
    return any(row.phone != member.phone if row.phone is not None else row.person != member.person_id for row in rows)


def is_of_shut_out(session: Session, member: Member, device: str) -> bool:
    """Whether a device is shut out of this site, by itself or because its phone is."""
    return bool(shut_out_among(session, member.site_id, {device}))


def shut_out_among(session: Session, site_id: str, devices: Iterable[str]) -> set[str]:
    """Those of some devices that are shut out of a site, by themselves or because their phone is."""
    query = (
        _with_phones(select(Device.id))
        .where(Device.site == site_id, Device.id.in_(set(devices)))
        .where(
            or_(Device.revoked_at.is_not(None), PhoneOnSite.shut_out_at.is_not(None), Phone.shut_out_at.is_not(None))
        )
    )
    return set(session.execute(query).scalars())


def inherit(session: Session, member: Member, device: str) -> None:
    """A phone that goes by a device that is shut out is that phone, or has its copy: it is shut out as well."""
    by = session.execute(
        select(PhoneOnSite.shut_out_by)
        .join(Device, (Device.phone == PhoneOnSite.phone) & (Device.site == PhoneOnSite.site))
        .where(Device.site == member.site_id, Device.id == device)
    ).scalar()
    note_on_site(session, member.site_id, str(member.phone), member.person_id, by or member.person_id)


def _with_phones(query: Select[*Row]) -> Select[*Row]:
    here = (PhoneOnSite.phone == Device.phone) & (PhoneOnSite.site == Device.site)
    return query.outerjoin(Phone, Phone.id == Device.phone).outerjoin(PhoneOnSite, here)


# -- listed, shut out, let in again


def list_devices(session: Session, site_id: str, asking: str | None = None) -> list[DeviceSeen]:
    """The phones of a site, the one heard of last first; `since` is when it first said it had unsent work.

    `asking` is the phone that asks.
    """
    query = _with_phones(
        select(Device, Person.name, Phone.kind, PhoneOnSite.shut_out_at, Phone.shut_out_at.label("of_all"))
        .join(Person, Person.id == Device.person)
        .where(Device.site == site_id)
    )
    told: list[DeviceSeen] = [
        {
            "id": device.id,
            "person": device.person,
            "name": name,
            "seen_at": device.seen_at,
            "operations": device.unsent_operations,
            "photos": device.unsent_photos,
            "since": device.unsent_since,
            "revoked_at": device.revoked_at or here or of_all,
            "phone": device.phone,
            "kind": kind,
            "this": device.phone is not None and device.phone == asking,
        }
        for device, name, kind, here, of_all in session.execute(query)
    ]
    told += _without_a_copy(session, site_id, {each["phone"] for each in told}, asking)
    return sorted(told, key=lambda each: each["seen_at"], reverse=True)


def _without_a_copy(session: Session, site_id: str, named: set[str | None], asking: str | None) -> list[DeviceSeen]:
    query = (
        select(PhoneOnSite, Person.name, Phone.kind, Phone.shut_out_at)
        .join(Person, Person.id == PhoneOnSite.person)
        .join(Phone, Phone.id == PhoneOnSite.phone)
        .where(PhoneOnSite.site == site_id)
    )
    return [
        {
            "id": here.phone,
            "person": here.person,
            "name": name,
            "seen_at": here.first_at,
            "operations": 0,
            "photos": 0,
            "since": None,
            "revoked_at": here.shut_out_at or of_all,
            "phone": here.phone,
            "kind": kind,
            "this": here.phone == asking,
        }
        for here, name, kind, of_all in session.execute(query)
        if here.phone not in named
    ]


def shut_out_device(session: Session, asker: Asker, member: Member, device_id: str, shut_out: bool) -> None:
    """Shut a phone out of a site, or let it in again. Shut out it reads no more, its sign-ins end, what it sends is held.

    Parameters
    ----------
    session : Session
        A writing transaction.
    asker : Asker
        Who does it.
    member : Member
        The same, on the site.
    device_id : str
        As it is listed: a copy of the site, or a phone.
    shut_out : bool
        False lets it in again.

    Raises
    ------
    NotThere
        The site has not heard of that phone.
    InTheWay
        It is the one that asks.
    NotAllowed
        Somebody who stands higher than who asks signs in on it.
    """
    phone = _phone_of(session, member.site_id, device_id)
    if phone is not None and phone == member.phone:
        raise InTheWay("device-in-hand")
    if phone is not None:
        _refuse_above(session, asker, member.site_id, phone)
    at = now() if shut_out else None
    same = Device.id == device_id if phone is None else or_(Device.id == device_id, Device.phone == phone)
    session.execute(update(Device).where(Device.site == member.site_id, same).values(revoked_at=at))
    if phone is None:
        return
    if shut_out:
        note_on_site(session, member.site_id, phone, member.person_id, shut_out_by=member.person_id)
        end_sessions_of(session, phone)
    else:
        here = (PhoneOnSite.site == member.site_id) & (PhoneOnSite.phone == phone)
        session.execute(update(PhoneOnSite).where(here).values(shut_out_at=None, shut_out_by=None))


def _phone_of(session: Session, site_id: str, device_id: str) -> str | None:
    """The phone of a listed id; None where the device has been heard of by no phone yet."""
    device = session.execute(select(Device.phone).where(Device.site == site_id, Device.id == device_id)).one_or_none()
    if device is not None:
        phone: str | None = device.phone
        return phone
    here = select(PhoneOnSite.phone).where(PhoneOnSite.site == site_id, PhoneOnSite.phone == device_id)
    found: str | None = session.execute(here).scalar_one_or_none()
    if found is None:
        raise NotThere("device-unknown", value=device_id)
    return found


def _refuse_above(session: Session, asker: Asker, site_id: str, phone: str) -> None:
    """Raise if somebody who stands higher than who asks signs in on a phone: it would sign them out."""
    query = (
        select(Person.id, Person.name, Person.owner)
        .join(PhoneOfPerson, PhoneOfPerson.person == Person.id)
        .where(PhoneOfPerson.phone == phone)
        .order_by(Person.name_key)
    )
    for person in session.execute(query).all():
        role = roles_of(session, person.id).get(site_id, "")
        if (OWNER_OF_THE_FIRM if person.owner else RANK.get(role, OFF_THE_SITE)) > asker.rank:
            raise NotAllowed("person-above", name=person.name)
