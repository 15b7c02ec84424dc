"""How complete a site is, and what is open in it: gathered from records, photos and devices, judged when asked."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.records import spec
from spanwalk.reference import tables
from spanwalk.rules.judging.judged import judge_groups
from spanwalk.rules.judging.judging import RULES_VERSION
from spanwalk.rules.points.completeness import Completeness, completeness_in
from spanwalk.rules.points.found import FigureNotUsed, NotReady, OpenPoint, UnsentDevice
from spanwalk.rules.points.open_point_rules import RULES
from spanwalk.rules.points.open_points import SiteFacts, open_points_in
from spanwalk.rules.points.owners import Owner, owner_of
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey
from spanwalk.services.people.members import incarnation
from spanwalk.services.photos.photos import photos_arrived
from spanwalk.services.planning.figures import figures_not_used
from spanwalk.services.planning.fingerprints import fingerprint_of
from spanwalk.services.planning.ground import Ground, ground_of, of_lines, to_lines
from spanwalk.services.planning.kept_answers import keep_answer, kept_answer
from spanwalk.services.planning.neighbourhood import ORDERED, TooWide
from spanwalk.services.planning.plans import PLANNED_FROM, SitePlan, planner_here, site_plan
from spanwalk.services.planning.points_again import Answer, Around, found_again, installed, names
from spanwalk.services.planning.room_light import lights_off
from spanwalk.services.planning.totals import rooms_of_mixed_looks
from spanwalk.services.planning.under_way import being_planned
from spanwalk.services.sync.devices import list_devices
from spanwalk.services.sync.state import site_head, site_records
from spanwalk.services.walk.remeasuring import with_first_word

KEPT_POINTS = 200_000
"""Open points that a process keeps of all sites together; the site asked for last is always kept."""
KEPT_FROM_POINTS = 500
"""Open points from which on a site's are kept in the database too; fewer are found again in a moment."""
KEPT_AGAIN_FROM = 200
"""Records that changed since an answer was kept from which on it is kept anew; fewer are looked at again in a moment."""
_RULES_OF_POINTS = " ".join(rule.name for rule in RULES)
"""What was kept before there was a rule knows nothing of it."""
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
        All that they hang on besides the records, and that is the same for as long as the rules, the database's life and the
        site's figures are.
    beside : str
        Fingerprint of what changes beside them from minute to minute: photos that arrived, and what phones said.
    points : list of dict
        What is open.
    owners : list of Owner
        Of what each of them is.
    told : dict
        What is complete: see `rules.points.completeness.completeness`.
    installed : dict
        Floor's id -> outcome -> how many fixtures, by what was noted last of each.
    names : dict
        What rooms and floors are called, by id.
    """

    head: int
    basis: tuple[object, ...]
    beside: str
    points: list[OpenPoint]
    owners: list[Owner]
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
    """What is open on a site; kept for as long as nothing changes that it hangs on, and after a change found anew where that touches it.

    Raises
    ------
    Unavailable
        The plans of a large site are being made in the background, and what is open is found after them: see `plans.site_plan`.
    """
    head = site_head(session, site_id)
    around = _around(session, site_id)
    kept = _judged.get(site_id)
    if kept is None or (kept.head, kept.basis, kept.beside) != (head, around.basis, around.beside):
        kept = _from_before(session, site_id, head, around) or _judge(session, site_id, head, around)
    _judged.pop(site_id, None)
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
        """What all points hang on."""
        return (RULES_VERSION, _RULES_OF_POINTS, self.incarnation, repr(self.not_used))

    @cached_property
    def beside(self) -> str:
        """Fingerprint of what few points hang on. When a phone was last heard of is left out: each asks every minute."""
        return fingerprint_of([sorted(self.photos), self.devices])


def _around(session: Session, site_id: str) -> _Around:
    photos, devices = photos_arrived(session, site_id), _devices(session, site_id)
    return _Around(incarnation(session), photos, devices, figures_not_used(session, site_id))


def _from_before(session: Session, site_id: str, head: int, around: _Around) -> Judged | None:
    """What was found before this server started, or before some changes; None where it must all be found anew."""
    kept = kept_answer(session, site_id, "points", around.basis)
    if kept is None or kept.head > head:
        return None
    beside, told, installed, names, *points = kept.lines
    answer = Answer(
        [cast("OpenPoint", each[0]) for each in cast("list[list[object]]", points)],
        [Owner._make(each[1:]) for each in cast("list[list[object]]", points)],
        cast("Completeness", told),
        cast("dict[str, dict[str, int]]", installed),
        cast("dict[str, str]", names),
    )
    if (kept.head, beside) == (head, around.beside):
        return _as_judged(answer, head, around)
    return _after_changes(session, site_id, kept.head, answer, head, around)


def _after_changes(
    session: Session, site_id: str, since: int, before: Answer, head: int, around: _Around
) -> Judged | None:
    """What is open after changes that touch a part of the site; None where they may touch all of it."""
    kept = kept_answer(session, site_id, "ground", around.basis)
    ground = None if kept is None or kept.head != since else of_lines(kept.lines)
    if ground is None:
        return None
    beside = Around(around.photos, around.devices, around.not_used)
    try:
        again = found_again(session, site_id, since, before, ground, beside)
    except TooWide:
        return None
    found = _as_judged(again.answer, head, around)
    if again.changed >= KEPT_AGAIN_FROM:
        _keep(session, site_id, found, again.ground)
    return found


def _as_judged(answer: Answer, head: int, around: _Around) -> Judged:
    return Judged(head, around.basis, around.beside, *answer)


def _keep(session: Session, site_id: str, found: Judged, ground: Ground) -> None:
    if len(found.points) >= KEPT_FROM_POINTS:
        both = zip(found.points, found.owners, strict=True)
        points = ([point, *owner] for point, owner in both)
        lines = chain((found.beside, found.told, found.installed, found.names), points)
        keep_answer(session, site_id, "points", found.head, lines, found.basis)
        keep_answer(session, site_id, "ground", found.head, to_lines(ground), found.basis)


def _judge(session: Session, site_id: str, head: int, around: _Around) -> Judged:
    """What is open, from the site's plans: their records and judgements are at hand, so each row is read and judged once."""
    planner = planner_here()
    if planner is not None and planner.is_at_work(site_id):
        raise being_planned(session, site_id)
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
    told, owners = completeness_in(survey, points), [owner_of(survey, point) for point in points]
    read_again = with_first_word(session, site_id, planned.survey.all)
    ground = ground_of(planned, survey, facts["judgements"], facts["lights_off"], read_again)
    answer = Answer(points, owners, told, installed(survey, ground), names(survey))
    found = _as_judged(answer, head, around)
    _keep(session, site_id, found, ground)
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
