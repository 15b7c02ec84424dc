"""What a label shows to whoever scans it without signing in: what its site chose, and of that only the fixture itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from ipaddress import IPv6Address, ip_address, ip_network
from typing import NotRequired, TypedDict, cast

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from spanwalk.rules.codes import CodeWrong, parse_code
from spanwalk.rules.constants import ENDS_VISITS
from spanwalk.rules.installing.as_fitted import FittedItem, fitted_items, released_at
from spanwalk.rules.installing.last_word import last_word
from spanwalk.rules.installing.replaced import by_code, items_now
from spanwalk.rules.record_types import ConversionView, GroupView, InstallationView, LabelView, SiteView
from spanwalk.rules.record_view import Record as View
from spanwalk.rules.survey import Survey, facet, has
from spanwalk.services.days import day_of, zone_of
from spanwalk.services.labels.labels import label_id
from spanwalk.services.people.signing_in import count_try, refuse_too_often
from spanwalk.services.refusals import NotThere, WrongInput
from spanwalk.services.sync.state import COLUMNS, view_record
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Record, Site

IS_NOW, FITS, NO_LAMPS, CALL, SINCE = "what-it-is-now", "what-fits", "takes-no-lamps", "whom-to-call", "since-when"
"""What a site may choose to show."""
CONVERTED, NOT_NOTED = "converted", "not-noted"
IPV6_PREFIX = 64
"""One subscriber's IPv6 addresses share their first 64 bits (RFC 6177 and common practice, from memory)."""


class ShownItem(TypedDict):
    """An item in the fixture: what kind, its code, how many; of a driver its setting [mA]."""

    kind: str
    code: str
    number: int
    setting_ma: int | None


class Shown(TypedDict):
    """What is shown of a fixture. What the site did not choose is left out; `items` null: not noted item by item.

    `removed`: it is gone, or its group was removed, and is shown as it was last. `recalled`: an item in it is, or was.
    """

    code: str
    now: NotRequired[str]
    takes_no_lamps: NotRequired[bool]
    items: NotRequired[list[ShownItem] | None]
    fitted_on: NotRequired[str]
    serials: NotRequired[list[str]]
    firm: NotRequired[str]
    call: NotRequired[str]
    removed: NotRequired[bool]
    recalled: NotRequired[bool]


def look_up(text: str, address: str) -> Shown:
    """What a label shows to anyone.

    A label that shows nothing answers like one that does not exist, and counts as a try: see `refuse_too_often`.

    Parameters
    ----------
    text : str
        The code, as scanned or typed.
    address : str
        Where the request came from.

    Raises
    ------
    WrongInput
        It is no code; that tells nothing, and does not count.
    TooOften
        Too many labels from there led nowhere.
    NotThere
        No such label, void, on no fixture, or its site shows nothing.
    """
    try:
        code = parse_code(text)
    except CodeWrong as wrong:
        raise WrongInput(wrong.code, **wrong.facts) from None
    tried = tried_from(address)
    with reading() as session:
        refuse_too_often(session, tried, tried, "label-too-often")
        shown = next(_shown_by_sites(session, code), None)
    if shown is None:
        with writing() as session:
            count_try(session, tried, tried)
        raise NotThere("label-not-shown")
    return shown


def tried_from(address: str) -> str:
    """Under what tries are counted, apart from those of signing in.

    >>> tried_from("2001:db8:1:2:3:4:5:6"), tried_from("192.0.2.7")
    ('label 2001:db8:1:2::/64', 'label 192.0.2.7')
    """
    try:
        parsed = ip_address(address)
    except ValueError:
        return f"label {address}"
    if isinstance(parsed, IPv6Address):
        return f"label {ip_network((int(parsed), IPV6_PREFIX), strict=False)}"
    return f"label {parsed}"


def _shown_by_sites(session: Session, code: str) -> Iterator[Shown]:
    """What each site shows that knows the label: one, but for the copy of a site."""
    id = label_id(code)
    query = select(Record.site).where(Record.site.in_(select(Site.id)), Record.id == id).order_by(Record.site)
    for site_id in session.execute(query).scalars():
        (label,) = _records(session, site_id, Record.id == id)
        shown = _shown(session, site_id, code, cast("LabelView", label))
        if shown is not None:
            yield shown


