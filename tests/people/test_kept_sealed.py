"""Keys of authenticators are sealed in the database; what was typed as a name stands nowhere; old phones are forgotten."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pyotp
import pytest
from sqlalchemy import select, update
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, installed, phone_of

from spanwalk.cli import main
from spanwalk.config import Settings, SettingWrong, read_settings
from spanwalk.services.backups.backing_up import back_up
from spanwalk.services.backups.carried import TABLES, How
from spanwalk.services.backups.snapshot import LEFT_OUT
from spanwalk.services.clock import later
from spanwalk.services.people.sealed import MARK, hidden_name, opened, sealed
from spanwalk.services.privacy.keeping import let_go_old
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Phone, PhoneOfPerson, SecondFactor, SignInTry, db

DAY_S = 86400


@pytest.fixture
def secret_file(tmp_path: Path) -> Path:
    file = tmp_path / "secret.txt"
    assert main(["secret-key", str(file)]) == 0
    return file


@pytest.fixture
def sealing(back_end: str, tmp_path: Path, secret_file: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end, SPANWALK_SECRET_FILE=str(secret_file)) as made:
        yield made


@pytest.fixture
def plain(back_end: str, tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        yield made


def set_up(here: Installation) -> str:
    """Give the manager an authenticator; its key."""
    made = here.call("manager", "POST", "/api/me/factors/authenticator", json={})
    code = pyotp.TOTP(made.json["secret"]).now()
    assert here.call("manager", "PUT", "/api/me/factors/authenticator", json={"code": code}).status_code == 200
    with here.app.app_context(), writing() as session:
        session.execute(update(SecondFactor).values(last_step=SecondFactor.last_step - 5))
    return str(made.json["secret"])


def enter(here: Installation, secret: str) -> int:
    body = {"name": "manager", "password": PASSWORD, "code": pyotp.TOTP(secret).at(int(time.time()))}
    return here.app.test_client().post("/api/session", json=body, headers=OWN_PAGE).status_code


def kept(here: Installation) -> str:
    with here.app.app_context(), reading() as session:
        return str(session.execute(select(SecondFactor.secret)).scalar_one())


def with_keys(here: Installation, *files: Path) -> None:
    """The server goes on with a secret file that holds the lines of these."""
    settings: Settings = here.app.extensions["spanwalk"]
    keys = tuple(key for file in files for key in read_settings({"SPANWALK_SECRET_FILE": str(file)}).secret_keys)
    here.app.extensions["spanwalk"] = replace(settings, secret_file=files[0] if files else None, secret_keys=keys)


def test_an_authenticators_key_is_sealed_and_its_codes_are_taken(sealing: Installation) -> None:
    secret = set_up(sealing)
    assert kept(sealing).startswith(MARK)
    assert secret not in kept(sealing)
    assert enter(sealing, secret) == 200


def test_a_key_from_before_goes_on_working_and_is_sealed_when_it_is_used(
    plain: Installation, secret_file: Path
) -> None:
    secret = set_up(plain)
    assert kept(plain) == secret
    with_keys(plain, secret_file)
    assert enter(plain, secret) == 200
    assert kept(plain).startswith(MARK)


def test_what_is_not_used_is_sealed_when_the_server_starts_and_old_seals_are_made_anew(
    plain: Installation, secret_file: Path, tmp_path: Path
) -> None:
    secret = set_up(plain)
    with_keys(plain, secret_file)
    with plain.app.app_context():
        assert let_go_old(plain.app.extensions["spanwalk"]).sealed == 1
        assert let_go_old(plain.app.extensions["spanwalk"]).sealed == 0
    first, newer = kept(plain), tmp_path / "newer.txt"
    main(["secret-key", str(newer)])
    with_keys(plain, newer, secret_file)
    with plain.app.app_context():
        assert let_go_old(plain.app.extensions["spanwalk"]).sealed == 1
    assert kept(plain) != first
    with_keys(plain, newer)
    assert enter(plain, secret) == 200, "the older key is needed no more"


def test_without_its_key_a_sealed_one_takes_no_code_and_a_recovery_code_still_lets_in(
    sealing: Installation, tmp_path: Path
) -> None:
    secret = set_up(sealing)
    codes = sealing.call("manager", "POST", "/api/me/factors/codes", json={}).json["codes"]
    other = tmp_path / "other.txt"
    main(["secret-key", str(other)])
    with_keys(sealing, other)
    assert enter(sealing, secret) == 401
    body = {"name": "manager", "password": PASSWORD, "code": codes[0]}
    assert sealing.app.test_client().post("/api/session", json=body, headers=OWN_PAGE).status_code == 200


def test_what_is_sealed_for_one_row_opens_in_no_other(sealing: Installation) -> None:
    """Who may write to the database but lacks the key cannot give somebody the key of an authenticator of their own."""
    with sealing.app.app_context():
        text = sealed("GEZDGNBVGY3TQOJQ", "one")
        assert opened(text, "one") == "GEZDGNBVGY3TQOJQ"
        assert opened(text, "another") is None
        assert opened(text[:-4], "one") is None


def test_no_backup_holds_a_key_a_sign_in_or_a_guess(sealing: Installation, tmp_path: Path) -> None:
    import sqlite3
    from contextlib import closing

    secret = set_up(sealing)
    guess(sealing, "Swordfish-in-the-wrong-field")
    with sealing.app.app_context():
        back_up(sealing.app.extensions["spanwalk"], tmp_path / "backup")
    file = tmp_path / "backup" / "spanwalk.db"
    assert secret.encode() not in file.read_bytes()
    with closing(sqlite3.connect(file)) as database:
        counts = {name: database.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in LEFT_OUT}
    assert counts == dict.fromkeys(LEFT_OUT, 0)
    assert sealing.call("manager", "GET", "/api/session").status_code == 200, "who is signed in stays so"


def test_a_backup_leaves_out_what_a_restore_would_not_bring_back() -> None:
    assert set(LEFT_OUT) == {name for name, how in TABLES.items() if how is How.NEITHER}


@pytest.mark.parametrize("text", ["", "# nothing", "c2hvcnQ=", "not base 64, and PLANTED"])
def test_a_secret_file_without_a_whole_key_is_refused_and_not_repeated(tmp_path: Path, text: str) -> None:
    file = tmp_path / "file"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(SettingWrong, match="SPANWALK_SECRET_FILE") as wrong:
        read_settings({"SPANWALK_SECRET_FILE": str(file)})
    assert "PLANTED" not in str(wrong.value)


def test_a_secret_file_is_its_owners_alone_is_never_written_over_and_its_keys_are_not_shown(secret_file: Path) -> None:
    assert secret_file.stat().st_mode & 0o777 == 0o600
    before = secret_file.read_bytes()
    assert main(["secret-key", str(secret_file)]) == 2
    assert secret_file.read_bytes() == before
    settings = read_settings({"SPANWALK_SECRET_FILE": str(secret_file)})
    assert repr(settings.secret_keys[0]) not in repr(settings)


# -- names that were typed


def guess(here: Installation, name: str) -> Any:
    return here.app.test_client().post("/api/session", json={"name": name, "password": "wrong again"}, headers=OWN_PAGE)


def test_what_was_typed_as_a_name_stands_nowhere_and_still_counts(sealing: Installation) -> None:
    """A password typed into the wrong field was kept for an hour, and longer where nobody else guessed."""
    _nothing_of_it_stands_there(sealing)


def test_without_a_secret_file_it_stands_nowhere_either(plain: Installation) -> None:
    _nothing_of_it_stands_there(plain)


def _nothing_of_it_stands_there(here: Installation) -> None:
    answers = [guess(here, "Swordfish-in-the-wrong-field").status_code for _ in range(4)]
    assert answers == [401, 401, 401, 429]
    with here.app.app_context(), reading() as session:
        rows = [str(row) for table in db.metadata.sorted_tables for row in session.execute(select(table)).all()]
        keys = set(session.execute(select(SignInTry.name_key)).scalars())
        assert keys == {hidden_name(session, "SWORDFISH-in-the-wrong-field")}
    assert len(rows) > 10
    assert not [row for row in rows if "swordfish" in row.casefold()]


def test_guesses_that_no_longer_count_go_without_waiting_for_the_next_guess(plain: Installation) -> None:
    guess(plain, "nobody here")
    with plain.app.app_context():
        with writing() as session:
            session.execute(update(SignInTry).values(at=later(-2 * 3600)))
        assert let_go_old(plain.app.extensions["spanwalk"]).guesses == 1


# -- phones that nobody uses


def test_a_phone_that_nobody_has_used_for_long_is_forgotten_and_one_that_is_shut_out_never(
    plain: Installation,
) -> None:
    plain.floor("surveyor")
    shut_out, unused = plain.signed_in("crew"), plain.signed_in("crew")
    phones = plain.call("owner", "GET", "/api/phones").json["phones"]
    assert len(phones) == 4
    out = shut_out.get("/api/me/phones").json["phones"]
    (mine,) = [each["id"] for each in out if each["this"]]
    assert plain.call("owner", "PUT", f"/api/phones/{mine}", json={"shut_out": True}).status_code == 200
    unused.delete("/api/session", headers=OWN_PAGE)
    secret = phone_of(unused)
    settings = plain.app.extensions["spanwalk"]
    with plain.app.app_context():
        assert let_go_old(settings).phones == 0
        with writing() as session:
            session.execute(update(Phone).values(made_at=later(-401 * DAY_S)))
            session.execute(update(PhoneOfPerson).values(signed_in_at=later(-401 * DAY_S)))
        assert let_go_old(settings).phones == 1
    left = {each["id"] for each in plain.call("owner", "GET", "/api/phones").json["phones"]}
    assert len(left) == 3
    assert mine in left
    unused.set_cookie("spanwalk_phone", secret)
    assert unused.get("/api/phone").json == {"known": False, "shut_out": False, "sites": []}
    assert plain.call("surveyor", "GET", "/api/sites/{site}/pull").status_code == 200
