"""What the screen of the hand-over tells is what the report tells, read without what only pages need, and not anew while nothing changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

import pytest
from tests.planning.stored_site import store_changes
from tests.support.installation import Installation, installed
from tests.support.late_site import LateSite, counted_whole, make_late

from spanwalk.rules.installing.acceptance import content_of, statement
from spanwalk.rules.installing.punch_list import is_open, punch_list
from spanwalk.rules.survey import Survey
from spanwalk.services.handover import in_short as screen
from spanwalk.services.handover.gathering import report_of
from spanwalk.services.handover.in_short import OPEN_MOST, InShort, in_short
from spanwalk.services.handover.told import DONE, Report
from spanwalk.services.planning.kept_answers import forget_answers
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading, writing
from spanwalk.words import reading_in

LANGUAGES = ("en", "es")


@pytest.fixture(scope="module")
def late(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("late")) as installation:
        made = make_late(installation)
        sign(made, installation)
        go_on(made)
        yield installation


def sign(made: LateSite, here: Installation) -> None:
    """The site, two floors' worth of rooms and one floor are signed for, one of them with lines that are not those signed."""
    with here.app.app_context(), reading() as session:
        survey = Survey(site_records(session, here.site, who=True))
    rooms, floors = survey.of_type("room"), survey.of_type("floor")
    for subject in (here.site, floors[0]["id"], *(each["id"] for each in rooms[:8])):
        now = statement(survey, subject)
        made.add(
            "acceptance",
            here.site,
            identity={
                "subject": subject,
                "name": "A. Customer",
                "signed_by": "in-person",
                "content": content_of(now["lines"]),
                "shown": now["lines"] if subject != rooms[0]["id"] else now["lines"][:-1],
                "noted_at": "2026-05-02T10:00:00Z",
                "fixtures": now["fixtures"],
                "done": now["done"],
                "open": now["open"],
            },
        )
    made.keep()


def go_on(made: LateSite) -> None:
    """Work goes on after the signatures."""
    for conversion in made.records("conversion")[::5]:
        said = {"position": 1, "outcome": "skipped", "conversion": conversion["id"], "reason": "room-in-use"}
        made.add("installation", conversion["parent"], identity={**said, "noted_at": "2026-05-03T09:00:00Z"})
    made.keep()


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    return counted_whole(monkeypatch)


def asked(here: Installation, language: str = "en") -> InShort:
    with here.app.app_context(), reading() as session, reading_in(language):
        return in_short(session, here.site)


def reported(here: Installation, language: str = "en") -> Report:
    with here.app.app_context(), reading() as session, reading_in(language):
        return report_of(session, here.site, "manager", with_money=False)


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_tells_what_the_report_tells(late: Installation, language: str) -> None:
    told, report = asked(late, language), reported(late, language)
    assert told.fixtures == len(report.fixtures) > 0
    assert told.done == report.counted()[DONE] > 0
    assert told.left_out == report.fixtures_left_out
    assert told.photos == len(report.photos) > 0
    assert told.releases == len(report.releases) > 1
    assert told.tests_open == report.tests.open > 0
    assert told.closed == len(report.closed) > 0
    assert told.open_in_all == len(report.open) > 0
    assert told.open == report.open[:OPEN_MOST]
    assert [asdict(each) for each in told.accepted] == [asdict(each) for each in report.accepted]
    assert {each.holds for each in told.accepted} == {True, False}


def test_cards_labels_and_figures_of_releases_are_not_read_whole(late: Installation, read: Counter[str]) -> None:
    late.push("manager", _caption(late))
    asked(late)
    assert read["installation"]
    assert not {"conversion", "label", "release_sums", "catalogue_item", "picking", "waste_collection"} & set(read)


def test_while_nothing_changes_no_record_is_read_again_in_either_language(
    late: Installation, read: Counter[str]
) -> None:
    first = [asked(late, language) for language in LANGUAGES]
    read.clear()
    assert [asked(late, language) for language in LANGUAGES] == first
    assert not read
    assert [each.text for each in first[0].open] != [each.text for each in first[1].open]


