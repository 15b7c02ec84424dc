"""`spanwalk archive-site` and `verify`: an archive of one site that is read without us, and whether one is whole."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from spanwalk.cli_keeping import Commands

FLAWS_SHOWN = 50


def add_archives(command: Commands, opened: Callable[[argparse.Namespace], Flask]) -> None:
    """Add the commands of this module; parameters as for `cli_keeping.add_keeping`."""
    made = command("archive-site", lambda told: run_archive(opened(told), told))
    made.add_argument("site")
    made.add_argument("file", type=Path)
    verify = command("verify", run_verify)
    verify.add_argument("archive", type=Path)
    verify.add_argument("--last", metavar="HASH")


def run_archive(app: Flask, told: argparse.Namespace) -> int:
    """Write an archive of a site; 1 where there is no such site or the file is there already."""
    from spanwalk.services.archives.writing import write_archive
    from spanwalk.services.planning.figures import site_called
    from spanwalk.services.refusals import Refusal
    from spanwalk.storage.database import reading
    from spanwalk.storage.photos import written_whole
    from spanwalk.terminal_words import say

    if told.file.exists():
        print(f"spanwalk: {say('archive.file-there', {'file': str(told.file)})}", file=sys.stderr)
        return 1
    try:
        with app.app_context(), reading() as session, written_whole(told.file) as file:
            site = site_called(session, told.site)
            about = write_archive(session, app.extensions["spanwalk-photos"], site, file)
    except Refusal as wrong:
        print(f"spanwalk: {say(wrong.code, wrong.facts)}", file=sys.stderr)
        return 1
    print(say("archive.written", {"file": str(told.file), "hash": about["audit"]["hash"]}))
    for why in about["not_made"].values():
        print(say("archive.report-not-made", {"why": why}), file=sys.stderr)
    for code, missing in (("photos", about["photos_missing"]), ("attachments", about["attachments_missing"])):
        if missing:
            print(say(f"archive.{code}-missing", {"count": len(missing)}), file=sys.stderr)
    return 0


def run_verify(told: argparse.Namespace) -> int:
    """Say whether an archive is whole, a line for each flaw; 1 where it is not, 2 where it is none."""
    from spanwalk.services.archives.verifying import verify_archive
    from spanwalk.services.refusals import WrongInput
    from spanwalk.terminal_words import say

    try:
        found = verify_archive(told.archive, told.last)
    except WrongInput as wrong:
        print(f"spanwalk: {say(wrong.code, wrong.facts)}", file=sys.stderr)
        return 2
    for flaw in found.flaws[:FLAWS_SHOWN]:
        print(say(f"archive.flaw.{flaw.code}", flaw.facts))
    facts = {
        name: getattr(found, name)
        for name in ("name", "files", "operations", "records", "photos", "attachments", "releases")
    }
    if found.whole:
        print(say("archive.whole", facts | {"hash": found.last}))
        return 0
    print(say("archive.not-whole", {"count": len(found.flaws)}))
    return 1
