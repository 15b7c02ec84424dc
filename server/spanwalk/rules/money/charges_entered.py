"""What a site's money record says of what a job is charged; nothing is counted that nobody entered, or entered in part."""

from __future__ import annotations

from spanwalk.rules.money.job_charges import ALL_COSTS, CONTAINERS, CREW_DAY, Charges, SharedCost
from spanwalk.rules.record_view import Facet

FIELDS = {
    "short-lamps": "short_lamp_container",
    "long-lamps": "long_lamp_container",
    "other-lamps": "other_lamp_container",
    "ballasts": "ballast_container",
    "pcb-ballasts": "pcb_ballast_container",
}
"""Sort of container -> how its fields of the money record begin."""
OF_THE_JOB = ("mobilisation", "permit_sum", "meter_peak_kw")
"""Fields of the money record that no single group's plan hangs on."""
IS_CHARGED = "is-charged"
MINUTES = 60.0


def charges_of(set_: Facet) -> Charges:
    """What a site's money record says; what lacks a part is not counted: see `incomplete`.

    >>> charges_of({"mobilisation": 400, "tax_pct": 8, "tax_on": "materials"}).of_goods
    1.08
    >>> charges_of({"travel_per_day": 60, "crew_people": 2, "crew_day_h": 7}).shared["crew-day"]
    SharedCost(holds=840.0, each=60.0)
    """
    lacking = incomplete(set_)
    return Charges(
        float(set_.get("mobilisation", 0)),
        float(set_.get("permit_sum", 0)),
        float(set_.get("permit_pct", 0)) / 100,
        {**_crew_day(set_), **_containers(set_)},
        0.0 if "tax" in lacking else float(set_.get("tax_pct", 0)) / 100,
        str(set_.get("tax_on", ALL_COSTS)),
    )


def _crew_day(set_: Facet) -> dict[str, SharedCost]:
    people, day_h = set_.get("crew_people"), set_.get("crew_day_h")
    if not people or not day_h:
        return {}
    hours = float(set_.get("travel_h_per_day", 0)) * people * float(set_.get("labour_per_h", 0))
    each = hours + float(set_.get("travel_per_day", 0))
    return {CREW_DAY: SharedCost(float(people) * float(day_h) * MINUTES, each)} if each else {}


def _containers(set_: Facet) -> dict[str, SharedCost]:
    return {
        sort: SharedCost(float(set_[f"{name}_holds"]), float(set_[f"{name}_each"]))
        for sort, name in FIELDS.items()
        if set_.get(f"{name}_holds") and f"{name}_each" in set_
    }


def of_each_group(set_: Facet) -> Facet:
    """What of a site's money record single groups are planned by: without what the job as a whole pays once, or is metered by.

    Whether anything is charged at all is kept: a group's own sum is told otherwise then.

    >>> of_each_group({"tariff_per_kwh": 0.2, "mobilisation": 400}) == of_each_group({"tariff_per_kwh": 0.2, "mobilisation": 500})
    True
    >>> of_each_group({"mobilisation": 400}) == of_each_group({})
    False
    """
    of_group = {name: value for name, value in set_.items() if name not in OF_THE_JOB}
    return of_group if charges_of(set_).is_none else {**of_group, IS_CHARGED: True}


def incomplete(set_: Facet) -> list[str]:
    """What was entered in part and is therefore not counted: `travel`, `tax`, or a sort of container.

    >>> incomplete({"travel_per_day": 60, "tax_pct": 8, "short_lamp_container_each": 95})
    ['travel', 'short-lamps', 'tax']
    """
    found = []
    if any(set_.get(name) for name in ("travel_h_per_day", "travel_per_day")) and not (
        set_.get("crew_people") and set_.get("crew_day_h")
    ):
        found.append("travel")
    found += [sort for sort, name in FIELDS.items() if (f"{name}_each" in set_) != (f"{name}_holds" in set_)]
    return [*found, *(["tax"] if set_.get("tax_pct") and "tax_on" not in set_ else [])]


def not_asked(set_: Facet) -> list[str]:
    """What is not in a job's cost because nobody entered it: `mobilisation`, `permit`, `travel`, `containers`, `tax`.

    >>> not_asked({"mobilisation": 400, "permit_pct": 1.2, "tax_pct": 8, "tax_on": "materials"})
    ['travel', 'containers']
    """
    charges = charges_of(set_)
    is_there = {
        "mobilisation": bool(charges.mobilisation),
        "permit": bool(charges.permit or charges.permit_share),
        "travel": CREW_DAY in charges.shared,
        "containers": any(name in charges.shared for name in CONTAINERS),
        "tax": bool(charges.tax_share),
    }
    return [name for name, there in is_there.items() if not there]


__all__ = ["OF_THE_JOB", "charges_of", "incomplete", "not_asked", "of_each_group"]
