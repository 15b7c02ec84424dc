"""The desk in a browser, for orders."""

from tests.desk.conftest import new_desk

__all__ = ["new_desk"]
