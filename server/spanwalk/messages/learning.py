"""Messages of what closed sites say together."""

from __future__ import annotations

from spanwalk.messages.forms import Flag, ListOf, Message, Object, Text, Whole


class LearntOut(Message):
    """The learning table, and how this site stands to it."""

    closed_sites = Whole("a count", "Closed sites whose numbers may serve others")
    least_sites = Whole("a count", "Fewer closed sites tell nothing")
    rows = ListOf(
        Object("a row"),
        "what it is of, key of the kind, sites, readings, value and how much sites differ, readings without and with it",
    )
    gives = Flag("whether this site's numbers may serve others once it is closed")
    takes = Flag("whether this site is judged with the firm's numbers")
    taken_at = Text("a time", "When this site took them", allow_none=True)
    kinds_taken = Whole("a count", "Keys of kinds that it took")
    is_newer = Flag("whether closed sites say otherwise by now")


class NumbersTakenOut(Message):
    """What a site took."""

    kinds = Whole("a count", "Keys of kinds of which there are numbers")
