"""What else the server answers. Plans and judgements grow with the rules: only what always stands in them is promised."""

from __future__ import annotations

from marshmallow import fields

from spanwalk.messages.forms import Flag, ListOf, Message, Object, Text, Whole, identifier
from spanwalk.messages.sync import Answer
from spanwalk.records import ROLES


def _nested(message: type[Message], about: str = "", data_key: str | None = None) -> fields.Nested:
    return fields.Nested(
        message, required=True, metadata={"description": about or str(message.__doc__)}, data_key=data_key
    )


def _list(message: type[Message], about: str) -> ListOf:
    return ListOf(fields.Nested(message), about, about)


def _strings(about: str) -> ListOf:
    return ListOf(fields.String(), about, about)


def _number(about: str) -> fields.Float:
    return fields.Float(required=True, allow_none=True, metadata={"description": about})


class ProblemOut(Message):
    """Problem details, RFC 9457; the facts of its sentence stand in it too."""

    type = Text("a URN", "urn:spanwalk:problem:{code}")
    title = Text("text", "The status in words")
    status = Whole("an HTTP status")
    detail = Text("a sentence", "What, which, and what to do")
    code = Text("a code", "In kebab-case: what programs go by")


class HealthOut(Message):
    """State of the server."""

    status = Text("ok or failing", among=("ok", "failing"))
    version = Text("a version")
    database = Text("ok or no answer", among=("ok", "no answer"))


class ReadyOut(Message):
    """Whether the server can take work in, and of each part that it needs, how it stands."""

    ready = Flag("true or false")
    version = Text("a version")
    database = Text("ok or no answer", among=("ok", "no answer"))
    tables = Text(
        "ok, older, newer, none or not known",
        "Those of a newer version can be worked with while servers are exchanged one by one",
        among=("ok", "older", "newer", "none", "not known"),
    )
    photos = Text("ok or no answer", among=("ok", "no answer"))
    stopping = Flag("true or false", "It ends soon: send it nothing new")


STATES = ("active", "disabled", "left")


class PersonOnSite(Message):
    """Who is or was on a site."""

    id = identifier("a person's id")
    name = Text("a name")
    role = Text("a role", "Null: no longer on the site", among=ROLES, allow_none=True)
    state = Text("a state", "Whether they may sign in", among=STATES)


class SiteOfPerson(Message):
    """A site that a person is on."""

    id = identifier("a site's id")
    name = Text("a name")
    kind = Text("a kind of site", "A building, or the firm's catalogue", among=("building", "catalogue"))
    role = Text("a role", among=ROLES)
    archived_at = Text("a time", "When it was archived, and is only read since; null: in work", allow_none=True)
    people = _list(PersonOnSite, "who is or was on it")
    shut_out = Flag(about="The phone that asks is shut out of it", required=False)


class Person(Message):
    """Who is signed in."""

    id = identifier("a person's id")
    name = Text("a name")
    owner = Flag(about="Whether they keep the server")
    language = Text("a language tag", "Null: as the page comes", allow_none=True)
    units = Text("inches or millimetres", "Null: as each site has it", allow_none=True)


class ChangeOut(Message):
    """A change in how somebody signs in."""

    what = Text("a code", "As the audit calls it")
    at = Text("a time")
    phone = Text("a phone's id", "Null: it had not signed in here before, or none", allow_none=True)
    kind = Text("a device", "phone or computer", allow_none=True)
    copies = _strings("the names of its copies of sites")
    this = Flag(about="Whether it is the one that asks")
    new = Flag(about="Whether they have not said that they have read it")


class ChangesOut(Message):
    """What changed of late in how who asks signs in, the newest first."""

    changes = _list(ChangeOut, "the changes")


class SessionOut(Message):
    """Who is signed in, and the sites they are on."""

    person = _nested(Person)
    sites = _list(SiteOfPerson, "the sites they are on")
    changes = _list(ChangeOut, "what changed in how they sign in and is new to them")
    factor_first = Flag(about="Whether they must set up a second factor before anything else")


