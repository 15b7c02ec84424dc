"""Proof packs: every sum recomputed from releases and installations by readers that are not ours; attachments as they were sent."""

from __future__ import annotations

import hashlib
import re
import urllib.request
import zipfile
from collections import Counter
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import openpyxl
import pytest

from tests.handover.some_report import a_picture
from tests.handover.taken_away import have_pack, text_of
from tests.handover.test_report_of_the_demo_building import HandedOver, count_of, no_duty
from tests.open_points.complete_site import Hand
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import started
from tests.support.releasing import release_seen
from tests.support.server import Client

Json = Any
PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\n<script>alert(1)</script>\ntrailer<</Root 1 0 R>>\n%%EOF\n"
FT2_PER_M2 = 1 / 0.3048**2
"""By the definition of the foot: 0.3048 m."""


@pytest.fixture(scope="module")
def here(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[HandedOver]:
    running = started(ONE_MACHINE, demo_data, tmp_path_factory.mktemp("proof") / "data")
    client = Client(running.url, "manager")
    site = client.site_id()
    made = HandedOver(client, site, Hand(client, site))
    assert release_seen(client, site)[0] == 201
    first, second, *_ = filter(no_duty, made.records("conversion"))
    for position in (1, 2, 3):
        made.note(first, position, as_fitted={"as_released": True})
    made.note(second, 1, as_fitted={"as_released": True})
    yield made
    running.stop()


@pytest.fixture(scope="module")
def packs(here: HandedOver) -> zipfile.ZipFile:
    certificate = attach(here, PDF, "certificate")
    collection = {
        "parent": here.site, "sort": "lamps-out", "containers": 2, "number": 5, "broken": 1, "collected_on": "2026-04-09",
        "collected_by": "Saltmere Recovery (invented)", "certificate": certificate,
    }  # fmt: skip
    here.hand.save(str(uuid4()), "waste_collection", identity=collection)
    return zipped(here)


def attach(here: HandedOver, data: bytes, purpose: str) -> str:
    sha256 = hashlib.sha256(data).hexdigest()
    path = f"/api/sites/{here.site}/attachments/{sha256}"
    assert here.client.call("PUT", path, raw=data, Content_Type="application/octet-stream")[0] in (200, 201)
    record = str(uuid4())
    identity = {"parent": here.site, "sha256": sha256, "media": "pdf", "name": "slip.pdf", "purpose": purpose}
    here.hand.save(record, "attachment", identity=identity, about={"number": "R-7"})
    return record


def zipped(here: HandedOver, pack: str = "all") -> zipfile.ZipFile:
    return zipfile.ZipFile(BytesIO(have_pack(here.client, here.site, pack)))


def sheet(packs: zipfile.ZipFile, name: str, title: str) -> list[dict[str, Any]]:
    """The rows of a sheet by their heads: the first line of which every column has something."""
    rows = list(openpyxl.load_workbook(BytesIO(packs.read(name)))[title].iter_rows(values_only=True))
    top = next(place for place, row in enumerate(rows) if None not in row)
    return [dict(zip(map(str, rows[top]), row, strict=True)) for row in rows[top + 1 :]]


def test_each_pack_is_there_as_workbook_and_pages_and_each_file_has_its_sum_in_the_list(packs: zipfile.ZipFile) -> None:
    names = set(packs.namelist())
    assert {
        f"{pack}.{form}" for pack in ("rebate", "recycler", "density", "carbon") for form in ("xlsx", "pdf")
    } <= names
    listed = re.findall(r"^([0-9a-f]{64})  (.+)$", packs.read("README.txt").decode(), re.MULTILINE)
    assert {name for _, name in listed} == names - {"README.txt"}
    assert all(hashlib.sha256(packs.read(name)).hexdigest() == told for told, name in listed)


def test_watts_of_the_rebate_pack_are_those_of_the_release_fixture_by_fixture(
    here: HandedOver, packs: zipfile.ZipFile
) -> None:
    frozen = here.figures()
    fixtures = sheet(packs, "rebate.xlsx", "Fixtures")
    assert len(fixtures) == sum(count_of(each) for each in here.conversions()) > 100
    for name, title in (("watts_now", "Watts before, each [W]"), ("watts_then", "Watts after, each [W]")):
        told = sum(each[name] for each in frozen)
        assert sum(row[title] for row in fixtures) == pytest.approx(told, rel=1e-9)
        totals = {row["Figure"]: row["Value"] for row in sheet(packs, "rebate.xlsx", "Totals")}
        assert totals[title.replace(", each", "")] == pytest.approx(told, rel=1e-9)


def test_the_table_and_edition_of_the_watts_before_are_named_and_so_is_how_hours_are_known(
    packs: zipfile.ZipFile,
) -> None:
    groups = sheet(packs, "rebate.xlsx", "Groups")
    sources = {row["Key"]: row for row in sheet(packs, "rebate.xlsx", "Sources")}
    named = [sources[row["Watts before by"]] for row in groups]
    told = [row for row in named if "utilities' standard-wattage tables" in row["Source"]]
    assert len(told) > len(groups) / 2
    assert {(row["Edition"], row["How known"]) for row in told} == {("none known", "from memory")}
    fixtures = sheet(packs, "rebate.xlsx", "Fixtures")
    assert {row["Watts before by"] for row in fixtures} <= set(sources)
    assert {bool(row["How the hours are known"]) for row in groups} == {True}
    assert all(0 <= row["Of these burning"] <= row["Lamps before"] for row in groups if row["Lamps before"] is not None)


def test_only_the_chosen_columns_stand_in_the_list_of_fixtures(here: HandedOver) -> None:
    seen = here.hand.state(here.site)["facets"].get("proof", {}).get("op")
    assert seen is None
    here.hand.save(here.site, "site", proof={"rebate_fields": ["new-watts", "existing-watts"]})
    heads = set(sheet(zipped(here, "rebate"), "rebate.xlsx", "Fixtures")[0])
    always = {"Floor", "Room", "Kind", "Fixture", "State"}
    assert heads == always | {"Watts before, each [W]", "Watts after, each [W]"}


def test_items_are_counted_from_what_was_fitted_with_their_listing_numbers(
    here: HandedOver, packs: zipfile.ZipFile
) -> None:
    done = Counter(group for (group, _), outcome in here.noted.items() if outcome == "done")
    wanted: Counter[str] = Counter()
    for each in here.conversions():
        for row in each["frozen"]["rows"]:
            for bar in row["bars"]:
                wanted[bar["name"]] += row.get("cavities", 1) * done[each["parent"]]
    told = {row["Item"]: row["Number"] for row in sheet(packs, "rebate.xlsx", "Items fitted")}
    assert {code: told.get(code, 0) for code in wanted} == dict(wanted)
    listed = {row["Item"]: row["Listing number"] for row in sheet(packs, "rebate.xlsx", "Items fitted")}
    assert all(listed.values())


def test_lamps_that_came_out_are_counted_from_the_cards_and_held_against_what_was_collected(
    here: HandedOver, packs: zipfile.ZipFile
) -> None:
    done = Counter(group for (group, _), outcome in here.noted.items() if outcome == "done")
    lamps: Counter[str] = Counter()
    for each in here.conversions():
        out = each["frozen"]["remove"]
        lamps[out["lamp"]] += out["lamps"] * done[each["parent"]]
    rows = sheet(packs, "recycler.xlsx", "Lamps")
    told = {row["Lamp"]: row["Number"] for row in rows if row["Lamp"] != "Together"}
    assert told == {lamp: number for lamp, number in lamps.items() if number}
    assert sum(row["Number"] for row in rows if row["Lamp"] == "Together") == sum(told.values()) > 0
    (balance,) = [row for row in sheet(packs, "recycler.xlsx", "Balance") if row["Collected"]]
    assert (balance["Taken out"], balance["Collected"], balance["Of these broken"]) == (sum(told.values()), 5, 1)
    assert balance["Not collected"] == sum(told.values()) - 5
    (collected,) = sheet(packs, "recycler.xlsx", "Collected")
    assert (collected["Collected by"], collected["Certificate"]) == ("Saltmere Recovery (invented)", "slip.pdf")


def test_power_density_is_watts_over_area_room_by_room(here: HandedOver, packs: zipfile.ZipFile) -> None:
    sizes = {
        f"{each['identity'].get('number', '')} {each['identity'].get('name', '')}".strip(): each.get("size", {})
        for each in here.records("room")
    }
    looked_at = 0
    for row in sheet(packs, "density.xlsx", "Space by space"):
        size = sizes[row["Room"]]
        if row["After [W/ft²]"] is None or "length_ticks" not in size:
            continue
        m2 = size["length_ticks"] / 320_000 * size["width_ticks"] / 320_000
        assert row["Area [m²]"] == pytest.approx(m2, rel=1e-6)
        assert row["After [W/ft²]"] == pytest.approx(row["Watts after [W]"] / (m2 * FT2_PER_M2), rel=1e-4)
        assert row["After [W/m²]"] == pytest.approx(row["Watts after [W]"] / m2, rel=1e-6)
        looked_at += 1
    assert looked_at > 5


def test_energy_of_the_spaces_and_carbon_of_the_groups_are_those_of_the_release(
    here: HandedOver, packs: zipfile.ZipFile
) -> None:
    frozen = here.figures()
    spaces = sheet(packs, "density.xlsx", "Space by space")
    for name, head in (("kwh_now", "Energy before [kWh a year]"), ("kwh_then", "Energy after [kWh a year]")):
        assert sum(row[head] for row in spaces) == pytest.approx(sum(each["energy"][name] for each in frozen), rel=1e-9)
    kg = sum(each["energy"]["emission_saved_kg"] for each in frozen)
    groups = sheet(packs, "carbon.xlsx", "Carbon by group")
    assert sum(row["CO2e less [kg a year]"] for row in groups) == pytest.approx(kg, rel=1e-9)
    (factor, *_) = sheet(packs, "carbon.xlsx", "Factors")
    for row in groups:
        if row["Fuel more for heating [kWh a year]"] in (None, 0) and row["Energy saved [kWh a year]"]:
            assert row["Factor as frozen [kg/kWh]"] == pytest.approx(factor["Value"], rel=1e-3)


def test_the_pages_tell_the_same_figures(packs: zipfile.ZipFile) -> None:
    told = text_of(packs.read("recycler.pdf"))
    assert "Saltmere Recovery (invented)" in told
    assert "lamps with mercury go to whoever is licensed" in told
    assert "This is no form of a programme" in text_of(packs.read("rebate.pdf"))


def test_an_attachment_is_handed_out_byte_for_byte_as_a_file_and_never_shown(
    here: HandedOver, packs: zipfile.ZipFile
) -> None:
    sha256 = hashlib.sha256(PDF).hexdigest()
    assert packs.read(f"attachments/{sha256}.pdf") == PDF
    path = f"{here.client.url}/api/sites/{here.site}/attachments/{sha256}"
    asked = urllib.request.Request(path, headers={"Cookie": here.client.cookie})
    with urllib.request.urlopen(asked, timeout=60) as answer:
        assert answer.read() == PDF
        assert answer.headers["Content-Type"] == "application/octet-stream"
        assert answer.headers["Content-Disposition"].startswith("attachment;")
        assert answer.headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    ("data", "status", "code"),
    [
        (b"<html><script>alert(1)</script>", 422, "attachment.kind-wrong"),
        (b"", 422, "attachment.kind-wrong"),
        (b"PK\x03\x04 a zip", 422, "attachment.kind-wrong"),
        (b"%PDF-1.4 cut off", 422, "attachment.kind-wrong"),
        (b"%PDF-" + b"0" * 10_000_000 + b"%%EOF", 413, "attachment.too-large"),
    ],
)
def test_a_file_of_the_wrong_kind_or_size_is_refused_with_a_sentence(
    here: HandedOver, data: bytes, status: int, code: str
) -> None:
    path = f"/api/sites/{here.site}/attachments/{hashlib.sha256(data).hexdigest()}"
    told, problem = here.client.call("PUT", path, raw=data, Content_Type="application/octet-stream")
    assert (told, problem["code"]) == (status, code)
    assert problem["detail"]


