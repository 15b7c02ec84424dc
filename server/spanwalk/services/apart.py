"""Have something done by a process of its own that may die of it: what people bring in is nobody's friend yet."""

from __future__ import annotations

import subprocess
import sys

from spanwalk.services.refusals import WrongInput


def done_apart(module: str, *arguments: str, within_s: float, too_much: str) -> bytes:
    """What a module writes to its output when it is run, in a process of its own.

    Parameters
    ----------
    module : str
        Its name; it sets its own limits of memory and processor.
    *arguments : str
        What it is told.
    within_s : float
        How long it may take [s].
    too_much : str
        Code of the refusal where it takes longer, or ends otherwise than well.

    Raises
    ------
    WrongInput
        It took too long or ended otherwise than well.
    """
    command = [sys.executable, "-m", module, *arguments]
    try:
        done = subprocess.run(command, capture_output=True, timeout=within_s, check=False)
    except subprocess.TimeoutExpired:
        raise WrongInput(too_much) from None
    if done.returncode != 0:
        raise WrongInput(too_much)
    return done.stdout
