"""An offer that is accepted, a fixture more, its change order, the second order, what came, and the schedule: sums by hand.

Each fixture holds two bars at 10 and a driver at 20, with 5 minutes for each piece: 40 and 15 min a fixture. An hour
of labour is 60, so a fixture costs 55.
"""

from __future__ import annotations

from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from openpyxl import load_workbook
from tests.open_points.complete_site import CompleteSite, make_complete_site, reading
from tests.ordering.test_orders_after_a_count_was_lowered import count, draft, order, pieces, records, release
from tests.support.server import Server

Json = Any
PRICES = {"BAR-4": 10, "DRIVER-2": 20}
MONEY = {"currency": "USD", "tariff_per_kwh": 0.2, "labour_per_h": 60, "discount_pct": 5, "study_years": 10}
ANSWERED = {"answer": "accepted", "option": "as-offered", "answered_on": "2026-11-29", "by_whom": "R. Quill (invented)"}


@pytest.fixture
def site(server: Server) -> CompleteSite:
    site = make_complete_site(server)
    for item in records(site, "catalogue_item"):
        price = PRICES.get(item["facets"]["identity"]["value"]["code"], 1)
        site.hand.make("price", item["id"], {"each": price, "fit_minutes": 5})
    site.hand.make("money", site.hand.site, MONEY)
    return site


def told(site: CompleteSite, path: str) -> Any:
    return site.hand.client.get(f"/api/sites/{site.hand.site}/{path}")


def made(site: CompleteSite, path: str, body: Json) -> Json:
    status, answer = site.hand.client.call("POST", f"/api/sites/{site.hand.site}/{path}", body)
    assert status == 201, answer
    return answer


def ordered(site: CompleteSite) -> list[float]:
    """What each order comes to, by number."""
    found = {each["id"]: each["facets"]["identity"]["value"]["number"] for each in records(site, "order")}
    prices = [each["facets"]["identity"]["value"] for each in records(site, "order_prices")]
    return [each["figures"]["sum"] for each in sorted(prices, key=lambda each: found[each["parent"]])]


def receive(site: CompleteSite, order_id: str, came: dict[str, dict[str, int]]) -> None:
    items = {each["facets"]["identity"]["value"]["code"]: each["id"] for each in records(site, "catalogue_item")}
    for code, number in came.items():
        identity = {"parent": order_id, "item": items[code], "slip": "1"}
        site.hand.save(str(uuid4()), "delivery", identity=identity, count=number)


def test_sums_from_the_offer_to_the_schedule_are_those_reckoned_by_hand(site: CompleteSite) -> None:
    offer = made(site, "offers", {"days": 30})
    site.hand.save(offer["offer"], "offer", answered=ANSWERED)
    release(site)
    order(site)
    assert ordered(site) == [80.0], "4 bars and 2 drivers"
    count(site, 3)
    for row in (1, 2):
        site.hand.make("cavity_reading", site.group, reading(3, row))
    release(site)
    change = made(site, "offers/change", {"from": "1", "to": "2", "reason": "one more", "changes": offer["offer"]})
    book = load_workbook(BytesIO(told(site, f"offers/{change['offer']}.xlsx")))
    rows = {row[0]: list(row[1:4]) for row in book["Sums of both"].iter_rows(values_only=True)}
    assert rows["Fixtures converted"] == [2, 3, 1]
    differs = next(each for each in told(site, "releases/differences?from=1&to=2")["money"] if each["name"] == "cost")
    assert [differs[name] for name in ("from", "to", "more")] == [110.0, 165.0, 55.0]
    assert rows["Price without tax [USD]"] == [110.0, 165.0, 55.0]
    order(site)
    assert ordered(site) == [80.0, 40.0], "2 bars and a driver more"
    first = min(records(site, "order"), key=lambda each: each["facets"]["identity"]["value"]["number"])
    receive(site, first["id"], {"BAR-4": {"good": 3, "damaged": 1}, "DRIVER-2": {"good": 1, "short": 1}})
    assert (pieces(site), draft(site)["over"]) == ({}, []), "what is damaged or short is still to come of its order"
    count(site, 2)
    release(site)
    assert pieces(site) == {"BAR-4": -2, "DRIVER-2": -1}, "2 bars and a driver have not come: 3 and 2 may be called off"
    count(site, 3)
    release(site)
    assert pieces(site) == {}
    (shift,) = told(site, "schedule?from=2027-01-01&people=1")["shifts"]
    assert (shift["minutes"], [each["fixtures"] for each in shift["rooms"]]) == (45, [3])
