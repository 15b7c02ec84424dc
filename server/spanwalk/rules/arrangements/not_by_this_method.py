"""Bodies that are not to be converted by putting bars between their sockets, and what to do instead."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.plan_types import Instead


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
    fitted = body.of_kind("lamps").get("fitted")
    if body.of_room("surroundings").get("hazardous") == "yes":
        yield _reason("hazardous", "fixtures-certified-for-the-zone")
    if fitted == "built-in-led":
        yield _reason("built-in-led", "keep-until-it-fails")
    if fitted in ("led-tube-on-mains", "led-tube-on-the-ballast"):
        yield _reason("led-tubes", "keep-until-they-fail", fitted=fitted)
    if fitted == "none":
        yield _reason("nothing-fitted", "new-fixture-or-nothing")
    if body.of_kind("ballast").get("leaking") == "yes":
        yield _reason("leaking-ballast", "stop-and-call-a-specialist")
    if body.of_kind("wiring").get("earth") == "missing":
        yield _reason("no-earth", "bring-an-earth-or-new-fixture")


def _reason(code: str, instead: str, **facts: object) -> Instead:
    return {"code": f"plan.not.{code}", "instead": f"plan.instead.{instead}", "facts": facts}
