"""What `--help` says: the words of each command and each argument, in the terminal's language."""

from __future__ import annotations

import argparse
from typing import Any

ANY = "command.any"
"""What begins the code of an argument that says the same at every command."""


class Worded(argparse.ArgumentParser):
    """A parser that finds its own words: those of `spanwalk people add` begin with `command.people.add`.

    An argument is said by the command's code and its name (`command.people.add.role`), else by `command.any` and its name.
    One that has no words there shows its code; `tests/commands/test_help.py` finds it.
    """

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.description = self.description or _say(code_of(self.prog))

    def add_argument(self, *names: str, **options: Any) -> argparse.Action:
        """Add an argument, with its words unless `help` gives them."""
        action = super().add_argument(*names, **options)
        if "help" not in options or isinstance(action, argparse._HelpAction):
            action.help = _of_argument(code_of(self.prog), names[-1].lstrip("-"))
        return action


def add_command(commands: argparse._SubParsersAction[Worded], path: str) -> Worded:
    """Add a command with its words.

    Parameters
    ----------
    commands : subparsers
        Those of the command above it.
    path : str
        All names from `spanwalk` on, with a point between them: 'people.add'.
    """
    return commands.add_parser(path.rpartition(".")[2], help=_escaped(_say(f"command.{path}")))


def code_of(prog: str) -> str:
    """The code of what a command is about.

    >>> code_of("spanwalk people add"), code_of("spanwalk")
    ('command.people.add', 'command.about')
    """
    return ".".join(["command", *(prog.split()[1:] or ["about"])])


def _of_argument(code: str, name: str) -> str:
    own = f"{code}.{name}"
    told = _say(own)
    return _escaped(_say(f"{ANY}.{name}") if told == own else told)


def _say(code: str) -> str:
    from spanwalk.terminal_words import say

    return say(code)


def _escaped(text: str) -> str:
    """A text as argparse takes it, which fills in what stands after a percent sign."""
    return text.replace("%", "%%")
