"""One-time links: single use, running out, withdrawn; what they give; nothing of their secret kept or logged."""

from __future__ import annotations

import logging
import urllib.parse
import uuid
from collections.abc import Iterator
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from sqlalchemy import inspect, select, text, update
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, installed, new_id

from spanwalk.services.clock import later
from spanwalk.services.people.signing_in import FAILURES_FROM_ONE_PLACE
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import OneTimeLink, db

NEW_PASSWORD = "four ladders stand"


@pytest.fixture
def here(back_end: str, tmp_path: Any) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        yield made


def invited(here: Installation, role: str = "surveyor", by: str = "manager", **more: Any) -> Any:
    return here.call(by, "POST", "/api/sites/{site}/invites", json={"role": role, **more})


def reset(here: Installation, name: str, by: str = "manager") -> Any:
    return here.call(by, "POST", "/api/sites/{site}/resets", json={"person": here.people[name]})


def secret_of(made: Any) -> str:
    assert made.status_code == 201, made.text
    return str(urllib.parse.urlsplit(made.json["address"]).fragment)


def accept(here: Installation, secret: str, client: Any = None, **more: Any) -> Any:
    body = {"secret": secret, "password": NEW_PASSWORD, **more}
    return (client or here.app.test_client()).post("/api/links/accept", json=body, headers=OWN_PAGE)


def opened(here: Installation, secret: str) -> Any:
    return here.call(None, "POST", "/api/links/open", json={"secret": secret})


def listed(here: Installation) -> list[Any]:
    return list(here.call("manager", "GET", "/api/sites/{site}/links").json["links"])


def sign_in(here: Installation, name: str, password: str) -> int:
    body = {"name": name, "password": password}
    return int(here.app.test_client().post("/api/session", json=body, headers=OWN_PAGE).status_code)


# -- an invitation


def test_who_is_invited_gives_name_and_password_and_is_signed_in_on_the_site(here: Installation) -> None:
    secret = secret_of(invited(here, note="the new one"))
    told = opened(here, secret).json
    assert (told["kind"], told["site"], told["role"], told["made_by"]) == (
        "invite",
        "Test building",
        "surveyor",
        "manager",
    )
    client = here.app.test_client()
    answer = accept(here, secret, client, name="Robin")
    assert answer.status_code == 200
    assert answer.json["site"] == here.site
    session = client.get("/api/session").json
    assert session["person"]["name"] == "Robin"
    assert [(site["id"], site["role"]) for site in session["sites"]] == [(here.site, "surveyor")]
    assert sign_in(here, "robin", NEW_PASSWORD) == 200


def test_the_secret_stands_after_the_number_sign_where_no_browser_sends_it(here: Installation) -> None:
    address = urllib.parse.urlsplit(invited(here).json["address"])
    assert (address.path, address.query) == ("/join", "")
    assert len(address.fragment) >= 43, "256 bits in base64"


def test_the_qr_of_a_link_is_read_by_another_decoder(here: Installation) -> None:
    """zxing-cpp reads what qrcode drew."""
    made = invited(here).json
    size, cell, quiet = len(made["qr"]), 8, 4
    image = Image.new("L", ((size + 2 * quiet) * cell,) * 2, 255)
    for y, row in enumerate(made["qr"]):
        for x, dark in enumerate(row):
            if dark == "1":
                left, top = (x + quiet) * cell, (y + quiet) * cell
                image.paste(0, (left, top, left + cell, top + cell))
    (found,) = zxingcpp.read_barcodes(image)
    assert found.text == made["address"]


def test_a_link_is_good_once(here: Installation) -> None:
    secret = secret_of(invited(here))
    assert accept(here, secret, name="Robin").status_code == 200
    for again in (accept(here, secret, name="Somebody else"), opened(here, secret)):
        assert (again.status_code, again.json["code"]) == (409, "link-used")
    assert {each["state"] for each in listed(here)} == {"used"}


def test_a_name_or_password_that_cannot_be_taken_leaves_the_link_good(here: Installation) -> None:
    secret = secret_of(invited(here))
    assert accept(here, secret, name="manager").json["code"] == "person-name-taken"
    assert accept(here, secret).json["code"] == "person-name-wrong"
    assert accept(here, secret, name="Robin", password="1234567890").json["code"] == "password-easy"
    assert accept(here, secret, name="Robin").status_code == 200


def test_a_link_runs_out(here: Installation) -> None:
    secret = secret_of(invited(here))
    with here.app.app_context(), writing() as session:
        session.execute(update(OneTimeLink).values(expires_at=later(-1)))
    assert (opened(here, secret).json["code"], accept(here, secret, name="Robin").json["code"]) == ("link-expired",) * 2
    assert listed(here)[0]["state"] == "expired"


def test_a_link_can_be_withdrawn_until_it_is_used(here: Installation) -> None:
    made = invited(here, note="the new one").json
    (told,) = listed(here)
    assert (told["id"], told["note"], told["made_by"], told["state"]) == (made["id"], "the new one", "manager", "open")
    at = f"/api/sites/{{site}}/links/{made['id']}"
    assert here.call("manager", "DELETE", at).status_code == 204
    assert accept(here, made["address"].partition("#")[2], name="Robin").json["code"] == "link-withdrawn"
    assert here.call("manager", "DELETE", at).json["code"] == "link-withdrawn"
    answer = here.call("manager", "DELETE", f"/api/sites/{{site}}/links/{new_id()}")
    assert (answer.status_code, answer.json["code"]) == (404, "link-unknown")


