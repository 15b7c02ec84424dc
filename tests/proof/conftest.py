"""The desk in a browser, for proof packs."""

from tests.desk.conftest import new_desk

__all__ = ["new_desk"]
