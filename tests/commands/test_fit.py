"""The command `spanwalk fit`: what the screen says of a group's readings, every term, and loose numbers."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from tests.planning.demo_records import demo_records

from spanwalk import cli
from spanwalk.reference import tables
from spanwalk.rules.judging.judged import degrees, judge_groups
from spanwalk.rules.survey import Survey, facet, mark_of
from spanwalk.services.text.fit_lines import fit_lines, verdict

SUM = re.compile(r"^ +([+−=]) (.+): .*?\((-?[\d,.]+) mm\)$")
LOOSE = ["--lamp", "T8 4 ft", "--readings", "47 3/16; 47 1/4", "--count", "2", "--bar", "1189 mm"]


@pytest.fixture(scope="module")
def data(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fit") / "data"
    shutil.copytree(demo_data, folder)
    return folder


@pytest.fixture(scope="module")
def survey() -> Survey:
    return Survey(demo_records())


@pytest.fixture(scope="module")
def judged(survey: Survey) -> Any:
    return judge_groups(survey, tables())


def run(capsys: pytest.CaptureFixture[str], *options: str) -> tuple[int, str, str]:
    status = cli.main(["fit", *options])
    said = capsys.readouterr()
    return status, said.out, said.err


def groups_called(survey: Survey, judged: Any, title: str) -> list[tuple[Any, Any]]:
    return [
        (survey.by_id[id], told)
        for id, told in judged.items()
        if title
        == f"{facet(survey.room_of(survey.by_id[id]), 'identity')['number']} {mark_of(survey.kind_of(survey.by_id[id]))}"
    ]


# -- a group of a site


@pytest.mark.parametrize("title", ["P01 K11", "G02 K2", "U01 K4", "U03 K16", "P10 K20"])
def test_a_group_is_told_as_it_is_judged(
    title: str, data: Path, survey: Survey, judged: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    status, said, _ = run(capsys, title, "--data", str(data))
    [(group, told)] = groups_called(survey, judged, title)
    codes = {item["id"]: facet(item, "identity")["code"] for item in survey.of_type("catalogue_item")}
    assert status == 0
    lines = said.splitlines()
    never = title == "U01 K4"
    bars = [] if never else [f"  {' + '.join(codes[id] for id in fit['bars'])}: {verdict(fit)}" for fit in told["fits"]]
    assert [line for line in lines if line in bars] == bars
    assert sum(line.startswith("    fixture ") for line in lines) == len(survey.children(group, "cavity_reading"))
    assert ("Not by this method" in lines[0]) is never
    assert ("No cavity of it has to be read" in said) is never
    short = None if never else told["trusted"]["could_be_shorter"]
    assert (f"up to {short} of the other {told['trusted']['m']} could still be shorter" in said) is (short is not None)
    assert (f"Measure {told['measure_more']} more." in said) is (told["measure_more"] is not None)


@pytest.mark.parametrize("title", ["P01 K11", "G02 K2"])
def test_the_terms_printed_add_up_to_the_clearance_printed(
    title: str, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each term is rounded to a tenth of a millimetre: six of them may be 0.3 mm off together, and 0.05 their sum."""
    _, said, _ = run(capsys, title, "--data", str(data))
    terms = [found.groups() for found in map(SUM.match, said[said.index("\nBars") :].splitlines()) if found]
    assert len(terms) % 8 == 0
    for at in range(0, len(terms), 8):
        sum_of = {
            sign: sum(float(mm.replace(",", "")) for each, _, mm in terms[at : at + 6] if each == sign) for sign in "+−"
        }
        needed, clearance = (float(mm.replace(",", "")) for _, _, mm in terms[at + 6 : at + 8])
        assert sum_of["−"] == pytest.approx(needed, abs=0.31)
        assert sum_of["+"] - sum_of["−"] == pytest.approx(clearance, abs=0.36)


