"""A second factor beside the password: an authenticator's codes, recovery codes; and entering it again for what matters."""

from __future__ import annotations

import logging
import re
import time
import urllib.parse
from collections.abc import Iterator
from typing import Any

import pyotp
import pytest
from sqlalchemy import delete, inspect, select, text, update
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, new_id

from spanwalk.config import read_settings
from spanwalk.services.clock import later
from spanwalk.services.people import second_factor
from spanwalk.services.people.second_factor import RECOVERY_CODES, step_of
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import RecoveryCode, SecondFactor, Session, SignInTry, db

RFC_SECRET = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
"""'12345678901234567890' in base 32: the key of RFC 6238, appendix B."""


@pytest.fixture(autouse=True)
def nobody_has_any(here: Installation) -> None:
    with here.app.app_context(), writing() as session:
        for table in (SecondFactor, RecoveryCode, SignInTry, Session):
            session.execute(delete(table))
    here.clients.clear()


def sign_in(here: Installation, name: str = "manager", client: Any = None, **more: Any) -> Any:
    body = {"name": name, "password": PASSWORD, **more}
    return (client or here.app.test_client()).post("/api/session", json=body, headers=OWN_PAGE)


def set_up(here: Installation, name: str = "manager") -> tuple[str, list[str]]:
    """Give a person an authenticator; its key, and the recovery codes."""
    made = here.call(name, "POST", "/api/me/factors/authenticator", json={})
    assert made.status_code == 201, made.text
    answer = here.call(name, "PUT", "/api/me/factors/authenticator", json={"code": code_of(made.json["secret"])})
    assert answer.status_code == 200, answer.text
    return made.json["secret"], answer.json["codes"]


def code_of(secret: str, steps: int = 0) -> str:
    return pyotp.TOTP(secret).at(int(time.time()) + 30 * steps)


def time_goes_on(here: Installation) -> None:
    """The codes shown until now lie in the past: their step is spent, the next one is not."""
    with here.app.app_context(), writing() as session:
        session.execute(update(SecondFactor).values(last_step=SecondFactor.last_step - 5))


def let_the_entry_grow_old(here: Installation) -> None:
    with here.app.app_context(), writing() as session:
        session.execute(update(Session).values(entered_at=later(-11 * 60)))


# -- codes


@pytest.mark.parametrize(
    ("at_s", "code"),
    [
        (59, "287082"),
        (1111111109, "081804"),
        (1111111111, "050471"),
        (1234567890, "005924"),
        (2000000000, "279037"),
        (20000000000, "353130"),
    ],
)
def test_codes_are_those_of_the_standard(at_s: int, code: str) -> None:
    """RFC 6238, appendix B, SHA-1: its eight digits end in these six (94287082, 07081804, 14050471, …)."""
    assert step_of(RFC_SECRET, code, at_s) == at_s // 30


