"""A label scanned without signing in: what a stranger sees, what never, and how often one may guess."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
from tests.open_points.complete_site import Hand
from tests.support.installation import new_id
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

from spanwalk.rules.codes import CHECK_SYMBOLS, LENGTH, SYMBOLS, USABLE_CHECKS, make_code
from spanwalk.services.labels.scanned_by_anyone import tried_from
from spanwalk.services.people.signing_in import ATTEMPT_WINDOW_S, FAILURES_FROM_ONE_PLACE

ALL = ["what-it-is-now", "what-fits", "takes-no-lamps", "whom-to-call"]
NEVER = ("crew", "manager", "Undercroft", "ladder behind the door", "note", "photo", "usd", "price", "room", "person")


@dataclass
class Labelled:
    """A labelled, released site and one of its fixtures; whoever keeps it, whoever works there, and a stranger."""

    server: Server
    manager: Hand
    crew: Hand
    code: str
    label: str
    group: str
    position: int
    conversion: dict[str, Any]

    def shows(self, *chosen: str) -> None:
        self.manager.save(self.manager.site, "site", anyone={"shows": list(chosen)})

    def scan(self, code: str | None = None) -> tuple[int, dict[str, Any]]:
        """What a stranger's phone gets: no cookie, no header of our page."""
        try:
            with urlopen(f"{self.server.url}/api/labels/{code or self.code}") as answer:
                return answer.status, json.load(answer)
        except HTTPError as refused:
            return refused.code, json.load(refused)

    def note(self, outcome: str, **as_fitted: Any) -> None:
        identity = {
            "parent": self.group,
            "position": self.position,
            "outcome": outcome,
            "conversion": self.conversion["id"],
            "checks": self.conversion["facets"]["identity"]["value"]["frozen"]["checks"],
            "problem": "ladder behind the door",
            "noted_at": "2026-04-02T09:00:00Z",
            "helper": "crew",
        }
        self.crew.save(new_id(), "installation", identity=identity, **as_fitted)


@pytest.fixture(scope="module")
def labelled(server: Server) -> Labelled:
    manager = Client(server.url, "manager")
    site = manager.site_id()
    assert manager.call("POST", f"/api/sites/{site}/labels", {})[0] == 201
    assert release_seen(manager, site)[0] == 201
    records = manager.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
    conversions = {
        each["parent"]: each
        for each in records
        if each["type"] == "conversion" and "partner" not in each["facets"]["identity"]["value"]["frozen"]
    }
    label = next(
        each
        for each in records
        if each["type"] == "label" and each["facets"]["binding"]["value"]["group"] in conversions
    )
    bound = label["facets"]["binding"]["value"]
    hand = Hand(manager, site)
    hand.save(site, "site", notice={"firm": "Old Cannery Lighting", "call": "+1 555 0100"})
    return Labelled(
        server,
        hand,
        Hand(Client(server.url, "crew"), site),
        label["facets"]["identity"]["value"]["code"],
        label["id"],
        bound["group"],
        bound["position"],
        conversions[bound["group"]],
    )


def test_a_stranger_sees_nothing_unless_the_site_chose_to_show_it(labelled: Labelled) -> None:
    hidden, unknown = labelled.scan(), labelled.scan(make_code([1, 2, 3, 4, 5, 6, 7, 8]) or make_code([2] * 8))
    assert (hidden[0], hidden[1]["code"]) == (404, "label-not-shown")
    assert hidden == unknown, "whether a code exists is not told"


def test_before_it_is_done_a_stranger_reads_no_parts_and_no_word_of_lamps(labelled: Labelled) -> None:
    labelled.shows(*ALL)
    assert labelled.scan() == (
        200,
        {"code": labelled.code, "now": "not-noted", "firm": "Old Cannery Lighting", "call": "+1 555 0100"},
    )


