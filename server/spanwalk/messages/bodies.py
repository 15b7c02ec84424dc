"""What else is asked of the server: bodies and queries of all endpoints but push and pull."""

from __future__ import annotations

from typing import NotRequired, TypedDict, get_args

from marshmallow import fields

from spanwalk.config import PUSH_OPERATIONS_MOST
from spanwalk.messages.answers import STATES
from spanwalk.messages.forms import DecimalText, Flag, ListOf, Message, Object, Text, Whole, WholeText, identifier
from spanwalk.messages.proofs import ProofIn, Shown
from spanwalk.records import RECORD_ID, ROLES
from spanwalk.rules.points.found import PointsBy

NAME_LETTERS_MOST = 200
NOTE_LETTERS_MOST = 2000
LINK_NOTE_LETTERS_MOST = 80
IDS_RIGHT = "a list of operations' ids"
IDS = {"maxItems": PUSH_OPERATIONS_MOST}


def _name(about: str, most: int = NAME_LETTERS_MOST) -> Text:
    return Text(f"text of 1 to {most} letters", about, least=1, most=most)


class SignInIn(ProofIn):
    """Who signs in; who has a second factor shows it once it was asked for."""

    name = _name("The person's name")
    password = _name("The person's password")


class SignIn(Shown):
    """Who signs in. As read."""

    name: str
    password: str


class SiteIn(Message):
    """A new site."""

    name = _name("The site's name", most=80)
    settings = Object(
        "settings, an object", "Its settings, by the schema site_settings", required=False, allow_none=True
    )


class NewSite(TypedDict):
    """A new site. As read."""

    name: str
    settings: NotRequired[dict[str, object] | None]


class ArchivedIn(Message):
    """Whether a site is archived."""

    archived = Flag(about="True: only read from now on; false: brought back")
    reason = Text(
        f"up to {NOTE_LETTERS_MOST} letters",
        "Why it is brought back; it is kept in the log",
        most=NOTE_LETTERS_MOST,
        required=False,
        load_default="",
    )


class SiteDeletedIn(Message):
    """A site's name, typed by whoever deletes it."""

    name = _name("The site's name as it stands")


class Archived(TypedDict):
    """Whether a site is archived. As read."""

    archived: bool
    reason: str


class SiteDeleted(TypedDict):
    """A site's name, typed by whoever deletes it. As read."""

    name: str


class PersonIn(Message):
    """A new person."""

    name = _name("The person's name")
    password = _name("The password to begin with")
    owner = Flag(about="Whether they keep the server", required=False, allow_none=True)


class NewPerson(TypedDict):
    """A new person. As read."""

    name: str
    password: str
    owner: NotRequired[bool | None]


class ShutOutIn(Message):
    """Whether a phone is shut out."""

    shut_out = Flag(about="True: it reads no more, and what it sends is held; false: it is let in again")


class ShutOut(TypedDict):
    """Whether a phone is shut out. As read."""

    shut_out: bool


class EnrolmentIn(Message):
    """One's own password, to bring a second phone in."""

    password = _name("One's own password")


class NewEnrolment(TypedDict):
    """One's own password, to bring a second phone in. As read."""

    password: str


class PasswordIn(Message):
    """A new password of one's own."""

    old = _name("The password until now")
    password = _name("The new password")


class NewPassword(TypedDict):
    """A new password of one's own. As read."""

    old: str
    password: str


class PersonChangeIn(Message):
    """What an owner changes of a person; what is not named stays."""

    state = Text("one of active, disabled, left", "Whether they may sign in", among=STATES, required=False)
    owner = Flag(about="Whether they keep the server", required=False)


class PersonChange(TypedDict):
    """What an owner changes of a person. As read."""

    state: NotRequired[str]
    owner: NotRequired[bool]


class InviteIn(Message):
    """An invitation to a site."""

    role = Text(f"one of {', '.join(ROLES)}", "The role it gives", among=ROLES)
    note = Text(
        f"text of at most {LINK_NOTE_LETTERS_MOST} letters",
        "For whom it is",
        most=LINK_NOTE_LETTERS_MOST,
        required=False,
        allow_none=True,
    )