@pytest.mark.parametrize(("steps", "right"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_a_code_of_half_a_minute_before_or_after_is_taken(steps: int, right: bool) -> None:
    """RFC 6238, 5.2: one step of delay at most is recommended."""
    code = pyotp.TOTP(RFC_SECRET).at(1_000_000_000 + 30 * steps)
    assert (step_of(RFC_SECRET, code, 1_000_000_000) is not None) == right


@pytest.mark.parametrize("code", ["", "28708", "2870822", "28708a", "２８７０８２", "-87082"])
def test_what_is_not_six_digits_is_no_code(code: str) -> None:
    assert step_of(RFC_SECRET, code, 59) is None


def test_a_code_may_be_typed_in_groups() -> None:
    assert step_of(RFC_SECRET, " 287 082 ", 59) == 1


# -- setting it up, and signing in with it


def test_an_authenticator_counts_from_its_first_code_on(here: Installation) -> None:
    made = here.call("manager", "POST", "/api/me/factors/authenticator", json={}).json
    assert here.call("manager", "GET", "/api/me/factors").json["factors"] == []
    assert sign_in(here).status_code == 200
    here.clients.clear()
    wrong = here.call("manager", "PUT", "/api/me/factors/authenticator", json={"code": "000000"})
    assert (wrong.status_code, wrong.json["code"], wrong.json["field"]) == (422, "factor-code-wrong", "code")
    put = here.call("manager", "PUT", "/api/me/factors/authenticator", json={"code": code_of(made["secret"])})
    assert len(put.json["codes"]) == RECOVERY_CODES
    (told,) = here.call("manager", "GET", "/api/me/factors").json["factors"]
    assert told["kind"] == "code"
    assert "secret" not in told


def test_the_address_to_scan_holds_key_name_and_where_it_is_for(here: Installation) -> None:
    """The otpauth form: common practice, no standard."""
    made = here.call("manager", "POST", "/api/me/factors/authenticator", json={}).json
    address = urllib.parse.urlsplit(made["address"])
    query = urllib.parse.parse_qs(address.query)
    assert (address.scheme, address.netloc, query["secret"]) == ("otpauth", "totp", [made["secret"]])
    assert urllib.parse.unquote(address.path).endswith(":manager")
    assert len(made["secret"]) >= 32, "160 bits, RFC 4226 4"


def test_name_and_password_alone_let_nobody_in_who_has_a_second_factor(here: Installation) -> None:
    secret, _ = set_up(here)
    time_goes_on(here)
    answer = sign_in(here)
    assert (answer.status_code, answer.json["code"]) == (401, "second-factor-needed")
    assert answer.json["methods"] == ["code"]
    assert "Set-Cookie" not in answer.headers
    assert sign_in(here, code=code_of(secret)).status_code == 200


def test_a_wrong_password_does_not_tell_that_there_is_a_second_factor(here: Installation) -> None:
    set_up(here)
    answer = here.app.test_client().post(
        "/api/session", json={"name": "manager", "password": "something else"}, headers=OWN_PAGE
    )
    assert (answer.status_code, answer.json["code"]) == (401, "sign-in-refused")


def test_a_code_is_good_once(here: Installation) -> None:
    secret, _ = set_up(here)
    time_goes_on(here)
    code = code_of(secret)
    assert sign_in(here, code=code).status_code == 200
    again = sign_in(here, code=code)
    assert (again.status_code, again.json["code"]) == (401, "second-factor-wrong")


def test_guesses_at_codes_wait_as_those_at_passwords_do(here: Installation) -> None:
    set_up(here)
    answers = [sign_in(here, code="000000") for _ in range(4)]
    assert [each.status_code for each in answers] == [401, 401, 401, 429]


def test_a_recovery_code_stands_in_once_in_whatever_form_it_is_typed(here: Installation) -> None:
    _, codes = set_up(here)
    assert all(re.fullmatch("([a-hj-km-np-z2-9]{4}-){3}[a-hj-km-np-z2-9]{4}", each) for each in codes)
    assert sign_in(here, code=codes[0].upper().replace("-", " ")).status_code == 200
    assert sign_in(here, code=codes[0]).json["code"] == "second-factor-wrong"
    assert here.app.test_client()
    here.clients.clear()
    client = here.app.test_client()
    assert sign_in(here, client=client, code=codes[1]).status_code == 200
    assert client.get("/api/me/factors").json["codes_left"] == RECOVERY_CODES - 2


def test_new_recovery_codes_end_the_old_ones(here: Installation) -> None:
    _, codes = set_up(here)
    new = here.call("manager", "POST", "/api/me/factors/codes", json={}).json["codes"]
    assert not set(new) & set(codes)
    assert sign_in(here, code=codes[0]).status_code == 401
    assert sign_in(here, code=new[0]).status_code == 200


def test_who_takes_off_the_last_second_factor_signs_in_without(here: Installation) -> None:
    set_up(here)
    (told,) = here.call("manager", "GET", "/api/me/factors").json["factors"]
    assert here.call("surveyor", "DELETE", f"/api/me/factors/{told['id']}").json["code"] == "factor-unknown"
    assert here.call("manager", "DELETE", f"/api/me/factors/{told['id']}").status_code == 204
    assert here.call("manager", "GET", "/api/me/factors").json["codes_left"] == 0
    assert sign_in(here).status_code == 200


def test_an_owner_takes_off_the_second_factors_of_who_has_lost_them(here: Installation) -> None:
    set_up(here)
    at = f"/api/people/{here.people['manager']}/factors"
    assert here.call("surveyor", "DELETE", at).status_code == 403
    before = here.clients["manager"]
    assert here.call("owner", "DELETE", at).status_code == 204
    assert before.get("/api/session").status_code == 401
    assert sign_in(here).status_code == 200
    unknown = here.call("owner", "DELETE", f"/api/people/{new_id()}/factors")
    assert (unknown.status_code, unknown.json["code"]) == (404, "person-unknown")


def test_a_link_for_a_new_password_asks_for_the_second_factor_too(here: Installation) -> None:
    """Who makes such links would else sign in as anybody below them who has one."""
    secret, _ = set_up(here)
    time_goes_on(here)
    link = here.call("owner", "POST", "/api/resets", json={"person": here.people["manager"]}).json["address"]
    body = {"secret": link.partition("#")[2], "password": "four ladders stand"}

    def accept(**more: Any) -> Any:
        return here.app.test_client().post("/api/links/accept", json=body | more, headers=OWN_PAGE)

    assert accept().json["code"] == "second-factor-needed"
    assert accept(code="000000").json["code"] == "second-factor-wrong"
    assert accept(code=code_of(secret)).status_code == 200
    with here.app.app_context(), writing() as session:
        from spanwalk.services.people.people import set_password

        set_password(session, here.people["manager"], PASSWORD)


def test_neither_key_nor_codes_are_told_again_nor_stand_in_a_log_and_codes_are_kept_as_hashes(
    here: Installation, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    secret, codes = set_up(here)
    sign_in(here, code="x" * 100)
    sign_in(here, code=codes[0])
    told = here.call("manager", "GET", "/api/me/factors").text
    assert secret not in told + caplog.text
    with here.app.app_context(), reading() as session:
        tables = inspect(db.engine).get_table_names()
        rows = [str(row) for table in tables for row in session.execute(text(f'SELECT * FROM "{table}"'))]
    assert len(rows) > 10
    plain = [each.replace("-", "") for each in codes]
    assert not [row for row in rows for code in [*codes, *plain] if code in row]
    assert not [code for code in codes if code in caplog.text]


def test_one_code_shown_twice_at_once_lets_one_in(here: Installation) -> None:
    secret, _ = set_up(here)
    time_goes_on(here)
    code, where = code_of(secret), second_factor.Here("localhost", "http://localhost")
    with here.app.app_context(), writing() as session:
        proofs = [second_factor.proves(session, here.people["manager"], {"code": code}, where) for _ in range(2)]
    assert proofs == [True, False]


# -- entering it again

AGAIN = [
    ("owner", "POST", "/api/people"),
    ("owner", "PUT", "/api/people/{person}"),
    ("owner", "POST", "/api/invites"),
    ("owner", "POST", "/api/resets"),
    ("owner", "DELETE", "/api/people/{person}/factors"),
    ("owner", "DELETE", "/api/sites/{site}"),
    ("owner", "GET", "/api/sites/{site}/copy.zip"),
    ("manager", "PUT", "/api/sites/{site}/people"),
    ("manager", "POST", "/api/sites/{site}/invites"),
    ("manager", "POST", "/api/sites/{site}/resets"),
    ("manager", "GET", "/api/sites/{site}/walk.csv"),
    ("manager", "GET", "/api/sites/{site}/tables/all.xlsx"),
    ("manager", "GET", "/api/sites/{site}/tables/rooms.csv"),
    ("manager", "POST", "/api/me/factors/authenticator"),
    ("manager", "POST", "/api/me/factors/codes"),
    ("manager", "DELETE", "/api/me/factors/{person}"),
    ("manager", "POST", "/api/sites/{site}/held"),
    ("manager", "DELETE", "/api/sites/{site}/links/{person}"),
    ("owner", "DELETE", "/api/links/{person}"),
    ("owner", "PUT", "/api/sites/{site}/archived"),
    ("owner", "POST", "/api/site-copies"),
]


@pytest.mark.parametrize(("name", "method", "path"), AGAIN)
def test_people_exports_and_deletions_ask_again_after_ten_minutes(
    here: Installation, name: str, method: str, path: str
) -> None:
    """A phone that lies about signed in did all of it."""
    path = path.replace("{person}", here.people["crew"])
    here.client(name)
    let_the_entry_grow_old(here)
    answer = here.call(name, method, path)
    assert (answer.status_code, answer.json["code"], answer.json["minutes"]) == (403, "enter-again", 10)
    assert here.call(name, "POST", "/api/session/entered", json={"password": PASSWORD}).status_code == 204
    again = here.call(name, method, path, json={})
    assert (again.json or {}).get("code") != "enter-again"


@pytest.mark.parametrize(
    ("name", "path"), [("owner", "/api/phones/{phone}"), ("manager", "/api/sites/{site}/devices/{phone}")]
)
def test_letting_a_phone_in_again_asks_again_and_shutting_one_out_never_waits(
    here: Installation, name: str, path: str
) -> None:
    """Who finds a manager's phone lying about let the stolen one in again."""
    here.pull("crew")
    told = here.client("crew").get("/api/me/phones").json["phones"]
    (phone,) = [each["id"] for each in told if each["this"]]
    path = path.replace("{phone}", phone)
    here.client(name)
    let_the_entry_grow_old(here)
    assert here.call(name, "PUT", path, json={"shut_out": True}).status_code in (200, 204)
    refused = here.call(name, "PUT", path, json={"shut_out": False})
    assert (refused.status_code, refused.json["code"]) == (403, "enter-again")
    assert here.call(name, "POST", "/api/session/entered", json={"password": PASSWORD}).status_code == 204
    assert here.call(name, "PUT", path, json={"shut_out": False}).status_code in (200, 204)
    here.clients.pop("crew")


def test_work_on_the_site_never_asks_again(here: Installation) -> None:
    here.client("surveyor")
    let_the_entry_grow_old(here)
    assert here.floor("surveyor")
    assert here.pull("surveyor")["head"] > 0


def test_entering_again_with_a_wrong_password_is_slowed_and_ends_nothing(here: Installation) -> None:
    here.client("manager")
    let_the_entry_grow_old(here)
    wrong = [here.call("manager", "POST", "/api/session/entered", json={"password": "not it"}) for _ in range(4)]
    assert [each.status_code for each in wrong] == [422, 422, 422, 429]
    assert wrong[0].json["code"] == "password-old-wrong"
    assert here.call("manager", "GET", "/api/session").status_code == 200
    assert here.call("manager", "GET", "/api/sites/{site}/walk.csv").json["code"] == "enter-again"


def test_who_has_a_second_factor_enters_that_and_the_password_is_not_enough(here: Installation) -> None:
    secret, _ = set_up(here)
    time_goes_on(here)
    let_the_entry_grow_old(here)
    asked = here.call("manager", "POST", "/api/session/entered", json={})
    assert (asked.status_code, asked.json["methods"]) == (403, ["code"])
    assert here.call("manager", "POST", "/api/session/entered", json={"password": PASSWORD}).status_code == 403
    assert here.call("manager", "POST", "/api/session/entered", json={"code": "000000"}).status_code == 422
    assert here.call("manager", "POST", "/api/session/entered", json={"code": code_of(secret)}).status_code == 204
    assert here.call("manager", "GET", "/api/sites/{site}/walk.csv").status_code == 200


def test_an_entry_is_of_one_sign_in(here: Installation) -> None:
    other = here.app.test_client()
    assert sign_in(here, client=other).status_code == 200
    here.client("manager")
    let_the_entry_grow_old(here)
    assert here.call("manager", "POST", "/api/session/entered", json={"password": PASSWORD}).status_code == 204
    assert other.get(f"/api/sites/{here.site}/walk.csv").json["code"] == "enter-again"


@pytest.fixture
def required(here: Installation) -> Iterator[None]:
    """The setting is on."""
    settings = here.app.extensions["spanwalk"]
    assert read_settings({"SPANWALK_SECOND_FACTOR_REQUIRED": "yes"}).second_factor_required
    object.__setattr__(settings, "second_factor_required", True)
    yield
    object.__setattr__(settings, "second_factor_required", False)


@pytest.mark.usefixtures("required")
def test_where_it_is_required_who_keeps_people_signs_in_and_comes_to_their_own_page_only(here: Installation) -> None:
    """It was asked for people, exports and deletions alone: all else was read without one."""
    told = here.call("manager", "GET", "/api/session").json
    assert told["factor_first"] is True
    for path in ("/api/sites", "/api/sites/{site}/pull", "/api/sites/{site}/people", "/api/sites/{site}/walk.csv"):
        refused = here.call("manager", "GET", path)
        assert (refused.status_code, refused.json["code"]) == (403, "second-factor-first"), path
    for path in ("/api/me/factors", "/api/me/phones", "/api/me/sessions", "/api/me/changes"):
        assert here.call("manager", "GET", path).status_code == 200, path
    factors = here.call("manager", "GET", "/api/me/factors").json
    assert (factors["advised"], factors["required"]) == (True, True)
    set_up(here)
    assert here.call("manager", "GET", "/api/session").json["factor_first"] is False
    assert here.call("manager", "GET", "/api/sites/{site}/walk.csv").status_code == 200


@pytest.mark.usefixtures("required")
def test_what_they_have_already_saved_is_taken_meanwhile(here: Installation) -> None:
    assert here.floor("manager")


@pytest.mark.usefixtures("required")
def test_who_keeps_nobody_needs_none(here: Installation) -> None:
    assert here.call("surveyor", "GET", "/api/session").json["factor_first"] is False
    assert here.call("surveyor", "GET", "/api/sites/{site}/walk.csv").status_code == 200


@pytest.mark.usefixtures("required")
def test_before_it_is_set_up_their_own_page_and_handing_in_are_all_that_is_open(here: Installation) -> None:
    views = here.app.view_functions
    before = {each for each, view in views.items() if getattr(view, "before_factor", False)}
    own = {each for each in views if each.split(".")[0] in ("own", "second_factor")} - {"second_factor.take_off"}
    assert before - own == {"sessions.show", "phones.own", "phones.end_on", "push.push", "photos.put"}
    assert own <= before


def test_a_sign_in_before_this_was_written_down_is_asked_first(here: Installation) -> None:
    here.client("manager")
    with here.app.app_context(), writing() as session:
        session.execute(update(Session).values(entered_at=None))
        assert session.execute(select(Session.id)).first()
    assert here.call("manager", "GET", "/api/sites/{site}/walk.csv").json["code"] == "enter-again"
