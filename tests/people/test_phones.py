"""A sign-in belongs to one phone; a phone is shut out of a site, or of all, and let in again."""

from __future__ import annotations

import io
from collections.abc import Iterator
from hashlib import sha256
from typing import Any

import orjson
import pytest
from flask.testing import FlaskClient
from PIL import Image
from sqlalchemy import select, update
from tests.support.installation import DEVICES, OWN_PAGE, PASSWORD, Installation, installed, new_id, phone_of
from werkzeug.test import TestResponse

from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Device, PhoneOnSite, Session


@pytest.fixture
def here(back_end: str, tmp_path: Any) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        yield made


def ask(client: FlaskClient, method: str, path: str, **more: Any) -> TestResponse:
    return client.open(path, method=method, headers=OWN_PAGE, **more)


def code_of(answer: TestResponse) -> tuple[int, str | None]:
    return answer.status_code, (answer.json or {}).get("code") if answer.is_json else None


def device_of(here: Installation, name: str) -> str:
    """The device of a person's phone, which the site has heard of."""
    here.push(name)
    return DEVICES[name]


def shut_out(here: Installation, name: str, out: bool = True, by: str = "manager") -> TestResponse:
    """Shut a person's phone out of the site, or let it in again."""
    path = f"/api/sites/{{site}}/devices/{DEVICES[name]}"
    if out:
        return here.call(by, "DELETE", path)
    return here.call(by, "PUT", path, json={"shut_out": False})


def again(here: Installation, name: str) -> FlaskClient:
    """The person signs in again on the same phone."""
    here.clients.pop(name, None)
    return here.client(name)


def second_site(here: Installation, **roles: str) -> str:
    """Another site, with people in their roles."""
    site = str(here.call("owner", "POST", "/api/sites", json={"name": "Second building"}).json["id"])
    for name, role in roles.items():
        answer = here.call("owner", "PUT", f"/api/sites/{site}/people", json={"name": name, "role": role})
        assert answer.status_code == 200
    return site


def push_to(here: Installation, name: str, site: str, device: str) -> TestResponse:
    body = {"device": device, "epoch": "0000000e", "operations": []}
    return here.call(name, "POST", f"/api/sites/{site}/push", data=orjson.dumps(body))


# -- a phone that was shut out goes on reading everything


@pytest.mark.parametrize("path", ["/pull", "/people", "/completeness", "/plan", "/figures", "/walk.csv", "/fits"])
def test_a_phone_that_is_shut_out_reads_nothing_of_the_site(here: Installation, path: str) -> None:
    device_of(here, "surveyor")
    assert here.call("surveyor", "GET", "/api/sites/{site}" + path).status_code == 200
    shut_out(here, "surveyor")
    again(here, "surveyor")
    assert code_of(here.call("surveyor", "GET", "/api/sites/{site}" + path)) == (403, "device-revoked")


def test_it_reads_nothing_without_naming_its_device_either(here: Installation) -> None:
    device_of(here, "surveyor")
    shut_out(here, "surveyor")
    again(here, "surveyor")
    for query in ("since=0", f"since=0&device={new_id()}", f"since=0&device={DEVICES['surveyor']}"):
        answer = here.call("surveyor", "GET", f"/api/sites/{{site}}/pull?{query}")
        assert code_of(answer) == (403, "device-revoked"), query


def test_it_reads_no_photo_and_still_hands_its_own_in(here: Installation) -> None:
    picture = io.BytesIO()
    Image.new("RGB", (32, 32)).save(picture, "JPEG")
    name = sha256(picture.getvalue()).hexdigest()
    device_of(here, "surveyor")
    shut_out(here, "surveyor")
    again(here, "surveyor")
    sent = here.call("surveyor", "PUT", f"/api/sites/{{site}}/photos/{name}", data=picture.getvalue())
    assert sent.status_code == 201
    assert code_of(here.call("surveyor", "GET", f"/api/sites/{{site}}/photos/{name}")) == (403, "device-revoked")
    assert here.call("manager", "GET", f"/api/sites/{{site}}/photos/{name}").status_code == 200