class SiteListed(Message):
    """A site in the list."""

    id = identifier("a site's id")
    name = Text("a name")
    kind = Text("a kind of site", "A building, or the firm's catalogue", among=("building", "catalogue"))
    role = Text("a role", among=ROLES)
    archived_at = Text("a time", "When it was archived, and is only read since; null: in work", allow_none=True)
    rooms = Whole("a count", "Rooms")
    rooms_done = Whole("a count", "Rooms that need no further visit")
    fixtures = Whole("a count", "Fixtures counted so far")
    people = Whole("a count", "People on it")
    heard_at = Text("a time", "When a phone of it was last heard of; null: never", allow_none=True)
    unsent = Whole("a count", "Operations and photos that its phones said they have not sent")


class SitesOut(Message):
    """The sites that who asks is on."""

    sites = _list(SiteListed, "the sites")


class SiteContentsOut(Message):
    """What goes when a site is deleted."""

    name = Text("a name")
    records = fields.Dict(
        keys=fields.String(),
        values=fields.Integer(),
        required=True,
        metadata={"description": "Records that are not removed, by type"},
    )
    operations = Whole("a count", "Operations in the log")
    held = Whole("a count", "Operations that wait for a manager")
    photos = Whole("a count", "Photos")
    photo_bytes = Whole("bytes", "Size of the photos")
    people = Whole("a count", "People on it")
    phones = Whole("a count", "Phones that know it")
    unsent = Whole("a count", "Operations and photos that its phones said they have not sent")


class OwnSession(Message):
    """A sign-in of one's own."""

    id = identifier("a sign-in's id")
    device = Text("a device", "phone, computer or unknown")
    created_at = Text("a time", "When it began")
    seen_at = Text("a time", "When it was last in use, to ten minutes")
    this = Flag(about="Whether it is the one that asks")


class OwnSessionsOut(Message):
    """Where who asks is signed in."""

    sessions = _list(OwnSession, "the sign-ins")


class PhoneItselfOut(Message):
    """What a phone is told of itself by its cookie, whoever is signed in on it."""

    known = Flag(about="Whether anybody has signed in on it")
    shut_out = Flag(about="Whether it is shut out of all sites")
    sites = _strings("the sites that it is shut out of")


class OwnPhoneSession(Message):
    """A sign-in of one's own on a phone."""

    id = identifier("a sign-in's id")
    created_at = Text("a time", "When it began")
    seen_at = Text("a time", "When it was last in use, to ten minutes")
    this = Flag(about="Whether it is the one that asks")


class OwnPhone(Message):
    """A phone that one has signed in on."""

    id = identifier("a phone's id")
    kind = Text("a device", "phone or computer")
    copies = _strings("the names of its copies of sites")
    signed_in_at = Text("a time", "When one signed in there last")
    seen_at = Text("a time", "When it was heard of last")
    operations = Whole("a count", "Operations of one's own that it says it has not sent")
    photos = Whole("a count", "Photos of one's own that it says it has not sent")
    shut_out = Flag(about="Whether it is shut out, of all sites or of some")
    this = Flag(about="Whether it is the one that asks")
    sessions = _list(OwnPhoneSession, "one's sign-ins there that still hold")


class OwnPhonesOut(Message):
    """The phones that who asks has signed in on."""

    phones = _list(OwnPhone, "the phones")


class PhoneOfFirm(Message):
    """A phone of the firm."""

    id = identifier("a phone's id")
    kind = Text("a device", "phone or computer")
    copies = _strings("the names of its copies of sites")
    people = _strings("who signed in on it, the last one first")
    signed_in_at = Text("a time", "When somebody signed in there last")
    seen_at = Text("a time", "When it was heard of last")
    operations = Whole("a count", "Operations that it says it has not sent")
    photos = Whole("a count", "Photos that it says it has not sent")
    shut_out_at = Text("a time", "Since when it is shut out of all sites", allow_none=True)
    this = Flag(about="Whether it is the one that asks")


class PhonesOfFirmOut(Message):
    """All phones of the firm, the one last in use first."""

    phones = _list(PhoneOfFirm, "the phones")


class EnrolmentMadeOut(Message):
    """A code for a second phone, told once."""

    id = identifier("a code's id")
    address = Text("an address", "Its secret stands after '#'")
    qr = _strings("the QR code's rows of 0 and 1")
    expires_at = Text("a time")


class EnrolmentStateOut(Message):
    """What has become of a code for a second phone."""

    state = Text("a state", among=("open", "used", "expired"))


