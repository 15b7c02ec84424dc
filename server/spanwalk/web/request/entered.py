"""What asks that its person has proven of late who they are: people, phones let in, held work, exports, deletions."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from flask import current_app

from spanwalk.config import Settings
from spanwalk.services.people.entering import refuse_unless_entered
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import current_person

View = TypeVar("View", bound=Callable[..., object])


def entered_again(view: View) -> View:
    """Let a view be called only by who has entered password or second factor of late: see `require_entered`.

    Put it right below `@requires(…)`.
    """

    @wraps(view)
    def guarded(*args: object, **kwargs: object) -> object:
        require_entered()
        return view(*args, **kwargs)

    guarded.asks_again = True  # type: ignore[attr-defined]
    return guarded  # type: ignore[return-value]


def entered_to_set_up(view: View) -> View:
    """The same for one's own second factors: who must have one and has none comes here to set it up."""

    @wraps(view)
    def guarded(*args: object, **kwargs: object) -> object:
        require_entered(to_set_up=True)
        return view(*args, **kwargs)

    guarded.asks_again = True  # type: ignore[attr-defined]
    return guarded  # type: ignore[return-value]


def require_entered(to_set_up: bool = False) -> None:
    """Raise unless who asks has entered password or second factor within the minutes that the settings say.

    Parameters
    ----------
    to_set_up : bool
        Whether it is to set a second factor up, so that none can be wanted.

    Raises
    ------
    NotAllowed
        `enter-again`: the page asks for it (`POST /api/session/entered`) and tries once more.
        `second-factor-first`: the settings want a second factor of them, and they have none.
    """
    settings: Settings = current_app.extensions["spanwalk"]
    with reading() as session:
        required = settings.second_factor_required and not to_set_up
        refuse_unless_entered(session, current_person(), settings.enter_again_minutes, required)
