"""How many connectors, caps and lengths of wire a group takes: counted on the wiring of its fixtures, see wiring.md.

What is counted is the catalogue's to say: each wiring part says at what it is used and how many at each. That a driver
has three supply leads (two lines, or line and neutral, and earth), an output two leads and a pair of control leads two is
common practice, no source. What an emergency pack joins is not counted: its maker's sheet says what it brings.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.wiring.wiring import WiredDriver
from spanwalk.rules.gear.checks import exact
from spanwalk.rules.gear.driver_in_body import DIMS, WITH_LEADS
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.survey import facet

SUPPLY_LEADS, LEADS_OF_A_BAR, LEADS_OF_AN_OUTPUT, CONTROL_LEADS = 3, 2, 2, 2
USED_FOR_CONTROL = DIMS


def places(drivers: Iterable[WiredDriver], control_wanted: str, control_pair: str) -> dict[str, int]:
    """Places of one fixture at which a wiring part may be used, by the code of a part's `used_at`.

    Parameters
    ----------
    drivers : iterable of WiredDriver
        Drivers that lie in it; none where the neighbour feeds it.
    control_wanted : str
        'none', 'occupancy', 'daylight' or 'dimming'.
    control_pair : str
        Whether a control pair was seen in the body: 'yes', 'no' or 'not-seen'.
    """
    own = list(drivers)
    unused = control_wanted not in USED_FOR_CONTROL
    capped = sum(LEADS_OF_AN_OUTPUT * len(each.spare_outputs) for each in own)
    capped += CONTROL_LEADS * sum(unused and each.facet.get("dimming", "none") in WITH_LEADS for each in own)
    capped += CONTROL_LEADS * (unused and control_pair == "yes")
    return {
        "each-fixture": 1,
        "each-driver": len(own),
        "each-supply-lead": SUPPLY_LEADS * len(own),
        "each-bar-lead": LEADS_OF_A_BAR * sum(len(each.bars) for each in own),
        "each-capped-lead": capped,
    }


def counted(parts: Iterable[CatalogueItemView], at: dict[str, int], fixtures: int) -> dict[str, int]:
    """Item id -> how many of it a group takes, rounded up to whole pieces, metres or feet; none that is used nowhere.

    Parameters
    ----------
    parts : iterable of view records
        Wiring parts that are offered.
    at : mapping
        What `places` gives.
    fixtures : int
        Fixtures of the group [count].
    """
    found: dict[str, int] = {}
    for each in parts:
        said = facet(each, "wiring_part")
        number = ceil(exact(said.get("used_number", 1)) * at.get(said.get("used_at", ""), 0) * fixtures)
        if number:
            found[each["id"]] = number
    return found


def of_group(body: Body, drivers: Iterable[WiredDriver]) -> dict[str, int]:
    """Item id -> how many of each wiring part a group takes with these drivers in each of its fixtures."""
    parts = body.catalogue.wiring_parts
    if not parts:
        return {}
    pair = body.of_kind("wiring").get("control_pair", "not-seen")
    return counted(parts, places(drivers, body.place.control_wanted, pair), body.fixtures)
