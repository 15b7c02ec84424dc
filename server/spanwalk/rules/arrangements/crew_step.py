"""What a step of a crew's card is: a sentence by its code with its facts, lines under it, cautions beside it."""

from __future__ import annotations

from typing import Any, TypedDict

Json = Any


class Said(TypedDict):
    """A sentence of the words file by its code, with the facts that go into it; a fact may be such a sentence itself."""

    code: str
    facts: dict[str, Json]


class Line(Said, total=False):
    """A sentence under a step; ``positions`` are the only fixtures for which it is (absent: all of the group)."""

    positions: list[int]


class Step(Said, total=False):
    """One thing to do.

    ``lines`` say it in detail, ``cautions`` are codes read right here, ``positions`` are the only fixtures that have
    the step (absent: all of the group).
    """

    lines: list[Line]
    cautions: list[str]
    positions: list[int]


def step(name: str, /, *lines: Line, **facts: Json) -> Step:
    """The step `plan.step.<name>`.

    >>> step("prove-dead")
    {'code': 'plan.step.prove-dead', 'facts': {}}
    """
    found: Step = {"code": f"plan.step.{name}", "facts": facts}
    return found | {"lines": list(lines)} if lines else found


def line(name: str, /, **facts: Json) -> Line:
    """The line `plan.line.<name>` under a step.

    >>> line("spare", outputs=[2])
    {'code': 'plan.line.spare', 'facts': {'outputs': [2]}}
    """
    return {"code": f"plan.line.{name}", "facts": facts}
