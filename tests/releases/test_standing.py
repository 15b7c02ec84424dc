"""What a change of the survey means for a conversion that is released: the vectors of tests/vectors/standing.json, and properties.

What stops and what is only looked at is common practice, no published source: see seed_data/reference/standing.json.
"""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.releases.standing_cases import AT, BY, records_of, vectors

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Body, Catalogue
from spanwalk.rules.arrangements.card.frozen_facts import frozen_facts, frozen_item
from spanwalk.rules.judging.judged import to_judge
from spanwalk.rules.since_release.standing import done_at, fingerprint_of, standing_of
from spanwalk.rules.survey import Survey, facet

BASE, CASES = vectors()["records"], vectors()["cases"]
CONVERSION = "conversion of group"
STOPS = [
    row for row in tables()["standing"]["rows"] if row["class"] == "stop" and row["field"] not in ("*", "conflict")
]
OF_SURVEY = [row for row in STOPS if row["record"] in ("group", "kind", "room")]


def standing(records: list[dict[str, Any]], of: str = CONVERSION, position: int | None = None) -> Any:
    survey = Survey(records)
    return standing_of(survey, survey.by_id[of], tables(), position)


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_a_change_after_a_release_has_its_standing(case: Any) -> None:
    found = standing(records_of(BASE, case), case["of"], case["position"])
    expected = case["expect"]
    facts = [change["fact"] for change in found["changes"]]
    assert found["standing"] == expected["standing"], found
    assert set(expected["facts"]) <= set(facts) if case.get("only_some") else facts == expected["facts"]
    assert found["fingerprint"] == expected["fingerprint"]
    assert found["locked"] == (expected["standing"] in ("stop", "withdrawn", "superseded"))


@pytest.mark.parametrize("case", [case for case in CASES if "done" in case["expect"]], ids=lambda case: case["name"])
def test_what_is_done_says_under_which_release_and_whether_it_changed_since(case: Any) -> None:
    survey = Survey(records_of(BASE, case))
    found = done_at(survey, survey.by_id["group"], case["position"], tables())
    told = {name: found[name] for name in ("release", "standing", "changed")} if found is not None else None
    assert told == case["expect"]["done"]


def test_the_table_covers_what_the_survey_may_do_to_a_conversion() -> None:
    assert len(CASES) >= 25
    assert {case["expect"]["standing"] for case in CASES} == {"in force", "look", "stop", "withdrawn", "superseded"}


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_judging_only_what_was_written_since_comes_to_the_same(case: Any) -> None:
    """Each facet with its sequence: 50 as surveyed, 200 as changed; the release was made at 100."""
    records = records_of(BASE, case)
    for record in records:
        record["seqs"] = {name: 200 if record["at"].get(name) == AT else 50 for name in record["facets"]}
        if record["id"] in {each["id"] for each in case.get("add", [])}:
            record["seqs"] = dict.fromkeys(record["facets"], 200)
    assert standing(records, case["of"], case["position"]) == standing(
        records_of(BASE, case), case["of"], case["position"]
    )


def test_a_reading_taken_away_since_is_judged_though_nothing_newer_is_there() -> None:
    """All three readings are gone with no tombstone left: nobody knows the cavity any more."""
    records = [
        {**each, "seqs": dict.fromkeys(each["facets"], 50)}
        for each in records_of(BASE, {})
        if each["type"] != "cavity_reading"
    ]
    assert standing(records)["standing"] != "in force"


def test_a_change_says_who_made_it_and_when() -> None:
    case = next(case for case in CASES if case["name"] == "feeds one, then two")
    (change,) = standing(records_of(BASE, case))["changes"]
    assert change == {"fact": "kind.wiring.feeds", "weight": "stop", "before": "one", "now": "two", "by": BY, "at": AT}


