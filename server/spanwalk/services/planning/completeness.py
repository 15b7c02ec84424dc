"""How complete a site is, and what is open in it: gathered from records, photos and devices, judged when asked."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.records import spec
from spanwalk.reference import tables
from spanwalk.rules.installing.outcomes import newest_outcomes
from spanwalk.rules.judging.judged import judge_groups
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.judging.judging import RULES_VERSION
from spanwalk.rules.points.completeness import Completeness, completeness_in
from spanwalk.rules.points.found import FigureNotUsed, NotReady, OpenPoint, UnsentDevice
from spanwalk.rules.points.open_points import SiteFacts, open_points_in
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet, name_of_room
from spanwalk.services.people.members import incarnation
from spanwalk.services.photos.photos import photos_arrived
from spanwalk.services.planning.figures import figures_not_used
from spanwalk.services.planning.kept_answers import keep_answer, kept_answer
from spanwalk.services.planning.plans import PLANNED_FROM, SitePlan, site_plan
from spanwalk.services.planning.room_light import lights_off
from spanwalk.services.planning.totals import rooms_of_mixed_looks
from spanwalk.services.sync.devices import list_devices
from spanwalk.services.sync.state import site_head, site_records

KEPT_SITES = 8
ORDERED = ("installation", "problem_answer", "problem_reply", "difference_answer", "picking")
"""Types that are only added to: of several records the one that the server took last counts."""
KEPT_POINTS = 200_000
"""Open points that a process keeps of all sites together; the site asked for last is always kept."""
KEPT_FROM_POINTS = 500
"""Open points from which on a site's are kept in the database too; fewer are found again in a moment."""
_judgements: OrderedDict[tuple[str, int, str], Mapping[str, Judgement]] = OrderedDict()
_judged: OrderedDict[str, Judged] = OrderedDict()


class SiteInShort(Completeness):
    """How much of a site is done, what crews noted by floor, and the head that it holds for; of open points only how many."""

    installed: dict[str, dict[str, int]]
    head: int


class SiteCompleteness(SiteInShort):
    """A site in short, with every point that is open."""

    open_points: list[OpenPoint]


@dataclass(frozen=True)
class Judged:
    """A site's open points, in the order of the walk, and what they were found in.

    Parameters
    ----------
    head : int
        Sequence they hold for.
    basis : tuple
        All that they hang on besides the records: photos that arrived, what phones said, figures not used, the rules.
    points : list of dict
        What is open.
    told : dict
        What is complete: see `rules.points.completeness.completeness`.
    installed : dict
        Floor's id -> outcome -> how many fixtures, by what was noted last of each.
    names : dict
        What rooms and floors are called, by id.
    """

    head: int
    basis: tuple[object, ...]
    points: list[OpenPoint]
    told: Completeness
    installed: dict[str, dict[str, int]]
    names: dict[str, str]


def site_in_short(session: Session, site_id: str) -> SiteInShort:
    """Shares complete by floor and room, and how many points are open: a large site has very many (see `open_point_lists`).

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Returns
    -------
    dict
        What `rules.points.completeness.completeness` returns, with ``"installed"`` (floor's id -> outcome -> how many fixtures, by
        what was noted last) and the ``"head"`` it holds for.
    """
    return _in_short(judged_site(session, site_id))


def site_completeness(session: Session, site_id: str) -> SiteCompleteness:
    """A site in short, and every open point with who can close it and where.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Returns
    -------
    dict
        What `site_in_short` returns, with ``"open_points"``.
    """
    judged = judged_site(session, site_id)
    return {**_in_short(judged), "open_points": judged.points}


def _in_short(judged: Judged) -> SiteInShort:
    return {**judged.told, "installed": judged.installed, "head": judged.head}


def judged_site(session: Session, site_id: str) -> Judged:
    """What is open on a site; kept for as long as nothing changes that it hangs on."""
    head = site_head(session, site_id)
    around = _around(session, site_id)
    kept = _judged.pop(site_id, None)
    if kept is None or (kept.head, kept.basis) != (head, around.basis):
        kept = _from_before(session, site_id, head, around) or _judge(session, site_id, head, around)
    _judged[site_id] = kept
    while len(_judged) > 1 and sum(len(each.points) for each in list(_judged.values())) > KEPT_POINTS:
        _judged.popitem(last=False)
    return kept


@dataclass(frozen=True)
class _Around:
    """What open points hang on besides the records: the life of the database, photos, what phones hold, figures not used."""

    incarnation: str
    photos: list[str]
    devices: list[UnsentDevice]
    not_used: list[FigureNotUsed]

    @property
    def basis(self) -> tuple[object, ...]:
        """Equal where equal points come of it. When a phone was last heard of is left out: each asks every minute."""
        return (RULES_VERSION, self.incarnation, tuple(sorted(self.photos)), repr(self.devices), repr(self.not_used))