def test_a_stranger_sees_what_it_is_now_and_never_people_rooms_notes_photos_or_money(labelled: Labelled) -> None:
    labelled.shows(*ALL)
    labelled.note("done", as_fitted={"as_released": True})
    status, shown = labelled.scan()
    frozen = labelled.conversion["facets"]["identity"]["value"]["frozen"]
    drivers = [each for each in shown["items"] if each["kind"] == "driver"]
    assert (status, shown["now"], shown["takes_no_lamps"]) == (200, "converted", True)
    assert {each["code"] for each in shown["items"] if each["kind"] == "bar"} == {
        bar["name"] for row in frozen["rows"] for bar in row["bars"]
    }
    assert [(each["code"], each["setting_ma"]) for each in drivers] == (
        [(frozen["driver"]["name"], frozen["driver"]["setting_ma"])] if frozen["driver"] else []
    )
    assert set(shown) == {"code", "now", "takes_no_lamps", "items", "firm", "call"}
    assert {key for each in shown["items"] for key in each} == {"kind", "code", "number", "setting_ma"}
    assert [word for word in NEVER if word in json.dumps(shown)] == []


def test_a_stranger_reads_that_a_part_in_it_was_recalled_and_not_why(labelled: Labelled) -> None:
    labelled.shows(*ALL)
    labelled.note("done", as_fitted={"as_released": True})
    (code, *_) = [each["code"] for each in labelled.scan()[1]["items"]]
    items = labelled.manager.client.get(f"/api/sites/{labelled.manager.site}/pull?since=0&limit=5000")["records"]
    item = next(
        each["id"]
        for each in items
        if each["type"] == "catalogue_item" and each["facets"]["identity"]["value"]["code"] == code
    )
    labelled.manager.save(item, "catalogue_item", recall={"reason": "Its leads get hot"})
    status, shown = labelled.scan()
    assert (status, shown["recalled"]) == (200, True)
    assert "hot" not in json.dumps(shown)
    labelled.manager.save(item, "catalogue_item", recall={})
    assert "recalled" not in labelled.scan()[1]


def test_a_stranger_reads_what_a_fixture_was_that_is_gone_since(labelled: Labelled) -> None:
    labelled.shows(*ALL)
    labelled.note("done", as_fitted={"as_released": True})
    before = labelled.scan()[1]
    count = labelled.manager.state(labelled.group)["facets"]["count"]["value"]
    labelled.manager.save(labelled.group, "group", count={"count": 3, "gone": [labelled.position]})
    assert labelled.scan() == (200, {**before, "removed": True})
    labelled.manager.save(labelled.group, "group", count=count)


def test_only_what_was_chosen_is_shown(labelled: Labelled) -> None:
    labelled.shows("whom-to-call")
    assert set(labelled.scan()[1]) == {"code", "firm", "call"}


def test_a_problem_noted_on_a_converted_fixture_makes_it_none_for_lamps(labelled: Labelled) -> None:
    labelled.shows("what-it-is-now", "takes-no-lamps")
    labelled.note("done", as_fitted={"as_released": True})
    labelled.note("problem")
    assert labelled.scan() == (200, {"code": labelled.code, "now": "converted", "takes_no_lamps": True})


def test_not_done_after_all_is_not_shown_as_converted(labelled: Labelled) -> None:
    labelled.shows("what-it-is-now", "takes-no-lamps")
    labelled.note("done", as_fitted={"as_released": True})
    assert labelled.scan()[1]["now"] == "converted"
    labelled.note("not-done-after-all")
    assert labelled.scan() == (200, {"code": labelled.code, "now": "not-noted"})


def test_a_site_may_show_since_when_and_the_batch_or_serial_numbers(labelled: Labelled) -> None:
    labelled.shows("since-when")
    item = {"kind": "driver", "code": "HERON-30", "number": 1, "serials": ["LOT-9"]}
    labelled.note("done", as_fitted={"as_released": False, "items": [item]})
    status, shown = labelled.scan()
    assert (status, shown["serials"]) == (200, ["LOT-9"])
    assert set(shown) == {"code", "fitted_on", "serials"}
    assert shown["fitted_on"] == "2026-04-02"


