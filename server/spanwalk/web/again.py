"""Before data leaves or is deleted for good, who asks proves anew who they are: the one place where that check belongs."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

View = TypeVar("View", bound=Callable[..., object])


def again(view: View) -> View:
    """Ask for the password again, where it was not entered of late. Nothing does so yet."""
    return view
