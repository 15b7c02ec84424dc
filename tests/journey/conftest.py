"""The desk in a browser, for journeys that begin there."""

from tests.desk.conftest import new_desk

__all__ = ["new_desk"]