def _around(session: Session, site_id: str) -> _Around:
    photos, devices = photos_arrived(session, site_id), _devices(session, site_id)
    return _Around(incarnation(session), photos, devices, figures_not_used(session, site_id))


def _from_before(session: Session, site_id: str, head: int, around: _Around) -> Judged | None:
    """What was found before this server started, where nothing has changed since."""
    kept = kept_answer(session, site_id, "points", around.basis)
    if kept is None or kept.head != head:
        return None
    told, installed, names, *points = kept.lines
    return Judged(
        head,
        around.basis,
        cast("list[OpenPoint]", points),
        cast("Completeness", told),
        cast("dict[str, dict[str, int]]", installed),
        cast("dict[str, str]", names),
    )


def _keep(session: Session, site_id: str, found: Judged) -> None:
    if len(found.points) >= KEPT_FROM_POINTS:
        lines = [found.told, found.installed, found.names, *found.points]
        keep_answer(session, site_id, "points", found.head, lines, found.basis)


def _judge(session: Session, site_id: str, head: int, around: _Around) -> Judged:
    """What is open, from the site's plans: their records and judgements are at hand, so each row is read and judged once."""
    planned = site_plan(session, site_id)
    survey = Survey([*planned.survey.all, *_others(session, site_id)], inherits=False)
    facts: SiteFacts = {
        "photos_arrived": around.photos,
        "devices": around.devices,
        "judgements": judge_groups(survey, tables(), judged=planned.judgements),
        "figures_not_used": around.not_used,
        "not_ready": _not_ready(planned),
        "lights_off": lights_off(planned),
        "looks_mixed": rooms_of_mixed_looks(planned),
        "kinds_held": planned.inputs.kinds_held,
    }
    points = open_points_in(survey, facts, tables())
    told = completeness_in(survey, points)
    found = Judged(head, around.basis, points, told, _installed(survey), _names(survey))
    _keep(session, site_id, found)
    return found


def _names(survey: Survey) -> dict[str, str]:
    floors = {each["id"]: str(facet(each, "identity").get("name", "")) for each in survey.of_type("floor")}
    return floors | {each["id"]: name_of_room(each) for each in survey.of_type("room")}


def _installed(survey: Survey) -> dict[str, dict[str, int]]:
    """What was noted last of each fixture, counted by floor and outcome."""
    found: dict[str, dict[str, int]] = {}
    for group in survey.of_type("group"):
        for installation in newest_outcomes(survey, group).values():
            room = survey.room_of(group)
            floor = found.setdefault(str(room["parent"]) if room is not None else "", {})
            outcome = str(facet(installation, "identity").get("outcome", ""))
            floor[outcome] = floor.get(outcome, 0) + 1
    return found


def _others(session: Session, site_id: str) -> list[Record]:
    """The records that no plan is made from; those of which the newest counts also say at which sequence they came."""
    plain = [each for each in spec().types if each not in (*PLANNED_FROM, *ORDERED)]
    ordered = site_records(session, site_id, types=ORDERED, who=True)
    return [*site_records(session, site_id, types=plain), *ordered]


def _not_ready(planned: SitePlan) -> list[NotReady]:
    """Groups whose plan is not ready, with everything that keeps it from being so."""
    plans = planned.plans.items()
    return [{"group": group, "because": plan["blockers"]} for group, plan in plans if plan["state"] != "ready"]


def _devices(session: Session, site_id: str) -> list[UnsentDevice]:
    """The devices that are in use and hold work, each with the name of who holds it."""
    found: list[UnsentDevice] = [
        {
            "id": each["id"],
            "person": each["name"],
            "operations": each["operations"],
            "photos": each["photos"],
            "since": each["since"],
        }
        for each in list_devices(session, site_id)
        if each["revoked_at"] is None and each["operations"] + each["photos"] > 0
    ]
    return sorted(found, key=lambda each: each["id"])


def judgements(site_id: str, head: int, records: Sequence[Record]) -> Mapping[str, Judgement]:
    """Judgements of a site's groups, by group id; they hold as long as its head and the rules stay what they are."""
    key = (site_id, head, RULES_VERSION)
    if key not in _judgements:
        _judgements[key] = judge_groups(Survey(records), tables())
        while len(_judgements) > KEPT_SITES:
            _judgements.popitem(last=False)
    return _judgements[key]
