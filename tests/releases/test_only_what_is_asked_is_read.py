"""Screens of a site late in its job read what their answer hangs on, not all that was noted; the answer is the same."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

import pytest
from sqlalchemy.orm import Session
from tests.support.installation import Installation
from tests.support.late_site import counted_whole, late_installation

from spanwalk.rules.installing.outcomes import newest_outcomes
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.planning.plans import SitePlan, site_plan
from spanwalk.services.planning.released import conversion_in_force, released_as_planned
from spanwalk.services.releases import emergency_tests
from spanwalk.services.site_order.fixed import FITTED, RELEASED, fixed_groups
from spanwalk.services.site_order.not_paying import not_paying, not_paying_of
from spanwalk.services.sync.state import records_in_part, site_records
from spanwalk.storage.database import reading


@pytest.fixture(scope="module")
def late(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with late_installation(tmp_path_factory.mktemp("late")) as made:
        yield made


@pytest.fixture
def session(late: Installation) -> Iterator[Session]:
    with late.app.app_context(), reading() as found:
        yield found


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    return counted_whole(monkeypatch)


def fixed_by_all_records(session: Session, site: str, found: SitePlan) -> dict[str, str]:
    """The same as `fixed_groups`, of every record."""
    survey = Survey(site_records(session, site, who=True))
    told: dict[str, str] = {}
    for id in found.plans:
        group: Any = found.survey.by_id[id]
        noted = newest_outcomes(survey, group).values()
        if any(facet(each, "identity").get("outcome") == "done" for each in noted):
            told[id] = FITTED
        elif conversion_in_force(survey, group) is not None:
            told[id] = RELEASED
    return told


def test_values_of_records_in_part_are_those_of_the_whole_record(late: Installation, session: Session) -> None:
    fields = (("identity", "number"), ("identity", "frozen", "emergency"), ("identity", "facts", "fit"), ("withdrawn",))
    whole = site_records(session, late.site, types=("conversion",))
    for some in (fields, fields[1:2], fields[3:]):
        told = records_in_part(session, late.site, "conversion", some)
        assert [(each["id"], each["parent"], each["removed"]) for each in told] == [
            (each["id"], each["parent"], each["removed"]) for each in whole
        ]
        for path in some:
            assert [within(each, path) for each in told] == [within(each, path) for each in whole]
    assert any(each["facets"].get("withdrawn") for each in whole)


def within(record: Any, path: tuple[str, ...]) -> Any:
    at = record["facets"]
    for name in path:
        at = (at or {}).get(name)
    return at


def test_emergency_tests_are_those_that_all_records_tell(late: Installation, session: Session) -> None:
    whole = emergency_tests.all_tests(site_records(session, late.site), emergency_tests.testers(session, late.site))
    assert emergency_tests.tests_of_site(session, late.site) == whole
    assert {"passed", "failed", "no test yet", "not converted yet"} <= {each["state"] for each in whole["lines"]}


def test_of_groups_without_emergency_fixtures_nothing_noted_is_read_for_the_tests(
    late: Installation, session: Session, read: Counter[str]
) -> None:
    groups = {each["group"] for each in emergency_tests.tests_of_site(session, late.site)["lines"]}
    noted = site_records(session, late.site, types=("installation",))
    of_others = [each for each in noted if each["parent"] not in groups]
    assert of_others
    assert read["conversion"] == 0, "of the frozen cards only what they say of emergency is read"
    assert read["installation"] - len(noted) < len(noted)
    assert read["installation"] - len(noted) <= sum(each["parent"] in _with_emergency(session, late) for each in noted)


def _with_emergency(session: Session, late: Installation) -> set[str | None]:
    told = records_in_part(session, late.site, "conversion", (("identity", "frozen", "emergency", "positions"),))
    tested = site_records(session, late.site, types=("emergency_test",))
    return {each["parent"] for each in told if each["facets"].get("identity")} | {each["parent"] for each in tested}


def test_groups_left_alone_are_those_that_all_records_tell(late: Installation, session: Session) -> None:
    found = site_plan(session, late.site)
    whole = fixed_by_all_records(session, late.site, found)
    assert fixed_groups(session, late.site, found) == whole
    assert {FITTED, RELEASED} <= set(whole.values())
    some = list(found.plans)[::3]
    near = {*some, *(found.inputs.partners.get(id) for id in some)}
    told = fixed_groups(session, late.site, found, some)
    assert told == {id: why for id, why in whole.items() if id in near}


def test_what_does_not_pay_is_told_of_what_was_noted_in_losing_groups_alone(
    late: Installation, session: Session, read: Counter[str]
) -> None:
    found = site_plan(session, late.site)
    whole = not_paying(found, fixed_by_all_records(session, late.site, found))
    read.clear()
    assert not_paying_of(session, late.site) == whole
    noted = read["installation"]
    assert noted < len(site_records(session, late.site, types=("installation",)))
    assert read["conversion"] == 0


def test_what_is_released_as_planned_is_told_without_the_cards(
    late: Installation, session: Session, read: Counter[str]
) -> None:
    found = site_plan(session, late.site)
    read.clear()
    told = released_as_planned(session, late.site, found)
    assert read["conversion"] == 0
    survey = Survey(site_records(session, late.site))
    assert told == {id for id, plan in found.plans.items() if _as_planned(survey, plan)}
    assert told


def _as_planned(survey: Survey, plan: Any) -> bool:
    conversion = conversion_in_force(survey, survey.by_id[plan["group"]])  # type: ignore[arg-type]
    planned = None if plan["proposal"] is None else plan["proposal"]["arrangement"]
    frozen = None if conversion is None else facet(conversion, "identity")["frozen"]["arrangement"]
    return plan["state"] == "ready" and frozen == planned
