"""Messages of archives of sites."""

from __future__ import annotations

from spanwalk.messages.forms import Flag, Message, Object, Text, Whole


class ArchiveOut(Message):
    """How the newest archive of a site stands."""

    state = Text("a state", "none, making, made or wrong", among=("none", "making", "made", "wrong"))
    made_at = Text("a time", "When it was begun", allow_none=True)
    earlier = Flag("whether it was begun before the site was last closed")
    done = Whole("a count", "Parts of the work that are done")
    total = Whole("a count", "Parts of the work in all")
    bytes = Whole("a count", "Its length")
    sha256 = Text("a hash", "Of the whole file", allow_none=True)
    last_entry = Text("a hash", "Of the last entry of who did what; to be written down elsewhere", allow_none=True)
    not_made = Object("reports", "Reports that could not be made, each with the reason")
    photos_missing = Whole("a count", "Photos that the server has no more")
    attachments_missing = Whole("a count", "Attachments that the server has no more")
    why = Object("a sentence", "Code and facts of why it could not be made", allow_none=True)
