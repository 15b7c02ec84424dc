"""A second client, written from the protocol's text and the OpenAPI document alone, works with a real server.

After every pull the client compares its copy with the server's sum, and every message with the document.
"""

from __future__ import annotations

import ast
import uuid
from pathlib import Path
from typing import Any

import pytest
from tests.conformance.client import PAGE, Client, Problem, count_and_sum
from tests.support.server import Server


def phone(server: Server, name: str = "surveyor") -> Client:
    """A new phone, signed in with the password that the demo tells, its copy pulled."""
    client = Client(server.url)
    passwords = {each["name"]: each["password"] for each in client.call("GET", "/api/demo")["people"]}
    return client.sign_in(name, passwords[name]).pull()


def new_id() -> str:
    return str(uuid.uuid4())


def site_record(client: Client) -> str:
    return next(each["id"] for each in client.copy.values() if each["type"] == "site")


def floor(client: Client, name: str = "Mezzanine") -> str:
    """A floor that is there, made by a client."""
    made = new_id()
    client.save(made, "floor", "identity", {"name": name, "parent": site_record(client)})
    assert [each["result"] for each in client.push()] == ["applied"]
    return made


def identity(client: Client, record: str) -> dict[str, Any]:
    value: dict[str, Any] = client.copy[record]["facets"]["identity"]["value"]
    return value


def rename(client: Client, record: str, name: str, **more: Any) -> dict[str, Any]:
    return client.save(record, "floor", "identity", identity(client, record) | {"name": name}, **more)


def test_the_client_uses_nothing_of_the_server() -> None:
    tree = ast.parse((Path(__file__).parent / "client.py").read_text(encoding="utf-8"))
    imports = {name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names}
    imports |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert "urllib.request" in imports
    assert not {each for each in imports if each.partition(".")[0] in ("spanwalk", "tests")}


def test_a_change_without_sec_fetch_site_is_refused_and_with_it_is_taken(server: Server) -> None:
    client = Client(server.url)
    with pytest.raises(Problem, match="origin-other"):
        client.call("POST", "/api/session", {"name": "surveyor", "password": "x"}, Sec_Fetch_Site="cross-site")
    with pytest.raises(Problem, match="sign-in-refused"):
        client.call("POST", "/api/session", {"name": "surveyor", "password": "x"})


def test_a_site_is_pulled_in_pages_whose_last_one_agrees_with_the_copy(server: Server) -> None:
    client = phone(server)
    assert client.pages > 1
    assert len(client.copy) > PAGE


def test_what_is_pushed_is_answered_and_answered_alike_again(server: Server) -> None:
    client, other = phone(server), phone(server, "manager")
    made = floor(client)
    op = client.own[client.copy[made]["facets"]["identity"]["op"]]
    assert client.ask_again(op) == [client.answers[op["id"]]]
    assert identity(other.pull(), made)["name"] == "Mezzanine"
    assert client.pull().copy[made]["facets"]["identity"]["op"] == op["id"]


def test_a_copy_that_lacks_or_changes_something_does_not_agree(server: Server) -> None:
    client = phone(server)
    count, whole = count_and_sum(client.copy.values())
    record = next(each for each in client.copy.values() if each["type"] == "room")
    assert count_and_sum([each for each in client.copy.values() if each is not record])[0] == count - 1
    changed = record | {"facets": record["facets"] | {"identity": record["facets"]["identity"] | {"value": {}}}}
    assert count_and_sum([changed if each is record else each for each in client.copy.values()]) != (count, whole)


def test_two_who_change_one_facet_are_in_conflict_until_one_settles_it(server: Server) -> None:
    first, second = phone(server), phone(server, "manager")
    made = floor(first)
    first.pull(), second.pull()
    rename(first, made, "Loft")
    lost = rename(second, made, "Attic")
    assert [each["result"] for each in first.push()] == ["applied"]
    (answer,) = second.push()
    assert answer["result"] == "conflict"
    assert [each["id"] for each in answer["record"]["conflicts"]] == [lost["id"]]
    assert identity(first.pull(), made)["name"] == "Loft"
    (open_one,) = first.copy[made]["conflicts"]
    assert (open_one["value"]["name"], open_one["kind"], open_one["facet"]) == ("Attic", "set", "identity")
    rename(first, made, "Loft", settles=[open_one["id"]])
    assert [each["result"] for each in first.push()] == ["applied"]
    assert second.pull().copy[made]["conflicts"] == []
    assert first.pull().copy[made]["conflicts"] == []


def test_a_repeated_answer_shows_the_record_as_it_is_now(server: Server) -> None:
    first, second = phone(server), phone(server, "manager")
    made = floor(first)
    second.pull()
    agreed = rename(second, made, "Mezzanine")
    assert second.push()[0]["result"] == "same"
    rename(first.pull(), made, "Gallery")
    first.push()
    (again,) = second.ask_again(agreed)
    assert again["result"] == "same"
    assert again["record"]["facets"]["identity"]["value"]["name"] == "Gallery"


def test_a_copied_phone_notices_that_it_is_one_and_goes_on_under_another_id(server: Server) -> None:
    client = phone(server)
    copied = phone(server, "second surveyor")
    copied.device, copied.epoch, copied.counter = client.device, client.epoch, client.counter
    mine = floor(client, "Of the first")
    theirs, after = new_id(), new_id()
    copied.save(theirs, "floor", "identity", {"name": "Of the copy", "parent": site_record(copied)})
    copied.save(after, "room", "identity", {"number": "1", "parent": theirs})
    results = [each["result"] for each in copied.push()]
    assert results == ["fork", "fork", "applied", "applied"]
    assert copied.device != client.device
    copied.pull()
    assert {mine, theirs, after} <= set(copied.copy)