class EnrolmentOpenedOut(Message):
    """Whom a code signs in."""

    name = Text("a name")
    expires_at = Text("a time")


class RoleOnSite(Message):
    """A site that a person is on, and as what."""

    id = identifier("a site's id")
    name = Text("a name")
    role = Text("a role", among=ROLES)


class PersonOfFirm(Message):
    """Someone of the firm."""

    id = identifier("a person's id")
    name = Text("a name")
    owner = Flag(about="Whether they keep the server")
    state = Text("a state", "Whether they may sign in", among=STATES)
    state_since = Text("a time", allow_none=True)
    has_password = Flag(about="Without one only a one-time link lets them in")
    factors = Whole("a count", "Second factors that they have")
    anonymised = Flag(about="Whether their name was taken out: nobody can sign in as them any more")
    sites = _list(RoleOnSite, "the sites they are on")


class PeopleOfFirmOut(Message):
    """Everybody of the firm."""

    people = _list(PersonOfFirm, "everybody, by name")


class LinkMadeOut(Message):
    """A one-time link, told this once."""

    id = identifier("a link's id")
    kind = Text("invite or reset", among=("invite", "reset"))
    address = Text("an address", "Its secret stands after '#', which no browser sends")
    qr = ListOf(fields.String(), "rows of 0 and 1", "The address as a QR code, row by row")
    expires_at = Text("a time")


class LinkListed(Message):
    """A one-time link without its secret."""

    id = identifier("a link's id")
    kind = Text("invite or reset", among=("invite", "reset"))
    role = Text("a role", "What an invitation gives", among=ROLES, allow_none=True)
    note = Text("text", "For whom an invitation is", allow_none=True)
    name = Text("a name", "Whose password it is, or who came by it", allow_none=True)
    made_by = Text("a name", "Null: made by a command", allow_none=True)
    made_at = Text("a time")
    expires_at = Text("a time")
    state = Text("a state", among=("open", "used", "withdrawn", "expired"))


class LinksOut(Message):
    """One-time links of a site and its people, the newest first."""

    links = _list(LinkListed, "the links")


class LinkOpenedOut(Message):
    """What a one-time link is for."""

    kind = Text("invite or reset", among=("invite", "reset"))
    firm = Flag(about="An invitation to the firm")
    owner = Flag(about="It makes an owner of the firm")
    site = Text("a name", "Of several sites, all their names", allow_none=True)
    role = Text("a role", among=ROLES, allow_none=True)
    name = Text("a name", "Whose password it is", allow_none=True)
    made_by = Text("a name", "Null: made by a command", allow_none=True)
    expires_at = Text("a time")


class AcceptedOut(SessionOut):
    """Who came by a one-time link, and the site it led to."""

    site = Text("a site's id", allow_none=True)


class InvitationTakenOut(Message):
    """The site that an invitation led to; null where it led to none, or to several."""

    site = identifier("a site's id", allow_none=True)


class DemoPerson(Message):
    """A person of the demo."""

    name = Text("a name")
    role = Text("a role", "Of the sites they are on, or 'no site'")
    password = Text("a password")


class DemoOut(Message):
    """How to sign in as each of the demo's people."""

    people = _list(DemoPerson, "the demo's people")


class SiteMadeOut(Message):
    """A site that was made."""

    id = identifier("a site's id")
    name = Text("a name")
    role = Text("a role", among=ROLES)


class PersonMadeOut(Message):
    """A person who was made."""

    id = identifier("a person's id")
    name = Text("a name")


class PeopleOut(Message):
    """Names and roles of those who are or were on a site."""

    people = _list(PersonOnSite, "the people")


class Device(Message):
    """A phone of a site."""

    id = identifier("a phone's id")
    person = identifier("a person's id", "Who used it last")
    name = Text("a name")
    seen_at = Text("a time", "When it was heard of last")
    operations = Whole("a count", "Operations that it says it has not sent")
    photos = Whole("a count", "Photos that it says it has not sent")
    since = Text("a time", "Since when it has something not sent", allow_none=True)
    revoked_at = Text("a time", "Since when it is shut out", allow_none=True)
    phone = identifier("a phone's id", "Null: not heard of since phones are enrolled", allow_none=True)
    kind = Text("a device", "phone or computer", allow_none=True)
    this = Flag(about="Whether it is the phone that asks")


