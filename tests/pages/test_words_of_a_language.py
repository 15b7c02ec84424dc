"""One loader for every sentence, which takes a language; a region's words from one file; a second language by a folder."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from spanwalk import records, words
from spanwalk.package_folders import reference_folder
from spanwalk.page_files import tables_text

SPEC = Path(str(words.spec_folder()))
REGIONS = [tag for tag in words.languages() if "-" in tag]
HOLES = re.compile(r"\{\w+\}")


@pytest.fixture
def spec(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the words' folder, in which a test puts what it likes."""
    copy = tmp_path / "spec"
    shutil.copytree(SPEC, copy)
    monkeypatch.setattr(words, "spec_folder", lambda: copy)
    found_once = (words.languages, words.words, words.areas)
    for each in found_once:
        each.cache_clear()
    yield copy
    for each in found_once:
        each.cache_clear()


def put(spec: Path, name: str, content: object) -> None:
    (spec / name).parent.mkdir(exist_ok=True)
    (spec / name).write_text(json.dumps(content), encoding="utf-8")


@pytest.mark.parametrize("folder", sorted(each.name for each in SPEC.glob("words.*") if each.is_dir()))
def test_every_sentence_of_every_file_is_found_through_the_one_loader(folder: str) -> None:
    language = folder.removeprefix("words.")
    files = sorted((SPEC / folder).glob("*.json"))
    assert files
    told = {code: text for file in files for code, text in json.loads(file.read_text("utf-8")).items()}
    assert {code: words.words(language)[code] for code in told} == told
    assert set(words.words(language)) >= set(words.words())


def test_english_is_there_each_region_is_a_choice_of_it_and_spanish_is_a_language_of_its_own() -> None:
    assert words.languages() == ("en", "en-GB", "en-US", "es")


@pytest.mark.parametrize("region", REGIONS)
def test_a_regions_words_change_sentences_and_no_hole_of_one(region: str) -> None:
    first, told = words.words(), words.words(region)
    assert set(told) == set(first)
    changed = words.differing(region)
    assert len(changed) > 20
    for code, text in first.items():
        assert sorted(HOLES.findall(told[code])) == sorted(HOLES.findall(text)), code


@pytest.mark.parametrize("region", REGIONS)
def test_each_word_of_a_region_is_put_into_what_people_read(region: str) -> None:
    """In the United Kingdom the trade says luminaire and earth (BS 7671); in the United States ground (NFPA 70): from memory."""
    instead = json.loads((SPEC / f"words.{region}.json").read_text("utf-8"))["words"]
    assert all(word == word.casefold() and word != told for word, told in instead.items())
    for word, told in instead.items():
        assert words.in_region(f"The {word} there.", instead) == f"The {told} there."
        assert words.in_region(f"{word.capitalize()} there.", instead) == f"{told[0].upper()}{told[1:]} there."


def test_the_same_step_reads_right_on_both_sides_of_the_ocean() -> None:
    code = "plan.caution.isolate"
    assert "Isolate at the panel" in words.words()[code]
    assert "Isolate at the distribution board" in words.words("en-GB")[code]
    assert "Isolate at the panel" in words.words("en-US")[code]
    assert words.say("plan.step.isolate", {"panel": "panel 4", "circuit": "7", "volts": 230}, "en-GB").startswith(
        "Isolate at distribution board panel 4, circuit 7"
    )


def test_titles_of_fields_follow_a_language() -> None:
    assert words.titles("es")["spec.group.supply.panel"] == "Cuadro"
    assert words.differing("es")["spec.group.supply.panel"] == "Cuadro"


def test_what_only_commands_say_is_left_out_of_what_the_page_gets() -> None:
    assert "doctor.well" in words.differing("es")
    assert "doctor.well" not in words.differing("es", besides=["doctor"])
    assert "crew.defers" in words.differing("es", besides=["doctor"])


def test_what_one_person_reads_is_said_in_their_language_and_no_longer() -> None:
    with words.reading_in("es"):
        assert words.say("not-signed-in") == words.say("not-signed-in", language="es")
        assert words.choice_text("done") == "hecha"
        assert words.say("not-signed-in", language="en") != words.say("not-signed-in")
    assert words.choice_text("done") == "done"
    with words.reading_in("a language that is not here"):
        assert words.choice_text("done") == "done"


def test_titles_of_fields_follow_the_region_too() -> None:
    assert words.titles()["spec.group.supply.panel"] == "Panel"
    assert words.titles("en-GB")["spec.group.supply.panel"] == "Distribution board"
    assert words.differing("en-GB")["spec.group.supply.panel"] == "Distribution board"


def test_a_second_language_is_a_folder_and_no_more(spec: Path) -> None:
    put(spec, "words.xx/first.json", {"not-signed-in": "Nihan is singed in.", "spec.room": "Rumu"})
    put(spec, "words.xx-XX.json", {"words": {"nihan": "Nobo"}, "sentences": {"site-unknown": "Situ."}})
    assert words.languages() == ("en", "en-GB", "en-US", "es", "xx", "xx-XX")
    assert words.say("not-signed-in", language="xx") == "Nihan is singed in."
    assert words.say("not-signed-in", language="xx-XX") == "Nobo is singed in."
    assert words.say("sign-in-refused", language="xx") == words.say("sign-in-refused"), "what it lacks, in the first"
    assert words.differing("xx") == {"not-signed-in": "Nihan is singed in.", "spec.room": "Rumu"}
    tables = json.loads(tables_text(records.spec_text(), words.areas(), reference_folder(), words.languages()))
    assert tables["languages"] == list(words.languages())


def test_a_code_in_two_files_of_a_language_is_an_error(spec: Path) -> None:
    put(spec, "words.xx/first.json", {"not-signed-in": "one"})
    put(spec, "words.xx/second.json", {"not-signed-in": "two"})
    with pytest.raises(ValueError, match=r"words.xx/second.json repeats \['not-signed-in'\]"):
        words.words("xx")


def test_a_language_that_is_gone_from_the_server_is_read_in_the_first() -> None:
    assert [words.known(each) for each in ("en-GB", "xx", None)] == ["en-GB", "en", "en"]