def test_a_reading_left_out_says_why_and_a_question_is_asked(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, aside, _ = run(capsys, "P03 K11", "--data", str(data))
    assert "fixture 9, cavity 1: ≈ 46 15/16 in (1,193.0 mm), tape class II, 0.5 mm; set aside: bent pair" in aside
    _, asked, _ = run(capsys, "G05 K1", "--data", str(data))
    assert "? A 4 ft T8 leaves" in asked


def test_both_groups_of_one_kind_in_one_room_are_told(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, said, _ = run(capsys, "N05 K1", "--data", str(data))
    assert len(re.findall(r"^N05 K1: ", said, re.MULTILINE)) == 2
    cli.main(["explain", "N05 K1", "--data", str(data)])
    assert len(re.findall(r"^N05 K1: ", capsys.readouterr().out, re.MULTILINE)) == 2


def test_sources_of_lamp_tape_factor_and_materials_are_named(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, said, _ = run(capsys, "G02 K2", "--data", str(data))
    sources = said[said.index("\nSources\n") :]
    for named in ("IEC 60081", "NIST Handbook 44", "Numerical integration", "metals handbook", "EN 1993-1-1"):
        assert named in sources
    assert "Measuring Instruments Regulations" not in sources


def test_a_site_that_measures_in_millimetres_reads_them_first(survey: Survey, judged: Any) -> None:
    [(group, told)] = groups_called(survey, judged, "P01 K11")
    names = {item["id"]: "bar" for item in survey.of_type("catalogue_item")}
    said = list(
        fit_lines(
            "P01 K11",
            told,
            survey.children(group, "cavity_reading"),
            names,
            survey.kind_of(group),
            [],
            "millimetres",
            degrees(survey, judged)[group["id"]],
        )
    )
    assert said[0] == "P01 K11: Fits: bar: 3.8 mm (0.150 in) to spare"
    assert "    fixture 1, cavity 1: 1,200.5 mm (≈ 47 1/4 in), tape class II, 0.5 mm" in said


def test_a_group_that_is_not_there_is_one_sentence(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, said, wrong = run(capsys, "X99 K1", "--data", str(data))
    assert (status, said) == (1, "")
    assert wrong == "spanwalk: There is no group X99 K1 on this site, or its kind is not known yet.\n"


# -- loose numbers


def test_loose_readings_are_judged_without_a_site(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By hand: 1,198.56 less 1.645 √((1/32 in)²/3 + (1/16 in)²/12 + 0.3²) = 1.17 is 1,197.4 mm; needed are 1,189 + 0.5 + 2 × 2
    and 1.0 for 40 °C in the housing that grows least: 1,194.5; 2.9 mm to spare."""
    status, said, _ = run(capsys, *LOOSE, "--data", str(tmp_path / "none"))
    assert status == 0
    assert said.startswith(
        "T8 4 ft, cavities read: 2: Fits: bar of ≈ 46 13/16 in (1,189.0 mm): 0.113 in (2.9 mm) to spare\n"
    )
    assert "(1,197.4 mm). All 2 cavities read: the shortest, less its uncertainty." in said
    assert "Assumed, since not given: US tape with divisions of 1/16 in, from its hook." in said
    assert "Temperatures assumed: 10 to 40 °C." in said
    assert not (tmp_path / "none").exists()


def test_what_is_given_is_not_assumed_and_several_bars_are_judged(capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--lamp", "t5-4ft", "--readings", "1150; 1149,5", "--units", "millimetres", "--count", "6"]
    _, said, _ = run(capsys, *options, "--bar", "1139; 1155", "--coldest", "15", "--hottest", "30", "--sitting")
    assert said.startswith("T5 4 ft, cavities read: 2: Fits so far, 2 of 6 read: bar of 1,139.0 mm")
    assert "Temperatures assumed" not in said
    assert "tape class II with divisions of 1 mm" in said
    assert "The lamps sitting in the rows prove this much" in said
    assert re.search(r"bar of 1,139\.0 mm \(.*\): In length it fits", said)
    assert re.search(r"bar of 1,155\.0 mm \(.*\): Too long by 5\.5 mm", said)


def test_what_was_not_read_is_not_told(capsys: pytest.CaptureFixture[str]) -> None:
    _, said, _ = run(capsys, *[*LOOSE[:2], "--readings", "47 3/16", "--count", "9", *LOOSE[6:]])
    assert said.splitlines()[0].endswith(": Cannot tell")
    assert "One cavity read, 8 not" in said


def changed(option: str, value: str | None) -> list[str]:
    at = LOOSE.index(option)
    return [*LOOSE[:at], *([] if value is None else [option, value]), *LOOSE[at + 2 :]]


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ([], "group is missing; it must be a room's number and a kind's mark, like 'G02 K2', or loose numbers"),
        (["G02 K2", "--count", "3"], "--count goes with loose numbers, and 'G02 K2' is a group."),
        (changed("--lamp", None), "--lamp is missing; it must be a lamp of the tables: T5 2 ft, "),
        (changed("--lamp", "T9 4 ft"), "--lamp is 'T9 4 ft'; it must be a lamp of the tables: T5 2 ft, "),
        (changed("--lamp", "long"), "--lamp is 'long'; it must be a lamp of the tables: T5 2 ft, "),
        (changed("--readings", None), "--readings is missing; it must be one length, or several with ; between them"),
        (changed("--readings", " ; "), "--readings is ' ; '; it must be one length, or several with ; between them"),
        (changed("--readings", "47 3/17"), "--readings: 3/17 in '47 3/17' is on no tape."),
        (changed("--readings", "1,198"), "--readings: '1,198': is that ≈ 47 3/16 in (1,198.0 mm)?"),
        (changed("--readings", "2 in"), "--readings is '2 in'; it must be ≈ 3 15/16 in (100.0 mm) to "),
        (changed("--bar", None), "--bar is missing; it must be one length"),
        (changed("--bar", "10 m"), "--bar is '10 m'; it must be ≈ 3 15/16 in (100.0 mm) to "),
        (
            changed("--count", None),
            "--count is missing; it must be the number of cavities in all, a whole number from 2 to 20000",
        ),
        (
            changed("--count", "1"),
            "--count is '1'; it must be the number of cavities in all, a whole number from 2 to 20000",
        ),
        (changed("--count", "many"), "--count is 'many'; it must be"),
        ([*LOOSE, "--coldest", "45"], "--coldest is '45'; it must be a temperature from -40 to 40 °C"),
        ([*LOOSE, "--coldest", "30", "--hottest", "20"], "--coldest is '30'; it must be a temperature"),
        ([*LOOSE, "--hottest", "warm"], "--hottest is 'warm'; it must be a temperature from 0 to 90 °C"),
    ],
    ids=lambda each: each[:40] if isinstance(each, str) else "",
)
def test_an_option_that_cannot_be_used_is_named_with_its_value_and_what_would_be_right(
    options: list[str], sentence: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, said, wrong = run(capsys, *options, "--data", str(tmp_path / "none"))
    assert (status, said) == (2, "")
    assert wrong.startswith(f"spanwalk: {sentence}")
    assert wrong.count("\n") == 1
    assert not (tmp_path / "none").exists()