class DevicesOut(Message):
    """The phones of a site, the one heard of last first."""

    devices = _list(Device, "the phones")


class Held(Message):
    """An operation that waits for a manager."""

    id = Text("an operation's id")
    operation = Object("an operation", "As it was sent")
    received_at = Text("a time")
    sender = identifier("a person's id", "Who sent it", allow_none=True)
    name = Text("a name", "Who made it", allow_none=True)
    sender_name = Text("a name", "Who sent it", allow_none=True)


class HeldOut(Message):
    """Operations that wait for a manager, in order of arrival."""

    held = _list(Held, "held operations")


class SettledOut(Message):
    """What became of those that were let in, in order of arrival."""

    answers = _list(Answer, "answers")


class PhotoOut(Message):
    """The receipt of a photo."""

    sha256 = Text("64 hexadecimal digits", "Its name: the hash of its bytes")
    bytes = Whole("a count", "How long it is")


class LabelsOut(Message):
    """How many labels were made."""

    made = Whole("a count")


class LabelsPrintedOut(Message):
    """How many labels were noted as printed."""

    marked = Whole("a count")


class LabelSheet(Message):
    """A sheet of labels that is offered."""

    id = Text("an id")
    paper = Text("a4 or letter")
    columns = Whole("a count")
    rows = Whole("a count")
    width_mm = _number("Width of a label [mm]")
    height_mm = _number("Height of a label [mm]")


class CannotPrint(Message):
    """Signs that cannot be printed, and in what they stand."""

    where = Text("a room, a kind, parts or words of the notice")
    signs = Text("those signs")


class NoticeLanguage(Message):
    """A language in which notices are printed."""

    tag = Text("a language tag")
    reviewed = Flag("true or false", "Whether somebody of the trade who speaks it has read it")
    regions = _strings("Regions whose electrical code it names")


class OutdatedLabels(Message):
    """Labels that were printed and say what is not so any more."""

    why = Text("release, place, room or kind", "What changed", among=("release", "place", "room", "kind"))
    said = Text("text", "What stands on them; '' where that is no word")
    now = Text("text", "What is so")
    labels = Whole("a count")


class LabelPrintOut(Message):
    """What is told before labels are printed."""

    labels = Whole("a count")
    pages = Whole("a count")
    address = Text("an address", "What the symbols lead to; null: they hold bare codes", allow_none=True)
    first_code = Text("a code", allow_none=True)
    first_text = Text("text", "What the first label's symbol says, to the letter", allow_none=True)
    symbol_mm = _number("Side of the dark square of the first symbol [mm]")
    module_mm = _number("Side of one module of it [mm]")
    shortened = Whole("a count", "Labels with something on them that ends in an ellipsis")
    cannot_print = _list(CannotPrint, "The first few places with signs that cannot be printed")
    cannot_print_in = Whole("a count", "Of all such places")
    outdated = _list(OutdatedLabels, "Labels that say what is not so any more, those with the same reason together")
    sheets = _list(LabelSheet, "Sheets that are offered")
    places = Whole("a count", "Labels on one page")
    languages = _list(NoticeLanguage, "Languages that notices are offered in")
    notice_says = _strings("What a notice would say, the first line first")


class ScannedItem(Message):
    """An item in a fixture, as anybody may know it."""

    kind = Text("bar, driver or accessory")
    code = Text("a code")
    number = Whole("a count")
    setting_ma = Whole("a current", "Current that a driver is set to [mA]", allow_none=True)


class ScannedOut(Message):
    """What a label shows to anyone; what its site did not choose is left out."""

    code = Text("a code", "The label's own, as it is stored")
    now = Text("converted or not-noted", among=("converted", "not-noted"), required=False)
    takes_no_lamps = Flag("true or false", required=False)
    items = ListOf(fields.Nested(ScannedItem), "items", "Null: not noted item by item", required=False, allow_none=True)
    fitted_on = Text("a day", "When it was converted", required=False)
    serials = ListOf(Text("a number"), "batch or serial numbers of what is in it", required=False)
    firm = Text("text", "Who converted it", required=False)
    call = Text("text", "Whom to call", required=False)
    removed = Flag("true where it is gone, or its group was removed: it is shown as it was last", required=False)
    recalled = Flag("true where an item in it was recalled", required=False)