def test_what_it_writes_under_a_new_device_is_held(here: Installation) -> None:
    device_of(here, "surveyor")
    shut_out(here, "surveyor")
    again(here, "surveyor")
    new = new_id()
    operation = here.operation("surveyor", new_id(), "floor", "identity", {"name": "Up", "parent": here.site})
    operation["id"] = f"{new}.0000000e.1"
    (answer,) = here.push("surveyor", operation, device=new)
    assert answer["result"] == "held"
    (held,) = here.call("manager", "GET", "/api/sites/{site}/held").json["held"]
    assert held["id"] == operation["id"]


def test_its_sign_ins_end_and_it_hears_why_by_its_cookie_alone(here: Installation) -> None:
    device_of(here, "surveyor")
    client = here.client("surveyor")
    assert ask(client, "GET", "/api/phone").json == {"known": True, "shut_out": False, "sites": []}
    shut_out(here, "surveyor")
    assert code_of(ask(client, "GET", "/api/session")) == (401, "not-signed-in")
    assert ask(client, "GET", "/api/phone").json == {"known": True, "shut_out": False, "sites": [here.site]}


def test_who_signs_in_on_it_is_told_that_it_is_shut_out_and_nothing_else_of_the_site(here: Installation) -> None:
    device_of(here, "surveyor")
    shut_out(here, "surveyor")
    (site,) = ask(again(here, "surveyor"), "GET", "/api/session").json["sites"]
    assert (site["id"], site["shut_out"], site["people"]) == (here.site, True, [])
    assert here.call("surveyor", "GET", "/api/sites").json["sites"] == []


def test_another_phone_of_the_same_person_goes_on(here: Installation) -> None:
    other = here.signed_in("surveyor")
    assert ask(other, "GET", f"/api/sites/{here.site}/pull?since=0").status_code == 200
    device_of(here, "surveyor")
    shut_out(here, "surveyor")
    assert ask(other, "GET", f"/api/sites/{here.site}/pull?since=0").status_code == 200


def test_somebody_else_on_the_same_phone_is_shut_out_too(here: Installation) -> None:
    device_of(here, "surveyor")
    phone = phone_of(here.client("surveyor"))
    shut_out(here, "surveyor")
    crew = here.signed_in("crew", phone)
    assert code_of(ask(crew, "GET", f"/api/sites/{here.site}/pull?since=0")) == (403, "device-revoked")


# -- shutting out is per site, reversible


def test_it_is_shut_out_of_one_site_and_goes_on_with_another(here: Installation) -> None:
    other = second_site(here, surveyor="surveyor")
    device_of(here, "surveyor")
    shut_out(here, "surveyor")
    client = again(here, "surveyor")
    assert ask(client, "GET", f"/api/sites/{other}/pull?since=0").status_code == 200
    assert [each["id"] for each in ask(client, "GET", "/api/sites").json["sites"]] == [other]


def test_a_phone_that_was_let_in_again_reads_and_writes(here: Installation) -> None:
    floor = here.floor("surveyor")
    shut_out(here, "surveyor")
    room = new_id()
    again(here, "surveyor")
    to = {"number": "1", "parent": floor}
    (answer,) = here.push("surveyor", here.operation("surveyor", room, "room", "identity", to))
    assert answer["result"] == "held"
    assert shut_out(here, "surveyor", out=False).status_code == 204
    assert here.pull("surveyor", f"device={DEVICES['surveyor']}")["head"] > 0
    (answer,) = here.push("surveyor", here.operation("surveyor", new_id(), "room", "identity", to | {"number": "2"}))
    assert answer["result"] == "applied"
    held = here.call("manager", "GET", "/api/sites/{site}/held").json["held"]
    assert [each["operation"]["record"] for each in held] == [room]


