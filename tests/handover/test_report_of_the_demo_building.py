"""The hand-over report of the demo building: every figure is held against the releases and against what was noted, summed here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import uuid4

import pypdfium2
import pytest
from tests.handover.some_report import a_picture
from tests.handover.taken_away import have_report, pages_of, sheet_names, sheet_of, text_of
from tests.open_points.complete_site import Hand
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import started
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

Json = Any
PICTURE = a_picture(1)


@dataclass
class HandedOver:
    """The demo building, released, labelled and partly noted; what was noted, by group and position."""

    client: Client
    site: str
    hand: Hand
    noted: dict[tuple[str, int], str] = field(default_factory=dict)

    def file(self, form: str, money: str = "yes", name: str = "manager") -> bytes:
        client = self.client if name == "manager" else Client(self.client.url, name)
        return have_report(client, self.site, form, money)

    def records(self, type_name: str) -> list[Json]:
        pulled = self.client.get(f"/api/sites/{self.site}/pull?since=0&limit=5000")["records"]
        return [
            {"id": each["id"], **{name: held["value"] for name, held in each["facets"].items()}}
            for each in pulled
            if each["type"] == type_name and not each["removed"]
        ]

    def conversions(self) -> list[Json]:
        return [each["identity"] for each in self.records("conversion")]

    def figures(self) -> list[Json]:
        return [each["identity"]["figures"] for each in self.records("release_sums") if "group" in each["identity"]]

    def whole(self) -> Json:
        (found,) = [
            each["identity"]["figures"] for each in self.records("release_sums") if "group" not in each["identity"]
        ]
        return found

    def note(self, conversion: Json, position: int, outcome: str = "done", **more: Json) -> None:
        """Note something on a fixture in one push, without asking for what is there."""
        identity = {"position": position, "outcome": outcome, "conversion": conversion["id"]} | more.pop("identity", {})
        identity |= {"parent": conversion["identity"]["parent"], "noted_at": "2026-04-02T08:00:00Z"}
        if outcome == "done":
            identity.setdefault("checks", ticks(conversion["identity"]["frozen"], position))
        self.hand.save(str(uuid4()), "installation", identity=identity, **more)
        self.noted[identity["parent"], position] = outcome

    def take_photo(self, conversion: Json, position: int) -> None:
        """A photo after the work, sent and saved as a phone does."""
        name, data = sha256(PICTURE).hexdigest(), PICTURE
        path = f"/api/sites/{self.site}/photos/{name}"
        status, _ = self.client.call("PUT", path, raw=data, Content_Type="image/jpeg")
        assert status in (200, 201)
        noted = next(
            each["id"]
            for each in self.records("installation")
            if (each["identity"]["parent"], each["identity"]["position"])
            == (conversion["identity"]["parent"], position)
        )
        identity = {"subject": noted, "purpose": "after", "sha256": name, "taken_at": "2026-04-02T09:00:00Z"}
        self.hand.make("photo", self.site, identity, caption={"caption": "All back in place"})


def ticks(card: Json, position: int) -> list[str]:
    return [*card["checks"], *(each["check"] for each in card["checks_at"] if position in each["positions"])]


def count_of(conversion: Json) -> int:
    return int(conversion["facts"]["group"]["count"]["count"])


def no_duty(conversion: Json) -> bool:
    return not conversion["identity"]["frozen"]["emergency"]["positions"]


@pytest.fixture(scope="module")
def here(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[HandedOver]:
    running = started(ONE_MACHINE, demo_data, tmp_path_factory.mktemp("handover") / "data")
    client = Client(running.url, "manager")
    site = client.site_id()
    made = HandedOver(client, site, Hand(client, site))
    for method, path, body in (("POST", "handover/files", {"form": "pdf"}), ("GET", "handover.pdf", None)):
        status, problem = client.call(method, f"/api/sites/{site}/{path}", body)
        assert (status, problem["code"]) == (404, "handover.nothing-released")
        assert "Nothing has been released" in problem["detail"]
    assert release_seen(client, site)[0] == 201
    bare = text_of(made.file("pdf"))
    assert "NOT ONE FIXTURE IS NOTED AS DONE" in bare
    assert client.call("POST", f"/api/sites/{site}/labels", {})[0] == 201
    first, second, third, *_ = filter(no_duty, made.records("conversion"))
    for position in (1, 2, 3):
        made.note(first, position, as_fitted={"as_released": True})
    items = [{"kind": "bar", "code": "STANDBY-9", "number": 4, "serials": ["LOT-77"]}]
    made.take_photo(first, 1)
    made.note(first, 4, as_fitted={"as_released": False, "items": items, "reason": "none-left"})
    made.note(second, 1)
    made.note(second, 2, as_fitted={"as_released": True})
    made.note(second, 3, "problem", identity={"problem": "A bent holder", "reason": "sockets-damaged"})
    made.note(third, 1, "skipped", identity={"problem": "Room in use", "reason": "room-in-use"})
    room = made.hand.state(first["identity"]["parent"])["parent"]
    picked = {"sort": "lamps-out", "item": "T12 8 ft", "wanted": 17, "ticked": True, "noted_at": "2026-04-01T07:00:00Z"}
    made.hand.make("picking", room, {**picked, "release": first["identity"]["release"]})
    yield made
    running.stop()


@pytest.fixture(scope="module")
def pdf(here: HandedOver) -> bytes:
    return here.file("pdf")


@pytest.fixture(scope="module")
def text(pdf: bytes) -> str:
    return text_of(pdf)


@pytest.fixture(scope="module")
def xlsx(here: HandedOver) -> bytes:
    return here.file("xlsx")


def test_the_summary_stands_on_one_page_with_both_charts_and_counts_what_was_noted(
    here: HandedOver, pdf: bytes
) -> None:
    first, second, *_ = pages_of(pdf)
    fixtures = sum(count_of(each) for each in here.conversions())
    done = sum(outcome == "done" for outcome in here.noted.values())
    assert f"Fixtures in this conversion: {fixtures}. Noted as done: {done}." in first
    assert "Fixtures by state" in first
    assert "Energy a year, as released [kWh]" in first
    assert second.startswith("What is open")


def test_energy_is_the_sum_of_what_the_releases_froze_on_page_and_sheet(
    here: HandedOver, text: str, xlsx: bytes
) -> None:
    energy = [each["energy"] for each in here.figures()]
    assert len(energy) > 20
    now, then, kw, kg = (
        sum(each[name] for each in energy) for name in ("kwh_now", "kwh_then", "kw_saved", "emission_saved_kg")
    )
    assert f"{now:,.1f} kWh before, {then:,.1f} kWh after; {now - then:,.1f} kWh less" in text
    assert f"{kw:,.2f} kW less load, {kg:,.1f} kg CO2e less" in text
    rows = sheet_of(xlsx, "Energy, CO2 and money", "Floor")
    assert len(rows) == len(energy)
    for head, name in (("Energy before [kWh a year]", "kwh_now"), ("Energy after [kWh a year]", "kwh_then")):
        assert Counter(row[head] for row in rows) == Counter(each[name] for each in energy)
    assert Counter(row["Cost [USD]"] for row in rows) == Counter(each["money"]["cost"] for each in here.figures())


def test_each_line_of_energy_says_the_hours_that_its_figures_rest_on(here: HandedOver, xlsx: bytes) -> None:
    rows = sheet_of(xlsx, "Energy, CO2 and money", "Floor")
    hours = [round(each["energy"]["kwh_now"] / each["watts_now"] * 1000, 1) for each in here.figures()]
    assert Counter(row["Hours [a year]"] for row in rows) == Counter(hours)


def test_money_is_what_the_release_froze_for_the_job(here: HandedOver, text: str, xlsx: bytes) -> None:
    money = here.whole()["money"]
    sheet = {row["Figure"]: row["Value"] for row in sheet_of(xlsx, "Money, all groups as one job", "Figure")}
    titles = {"Cost": "cost", "Rebate": "rebate", "Cost less rebate": "net_cost", "Net present value": "npv"}
    titles |= {
        "Saved a year": "saving_year",
        "Life-cycle cost": "lcc",
        "Life-cycle cost if left as it was": "lcc_as_is",
    }
    assert {title: sheet[title] for title in titles} == {title: money[name] for title, name in titles.items()}
    assert [title for title, name in titles.items() if f"{title}: USD {money[name]:,.2f}" not in text] == []


def test_every_fixture_stands_in_both_with_its_label_and_how_far_it_is(
    here: HandedOver, text: str, xlsx: bytes
) -> None:
    labels = {
        (each["binding"]["group"], each["binding"]["position"]): each["identity"]["code"]
        for each in here.records("label")
    }
    rows = sheet_of(xlsx, "Fixtures", "Floor")
    assert len(rows) == sum(count_of(each) for each in here.conversions())
    by_code = {str(row["Label"]).replace(" ", ""): row["State"] for row in rows}
    wanted = {
        labels[each["parent"], position]: here.noted.get((each["parent"], position), "nothing noted")
        for each in here.conversions()
        for position in range(1, count_of(each) + 1)
        if (each["parent"], position) in labels
    }
    assert len(wanted) > 300
    assert by_code == wanted
    assert [code for code in wanted if f"{code[:4]} {code[4:8]} {code[8:]}" not in text] == []


def test_a_fixture_tells_what_is_in_it_and_where_that_differs_from_the_release(
    here: HandedOver, text: str, xlsx: bytes
) -> None:
    rows = [row for row in sheet_of(xlsx, "Fixtures", "Floor") if row["State"] == "done"]
    assert len(rows) == 6
    other = [row for row in rows if row["As released"] == "no"]
    assert len(other) == 1
    assert other[0]["Now fitted"].startswith("4 × STANDBY-9 (batch or serial: LOT-77) (DIFFERS from the release: ")
    assert sum(row["Now fitted"] == row["Released"] for row in rows) == 4
    (unsaid,) = [row for row in rows if row["As released"] is None]
    assert unsaid["Now fitted"] == f"done; not noted item by item; released: {unsaid['Released']}"
    assert "LOT-77" in text


def test_what_was_taken_out_is_counted_from_the_fixtures_that_are_done(
    here: HandedOver, text: str, xlsx: bytes
) -> None:
    cards = {each["parent"]: each["frozen"]["remove"] for each in here.conversions()}
    lamps: Counter[str] = Counter()
    ballasts: Counter[str] = Counter()
    for (group, _), outcome in here.noted.items():
        if outcome == "done":
            lamps[cards[group]["lamp"]] += cards[group]["lamps"]
            ballasts[cards[group]["pcb"]] += cards[group]["ballasts"]
    rows = sheet_of(xlsx, "Disposal", "What")
    assert {row["Which"]: row["Number"] for row in rows if row["What"] == "Lamps"} == dict(lamps)
    told = {"suspect": "under suspicion of PCB", "not suspect": "not under suspicion of PCB"}
    counted = {row["Which"]: row["Number"] for row in rows if row["What"] == "Ballasts"}
    assert counted == {told[name]: number for name, number in ballasts.items() if number}
    assert [lamp for lamp, number in lamps.items() if f"Lamps {lamp} {number}" not in text] == []
    assert "stands in the recycler pack" in text


def test_what_is_open_is_told_plainly_by_room(text: str, xlsx: bytes) -> None:
    rows = sheet_of(xlsx, "What is open", "Floor")
    told = [row["What"] for row in rows]
    assert any("no. 3: problem: sockets or ends are damaged: A bent holder. Not answered yet." in each for each in told)
    assert any("no. 4: fitted otherwise than released; nobody has answered" in each for each in told)
    assert any("skipped (no. 1)" in each for each in told)
    assert any("emergency test: not converted yet" in each for each in told)
    assert f"Points that are open: {len(rows)}" in text
    assert [each for each in told if each.split(": ")[-1] not in text] == []


def test_containers_that_a_crew_ticked_stand_with_what_they_were_for(text: str, xlsx: bytes) -> None:
    (row,) = sheet_of(xlsx, "Containers made ready", "Room")
    assert (row["What"], row["Which"], row["Number"], row["Noted on"]) == (
        "lamps for waste",
        "T12 8 ft",
        17,
        "2026-04-01",
    )
    assert "lamps for waste T12 8 ft 2026-04-01 17" in text


def test_photos_stand_before_and_after_with_day_caption_and_what_names_them(
    here: HandedOver, text: str, xlsx: bytes
) -> None:
    rows = sheet_of(xlsx, "Photos", "Floor")
    (after,) = [row for row in rows if row["State"] == "After"]
    told = (after["No."], after["Noted on"], after["Caption"], after["Arrived"], after["Content (SHA-256)"])
    assert told == (1, "2026-04-02", "All back in place", "yes", sha256(PICTURE).hexdigest())
    of_kind = Counter(
        each["identity"]["subject"] for each in here.records("photo") if each["identity"]["purpose"] == "whole-fixture"
    )
    groups = {each["id"]: each["identity"]["kind"] for each in here.records("group")}
    own = {each["identity"]["subject"] for each in here.records("photo")} & set(groups)
    wanted = sum(of_kind[groups[each["parent"]]] for each in here.conversions() if each["parent"] not in own)
    assert wanted > 0
    assert sum(row["State"] == "Before" for row in rows) >= wanted
    assert "After, no. 1 · 2026-04-02 · All back in place" in text


def test_emergency_fixtures_stand_with_their_tests_or_that_they_have_none(here: HandedOver, xlsx: bytes) -> None:
    rows = sheet_of(xlsx, "Emergency tests", "Floor")
    wanted = sum(len(each["frozen"]["emergency"]["positions"]) for each in here.conversions())
    assert wanted > 5
    assert len(rows) == wanted
    assert "By" not in rows[0]


def test_cautions_defer_to_local_codes_and_sources_say_how_they_are_known(text: str) -> None:
    assert "They do not replace local codes" in text
    assert "mercury" in text
    assert "(from memory)" in text
    assert "How to read the labels" in text


def test_the_file_is_searchable_in_an_embedded_font_and_says_that_it_is_tagged(pdf: bytes, text: str) -> None:
    assert len(pdf) < 10_000_000
    assert b"DejaVuSansCondensed" in pdf
    assert b"/FontFile2" in pdf
    assert "is tagged for screen readers" in text
    document = pypdfium2.PdfDocument(pdf)
    titles = [mark.get_title() for mark in document.get_toc() if mark.level == 0]
    document.close()
    assert titles[1:6] == ["What is open", "Acceptance", "Rooms and fixtures", "Light read", "Energy, CO2 and money"]


def test_who_may_not_read_the_sums_of_releases_gets_neither_energy_nor_money(here: HandedOver) -> None:
    page = text_of(here.file("pdf", name="crew"))
    assert "USD" not in page
    assert "kWh" not in page
    assert "your role does not read the sums of releases" in page
    names = sheet_names(here.file("xlsx", name="crew"))
    assert "Energy, CO2 and money" not in names
    assert "Money, all groups as one job" not in names


def test_money_is_only_in_it_when_it_is_asked_for(here: HandedOver) -> None:
    page = text_of(here.file("pdf", money="no"))
    assert "USD" not in page
    assert "kWh before" in page
    assert "Money is left out of this copy." in page
    assert not [
        head for head in sheet_of(here.file("xlsx", money="no"), "Energy, CO2 and money", "Floor")[0] if "USD" in head
    ]


def test_asked_for_many_times_at_once_each_gets_the_report(here: HandedOver) -> None:
    clients = [Client(here.client.url) for _ in range(6)]
    for each in clients:
        each.cookies = dict(here.client.cookies)
    with ThreadPoolExecutor(6) as pool:
        made = list(pool.map(lambda client: have_report(client, here.site, "pdf"), clients))
    assert {text_of(each) for each in made} == {text_of(here.file("pdf", money="no"))}


def test_what_was_done_under_an_earlier_release_is_told_by_that_release(fresh_server: Server) -> None:
    client = Client(fresh_server.url, "manager")
    here = HandedOver(client, client.site_id(), Hand(client, client.site_id()))
    assert release_seen(client, here.site)[0] == 201
    first = next(
        each for each in here.records("conversion") if no_duty(each) and "partner" not in each["identity"]["facts"]
    )
    here.note(first, 1, as_fitted={"as_released": True})
    group = first["identity"]["parent"]
    count = here.hand.state(group)["facets"]["count"]["value"]
    here.hand.save(group, "group", count={**count, "count": count["count"] + 2})
    assert release_seen(client, here.site)[0] == 201
    newest = {
        each["identity"]["group"]: each["identity"]["figures"]
        for number in (1, 2)
        for each in here.records("release_sums")
        if "group" in each["identity"] and each["identity"]["parent"] == release_of(here, number)
    }
    now = sum(each["energy"]["kwh_now"] for each in newest.values())
    data = here.file("xlsx")
    assert f"{now:,.1f} kWh before" in text_of(here.file("pdf"))
    assert sum(each["fixtures"] for each in newest.values()) == len(sheet_of(data, "Fixtures", "Floor"))
    assert [row["Release"] for row in sheet_of(data, "Fixtures", "Floor") if row["State"] == "done"] == [1]
    assert {row["Release"] for row in sheet_of(data, "Fixtures", "Floor")} == {1, 2}


def release_of(here: HandedOver, number: int) -> str:
    return next(str(each["id"]) for each in here.records("release") if each["identity"]["number"] == number)