class Invite(TypedDict):
    """An invitation to a site. As read."""

    role: str
    note: NotRequired[str | None]


class FirmInviteIn(Message):
    """An invitation to the firm."""

    owner = Flag(about="Whether they are an owner of the firm", required=False)
    sites = ListOf(identifier("a site's id"), "sites' ids", "Sites that they come onto", required=False)
    role = Text(f"one of {', '.join(ROLES)}", "Their role on those", among=ROLES, required=False, allow_none=True)
    note = Text(
        f"text of at most {LINK_NOTE_LETTERS_MOST} letters",
        "For whom it is",
        most=LINK_NOTE_LETTERS_MOST,
        required=False,
        allow_none=True,
    )


class FirmInvite(TypedDict):
    """An invitation to the firm. As read."""

    owner: NotRequired[bool]
    sites: NotRequired[list[str]]
    role: NotRequired[str | None]
    note: NotRequired[str | None]


class ResetIn(Message):
    """Whose password is to be a new one."""

    person = identifier("a person's id")


class Reset(TypedDict):
    """Whose password is to be a new one. As read."""

    person: str


class LinkIn(Message):
    """A one-time link that is opened."""

    secret = _name("What stands after '#' in the link")


class Link(TypedDict):
    """A one-time link that is opened. As read."""

    secret: str


class AcceptIn(LinkIn, ProofIn):
    """Coming by a one-time link; a new password needs the second factor of who has one."""

    name = Text("text", "One's own name, for an invitation", most=NAME_LETTERS_MOST, required=False, allow_none=True)
    password = _name("The password from now on")


class Accept(Link, Shown):
    """Coming by a one-time link. As read."""

    name: NotRequired[str | None]
    password: str


class OwnIn(Message):
    """What a person chooses for themselves; what is not named stays, null is as it comes."""

    name = Text("text", "One's own name", least=1, most=NAME_LETTERS_MOST, required=False)
    language = Text("a language tag", "One of those that the server has", most=20, required=False, allow_none=True)
    units = Text(
        "inches, millimetres or null",
        "Null: as each site has it",
        among=("inches", "millimetres"),
        required=False,
        allow_none=True,
    )


class RoleIn(Message):
    """A person's role on a site."""

    name = _name("The person's name")
    role = Text(
        f"one of {', '.join(ROLES)}, or null",
        "Null takes the person off the site",
        among=ROLES,
        required=False,
        allow_none=True,
    )


class RoleOnSite(TypedDict):
    """A person's role on a site; without one they are off it. As read."""

    name: str
    role: NotRequired[str | None]


class HeldIn(Message):
    """What becomes of held operations."""

    release = ListOf(
        fields.String(),
        IDS_RIGHT,
        metadata=IDS | {"description": "To be let in, by the ordinary rules"},
        required=False,
    )
    refuse = ListOf(fields.String(), IDS_RIGHT, metadata=IDS | {"description": "To be refused"}, required=False)


class HeldSettled(TypedDict):
    """What becomes of held operations. As read."""

    release: NotRequired[list[str]]
    refuse: NotRequired[list[str]]


class ReleaseIn(Message):
    """A release for the crews."""

    note = Text(
        f"text of at most {NOTE_LETTERS_MOST} letters",
        "For the crews",
        most=NOTE_LETTERS_MOST,
        required=False,
        allow_none=True,
    )
    from_memory_seen = ListOf(
        fields.String(),
        "list of texts, each 'what | row | source' as the plan names its figures from memory",
        "Figures from memory that who releases has seen",
        required=False,
    )


class NewRelease(TypedDict):
    """A release for the crews. As read."""

    note: NotRequired[str | None]
    from_memory_seen: NotRequired[list[str]]


class LabelsIn(Message):
    """Which fixtures are to have a label."""

    floor = Text(
        "the id of a floor", "Only fixtures of this floor; else of the site", most=36, required=False, allow_none=True
    )


class LabelsWanted(TypedDict):
    """Which fixtures are to have a label. As read."""

    floor: NotRequired[str | None]


class PhotoQuery(Message):
    """Which size of a photo."""

    size = Text("thumb, or nothing", "A small one", among=("thumb",), required=False)


