"""What `--help` says: the words of each command and each argument, in the terminal's language."""

from __future__ import annotations

import argparse
from typing import TypeVar

ANY = "command.any"
"""What begins the code of an argument that says the same at every command."""


Action = TypeVar("Action", bound=argparse.Action)


class Worded(argparse.ArgumentParser):
    """A parser that finds its own words: those of `spanwalk people add` begin with `command.people.add`.

    An argument is said by the command's code and its name (`command.people.add.role`), else by `command.any` and its name.
    One that has no words there shows its code; `tests/commands/test_help.py` finds it.
    """

    def _add_action(self, action: Action) -> Action:
        """Add an argument that was read, with its words unless `help` gave them; argparse's own `-h` has ours."""
        if action.help is None or isinstance(action, argparse._HelpAction):
            name = action.option_strings[-1].lstrip("-") if action.option_strings else action.dest
            action.help = _of_argument(code_of(self.prog), name)
        return super()._add_action(action)


def add_command(commands: argparse._SubParsersAction[Worded], path: str) -> Worded:
    """Add a command with its words.

    Parameters
    ----------
    commands : subparsers
        Those of the command above it.
    path : str
        All names from `spanwalk` on, with a point between them: 'people.add'.
    """
    about = _say(f"command.{path}")
    return commands.add_parser(path.rpartition(".")[2], help=_escaped(about), description=about)


def top_command() -> Worded:
    """`spanwalk` itself, to which commands are added."""
    return Worded(prog="spanwalk", description=_say("command.about"))


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