def _shown(session: Session, site_id: str, code: str, label: LabelView) -> Shown | None:
    binding = facet(label, "binding")
    if label["removed"] or has(label, "voided") or not binding:
        return None
    group_id, position = str(binding["group"]), int(binding["position"])
    near = Record.id.in_((site_id, group_id)) | (Record.parent == group_id)
    found = _records(session, site_id, near)
    found += _records(session, site_id, Record.type == "catalogue_item")
    survey = Survey(found)
    site, group = survey.by_id.get(site_id), survey.by_id.get(group_id)
    if site is None or group is None:
        return None
    return shown_of(cast("SiteView", site), survey, cast("GroupView", group), position, code)


def _records(session: Session, site_id: str, which: ColumnElement[bool]) -> list[View]:
    query = select(*COLUMNS).where(Record.site == site_id, which)
    return [view_record(row, who=True) for row in session.execute(query)]


def shown_of(site: SiteView, survey: Survey, group: GroupView, position: int, code: str) -> Shown | None:
    """What a site shows of one fixture; None where it chose nothing.

    Parameters
    ----------
    site : view record
        The site, with what it shows and its notice.
    survey : Survey
        With the group's conversions, and what was noted in it.
    group : view record
        The group.
    position : int
        The fixture.
    code : str
        The label's code.
    """
    chosen = set(facet(site, "anyone").get("shows") or ())
    if not chosen:
        return None
    noted = _done_or_undone(survey, group, position)
    converted = noted is not None and facet(noted, "identity").get("outcome") == "done"
    shown: Shown = {"code": code}
    if group["removed"] or position in facet(group, "count").get("gone", []):
        shown["removed"] = True
    if IS_NOW in chosen:
        shown["now"] = CONVERTED if converted else NOT_NOTED
    if NO_LAMPS in chosen and converted:
        shown["takes_no_lamps"] = True
    items = _items(survey, group, position, noted) if noted is not None and converted else None
    if FITS in chosen and converted:
        shown["items"] = None if items is None else _told(items)
    if {FITS, IS_NOW} & chosen and _is_recalled(survey, items or ()):
        shown["recalled"] = True
    if SINCE in chosen and noted is not None and converted:
        shown["fitted_on"] = day_of(facet(noted, "identity").get("noted_at"), zone_of(site))
        shown["serials"] = [one for each in items or () for one in each.get("serials") or ()]
    if CALL in chosen:
        notice = facet(site, "notice")
        shown["firm"], shown["call"] = notice.get("firm", ""), notice.get("call", "")
    return shown


def _is_recalled(survey: Survey, items: Sequence[FittedItem]) -> bool:
    """Whether the firm recalled an item that is in it; why is for those who work there."""
    catalogue = by_code(survey.of_type("catalogue_item"))
    return any(has(catalogue[each["code"]], "recall") for each in items if each["code"] in catalogue)


def _done_or_undone(survey: Survey, group: GroupView, position: int) -> InstallationView | None:
    """The last word on whether it is converted: a problem noted afterwards makes it no fixture for lamps again."""
    noted = survey.children(group, "installation")
    return last_word((each for each in noted if facet(each, "identity").get("outcome") in ENDS_VISITS), position)


def _items(survey: Survey, group: GroupView, position: int, noted: InstallationView) -> list[FittedItem] | None:
    """What is in it, as noted, with what was replaced since; where that was left in words only, which may name people, nothing."""
    identity = facet(noted, "identity")
    conversion = cast("ConversionView | None", survey.by_id.get(str(identity.get("conversion"))))
    fixtures = int(facet(group, "count").get("count", 1))
    released = released_at(conversion, position, fixtures)
    items = fitted_items(noted, released)
    if items is None and released and not identity.get("fitted"):
        items = released
    if items is None:
        return None
    failures = survey.children(group, "failure")
    here = (each for each in failures if facet(each, "identity").get("position") == position)
    return items_now(items, here, by_code(survey.of_type("catalogue_item")))


def _told(items: Sequence[FittedItem]) -> list[ShownItem]:
    return [
        {"kind": each["kind"], "code": each["code"], "number": each["number"], "setting_ma": each.get("setting_ma")}
        for each in items
    ]