class PhotoAsked(TypedDict):
    """Which size of a photo. As read."""

    size: NotRequired[str]


SHEET_MM_MOST, SHIFT_MM_MOST, LABELS_ACROSS_MOST, POSITION_MOST = 1000, 10, 500, 4000
BLANK_LABELS_MOST = 2000


class PlanPageQuery(Message):
    """Which page of a PDF."""

    page = WholeText("Which page, from 1", most=100_000, load_default=1, required=False)


class PlanPageAsked(TypedDict):
    """Which page of a PDF. As read."""

    page: int


LABELS = ("new", "all", "again", "outdated", "blank")
"""Which labels are printed."""


class SheetQuery(Message):
    """What is printed, and on which paper."""

    sheet = Text(
        "labels, notices, both or alignment",
        "Labels; notices alone; notices that are the labels too; or the page by which a printer is set",
        among=("labels", "notices", "both", "alignment"),
        load_default="labels",
        required=False,
    )
    what = Text(
        "new, all, again, outdated or blank",
        "Not printed so far; all; those that replace a voided one; that say what is not so any more; or codes on no fixture yet",
        among=LABELS,
        load_default="all",
        required=False,
    )
    floor = Text("the id of a floor", "Only fixtures of this floor; else of the site", required=False)
    room = Text("the id of a room", "Only fixtures of this room", required=False)
    group = Text("the id of a group", "Only fixtures of this group", required=False)
    position = WholeText("Only this fixture of the group", most=POSITION_MOST, required=False)
    paper = Text("a paper", "The id of a sheet, roll or own", load_default="a4", required=False)
    start = Text("a place of the sheet, from 1", "The first free place", load_default="1", required=False)
    width_mm = DecimalText("Width of a label [mm]", least=0, most=SHEET_MM_MOST, required=False)
    height_mm = DecimalText("Height of a label [mm]", least=0, most=SHEET_MM_MOST, required=False)
    gap_mm = DecimalText("Between the labels of a roll [mm]", least=0, most=SHEET_MM_MOST, required=False)
    page_width_mm = DecimalText("Width of the page [mm]", least=0, most=SHEET_MM_MOST, required=False)
    page_height_mm = DecimalText("Height of the page [mm]", least=0, most=SHEET_MM_MOST, required=False)
    columns = WholeText("Labels beside one another", most=LABELS_ACROSS_MOST, required=False)
    rows = WholeText("Labels below one another", most=LABELS_ACROSS_MOST, required=False)
    left_mm = DecimalText("From the page's left edge [mm]", least=0, most=SHEET_MM_MOST, required=False)
    top_mm = DecimalText("From the page's upper edge [mm]", least=0, most=SHEET_MM_MOST, required=False)
    across_mm = DecimalText("Between columns [mm]", least=0, most=SHEET_MM_MOST, required=False)
    down_mm = DecimalText("Between rows [mm]", least=0, most=SHEET_MM_MOST, required=False)
    shift_right_mm = DecimalText(
        "Everything is moved so far to the right [mm]",
        least=-SHIFT_MM_MOST,
        most=SHIFT_MM_MOST,
        load_default=0.0,
        required=False,
    )
    shift_down_mm = DecimalText(
        "Everything is moved so far down [mm]",
        least=-SHIFT_MM_MOST,
        most=SHIFT_MM_MOST,
        load_default=0.0,
        required=False,
    )
    count = WholeText("How many notices; else one for each label", most=BLANK_LABELS_MOST, required=False)
    date = Text("a date as it is to be printed", "The date on notices", most=20, load_default="", required=False)
    language = Text("a language's tag", "In which the words on them are", most=12, load_default="en", required=False)
    region = Text(
        "a region's two letters", "Whose electrical code notices name", most=2, load_default="", required=False
    )


class SheetAsked(TypedDict):
    """What is printed, and on which paper. As read."""

    sheet: str
    what: str
    floor: NotRequired[str]
    room: NotRequired[str]
    group: NotRequired[str]
    position: NotRequired[int]
    paper: str
    start: str
    width_mm: NotRequired[float]
    height_mm: NotRequired[float]
    gap_mm: NotRequired[float]
    page_width_mm: NotRequired[float]
    page_height_mm: NotRequired[float]
    columns: NotRequired[int]
    rows: NotRequired[int]
    left_mm: NotRequired[float]
    top_mm: NotRequired[float]
    across_mm: NotRequired[float]
    down_mm: NotRequired[float]
    shift_right_mm: float
    shift_down_mm: float
    count: NotRequired[int]
    date: str
    language: str
    region: str