def test_where_nobody_is_known_a_change_says_only_what_changed() -> None:
    case = next(case for case in CASES if case["name"] == "feeds one, then two")
    records = [
        {name: value for name, value in each.items() if name not in ("by", "at")} for each in records_of(BASE, case)
    ]
    (change,) = standing(records)["changes"]
    assert change == {"fact": "kind.wiring.feeds", "weight": "stop", "before": "one", "now": "two"}


@pytest.mark.parametrize("row", OF_SURVEY, ids=lambda row: f"{row['record']}.{row['facet']}.{row['field']}")
def test_a_fact_that_stops_never_leaves_a_conversion_in_force(row: Any) -> None:
    """Whatever the field becomes, even 'not-seen'; for each field that the table says stops."""
    before = facet(next(each for each in BASE if each["id"] == row["record"]), row["facet"]).get(row["field"])
    values = {"another"} if before is None else {"not-seen", "another"} - {before}
    for value in values:
        case = {"set": {row["record"]: {row["facet"]: {row["field"]: value}}}}
        found = standing(records_of(BASE, case))
        assert found["standing"] == ("look" if value in row.get("harmless", ()) else "stop")


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                case
                for case in CASES
                if case["of"] == CONVERSION and not case.get("add") and "facts were frozen" not in case["name"]
            ]
        ),
        min_size=1,
        max_size=4,
    )
)
def test_several_changes_are_never_milder_than_the_worst_of_them(cases: list[Any]) -> None:
    """Changes laid over one another; where two set one field, the later counts, so only those that stay are asked for.

    A room's own temperatures count before the site's: both are one field here.
    """
    records = BASE
    for case in cases:
        records = records_of(records, case)
    worst = standing(records)["standing"]
    fields = [
        ("", "", field) if field in ("coldest_c", "hottest_c") else (id, name, field)
        for case in cases
        for id, facets in case.get("set", {}).items()
        for name, said in facets.items()
        for field in said
    ]
    if len(set(fields)) == len(fields):
        each = [standing(records_of(BASE, case))["standing"] for case in cases]
        assert MILDNESS.index(worst) <= min(map(MILDNESS.index, each))
    else:
        assert worst in MILDNESS


MILDNESS = ["superseded", "withdrawn", "stop", "look", "in force"]


def test_an_answer_holds_for_just_the_changes_that_it_names() -> None:
    by_name = {case["name"]: standing(records_of(BASE, case)) for case in CASES}
    answered, again = by_name["the same changes, answered"], by_name["answered, then a leak"]
    assert (answered["locked"], answered["answer"]["answer"], answered["answer"]["by"]) == (
        False,
        "the second is dead, cut at the panel",
        BY,
    )
    assert (again["locked"], again["answer"]) == (True, None)


def test_a_fingerprint_does_not_hang_on_the_order_or_on_who_said_it() -> None:
    one = {"fact": "a", "weight": "stop", "before": 1, "now": None, "by": "ann"}
    other = {"fact": "b", "weight": "look", "before": [2, 3.0], "now": True}
    assert fingerprint_of([one, other]) == fingerprint_of([other, {**one, "by": "bea"}]) != fingerprint_of([one])


def test_the_facts_of_the_vectors_are_those_that_a_release_freezes() -> None:
    survey, conversion = Survey(BASE), next(each for each in BASE if each["id"] == CONVERSION)
    facts = facet(conversion, "identity")["facts"]
    judge = next(each for each in to_judge(survey, tables()) if each.group["id"] == "group")
    body = Body(judge.group, judge.kind, judge.room, survey.site(), {}, Catalogue.of(survey.all), {}, tables())
    proposal = {
        "arrangement": facts["arrangement"],
        "fill_items": facts["bars"],
        "parts": [{"item": each} for part in ("bars", "drivers", "packs") for each in facts[part]],
        "drivers_each": 1,
        "fit": {"verdict": "fits"},
    }
    assert frozen_facts({"proposal": proposal}, body, judge, survey.by_id, None) == facts
    released = facet(survey.by_id["release1"], "identity")["items"]
    assert {id: frozen_item(survey.by_id[id], tables()) for id in released} == released