def test_a_phone_that_never_named_a_copy_is_listed_and_shut_out_as_well(here: Installation) -> None:
    here.pull("surveyor")
    listed = here.call("manager", "GET", "/api/sites/{site}/devices").json["devices"]
    (device,) = [each for each in listed if each["name"] == "surveyor"]
    answer = here.call("manager", "DELETE", f"/api/sites/{{site}}/devices/{device['id']}")
    assert answer.status_code == 204
    again(here, "surveyor")
    assert code_of(here.call("surveyor", "GET", "/api/sites/{site}/pull")) == (403, "device-revoked")


def test_nobody_shuts_out_the_phone_in_hand(here: Installation) -> None:
    device_of(here, "manager")
    assert code_of(shut_out(here, "manager")) == (409, "device-in-hand")


def test_a_manager_does_not_shut_out_the_phone_of_an_owner(here: Installation) -> None:
    device_of(here, "owner")
    assert code_of(shut_out(here, "owner")) == (403, "person-above")
    assert here.pull("owner")["head"] > 0


def test_what_was_shut_out_before_phones_were_enrolled_is_shut_out_when_it_is_heard_of(here: Installation) -> None:
    device_of(here, "surveyor")
    with here.app.app_context(), writing() as session:
        session.execute(update(Device).values(phone=None))
    assert shut_out(here, "surveyor").status_code == 204
    pull = here.call("surveyor", "GET", f"/api/sites/{{site}}/pull?device={DEVICES['surveyor']}")
    assert code_of(pull) == (403, "device-revoked")
    assert code_of(here.call("surveyor", "GET", "/api/sites/{site}/pull")) == (403, "device-revoked")


def test_a_phone_without_its_cookie_that_goes_by_a_device_shut_out_is_shut_out_too(here: Installation) -> None:
    device_of(here, "surveyor")
    shut_out(here, "surveyor")
    new = here.signed_in("surveyor")
    pull = ask(new, "GET", f"/api/sites/{here.site}/pull?device={DEVICES['surveyor']}")
    assert code_of(pull) == (403, "device-revoked")
    assert code_of(ask(new, "GET", f"/api/sites/{here.site}/pull")) == (403, "device-revoked")


# -- by an owner, of all sites


def phone_id(here: Installation, name: str) -> str:
    listed = here.call("owner", "GET", "/api/phones").json["phones"]
    (found,) = [each["id"] for each in listed if each["people"] == [name]]
    return str(found)


def test_an_owner_shuts_a_phone_out_of_all_sites_and_lets_it_in_again(here: Installation) -> None:
    other = second_site(here, surveyor="surveyor")
    here.pull("surveyor")
    path = f"/api/phones/{phone_id(here, 'surveyor')}"
    assert here.call("owner", "PUT", path, json={"shut_out": True}).status_code == 200
    client = here.client("surveyor")
    assert ask(client, "GET", "/api/session").status_code == 401
    assert ask(client, "GET", "/api/phone").json["shut_out"] is True
    client = again(here, "surveyor")
    for site in (here.site, other):
        assert code_of(ask(client, "GET", f"/api/sites/{site}/pull")) == (403, "device-revoked")
    for path_of_nothing in ("/api/sites", "/api/me/sessions", "/api/me/phones"):
        assert code_of(ask(client, "GET", path_of_nothing)) == (403, "device-revoked")
    assert [site["shut_out"] for site in ask(client, "GET", "/api/session").json["sites"]] == [True, True]
    operation = here.operation("surveyor", new_id(), "floor", "identity", {"name": "Up", "parent": here.site})
    assert here.push("surveyor", operation)[0]["result"] == "held"
    here.call("owner", "PUT", path, json={"shut_out": False})
    assert ask(client, "GET", f"/api/sites/{here.site}/pull").status_code == 200