class Share(Message):
    """How many of how many."""

    known = Whole("a count")
    complete = Whole("a count")
    share_pct = Whole("a percentage", allow_none=True)


class OpenPoint(Message):
    """What is still to be done or looked at, where, and by whom."""

    rule = Text("the name of a rule", "Its sentence is `open-point.{rule}`")
    record = Text("a record's id", allow_none=True)
    who = ListOf(Text("a role"), "roles", "Who can close it")
    path = Text("an address", "Where on the page", allow_none=True)
    facts = Object("facts", "Of its sentence")


class SiteInShort(Message):
    """How complete a site is, by floor and room, without its open points."""

    head = Whole("a sequence", "What it was judged by")
    complete = Flag()
    fixtures = _nested(Share)
    rooms = _nested(Share)
    points = Whole("a count")
    floors = ListOf(Object("a floor"), "floors", "The same by floor, and in it by room")
    installed = Object("counts", "What was noted last of each fixture: by floor, by outcome", values=fields.Dict())


class CompletenessOut(SiteInShort):
    """How complete a site is, by floor and room, and its open points where they were asked for."""

    open_points = ListOf(
        fields.Nested(OpenPoint), "open points", "Left out where they were not asked for", required=False
    )


class PointsIn(Message):
    """A floor, room, kind, role or person with how many points are open there."""

    id = Text("an id, mark or role", "`none`: of no floor, room or kind; of nobody yet")
    name = Text("text", "What it is called")
    points = Whole("a count")


class PointsByOut(Message):
    """How many points are open by floor, room, kind, who can close them or who has them."""

    head = Whole("a sequence", "What it was judged by")
    by = Text("floor, room, kind, who or person", "What they are counted by")
    points = Whole("a count")
    person = Text("a name", "What who was asked for is called; empty where nobody was")
    groups = _list(PointsIn, "groups of points")


class PointsOfOut(Message):
    """A page of open points."""

    head = Whole("a sequence", "What it was judged by")
    found = Whole("a count", "All of them, on all pages")
    points = _list(OpenPoint, "open points")
    persons = ListOf(Text("a name"), "names", "Who has each of them; empty where nobody has it yet")
    next = Whole("a count or nothing", "What to ask the next page with; null after the last", allow_none=True)


class FitsOut(Message):
    """What fits into each group, as the server judges it."""

    head = Whole("a sequence", "What it was judged by")
    rules_version = Text("a version", "Of the rules that judged")
    groups = Object("judgements", "By group: trusted cavity, rows of bars with their verdicts", values=fields.Dict())
    next = Text("a group's id or nothing", "The next page's `after`; null: this is the last", allow_none=True)


class GroupInShort(Message):
    """A group and its proposal in short."""

    group = identifier("a group's id")
    state = Text("a state", "Whether it is ready to be released")
    fixtures = Whole("a count", allow_none=True)


class FloorInShort(Message):
    """A floor and how many of its groups are ready."""

    floor = Text("a floor's id", allow_none=True)
    floor_name = Text("a name", allow_none=True)
    groups = Whole("a count")
    ready = Whole("a count")
    released = Whole("a count", "Of the ready ones, those that are released as they are planned")
    cost_share = _number("Its part of the cost of the job; null where there is no sum")
    rebate_share = _number("Its part of the rebate of the job; null where there is no sum")
    npv_share = _number("Its part of the net present value of the job; null where there is no sum")


class GroupsOut(Message):
    """A page of groups with their proposals in short."""

    head = Whole("a sequence", "What was planned from")
    groups = _list(GroupInShort, "groups")
    next = Whole("a place", "The next page's `from`; null: this is the last", allow_none=True)


class Energy(Message):
    """Energy now and then."""

    kwh_now = _number("kWh a year now")
    kwh_then = _number("kWh a year then")
    kw_saved = _number("kW saved")
    emission_saved_kg = _number("kg CO2-equivalent saved a year, of the meter and of heating fuel")
    kwh_saved = _number("kWh a year that the meter saves, with what cooling makes of it")
    heating_kwh = _number("kWh a year of fuel that heating takes more")