def test_a_file_that_was_cut_on_the_way_is_refused(here: HandedOver) -> None:
    path = f"/api/sites/{here.site}/attachments/{hashlib.sha256(PDF).hexdigest()}"
    told, problem = here.client.call("PUT", path, raw=PDF[:-20], Content_Type="application/octet-stream")
    assert (told, problem["code"]) == (422, "attachment.hash-differs")


def test_the_crew_reads_no_attachments_and_takes_no_packs(here: HandedOver) -> None:
    crew = Client(here.client.url, "crew")
    sha256 = hashlib.sha256(PDF).hexdigest()
    assert crew.call("GET", f"/api/sites/{here.site}/attachments/{sha256}")[0] == 403
    assert crew.call("GET", f"/api/sites/{here.site}/proof.zip")[0] == 403
    assert crew.call("POST", f"/api/sites/{here.site}/proof/files", {"pack": "all"})[0] == 403
    assert crew.call("PUT", f"/api/sites/{here.site}/attachments/{sha256}", raw=PDF)[0] == 403


def test_pictures_may_be_attached_too_and_what_was_removed_is_handed_out_no_more(here: HandedOver) -> None:
    data = a_picture(4)
    record = attach(here, data, "invoice")
    path = f"/api/sites/{here.site}/attachments/{hashlib.sha256(data).hexdigest()}"
    assert here.client.get(path) == data
    here.hand.remove(record, "attachment")
    status, problem = here.client.call("GET", path)
    assert (status, problem["code"]) == (404, "attachment.not-arrived")


