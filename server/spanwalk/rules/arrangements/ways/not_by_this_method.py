"""Bodies that are not to be converted by putting bars between their sockets, and what to do instead."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.plan_types import Instead
from spanwalk.rules.fit.not_converted import not_converted

INSTEAD = {
    "plan.not.hazardous": "fixtures-certified-for-the-zone",
    "plan.not.built-in-led": "keep-until-it-fails",
    "plan.not.between-sockets": "new-fixture-for-such-lamps",
    "plan.not.too-long": "new-fixture-for-such-lamps",
    "plan.not.nothing-fitted": "new-fixture-or-nothing",
    "plan.not.leaking-ballast": "stop-and-call-a-specialist",
    "plan.not.no-earth": "bring-an-earth-or-new-fixture",
}


def applies(body: Body) -> bool:
    """Whether any reason stands against converting the body at all."""
    return any(True for _ in reasons(body))


def reasons(body: Body) -> Iterator[Instead]:
    """Each reason, with the code of what to do instead.

    Yields
    ------
    dict
        `{"code", "instead", "facts"}`.
    """
    for each in not_converted(body.kind, body.room):
        yield {"code": each["code"], "instead": f"plan.instead.{INSTEAD[each['code']]}", "facts": each["facts"]}