def test_since_when_is_the_day_at_the_building(labelled: Labelled) -> None:
    """Nine in the morning in Greenwich is ten in the evening before in Pago Pago (UTC-11, IANA)."""
    labelled.shows("since-when")
    labelled.note("done", as_fitted={"as_released": True})
    site = labelled.manager.site
    pulled = labelled.manager.client.get(f"/api/sites/{site}/pull?since=0&limit=5000")["records"]
    (settings,) = [each["facets"]["settings"]["value"] for each in pulled if each["id"] == site]
    labelled.manager.save(site, "site", settings=settings | {"time_zone": "Pacific/Pago_Pago"})
    assert labelled.scan()[1]["fitted_on"] == "2026-04-01"
    labelled.manager.save(site, "site", settings=settings)


def test_what_was_replaced_since_is_not_shown_as_being_in_it(labelled: Labelled) -> None:
    labelled.shows("since-when", "what-fits")
    items = [
        {"kind": "bar", "code": "TERN-4", "number": 2},
        {"kind": "driver", "code": "HERON-30", "number": 1, "setting_ma": 700, "serials": ["LOT-9"]},
    ]
    labelled.note("done", as_fitted={"as_released": False, "items": items})
    said = {"position": labelled.position, "sign": "dark", "item": "HERON-30", "noted_at": "2028-01-10T09:00:00Z"}
    new = {"how": "bought", "item": "HERON-31", "serials": "LOT-30", "on": "2028-01-12", "number": 1}
    failure = labelled.manager.make("failure", labelled.group, said, replaced=new)
    _, shown = labelled.scan()
    assert shown["serials"] == ["LOT-30"]
    assert [(each["kind"], each["code"], each["number"], each["setting_ma"]) for each in shown["items"]] == [
        ("bar", "TERN-4", 2, None),
        ("driver", "HERON-31", 1, None),
    ]
    labelled.manager.remove(failure, "failure")


def test_a_void_label_shows_nothing(labelled: Labelled) -> None:
    labelled.shows(*ALL)
    labelled.manager.save(labelled.label, "label", voided={"reason": "Torn."})
    assert labelled.scan()[1]["code"] == "label-not-shown"
    labelled.manager.save(labelled.label, "label", voided={})
    assert labelled.scan()[0] == 200


def test_the_crew_may_not_choose_what_strangers_see(labelled: Labelled) -> None:
    value = {"shows": ALL}
    with pytest.raises(AssertionError, match="no-right"):
        labelled.crew.save(labelled.crew.site, "site", anyone=value)


def test_a_mistyped_code_is_told_and_counts_as_no_guess(labelled: Labelled) -> None:
    told = [labelled.scan("0000016JX") for _ in range(FAILURES_FROM_ONE_PLACE + 2)]
    assert {(status, body["code"]) for status, body in told} == {(422, "code.mistyped")}


def test_after_a_few_guesses_that_lead_nowhere_one_waits_and_signing_in_goes_on(
    labelled: Labelled, client: Callable[[str], Client]
) -> None:
    """Last in this module: from here on this address has used up its guesses."""
    labelled.shows(*ALL)
    guesses = [code for first in range(30) if (code := make_code([first, 9, 9, 9, 9, 9, 9, 9]))]
    told = [labelled.scan(code) for code in guesses[: FAILURES_FROM_ONE_PLACE + 1]]
    assert told[0][1]["code"] == "label-not-shown"
    assert (told[-1][0], told[-1][1]["code"]) == (429, "label-too-often")
    assert labelled.scan()[0] == 429
    assert client("crew").get("/api/session")["person"]["name"] == "crew"


def test_one_subscribers_addresses_count_as_one() -> None:
    assert tried_from("2001:db8:1:2::7") == tried_from("2001:db8:1:2:ffff::9") != tried_from("2001:db8:1:3::7")


def test_guessing_from_one_place_finds_one_of_ten_thousand_labels_in_no_lifetime() -> None:
    """By reckoning: 8 symbols of 32, of which 33 in 37 have a check symbol that is issued; 10 guesses in 15 minutes."""
    assert (len(SYMBOLS), LENGTH, len(USABLE_CHECKS), len(CHECK_SYMBOLS)) == (32, 8, 33, 37)
    codes = Fraction(32**8 * 33, 37)
    guesses_a_year = Fraction(FAILURES_FROM_ONE_PLACE * 365 * 86400, ATTEMPT_WINDOW_S)
    years = codes / 10_000 / guesses_a_year
    assert 270 < years < 290
