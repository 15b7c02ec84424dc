"""Commands for whoever runs an installation: bring its tables up to this version, write the unit that starts it."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from spanwalk.cli_words import Worded, add_command

if TYPE_CHECKING:
    from spanwalk.config import Settings

    Commands = argparse._SubParsersAction[Worded]
SettingsOf = Callable[[argparse.Namespace], "Settings"]


def add_running(commands: Commands, settings_of: SettingsOf) -> None:
    """Add `migrate` and `service-unit`.

    Parameters
    ----------
    commands : subparsers
        Those of `spanwalk`.
    settings_of : callable
        The settings that arguments and environment give.
    """
    migrate = add_command(commands, "migrate")
    migrate.add_argument("--data", type=Path)
    migrate.add_argument("--check", action="store_true")
    migrate.set_defaults(run=lambda told: run_migrate(told, settings_of))
    unit = add_command(commands, "service-unit")
    unit.add_argument("--data", type=Path, default=Path("/var/lib/spanwalk"))
    unit.add_argument("--user", default="spanwalk")
    unit.add_argument("--port", type=int, default=8000)
    unit.set_defaults(run=run_service_unit)


def run_migrate(told: argparse.Namespace, settings_of: SettingsOf) -> int:
    """Run the migrations that the database has not seen; 1 where `--check` finds other tables than this version's."""
    from spanwalk.app import create_app
    from spanwalk.services.bootstrap import prepare_database
    from spanwalk.storage.migrating import newest_revision, revision_of, tables_state
    from spanwalk.storage.tables import db
    from spanwalk.terminal_words import say

    with create_app(settings_of(told)).app_context():
        try:
            before, state = revision_of(db.engine) or "-", str(tables_state(db.engine))
            if not told.check and state in ("older", "none"):
                prepare_database()
                state = "done"
        finally:
            db.engine.dispose()
    print(say(f"migrate.{state}", {"from": before, "to": newest_revision()}))
    return 0 if state in ("ok", "done") else 1


def run_service_unit(told: argparse.Namespace) -> int:
    """Print the unit; 2 where a path cannot stand in one."""
    from spanwalk.services.service_unit import unit_text
    from spanwalk.terminal_words import say

    try:
        print(unit_text(_program(), told.data.absolute(), told.user, told.port), end="")
    except ValueError as wrong:
        print(f"spanwalk: {say('service-unit.path-wrong', {'value': str(wrong)})}", file=sys.stderr)
        return 2
    return 0


def _program() -> Path:
    """The command of this environment, wherever it was called from."""
    beside = Path(sys.executable).with_name("spanwalk")
    found = str(beside) if os.access(beside, os.X_OK) else shutil.which("spanwalk")
    return Path(found or "/usr/local/bin/spanwalk")