def test_after_a_change_it_tells_what_is_so_then(late: Installation) -> None:
    before = asked(late)
    with late.app.app_context(), reading() as session:
        survey = Survey(site_records(session, late.site))
    room = survey.of_type("room")[0]
    late.push(
        "manager",
        late.operation("manager", _new(), "punch_point", "identity", {"parent": room["id"], "words": "A scratch"}),
    )
    after = asked(late)
    assert after.open_in_all == before.open_in_all + 1 == len(reported(late).open)


def _caption(here: Installation) -> dict[str, Any]:
    with here.app.app_context(), reading() as session:
        photo = site_records(session, here.site, types=("photo",))[-1]
    return here.operation("manager", photo["id"], "photo", "caption", {"caption": "The far end"})


def _new() -> str:
    return "7b3f1c9e-52c2-4e5c-9a53-0c5d1f0a9a11"


class Changing:
    """Changes of every sort that the screen hangs on, one at a time."""

    def __init__(self, here: Installation, seed: int) -> None:
        self._here, self._made = here, LateSite(here, seed)
        self._groups = {each["id"] for each in self.records("group") if not each["removed"]}

    def records(self, type_name: str) -> list[dict[str, Any]]:
        return [each for each in self._made.records(type_name) if not each["removed"]]

    def keep(self, *records: dict[str, Any]) -> None:
        store_changes(self._here, list(records))

    def of(self, type_name: str, place: int = 3, **said: Any) -> dict[str, Any]:
        """A record of a type, of a group that is there, whose facet says something else."""
        found = [
            each for each in self.records(type_name) if type_name != "installation" or each["parent"] in self._groups
        ]
        for facet, value in said.items():
            found[place]["facets"][facet] = {**found[place]["facets"].get(facet, {}), **value}
        return found[place]

    def add(self, type_name: str, parent: str, **facets: Any) -> None:
        self._made.add(type_name, parent, **facets)
        self._made.keep()

    def outcome(self) -> None:
        self.keep(self.of("installation", identity={"outcome": "problem", "reason": "pcb-found"}))

    def outcome_removed(self) -> None:
        self.keep(self.of("installation", 5) | {"removed": True})

    def outcome_of_another_group(self) -> None:
        other = self.of("installation", -2)["parent"]
        self.keep(self.of("installation", 1) | {"parent": other})

    def answer(self) -> None:
        noted = next(
            each for each in self.records("installation") if each["facets"]["identity"]["outcome"] == "problem"
        )
        self.add("problem_answer", noted["id"], identity={"answer": "wait"})

    def label_voided(self) -> None:
        self.keep(self.of("label", voided={"reason": "damaged"}))

    def label_on_another_fixture(self) -> None:
        self.keep(
            self.of("label", 8, binding={"group": self.of("label", -9)["facets"]["binding"]["group"], "position": 1})
        )

    def photo(self) -> None:
        subject = self.of("installation", 7)["id"]
        self.add("photo", self._here.site, identity={"subject": subject, "purpose": "after", "sha256": "c" * 64})

    def photo_of_something_else(self) -> None:
        self.keep(self.of("photo", 2, identity={"subject": self.of("room", 0)["id"]}))

    def photo_of_a_kind(self) -> None:
        kind = self.records("kind")[0]["id"]
        self.add("photo", self._here.site, identity={"subject": kind, "purpose": "whole-fixture", "sha256": "d" * 64})

    def photo_of_a_kind_no_more(self) -> None:
        photo = next(each for each in self.records("photo") if each["facets"]["identity"]["sha256"] == "d" * 64)
        photo["facets"]["identity"]["subject"] = self.of("room", 0)["id"]
        self.keep(photo)

    def point_closed(self) -> None:
        with self._here.app.app_context(), reading() as session:
            listed = punch_list(Survey(site_records(session, self._here.site, who=True)))
        point = next(each for each in listed if is_open(each) and each["sort"] == "no-label")
        closed = {"how": "left-as-agreed", "words": "So be it", "noted_at": "2026-05-04T08:00:00Z"}
        self.add("punch_point", point["room"], identity={"about": point["key"]}, closed=closed)

    def light(self) -> None:
        room = next(each["parent"] for each in self.records("lux_reading"))
        self.add("lux_reading", room, identity={"point": "A", "when": "after", "lux": 500})

    def emergency(self) -> None:
        group = self.of("emergency_test")["parent"]
        self.add("emergency_test", group, identity={"position": 1, "result": "passed", "minutes": 95, "wanted_min": 90})

    def kind(self) -> None:
        self.keep(self.of("kind", 0, identity={"mark": "Z9"}))

    def withdrawn(self) -> None:
        self.keep(self.of("conversion", -1, withdrawn={"reason": "Not so"}))

    def room(self) -> None:
        self.keep(self.of("room", 2) | {"removed": True})


