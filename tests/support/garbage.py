"""How often Python looks for garbage in a process of tests: not at all while it collects them, and then no more among them.

Fifteen thousand collected tests are some million objects that stay to the end. Python would look through all of them again
and again, while nothing of theirs ever becomes garbage.
"""

from __future__ import annotations

import gc


def wait_with_it() -> None:
    """Looks for no garbage while tests are collected."""
    gc.disable()


def leave_out_what_stays() -> None:
    """Looks for garbage as ever, once in all that there is by now, and from then on only in what comes."""
    gc.enable()
    gc.collect()
    gc.freeze()
