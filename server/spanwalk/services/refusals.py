"""What services refuse: one class for each sort, a kebab-case code, and facts for the sentence."""

from __future__ import annotations

from sqlalchemy.exc import DBAPIError

from spanwalk.storage.database import is_full


class Refusal(Exception):
    """Base of all refusals.

    Parameters
    ----------
    code : str
        Code of the sentence in the words files.
    **facts
        What, which, and what would be right.
    """

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


class WrongInput(Refusal):
    """A value that cannot be taken."""


class NotSignedIn(Refusal):
    """Nobody is signed in, or name and password do not go together."""


class NotAllowed(Refusal):
    """A person without the right."""


class NotThere(Refusal):
    """A thing that is not there, or that the person may not know of."""


class InTheWay(Refusal):
    """The state of the server is not what the request takes it to be."""


class TooLarge(Refusal):
    """More than is taken at once."""


class TooOften(Refusal):
    """Too many tries; `seconds` says how long to wait."""


class Unavailable(Refusal):
    """Cannot be done now; the same request may succeed later."""


class NoRoom(Refusal):
    """No room is left to keep it; the same request succeeds once there is."""


def of_database(error: DBAPIError) -> Refusal:
    """What the database's being unable to work now is to who asked: no room left, or busy."""
    return NoRoom("disk-full") if is_full(error) else Unavailable("database-busy")
