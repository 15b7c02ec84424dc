"""Which names and passwords are taken: none that looks like another's, none that is tried first."""

from __future__ import annotations

import unicodedata
from contextlib import suppress

import pytest

from spanwalk.services.people.names import check_name, name_key
from spanwalk.services.people.passwords import check_password, easy_to_guess
from spanwalk.services.refusals import WrongInput


def refusal_of_name(name: str, *taken: str) -> str:
    with pytest.raises(WrongInput) as caught:
        check_name(name, taken)
    return caught.value.code


@pytest.mark.parametrize(
    ("name", "other"),
    [("\uff21nna", "anna"), ("ANNA  B.", "anna b."), ("of\ufb01ce", "office"), ("Zoe\u0301", "Zo\u00e9")],
    ids=["full width", "case and spaces", "a ligature", "an accent apart"],
)
def test_two_ways_to_write_one_name_are_one_name(name: str, other: str) -> None:
    """NFKC, Unicode Standard Annex 15."""
    assert name_key(name) == name_key(other)
    assert refusal_of_name(name, other) == "person-name-taken"


@pytest.mark.parametrize(
    "name", ["\u043eleg", "p\u0430ul", "\u03b1nna"], ids=["a Cyrillic o", "a Cyrillic a", "a Greek alpha"]
)
def test_a_name_that_mixes_scripts_is_refused(name: str) -> None:
    assert refusal_of_name(name) == "person-name-mixed"


@pytest.mark.parametrize(
    ("name", "other"),
    [("\u043e\u0441\u0430", "oca"), ("crew 1", "crew l"), ("B0b", "Bob")],
    ids=["whole in Cyrillic", "a one for an l", "a nought for an o"],
)
def test_a_name_that_looks_like_another_is_refused_and_names_the_other(name: str, other: str) -> None:
    assert refusal_of_name(name, other) == "person-name-alike"
    assert check_name(name, ()) == name


def test_no_letter_that_the_standard_calls_confusable_makes_a_second_name() -> None:
    """Unicode Technical Standard 39, confusables.txt (by confusable-homoglyphs 3.3.1): 'aaaa', 'AAAA' written whole with each."""
    from confusable_homoglyphs.confusables import confusables_data

    tried, taken = 0, []
    for letter in "abcdefghijklmnopqrstuvwxyz":
        for written in (letter, letter.upper()):
            for other in confusables_data[written]:
                alone = len(other["c"]) == 1 and unicodedata.category(other["c"]).startswith("L")
                if alone and unicodedata.normalize("NFKC", other["c"]) == other["c"]:
                    tried += 1
                    with suppress(WrongInput):
                        taken.append((letter, check_name(other["c"] * 4, [written * 4])))
    assert tried > 300
    assert taken == []


@pytest.mark.parametrize("name", ["an\u200bna", "anna\u202e", "an\u00adna", "an\u0007na"])
def test_a_sign_that_cannot_be_seen_is_refused(name: str) -> None:
    """Zero-width space, right-to-left override, soft hyphen, bell."""
    assert refusal_of_name(name) in ("person-name-invisible", "person-name-wrong")


@pytest.mark.parametrize("name", ["", "   ", "x" * 81])
def test_a_name_has_one_to_eighty_letters(name: str) -> None:
    assert refusal_of_name(name) == "person-name-wrong"


@pytest.mark.parametrize(
    "name", ["x" * 80, "Jos\u00e9 \u00c1.", "\u0418\u0432\u0430\u043d", "\u5c71\u7530 Ken", "O'Hara-2"]
)
def test_names_of_the_world_are_taken(name: str) -> None:
    assert check_name(name, ["someone else"]) == name


@pytest.mark.parametrize(
    "password",
    [
        "1234567890",
        "          ",
        "aaaaaaaaaaaa",
        "abcabcabcabc",
        "qwertyuiop12",
        "password123",
        "Passwords2024!",
        "iloveyou1234",
        "1q2w3e4r5t",
        "Margaret Hill 1",
    ],
)
def test_a_password_that_is_tried_first_is_refused(password: str) -> None:
    assert easy_to_guess(password, "margaret hill")
    with pytest.raises(WrongInput) as caught:
        check_password(password, "margaret hill")
    assert caught.value.code == "password-easy"
    assert password not in str(caught.value.facts)


@pytest.mark.parametrize(
    "password",
    [
        "walk the span",
        "a longer one",
        "correct ladder west nine",
        "tz9-Kd2fQw",
        "\u5c71\u7530\u5ddd\u6751\u6728\u6797\u68ee\u7530\u539f\u6d25",
    ],
)
def test_a_password_that_nobody_tries_first_is_taken(password: str) -> None:
    check_password(password, "margaret hill")


@pytest.mark.parametrize(("letters", "right"), [(9, False), (10, True), (200, True), (201, False)])
def test_a_password_has_ten_to_two_hundred_letters(letters: int, right: bool) -> None:
    password = ("tz9-Kd2fQw" * 21)[: letters - 1] + "~" if letters > 10 else "tz9-Kd2fQw"[:letters]
    assert len(password) == letters
    if right:
        check_password(password)
    else:
        with pytest.raises(WrongInput, match="password-wrong"):
            check_password(password)
