"""What was last noted of a fixture, in the order in which the server took it. Twin: pwa/rules/installing/last_word.js."""

from __future__ import annotations

from collections.abc import Iterable

from spanwalk.rules.record_types import EmergencyTestView, FunctionTestView, InstallationView, VisitView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import facet


def place_of(record: InstallationView | VisitView | EmergencyTestView | FunctionTestView | Record) -> int:
    """Sequence under which the server took what made a record; 0 where that was not asked for."""
    return record.get("seqs", {}).get("identity", 0)


def last_word(installations: Iterable[InstallationView], position: int) -> InstallationView | None:
    """The last word on one fixture; None where nobody has noted anything.

    A phone's clock decides only between records of which no sequence is known.

    Parameters
    ----------
    installations : iterable of view records
        What was noted in one group.
    position : int
        The fixture.
    """
    return last_words(installations).get(position)


def last_words(installations: Iterable[InstallationView]) -> dict[int, InstallationView]:
    """The last word on each fixture of a group, by position.

    Examples
    --------
    >>> noted = [
    ...     {"id": id, "facets": {"identity": {"position": 1, "outcome": outcome}}, "seqs": {"identity": seq}}
    ...     for id, outcome, seq in (("b", "not-done-after-all", 9), ("a", "done", 4))
    ... ]
    >>> last_words(noted)[1]["id"]
    'b'
    """
    return {facet(each, "identity").get("position", 0): each for each in sorted(installations, key=_when)}


def _when(installation: InstallationView) -> tuple[int, str]:
    at = facet(installation, "identity").get("noted_at") or installation.get("at", {}).get("identity", "")
    return place_of(installation), str(at)


__all__ = ["last_word", "last_words", "place_of"]