def test_an_owner_does_not_shut_out_the_phone_in_hand(here: Installation) -> None:
    answer = here.call("owner", "PUT", f"/api/phones/{phone_id(here, 'owner')}", json={"shut_out": True})
    assert code_of(answer) == (409, "device-in-hand")


def test_an_unknown_phone_is_not_there(here: Installation) -> None:
    answer = here.call("owner", "PUT", f"/api/phones/{new_id()}", json={"shut_out": True})
    assert code_of(answer) == (404, "device-unknown")


# -- a session asks for no device of another


def test_a_manager_elsewhere_neither_claims_nor_shuts_out_a_phone_of_another_site(here: Installation) -> None:
    device = device_of(here, "surveyor")
    other = second_site(here, stranger="manager")
    push_to(here, "stranger", other, device)
    answer = here.call("stranger", "PUT", f"/api/sites/{other}/devices/{device}", json={"shut_out": True})
    assert code_of(answer) == (404, "device-unknown")
    assert here.call("stranger", "DELETE", f"/api/sites/{other}/devices/{device}").status_code == 404
    assert here.call("surveyor", "GET", f"/api/sites/{{site}}/pull?device={device}").status_code == 200


def test_nobody_pulls_as_the_device_of_another(here: Installation) -> None:
    device = device_of(here, "surveyor")
    answer = here.call("manager", "GET", f"/api/sites/{{site}}/pull?device={device}")
    assert code_of(answer) == (403, "device-of-another")
    answer = ask(here.signed_in("surveyor"), "GET", f"/api/sites/{here.site}/pull?device={device}")
    assert code_of(answer) == (403, "device-of-another")


def test_nobody_says_what_the_phone_of_another_has_not_sent(here: Installation) -> None:
    here.push("surveyor", unsent={"operations": 12, "photos": 3})
    here.push("crew", device=DEVICES["surveyor"], unsent={"operations": 0, "photos": 0})
    listed = here.call("manager", "GET", "/api/sites/{site}/devices").json["devices"]
    (device,) = [each for each in listed if each["id"] == DEVICES["surveyor"]]
    assert (device["operations"], device["photos"], device["name"]) == (12, 3, "surveyor")


def test_a_device_that_no_phone_has_yet_is_its_persons(here: Installation) -> None:
    device = device_of(here, "surveyor")
    with here.app.app_context(), writing() as session:
        session.execute(update(Device).values(phone=None))
    answer = here.call("crew", "GET", f"/api/sites/{{site}}/pull?device={device}")
    assert code_of(answer) == (403, "device-of-another")
    here.pull("surveyor", f"device={device}&unsent=0")
    with here.app.app_context(), reading() as session:
        assert session.execute(select(Device.phone).where(Device.id == device)).scalar_one() is not None


def test_a_copy_on_another_phone_is_told_to_take_another_name_and_loses_nothing(here: Installation) -> None:
    floor = new_id()
    known = here.operation("surveyor", floor, "floor", "identity", {"name": "Up", "parent": here.site})
    here.push("surveyor", known)
    unknown = here.operation("surveyor", new_id(), "floor", "identity", {"name": "Down", "parent": here.site})
    copy = here.signed_in("surveyor")
    body = {"device": DEVICES["surveyor"], "epoch": "0000000e", "operations": [known, unknown]}
    answers = ask(copy, "POST", f"/api/sites/{here.site}/push", data=orjson.dumps(body)).json["answers"]
    assert [answer["result"] for answer in answers] == ["applied", "fork"]
    new = new_id()
    renamed = unknown | {"id": f"{new}.0000000f.1"}
    body = {"device": new, "epoch": "0000000f", "operations": [renamed]}
    (answer,) = ask(copy, "POST", f"/api/sites/{here.site}/push", data=orjson.dumps(body)).json["answers"]
    assert answer["result"] == "applied"


# -- a session and its phone