class Totals(Message):
    """What all that is ready needs, saves and costs."""

    groups = Whole("a count")
    fixtures = Whole("a count")
    quantities = ListOf(Object("an item"), "items", "What is to be ordered, with spares")
    energy = _nested(Energy)
    money = Object("sums", "Cost, rebate, saving, values over the years, sensitivity")
    waste = Object("counts", "Lamps, ballasts and batteries to be taken away")


class PlanOut(GroupsOut):
    """Totals of what is ready, floors, and the first page of groups."""

    rules_version = Text("a version", "Of the rules that planned")
    floors = _list(FloorInShort, "floors")
    catalogue = Text("a name", "The version of the firm's catalogue that it was planned with", allow_none=True)
    totals = _nested(Totals)


class GroupPlanOut(GroupInShort):
    """Every way to convert a group: the proposal, the next best, those rejected with the check that failed."""

    head = Whole("a sequence", "What was planned from")
    rules_version = Text("a version", "Of the rules that planned")
    room = identifier("a room's id", allow_none=True)
    kind = identifier("a kind's id", allow_none=True)
    proposal = Object("an arrangement", "Null where nothing can be proposed", required=False, allow_none=True)
    feasible = ListOf(Object("an arrangement"), "arrangements", "All that can be done, best first", required=False)
    rejected = ListOf(
        Object("an arrangement"), "arrangements", "What cannot, with the check that failed", required=False
    )


class FigureTable(Message):
    """A table of figures; each row with its source."""

    table = Text("a name")
    title = Text("a title")
    rows = ListOf(Object("a row"), "rows")


class FiguresOut(Message):
    """Every figure with its source and how it is known, and the site's own value where one stands."""

    tables = _list(FigureTable, "tables")
    not_used = ListOf(Object("a figure"), "figures", "Set for the site, and used by nothing")
    rows_not_used = ListOf(Object("a row"), "rows", "Added for the site, and used by nothing")
    offered = ListOf(Object("a row"), "rows", "Offered by other sites of this person; used here only once taken")


class LeftOut(Message):
    """A group that was left out of a release, and why."""

    group = identifier("a group's id")
    state = Text("a state")
    blockers = ListOf(fields.Raw(), "reasons")


class ReleaseOut(Message):
    """A release that was made."""

    release = identifier("a release's id")
    number = Whole("a number")
    released = ListOf(identifier("a group's id"), "groups", "Groups whose card was frozen anew")
    unchanged = ListOf(identifier("a group's id"), "groups", "Groups whose card stays as it was frozen before")
    left_out = _list(LeftOut, "groups that were left out, and why")


class Side(Message):
    """One of the two that are compared."""

    name = Text("a name")
    number = Whole("a number of a release", "Null: today", allow_none=True)
    made_at = Text("a time", "Empty: today")
    groups = Whole("groups in force")
    fixtures = Whole("fixtures in them")
    missing = ListOf(Whole("a number of a release"), "numbers", "Releases without frozen sums")


class DifferencesOut(Message):
    """What differs between two releases, or between a release and today."""

    before = _nested(Side, data_key="from")
    now = _nested(Side, data_key="to")
    currency = Text("a currency", "Empty where nobody said")
    groups = ListOf(
        fields.Dict(), "groups", "Groups that were added, are gone or have changed, each with what, from what to what"
    )
    same = Whole("groups that are the same in both")
    items = ListOf(fields.Dict(), "items", "Items of which another number is to be ordered: code, from, to, more")
    money = ListOf(fields.Dict(), "sums", "Sums of money and light: name, from, to, more; null where a group lacks it")


class EmergencyTest(Message):
    """One test of one emergency fixture, or that it has none."""

    group = identifier("a group's id")
    position = Whole("a number", "Which fixture of the group")
    state = Text("a state", "passed, failed, still due, too short, no test yet, or not converted yet")
    newest = Flag(about="Whether it is the fixture's newest")


class EmergencyTestsOut(Message):
    """Emergency fixtures that are released, each with its tests, the newest first."""

    fixtures = Whole("a count", "Fixtures")
    open = Whole("a count", "Those whose newest test did not pass")
    lines = _list(EmergencyTest, "tests")


class DocumentOut(Message):
    """An OpenAPI document."""

    openapi = Text("a version")
    info = Object("about the service")
    paths = Object("endpoints by path")
    components = Object("messages, and the values of all facets")