class PrintedIn(Message):
    """Which labels came out of the printer: the same as were asked for."""

    what = Text("new, all, again, outdated or blank", among=LABELS)
    floor = identifier(about="Only of this floor", required=False, allow_none=True)
    room = identifier(about="Only of this room", required=False, allow_none=True)
    group = identifier(about="Only of this group", required=False, allow_none=True)
    position = Whole(
        "a whole number", "Only this fixture of the group", most=POSITION_MOST, required=False, allow_none=True
    )


class Printed(TypedDict):
    """Which labels came out of the printer. As read."""

    what: str
    floor: NotRequired[str | None]
    room: NotRequired[str | None]
    group: NotRequired[str | None]
    position: NotRequired[int | None]


class BlankIn(Message):
    """How many codes are to be made that hang on no fixture yet."""

    count = Whole(f"a whole number from 1 to {BLANK_LABELS_MOST}", least=1, most=BLANK_LABELS_MOST)


class BlankWanted(TypedDict):
    """How many codes are to be made that hang on no fixture yet. As read."""

    count: int


class GroupsQuery(Message):
    """Which page of groups."""

    floor = Text(
        "the id of a floor, or 'none'",
        "Only groups of this floor; none: of no floor",
        pattern=f"none|{RECORD_ID.pattern}",
        required=False,
    )
    start = WholeText("How many are passed over", data_key="from", load_default=0, required=False)


class GroupsAsked(TypedDict):
    """Which page of groups. As read."""

    floor: NotRequired[str]
    start: int


class FitsQuery(Message):
    """Which page of what fits into groups; neither is given: all of them."""

    after = identifier("a group's id", "Only groups after this one: the last page's `next`", required=False)
    limit = WholeText("Groups on a page; 200 are the most", required=False)


class FitsAsked(TypedDict):
    """Which page of what fits into groups. As read."""

    after: NotRequired[str]
    limit: NotRequired[int]


ROLE = Text(
    "a role", "Only those that this role can close", among=("owner", "manager", "surveyor", "crew"), required=False
)
PERSON = Text(
    "an id or none", "Only those that this person has; `none`: those that nobody has yet", most=60, required=False
)
BY = Text("floor, room, kind, who or person", "What they are counted by", among=get_args(PointsBy))


class CompletenessQuery(Message):
    """Whether all open points are told."""

    points = Text(
        "yes or no", "Whether all open points are told", among=("yes", "no"), load_default="yes", required=False
    )


class CompletenessAsked(TypedDict):
    """Whether all open points are told. As read."""

    points: str


class PointsByQuery(Message):
    """By what open points are counted."""

    by = BY
    role = ROLE
    person = PERSON


class PointsByAsked(TypedDict):
    """By what open points are counted. As read."""

    by: PointsBy
    role: NotRequired[str]
    person: NotRequired[str]


class PointsOfQuery(PointsByQuery):
    """Which page of which open points."""

    value = Text("an id, mark, role or person", "As told in `/open-points`", most=200)
    start = WholeText("How many are passed over", data_key="from", load_default=0, required=False)


class PointsOfAsked(PointsByAsked):
    """Which page of which open points. As read."""

    value: str
    start: int


class OrderQuery(Message):
    """Of which release the order is wanted."""

    release = WholeText(
        "Number of a release; not given: the newest that is not withdrawn", load_default=0, required=False
    )


class OrderAsked(TypedDict):
    """Of which release the order is wanted; 0: the newest. As read."""

    release: int


class DifferencesQuery(Message):
    """What is compared."""

    one = Text("the number of a release", "The earlier one", most=10, data_key="from")
    other = Text(
        "the number of a release, or 'today'",
        "The later one",
        most=10,
        data_key="to",
        load_default="today",
        required=False,
    )


class DifferencesAsked(TypedDict):
    """What is compared. As read."""

    one: str
    other: str