CHANGES = [name for name, each in vars(Changing).items() if callable(each) and name[0] != "_"][4:]


@pytest.fixture
def kept_on_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """As of a large site: what was told of rooms is kept in the database, and a server starts that knows no more than that."""
    monkeypatch.setattr(screen, "KEPT_FROM_NOTED", 1)
    monkeypatch.setattr(screen, "KEPT_AGAIN_ROOMS", 1)
    screen._kept.clear()


@pytest.mark.parametrize("change", CHANGES)
def test_after_whatever_change_it_tells_what_the_report_tells(late: Installation, change: str) -> None:
    asked(late)
    _changed(late, change)


@pytest.mark.usefixtures("kept_on_disk")
@pytest.mark.parametrize("change", CHANGES)
def test_a_server_that_starts_after_whatever_change_tells_what_the_report_tells(
    late: Installation, change: str
) -> None:
    asked(late)
    screen._kept.clear()
    _changed(late, change)


def _changed(late: Installation, change: str) -> None:
    getattr(Changing(late, 100 + CHANGES.index(change)), change)()
    told, report = asked(late), reported(late)
    counts = (told.fixtures, told.done, told.left_out, told.photos, told.tests_open, told.closed, told.open_in_all)
    assert counts == (
        len(report.fixtures),
        report.counted()[DONE],
        report.fixtures_left_out,
        len(report.photos),
        report.tests.open,
        len(report.closed),
        len(report.open),
    )
    assert told.open == report.open[:OPEN_MOST]
    assert told.accepted == report.accepted


def test_after_an_outcome_only_what_was_noted_in_its_room_is_read(late: Installation, read: Counter[str]) -> None:
    asked(late)
    changing = Changing(late, 99)
    changing.outcome()
    in_all = len(changing.records("installation"))
    read.clear()
    asked(late)
    noted = read["installation"]
    assert 1 <= noted < in_all / 2


@pytest.mark.usefixtures("kept_on_disk")
def test_a_server_that_starts_again_reads_neither_what_was_noted_nor_labels(
    late: Installation, read: Counter[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with late.app.app_context(), writing() as session:
        forget_answers(session)
    before = [asked(late, language) for language in LANGUAGES]
    at_first = read["installation"]
    screen._kept.clear()
    read.clear()
    monkeypatch.delattr(screen, "labels_in_short")
    assert [asked(late, language) for language in LANGUAGES] == before
    assert read["installation"] < at_first, "what was noted on emergency fixtures alone"


@pytest.mark.usefixtures("kept_on_disk")
def test_what_other_modules_told_is_not_taken_over(late: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    before = asked(late)
    monkeypatch.setattr(screen, "folder_fingerprint", lambda _folder: "another")
    with late.app.app_context(), reading() as session:
        assert screen._from_before(session, late.site) is None
    assert asked(late) == before


def test_a_small_site_keeps_nothing_in_the_database(late: Installation) -> None:
    with late.app.app_context(), writing() as session:
        forget_answers(session)
    screen._kept.clear()
    asked(late)
    with late.app.app_context(), reading() as session:
        assert screen._from_before(session, late.site) is None
