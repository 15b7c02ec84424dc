"""The desk in a browser, for the hand-over report."""

from tests.desk.conftest import new_desk

__all__ = ["new_desk"]