def test_nobody_invites_above_themselves(here: Installation) -> None:
    assert invited(here, "owner").json["code"] == "role-not-enough"
    made = invited(here, "owner", by="owner").json
    assert here.call("manager", "DELETE", f"/api/sites/{{site}}/links/{made['id']}").json["code"] == "role-not-enough"
    assert invited(here, "surveyor", by="surveyor").status_code == 403


def test_an_invitation_of_somebody_who_may_no_longer_invite_is_good_for_nothing(here: Installation) -> None:
    secret = secret_of(invited(here, "manager"))
    put = {"name": "manager", "role": "surveyor"}
    assert here.call("owner", "PUT", "/api/sites/{site}/people", json=put).status_code == 200
    assert accept(here, secret, name="Robin").json["code"] == "link-withdrawn"


def test_who_has_a_name_here_comes_onto_the_site_by_an_invitation(here: Installation) -> None:
    secret = secret_of(invited(here, "crew"))
    answer = here.call("stranger", "POST", "/api/links/take", json={"secret": secret})
    assert (answer.status_code, answer.json["site"]) == (200, here.site)
    assert here.call("stranger", "GET", "/api/session").json["sites"][0]["role"] == "crew"
    assert listed(here)[0]["name"] == "stranger"


def test_an_invitation_lowers_nobodys_role(here: Installation) -> None:
    secret = secret_of(invited(here, "crew"))
    assert here.call("manager", "POST", "/api/links/take", json={"secret": secret}).status_code == 200
    assert here.call("manager", "GET", "/api/session").json["sites"][0]["role"] == "manager"


# -- a new password


def test_a_new_password_by_a_link_ends_the_sign_ins_and_signs_in(here: Installation) -> None:
    before = here.client("crew")
    secret = secret_of(reset(here, "crew"))
    assert before.get("/api/session").status_code == 200, "until it is used, nothing changes"
    assert opened(here, secret).json["name"] == "crew"
    client = here.app.test_client()
    assert accept(here, secret, client).status_code == 200
    assert client.get("/api/session").json["person"]["name"] == "crew"
    assert before.get("/api/session").status_code == 401
    assert (sign_in(here, "crew", PASSWORD), sign_in(here, "crew", NEW_PASSWORD)) == (401, 200)


def test_a_later_link_for_the_same_person_withdraws_the_earlier(here: Installation) -> None:
    first, second = secret_of(reset(here, "crew")), secret_of(reset(here, "crew"))
    assert accept(here, first).json["code"] == "link-withdrawn"
    assert accept(here, second).status_code == 200


def test_a_manager_resets_nobody_above_them(here: Installation) -> None:
    answer = reset(here, "owner")
    assert (answer.status_code, answer.json["code"]) == (403, "person-above")
    assert reset(here, "manager", by="owner").status_code == 201
    assert reset(here, "stranger").json["code"] == "person-unknown"


def test_a_manager_does_not_get_at_another_site_by_the_password_of_somebody_on_both(here: Installation) -> None:
    other = here.call("owner", "POST", "/api/sites", json={"name": "Second building"}).json["id"]
    here.call("owner", "PUT", f"/api/sites/{other}/people", json={"name": "crew", "role": "manager"})
    answer = reset(here, "crew")
    assert (answer.status_code, answer.json["code"]) == (403, "person-elsewhere-too")
    body = {"person": here.people["crew"]}
    assert here.call("owner", "POST", "/api/resets", json=body).status_code == 201


def test_who_is_disabled_gets_no_new_password_and_their_links_are_withdrawn(here: Installation) -> None:
    secret = secret_of(reset(here, "crew"))
    invitation = secret_of(invited(here))
    for name in ("crew", "manager"):
        here.call("owner", "PUT", f"/api/people/{here.people[name]}", json={"state": "disabled"})
    assert accept(here, secret).json["code"] == "link-withdrawn"
    assert accept(here, invitation, name="Robin").json["code"] == "link-withdrawn"
    assert reset(here, "crew", by="owner").json["code"] == "person-disabled"


def test_a_link_for_a_new_password_is_no_invitation(here: Installation) -> None:
    secret = secret_of(reset(here, "crew"))
    assert (
        here.call("stranger", "POST", "/api/links/take", json={"secret": secret}).json["code"] == "link-no-invitation"
    )


# -- secrets and guesses


