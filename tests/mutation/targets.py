"""What can be mutated: a module on each side, and the tests that must notice."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Target:
    """Files of one rule on both sides, the tests that look at it, and whether judged groups pass through it.

    Tests of Python are files, with what pytest's `-k` chooses of them where they are not all quick.
    """

    python: str | None = None
    javascript: str | None = None
    python_tests: tuple[str, ...] = ()
    javascript_tests: tuple[str, ...] = ()
    judged: bool = True
    chosen: str = ""

    def file(self, side: str) -> str | None:
        return self.python if side == "python" else self.javascript


def _rule(name: str, python_tests: tuple[str, ...], javascript_tests: tuple[str, ...]) -> Target:
    fit = "tests/fit/"
    return Target(
        f"server/spanwalk/rules/{name}.py",
        f"pwa/rules/{name}.js",
        tuple(f"{fit}{each}.py" for each in python_tests),
        tuple(f"{fit}{each}.test.js" for each in javascript_tests),
    )


JUDGING = (("test_judging", "test_pooling"), ("judging",))
TARGETS: dict[str, Target] = {
    "fit": _rule("fit/fit", ("test_fit", "test_judging"), ("fit", "judging")),
    "cavity": _rule(
        "fit/cavity", ("test_cavity", "test_cavity_limits", "test_pooling", "test_judging"), ("cavity", "judging")
    ),
    "sampling": _rule("fit/sampling", *JUDGING),
    "judging": _rule("judging/judging", *JUDGING),
    "bar_rows": _rule("fit/bar_rows", ("test_bar_rows", "test_judging"), ("bar_rows", "judging")),
    "decide": Target(
        python="server/spanwalk/sync/decide.py",
        python_tests=("tests/sync/test_merging.py", "tests/sync/test_random_phones.py"),
        judged=False,
        chosen="not planted",
    ),
}
