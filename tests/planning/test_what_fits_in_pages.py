"""What fits into the groups of a site is told in pages, which together are what is judged of all of it at once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from tests.planning.demo_records import demo_records
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import as_pushed, store, store_changes
from tests.planning.test_planning_again import counted
from tests.support.installation import Installation, installed

from spanwalk.reference import tables
from spanwalk.rules.judging.judged import degrees, judge_groups
from spanwalk.rules.survey import Survey
from spanwalk.services.planning import fits, inputs
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading

GROUPS, PAGE, WHOLE = 60, 7, 40
Json = Any


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("large")) as installation:
        store(installation, [as_pushed(each) for each in invented_site(GROUPS)])
        yield installation


@pytest.fixture
def in_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fits, "PAGE_MOST", PAGE)
    monkeypatch.setattr(fits, "WHOLE_MOST", WHOLE)


def asked(here: Installation, query: str = "") -> Json:
    return here.call("manager", "GET", "/api/sites/{site}/fits" + query).json


def pages(here: Installation, first: str = f"?limit={PAGE}") -> Iterator[Json]:
    told = asked(here, first)
    yield told
    while told["next"] is not None:
        told = asked(here, f"?after={told['next']}")
        yield told


def together(told: Iterator[Json]) -> Json:
    return {id: fit for page in told for id, fit in page["groups"].items()}


def judged_at_once(here: Installation) -> Json:
    """Every group judged from all records, without a plan and without what was kept."""
    with here.app.app_context(), reading() as session:
        survey = Survey(site_records(session, here.site))
    judged = judge_groups(survey, tables())
    sure = degrees(survey, judged)
    return {id: {"degree": sure[id], **told} for id, told in judged.items()}


def without_verdict(groups: Json) -> Json:
    return {id: {name: said for name, said in told.items() if name != "verdict"} for id, told in groups.items()}


def test_all_of_a_small_site_is_told_at_once(tmp_path: Any) -> None:
    with installed(tmp_path / "data") as here:
        store(here, demo_records())
        told, expected = asked(here), judged_at_once(here)
    assert without_verdict(told["groups"]) == expected
    assert told["next"] is None
    assert len({each["verdict"] for each in told["groups"].values()}) > 1
    for each in told["groups"].values():
        best = each["best"]
        assert each["verdict"] == ("cannot tell" if best is None else each["fits"][best]["verdict"])


@pytest.mark.usefixtures("in_pages")
def test_pages_together_are_what_is_judged_of_all_at_once(large: Installation) -> None:
    told = list(pages(large))
    expected = judged_at_once(large)
    assert [len(each["groups"]) for each in told[:-1]] == [PAGE] * (len(expected) // PAGE)
    assert without_verdict(together(iter(told))) == expected
    assert len({each["head"] for each in told}) == 1


@pytest.mark.usefixtures("in_pages")
def test_who_asks_for_all_of_a_large_site_is_told_how_to_ask_for_pages(large: Installation) -> None:
    answer = large.call("manager", "GET", "/api/sites/{site}/fits")
    assert (answer.status_code, answer.json["code"]) == (422, "fits.in-pages")
    assert answer.content_type == "application/problem+json"
    assert (answer.json["field"], answer.json["most"]) == ("limit", PAGE)
    assert answer.json["groups"] == len(judged_at_once(large))


@pytest.mark.usefixtures("in_pages")
def test_a_page_is_no_longer_than_it_may_be_and_no_shorter_than_one_group(large: Installation) -> None:
    assert [len(asked(large, f"?limit={limit}")["groups"]) for limit in (0, 1, 2, PAGE, PAGE + 1)] == [
        *(1, 1, 2, PAGE, PAGE)
    ]


@pytest.mark.usefixtures("in_pages")
def test_a_page_judges_only_its_own_groups(large: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    first = asked(large, f"?limit={PAGE}")
    judged = counted(monkeypatch, inputs, "judge_group", lambda group, *_: str(group["id"]))
    second = asked(large, f"?after={first['next']}")
    assert judged == list(second["groups"])


@pytest.mark.usefixtures("in_pages")
def test_a_change_between_two_pages_hides_no_group_and_tells_none_twice(large: Installation) -> None:
    read = pages(large)
    first = next(read)
    with large.app.app_context(), reading() as session:
        groups = [each for each in site_records(session, large.site, types=("group",)) if not each["removed"]]
    gone = next(each for each in groups if each["id"] in first["groups"])
    store_changes(large, [{**gone, "removed": True}])
    rest = list(read)
    assert {each["head"] for each in rest}.isdisjoint({first["head"]})
    ids = [id for page in (first, *rest) for id in page["groups"]]
    assert len(ids) == len(set(ids))
    assert set(ids) == {gone["id"], *judged_at_once(large)}
