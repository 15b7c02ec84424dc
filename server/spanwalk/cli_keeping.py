"""`spanwalk backup`, `restore` and `backup-key`: what keeps an installation's data."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from spanwalk.config import Settings
    from spanwalk.services.backups.backing_up import BackedUp
    from spanwalk.services.backups.restoring import Checked, Restored

Commands = Callable[[str, object], argparse.ArgumentParser]
"""Adds a command by its name and what runs it."""


def add_keeping(command: Commands, opened: Callable[[argparse.Namespace], Flask]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    command : callable
        Adds one.
    opened : callable
        Opens the installation that the arguments name.
    """
    backup = command("backup", lambda told: run_backup(opened(told), told))
    backup.add_argument("folder", type=Path, nargs="?")
    backup.add_argument("--to", metavar="PLACE")
    backup.add_argument("--keep", type=int, metavar="N")
    restore = command("restore", lambda told: run_restore(opened(told), told))
    restore.add_argument("where", nargs="?")
    restore.add_argument("--check", action="store_true")
    restore.add_argument("--replace", action="store_true")
    restore.add_argument("--identity", type=Path, metavar="FILE")
    restore.add_argument("--although-unwell", action="store_true")
    key = command("backup-key", run_key)
    key.add_argument("file", type=Path)
    secret = command("secret-key", run_secret)
    secret.add_argument("file", type=Path)


def add_audit(command: Commands, opened: Callable[[argparse.Namespace], Flask]) -> None:
    """Add the command `audit`; parameters as for `add_keeping`."""
    audit = command("audit", lambda told: run_audit(opened(told), told))
    audit.add_argument("action", choices=["verify", "write"])
    audit.add_argument("file", type=Path, nargs="?")
    audit.add_argument("--site")
    audit.add_argument("--against", metavar="BACKUP")
    command("tidy", lambda told: run_tidy(opened(told), told))


def run_tidy(app: Flask, told: argparse.Namespace) -> None:
    """Let go what is older than the settings say, and say how much."""
    from dataclasses import asdict

    from spanwalk.services.privacy.keeping import let_go_old
    from spanwalk.terminal_words import say

    with app.app_context():
        print(say("keeping.tidied", asdict(let_go_old(_settings_of(app)))))


def run_audit(app: Flask, told: argparse.Namespace) -> int:
    """Check the audit, 1 where it is not whole; or write it to a file."""
    from spanwalk.config import SettingWrong
    from spanwalk.terminal_words import say

    if told.action == "verify":
        return _verify(app, told.against)
    if told.file is None or told.file.exists():
        raise SettingWrong(say("keeping.audit.file-there", {"file": str(told.file)}))
    from spanwalk.services.audit.chain import FIRM
    from spanwalk.services.audit.reading import audit_csv
    from spanwalk.services.planning.figures import site_called
    from spanwalk.services.refusals import NotThere
    from spanwalk.storage.database import reading

    try:
        with app.app_context(), reading() as session:
            text = audit_csv(session, site_called(session, told.site) if told.site else FIRM)
    except NotThere as wrong:
        print(f"spanwalk: {say(wrong.code, wrong.facts)}", file=sys.stderr)
        return 1
    told.file.write_text(text, encoding="utf-8", newline="")
    print(say("keeping.audit.written", {"file": str(told.file), "count": text.count("\r\n")}))
    return 0


def _verify(app: Flask, against: str | None) -> int:
    from spanwalk.services.audit.chain import FIRM
    from spanwalk.services.audit.verifying import verify_all
    from spanwalk.services.backups.restoring import heads_of_backup
    from spanwalk.services.people.people import site_name
    from spanwalk.storage.database import reading
    from spanwalk.terminal_words import say

    with app.app_context(), reading() as session:
        known = heads_of_backup(_settings_of(app), against) if against else {}
        found = verify_all(session, known)
        for each in found:
            name = say("keeping.audit.the-firm") if each.scope == FIRM else site_name(session, each.scope)
            if not each.breaks:
                facts = {"scope": name, "number": each.number, "operations": each.operations, "hash": each.hash}
                print(say("keeping.audit.whole", facts))
                continue
            first = say(f"keeping.audit.{each.breaks[0].code}", each.breaks[0].facts)
            print(say("keeping.audit.broken", {"scope": name, "count": len(each.breaks), "first": first}))
    return 1 if any(each.breaks for each in found) else 0