def test_a_refused_operation_goes_again_under_a_new_id_and_what_hung_on_it_behind_it(server: Server) -> None:
    client = phone(server)
    made, room = new_id(), new_id()
    wrong = client.save(made, "floor", "identity", {"name": "", "parent": site_record(client)})
    inside = client.save(room, "room", "identity", {"number": "1", "parent": made})
    first, second = client.push()
    assert (first["result"], first["code"], first["facts"]["field"]) == ("refused", "text-empty", "name")
    assert (second["code"], second["facts"]["operation"]) == ("refers-to-refused", wrong["id"])
    assert client.ask_again(wrong) == [first]
    client.again(wrong, to=wrong["to"] | {"name": "Named"})
    client.again(inside)
    assert [each["result"] for each in client.push()] == ["applied", "applied"]
    assert {made, room} <= set(client.pull().copy)


def test_what_was_refused_with_another_content_under_the_same_id_is_a_fork(server: Server) -> None:
    client = phone(server)
    wrong = client.save(new_id(), "floor", "identity", {"name": "", "parent": site_record(client)})
    client.push()
    (answer,) = client.ask_again(wrong | {"to": wrong["to"] | {"name": "Named"}})
    assert answer["result"] == "fork"


@pytest.fixture
def off_the_site(fresh_server: Server) -> tuple[Client, Client]:
    """A surveyor who has been taken off the site with work on the phone, and the manager."""
    surveyor, manager = phone(fresh_server), phone(fresh_server, "manager")
    manager.call("PUT", f"/api/sites/{manager.site}/people", {"name": "surveyor", "role": None})
    surveyor.save(new_id(), "floor", "identity", {"name": "Annex", "parent": site_record(surveyor)})
    return surveyor, manager


def test_held_work_is_let_in_and_its_phone_learns_of_it_by_sending_it_again(
    off_the_site: tuple[Client, Client],
) -> None:
    surveyor, manager = off_the_site
    (op,) = surveyor.outbox
    assert [each["result"] for each in surveyor.push()] == ["held"]
    with pytest.raises(Problem, match="site-left"):
        surveyor.pull()
    assert surveyor.ask_again(op)[0]["result"] == "held"
    (waiting,) = manager.call("GET", f"/api/sites/{manager.site}/held")["held"]
    assert (waiting["id"], waiting["operation"]["to"]) == (op["id"], op["to"])
    told = manager.call("POST", f"/api/sites/{manager.site}/held", {"release": [op["id"]]})
    assert [each["result"] for each in told["answers"]] == ["applied"]
    (answer,) = surveyor.ask_again(op)
    assert answer["result"] == "applied"
    assert "record" not in answer
    assert identity(manager.pull(), op["record"])["name"] == "Annex"


def test_held_work_that_is_refused_says_by_whom(off_the_site: tuple[Client, Client]) -> None:
    surveyor, manager = off_the_site
    (op,) = surveyor.outbox
    surveyor.push()
    manager.call("POST", f"/api/sites/{manager.site}/held", {"refuse": [op["id"]]})
    (answer,) = surveyor.ask_again(op)
    assert (answer["result"], answer["code"], answer["facts"]["name"]) == ("refused", "held-refused", "manager")


def test_who_comes_back_in_another_role_has_another_scope_and_pulls_in_full(
    off_the_site: tuple[Client, Client],
) -> None:
    surveyor, manager = off_the_site
    before, types = surveyor.known["scope"], {each["type"] for each in surveyor.copy.values()}
    manager.call("PUT", f"/api/sites/{manager.site}/people", {"name": "surveyor", "role": "crew"})
    with pytest.raises(Problem, match="scope-changed"):
        surveyor.call("GET", f"/api/sites/{surveyor.site}/pull?since={surveyor.since}&scope={before}")
    surveyor.pull()
    assert surveyor.known["scope"] != before
    assert {"money", "price"} <= types - {each["type"] for each in surveyor.copy.values()}


def test_the_value_of_life_says_whether_the_record_is_removed(server: Server) -> None:
    client, other = phone(server), phone(server, "manager")
    made = floor(client)
    client.pull(), other.pull()
    assert "life" not in client.copy[made]["facets"]
    client.operation(made, "floor", "life", "remove")
    assert client.push()[0]["result"] == "applied"
    room = new_id()
    child = other.save(room, "room", "identity", {"number": "9", "parent": made})
    assert other.push()[0]["result"] == "applied"
    (conflict,) = client.pull().copy[made]["conflicts"]
    assert client.copy[made]["facets"]["life"]["value"] == {"removed": True}
    assert (conflict["kind"], conflict["facet"], conflict["value"]) == ("child", "life", {"removed": False})
    assert (conflict["id"], conflict["child"]) == (child["id"], room)
    client.operation(made, "floor", "life", "restore", settles=[conflict["id"]])
    assert client.push()[0]["result"] == "applied"
    assert client.pull().copy[made]["facets"]["life"]["value"] == {"removed": False}
    assert other.pull().copy[made]["conflicts"] == []


def test_the_seen_of_a_rewritten_operation_is_that_of_the_one_it_takes_the_place_of(server: Server) -> None:
    client = phone(server)
    made = floor(client)
    client.pull()
    dropped = rename(client, made, "Typed too fast")
    client.outbox.remove(dropped)
    rename(client, made, "Typed right", seen=dropped["seen"])
    assert [each["result"] for each in client.push()] == ["applied"]
    assert identity(client.pull(), made)["name"] == "Typed right"
