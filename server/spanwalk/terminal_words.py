"""What commands say in a terminal: in its language, as its environment names it, where the words are here; else in English."""

from __future__ import annotations

import os
from collections.abc import Mapping

from spanwalk import words

NAMED_BY = ("LC_ALL", "LC_MESSAGES", "LANG")
"""The first that is set names the language of messages (POSIX.1-2017, 8.2 Internationalization Variables)."""


def terminal_language(environment: Mapping[str, str] = os.environ) -> str:
    """The language of a terminal's messages.

    >>> terminal_language({"LANG": "es_MX.UTF-8"}), terminal_language({"LC_ALL": "C", "LANG": "es_ES.UTF-8"})
    ('es', 'en')
    """
    named = next((value for name in NAMED_BY if (value := environment.get(name))), "")
    return words.known(named.partition(".")[0].partition("_")[0])


def say(code: str, facts: Mapping[str, object] | None = None) -> str:
    """The sentence of a code with its facts filled in, in the terminal's language."""
    return words.say(code, facts, terminal_language())
