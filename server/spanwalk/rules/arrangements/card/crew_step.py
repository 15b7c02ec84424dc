"""What a step of a crew's card is: a sentence by its code with its facts, lines under it, cautions beside it."""

from __future__ import annotations

from spanwalk.rules.said import Said


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


def step(name: str, /, *lines: Line, **facts: object) -> Step:
    """The step `plan.step.<name>`.

    >>> step("prove-dead")
    {'code': 'plan.step.prove-dead', 'facts': {}}
    """
    found: Step = {"code": f"plan.step.{name}", "facts": facts}
    return found | {"lines": list(lines)} if lines else found


def line(name: str, /, **facts: object) -> Line:
    """The line `plan.line.<name>` under a step.

    >>> line("spare", outputs=[2])
    {'code': 'plan.line.spare', 'facts': {'outputs': [2]}}
    """
    return {"code": f"plan.line.{name}", "facts": facts}
