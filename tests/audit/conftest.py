"""A desk in a browser, as the tests of the desk have it."""

from tests.desk.conftest import new_desk

__all__ = ["new_desk"]