def _settings_of(app: Flask) -> Settings:
    settings: Settings = app.extensions["spanwalk"]
    return settings


def run_backup(app: Flask, told: argparse.Namespace) -> int:
    """Make a backup; 1 where a photo that the database names was not there to be copied."""
    from spanwalk.config import SettingWrong
    from spanwalk.services.backups.backing_up import back_up, back_up_dated
    from spanwalk.storage.photos import StoreFails
    from spanwalk.terminal_words import say

    if (told.folder is None) == (told.to is None):
        raise SettingWrong(say("keeping.to-or-folder"))
    if told.keep is not None and (told.to is None or told.keep < 1):
        raise SettingWrong(say("keeping.keep-wrong"))
    try:
        with app.app_context():
            settings = _settings_of(app)
            made = back_up_dated(settings, told.to, told.keep) if told.to else back_up(settings, told.folder)
    except StoreFails as failed:
        raise SettingWrong(str(failed)) from failed
    return _say_backed_up(made)


def _say_backed_up(made: BackedUp) -> int:
    from spanwalk.terminal_words import say
    from spanwalk.words import counted

    there = {"sites": counted(made.sites, "counted.site"), "photos": counted(made.photos, "counted.photo")}
    print(say("keeping.backed-up", {"where": made.where, **there}))
    if made.let_go:
        print(say("keeping.let-go", {"names": list(made.let_go)}))
    if made.missing:
        print(say("keeping.photos-missing", {"count": len(made.missing)}), file=sys.stderr)
    return 1 if made.missing else 0


def run_restore(app: Flask, told: argparse.Namespace) -> None:
    """Put a backup back under a new incarnation, or check it; without one, only begin the new incarnation."""
    from spanwalk.config import SettingWrong
    from spanwalk.services.backups.restoring import check_backup, put_back
    from spanwalk.services.bootstrap import begin_incarnation
    from spanwalk.storage.photos import StoreFails
    from spanwalk.terminal_words import say

    settings = _settings_of(app)
    try:
        with app.app_context():
            if told.where is None:
                begin_incarnation()
            elif told.check:
                _say_checked(told.where, check_backup(settings, told.where, told.identity, told.although_unwell))
                return
            else:
                made = put_back(settings, told.where, told.replace, told.identity, told.although_unwell)
                _say_restored(made, settings)
    except StoreFails as failed:
        raise SettingWrong(str(failed)) from failed
    print(say("keeping.incarnation"))


def _say_checked(where: str, checked: Checked) -> None:
    from spanwalk.terminal_words import say
    from spanwalk.words import counted

    code = "keeping.checked" if checked.opened else "keeping.checked-sealed"
    there = {"sites": counted(checked.sites, "counted.site"), "photos": counted(checked.photos, "counted.photo")}
    print(say(code, {"where": where, **there}))


def _say_restored(made: Restored, settings: Settings) -> None:
    from spanwalk.terminal_words import say
    from spanwalk.words import counted

    back = {"sites": counted(made.sites, "counted.site"), "photos": counted(made.photos, "counted.photo")}
    print(say("keeping.restored", {**back, "people": counted(made.people_carried, "keeping.person")}))
    if made.sites_gone:
        print(say("keeping.sites-gone", {"sites": counted(made.sites_gone, "counted.site")}))
    if made.aside is not None:
        print(say("keeping.aside", {"folder": str(made.aside), "days": settings.keep_aside_days}))
        if not settings.backup_keys:
            print(say("keeping.aside-unsealed"))


def run_key(told: argparse.Namespace) -> None:
    """Make a pair of keys: the private one into a file, the public one as the setting that takes it."""
    from spanwalk.services.backups.sealing import make_key
    from spanwalk.terminal_words import say

    public = make_key(told.file)
    print(say("keeping.key-made", {"file": str(told.file)}))
    print(say("keeping.key-set", {"key": public}))


def run_secret(told: argparse.Namespace) -> None:
    """Make a file with the key that authenticators' keys are sealed with."""
    from spanwalk.services.people.sealed import make_secret_file
    from spanwalk.terminal_words import say

    make_secret_file(told.file)
    print(say("keeping.secret-made", {"file": str(told.file)}))
    print(say("keeping.secret-set", {"file": str(told.file.absolute())}))