def test_the_secret_stands_nowhere_in_the_database_nor_in_a_log(
    here: Installation, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    secret = secret_of(invited(here))
    accept(here, secret, name="x" * 90)
    accept(here, secret, name="Robin")
    with here.app.app_context(), reading() as session:
        tables = inspect(db.engine).get_table_names()
        rows = [str(row) for table in tables for row in session.execute(text(f'SELECT * FROM "{table}"'))]
        assert session.execute(select(OneTimeLink.id)).first()
    assert len(rows) > 10
    assert not [row for row in rows if secret in row]
    assert secret not in caplog.text
    assert secret not in here.call("manager", "GET", "/api/sites/{site}/links").text


def test_a_body_that_is_wrong_does_not_repeat_the_secret(here: Installation) -> None:
    answer = here.call(None, "POST", "/api/links/open", json={"secret": ["a secret in a list"]})
    assert (answer.status_code, answer.json["field"]) == (422, "secret")
    assert "a secret in a list" not in answer.text


def test_guesses_at_links_must_wait_and_a_sign_in_from_there_need_not(here: Installation) -> None:
    codes = [opened(here, f"guess {n}").status_code for n in range(FAILURES_FROM_ONE_PLACE + 1)]
    assert codes == [404] * FAILURES_FROM_ONE_PLACE + [429]
    secret = secret_of(invited(here))
    answer = accept(here, secret, name="Robin")
    assert (answer.status_code, answer.json["code"]) == (429, "link-too-often")
    assert int(answer.headers["Retry-After"]) > 0
    assert sign_in(here, "crew", PASSWORD) == 200


# -- invitations to the firm


def invited_to_firm(here: Installation, by: str = "owner", **gives: Any) -> Any:
    return here.call(by, "POST", "/api/invites", json=gives)


def of_firm(here: Installation, name: str) -> Any:
    people = here.call("owner", "GET", "/api/people").json["people"]
    return next(each for each in people if each["name"] == name)


def test_somebody_comes_to_the_firm_on_no_site_and_as_an_owner(here: Installation) -> None:
    secret = secret_of(invited_to_firm(here, owner=True, note="the partner"))
    told = opened(here, secret).json
    assert (told["firm"], told["owner"], told["site"], told["role"]) == (True, True, None, None)
    came = accept(here, secret, name="Second Owner")
    assert (came.status_code, came.json["site"], came.json["sites"]) == (200, None, [])
    person = of_firm(here, "Second Owner")
    assert (person["owner"], person["sites"]) == (True, [])
    assert accept(here, secret, name="Third Owner").json["code"] == "link-used"


def test_one_invitation_leads_onto_several_sites(here: Installation) -> None:
    another = here.call("owner", "POST", "/api/sites", json={"name": "Second building"}).json["id"]
    secret = secret_of(invited_to_firm(here, sites=[here.site, another], role="surveyor"))
    assert "Second building" in opened(here, secret).json["site"]
    assert accept(here, secret, name="On Both").json["site"] is None, "which of the two is theirs to choose"
    person = of_firm(here, "On Both")
    assert {each["id"]: each["role"] for each in person["sites"]} == {here.site: "surveyor", another: "surveyor"}
    assert person["owner"] is False


def test_who_has_a_name_here_takes_it_and_no_role_is_lowered(here: Installation) -> None:
    secret = secret_of(invited_to_firm(here, owner=True, sites=[here.site], role="crew"))
    took = here.call("manager", "POST", "/api/links/take", json={"secret": secret})
    assert took.json["site"] == here.site
    person = of_firm(here, "manager")
    assert (person["owner"], [each["role"] for each in person["sites"]]) == (True, ["manager"])


def test_sites_want_a_role_and_must_be_there(here: Installation) -> None:
    without = invited_to_firm(here, sites=[here.site])
    assert (without.status_code, without.json["code"]) == (422, "link-role-missing")
    unknown = invited_to_firm(here, sites=[str(uuid.uuid4())], role="crew")
    assert (unknown.status_code, unknown.json["code"]) == (404, "site-unknown")


def test_owners_alone_invite_to_the_firm_and_withdraw_it(here: Installation) -> None:
    assert invited_to_firm(here, by="manager", owner=True).status_code == 403
    made = invited_to_firm(here, owner=True)
    (link,) = here.call("owner", "GET", "/api/links").json["links"]
    assert (link["id"], link["state"]) == (made.json["id"], "open")
    assert made.json["id"] not in {each["id"] for each in listed(here)}
    assert here.call("owner", "DELETE", f"/api/links/{link['id']}").status_code == 204
    assert accept(here, secret_of(made), name="Too Late").json["code"] == "link-withdrawn"


def test_an_invitation_ends_with_the_ownership_of_who_made_it(here: Installation) -> None:
    accept(here, secret_of(invited_to_firm(here, owner=True)), name="Second Owner")
    secret = secret_of(invited_to_firm(here, owner=True))
    here.call("owner", "PUT", f"/api/people/{here.people['owner']}", json={"owner": False})
    assert accept(here, secret, name="By Nobody").json["code"] == "link-withdrawn"


def test_a_link_names_the_public_address_and_not_the_one_that_was_asked(tmp_path: Any) -> None:
    """Behind a proxy, the address that was asked is one that no phone reaches."""
    with installed(tmp_path / "data", SPANWALK_PUBLIC_URL="https://walk.example.org") as here:
        for made in (invited(here), reset(here, "surveyor")):
            assert made.status_code == 201, made.text
            assert made.json["address"].startswith("https://walk.example.org/")