def test_a_sign_in_of_before_phones_is_worth_nothing(here: Installation) -> None:
    client = here.client("surveyor")
    with here.app.app_context(), writing() as session:
        session.execute(update(Session).values(phone=None))
    assert code_of(ask(client, "GET", f"/api/sites/{here.site}/pull")) == (401, "not-signed-in")


def test_who_signs_in_again_on_a_phone_has_one_sign_in_there(here: Installation) -> None:
    phone = phone_of(here.client("surveyor"))
    second = here.signed_in("surveyor", phone)
    (own,) = ask(second, "GET", "/api/me/phones").json["phones"]
    assert (own["this"], len(own["sessions"])) == (True, 1)
    assert ask(here.client("surveyor"), "GET", "/api/session").status_code == 401


def test_the_phones_cookie_is_out_of_reach_of_scripts_and_only_its_hash_is_kept(here: Installation) -> None:
    client = here.app.test_client()
    answer = client.post("/api/session", json={"name": "surveyor", "password": PASSWORD}, headers=OWN_PAGE)
    (cookie,) = [each for each in answer.headers.getlist("Set-Cookie") if each.startswith("spanwalk_phone=")]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Max-Age=34560000" in cookie


def test_a_phones_cookie_alone_signs_nobody_in(here: Installation) -> None:
    phone = phone_of(here.client("surveyor"))
    client = here.app.test_client()
    client.set_cookie("spanwalk_phone", phone)
    assert code_of(ask(client, "GET", "/api/session")) == (401, "not-signed-in")


def test_ones_own_phones_are_listed_and_their_sign_ins_end(here: Installation) -> None:
    here.push("surveyor", unsent={"operations": 4, "photos": 1})
    second = here.signed_in("surveyor")
    phones = ask(second, "GET", "/api/me/phones").json["phones"]
    assert [(each["this"], each["operations"], each["photos"]) for each in phones] == [(True, 0, 0), (False, 4, 1)]
    assert phones[1]["copies"] == [DEVICES["surveyor"]]
    assert ask(second, "DELETE", f"/api/me/phones/{phones[1]['id']}").status_code == 204
    assert ask(here.client("surveyor"), "GET", "/api/session").status_code == 401
    assert [len(each["sessions"]) for each in ask(second, "GET", "/api/me/phones").json["phones"]] == [1, 0]


def test_nobody_ends_the_sign_ins_of_another_on_a_phone_of_theirs(here: Installation) -> None:
    here.pull("crew")
    answer = here.call("surveyor", "DELETE", f"/api/me/phones/{phone_id(here, 'crew')}")
    assert code_of(answer) == (404, "device-unknown")
    assert here.pull("crew")["head"] > 0


def test_a_phone_is_written_down_on_a_site_once(here: Installation) -> None:
    for _ in range(3):
        here.pull("surveyor")
    with here.app.app_context(), reading() as session:
        rows = session.execute(select(PhoneOnSite).where(PhoneOnSite.person == here.people["surveyor"])).all()
    assert len(rows) == 1


# -- signing out


def test_signing_out_has_the_browser_throw_its_cache_away_and_keep_its_stores(here: Installation) -> None:
    """Source: W3C Clear Site Data, 3.1: "cache" leaves "storage" (IndexedDB, where unsent work lies) alone."""
    answer = here.call("surveyor", "DELETE", "/api/session")
    assert answer.headers["Clear-Site-Data"] == '"cache"'
    here.clients.clear()


def test_no_browser_may_keep_a_photo(here: Installation) -> None:
    picture = io.BytesIO()
    Image.new("RGB", (32, 32)).save(picture, "JPEG")
    path = f"/api/sites/{{site}}/photos/{sha256(picture.getvalue()).hexdigest()}"
    here.call("surveyor", "PUT", path, data=picture.getvalue())
    assert here.call("surveyor", "GET", path).headers["Cache-Control"] == "no-store"
    assert here.call("surveyor", "GET", path + "?size=thumb").headers["Cache-Control"] == "no-store"