def test_a_copy_of_the_site_has_the_attachments_and_a_signature_is_never_changed(here: HandedOver) -> None:
    owner = Client(here.client.url, "owner")
    copy = zipfile.ZipFile(BytesIO(owner.get(f"/api/sites/{here.site}/copy.zip")))
    assert copy.read(f"attachments/{hashlib.sha256(PDF).hexdigest()}") == PDF
    record = str(uuid4())
    identity = {"parent": here.site, "subject": here.site, "name": "Ines Okafor", "signed_by": "typed-name"}
    identity |= {"content": "0" * 64, "shown": ["a"]}
    here.hand.save(record, "acceptance", identity=identity)
    with pytest.raises(AssertionError, match="acceptance-stands"):
        here.hand.save(record, "acceptance", identity=identity | {"name": "Somebody Else"})
    assert here.records("acceptance")[-1]["identity"]["name"] == "Ines Okafor"


def test_two_who_sign_for_the_same_both_stand_and_the_picture_of_a_signature_stays(here: HandedOver) -> None:
    signed = [str(uuid4()), str(uuid4())]
    for record, name in zip(signed, ("Ines Okafor", "Ben Adeyemi"), strict=True):
        identity = {"parent": here.site, "subject": here.site, "name": name, "signed_by": "typed-name"}
        here.hand.save(record, "acceptance", identity=identity | {"content": "0" * 64, "shown": ["a"]})
    told = {each["id"]: each for each in here.client.get(f"/api/sites/{here.site}/handover")["accepted"]}
    assert [told[record]["name"] for record in signed] == ["Ines Okafor", "Ben Adeyemi"]
    assert not told[signed[0]]["whole"], "its lines are not those of its SHA-256, and that is told"
    picture = {"parent": here.site, "subject": signed[0], "purpose": "signature", "sha256": "1" * 64}
    photo = here.hand.save(str(uuid4()), "photo", identity=picture)
    with pytest.raises(AssertionError, match="acceptance-stands"):
        here.hand.remove(photo, "photo")
    with pytest.raises(AssertionError, match="acceptance-stands"):
        here.hand.remove(signed[1], "acceptance")


def test_rows_of_groups_count_the_fixtures_that_their_watts_are_of_and_add_up_after_a_count_is_changed(
    here: HandedOver,
) -> None:
    before = sheet(zipped(here, "rebate"), "rebate.xlsx", "Groups")
    raised, lowered = [each["parent"] for each in here.conversions() if count_of(each) > 3][:2]
    for group, more in ((raised, 2), (lowered, -1)):
        count = here.hand.state(group)["facets"]["count"]["value"]
        here.hand.save(group, "group", count=count | {"count": count["count"] + more})
    packs = zipped(here, "rebate")
    groups = sheet(packs, "rebate.xlsx", "Groups")
    same = ("Fixtures released", "Lamps before", "Watts before [W]", "Watts after [W]")
    assert [[row[name] for name in same] for row in groups] == [[row[name] for name in same] for row in before]
    assert sum(row["Fixtures counted now"] for row in groups) != sum(row["Fixtures released"] for row in groups)
    totals = {row["Figure"]: row["Value"] for row in sheet(packs, "rebate.xlsx", "Totals")}
    assert totals["Fixtures released"] == sum(row["Fixtures released"] for row in groups)
    assert totals["Fixtures counted now"] == sum(row["Fixtures counted now"] for row in groups)
