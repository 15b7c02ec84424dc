"""The desk of a manager or a surveyor, as in the tests of the desk."""

from __future__ import annotations

from tests.desk.conftest import new_desk

__all__ = ["new_desk"]
