"""The command `spanwalk`: reads its arguments, calls services. Imports wait until they are needed."""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from contextlib import redirect_stderr, redirect_stdout, suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TextIO, cast

from spanwalk.cli_archives import add_archives
from spanwalk.cli_keeping import add_audit, add_keeping
from spanwalk.cli_people import add_people
from spanwalk.cli_planning import add_planning
from spanwalk.cli_running import add_running
from spanwalk.cli_words import Worded, add_command, top_command

if TYPE_CHECKING:
    from flask import Flask

    from spanwalk.config import Settings
    from spanwalk.services.demo.people import PersonOfDemo


DEMO_FOLDER = "spanwalk-demo"
"""Where the demo's data lies unless told otherwise; SPANWALK_DATA is the real installation's."""
NOBODY_ELSE = 0o077
"""What those who do not run the server may do with a file that it writes: nothing."""
NEW_OBJECTS_MOST = 10_000
"""So many objects come before garbage is looked for among them. Plans are made of very many that stay: Python's own 700 costs
a tenth of the time that planning takes, and saves no memory there."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Those of the command line unless given.

    Returns
    -------
    int
        Exit status.
    """
    from spanwalk.config import SettingWrong
    from spanwalk.services.text.neutral import PlainOutput

    gc.set_threshold(NEW_OBJECTS_MOST)
    told = _parser().parse_args(arguments)
    before = os.umask(NOBODY_ELSE)
    out, err = cast("TextIO", PlainOutput(sys.stdout)), cast("TextIO", PlainOutput(sys.stderr))
    with redirect_stdout(out), redirect_stderr(err):
        try:
            return int(told.run(told) or 0)
        except SettingWrong as wrong:
            print(f"spanwalk: {wrong}", file=sys.stderr)
            return 2
        finally:
            os.umask(before)


def _parser() -> argparse.ArgumentParser:
    parser = top_command()
    commands = parser.add_subparsers(required=True, metavar="command")
    demo = _command(commands, "demo", run_demo)
    demo.add_argument("--fresh", action="store_true")
    _serving(demo)
    serve = _command(commands, "serve", run_serve)
    _serving(serve)
    proxy = _command(commands, "proxy-config", run_proxy_config)
    proxy.add_argument("--name")
    proxy.add_argument("--certificate")
    proxy.add_argument("--key")
    proxy.add_argument("--server", default="127.0.0.1:8000")
    proxy.add_argument("--https", default="443")
    proxy.add_argument("--http", default="80")
    init = _command(commands, "init", run_init)
    init.add_argument("--owner")
    init.add_argument("--password-from", metavar="FILE")
    spec = _command(commands, "spec", run_spec)
    spec.add_argument("--markdown", action="store_true")
    spec.add_argument("--types", action="store_true")
    spec.add_argument("--python", action="store_true")
    explain = _command(commands, "explain", run_explain)
    explain.add_argument("group")
    fit = _command(commands, "fit", run_fit)
    fit.add_argument("group", nargs="?")
    fit.add_argument("--lamp")
    fit.add_argument("--sitting", action="store_true")
    fit.add_argument("--readings")
    fit.add_argument("--count")
    fit.add_argument("--bar")
    fit.add_argument("--units", choices=["inches", "millimetres"], default="inches")
    fit.add_argument("--coldest")
    fit.add_argument("--hottest")
    figure = _command(commands, "figure", run_figure)
    figure.add_argument("words", nargs="*")
    figure.add_argument("--site")
    add_people(commands, lambda told: _ready_app(_settings(told)))
    add_running(commands, _settings)
    doctor = _command(commands, "doctor", run_doctor)
    doctor.add_argument("--data-only", action="store_true")
    doctor.add_argument("--around-only", action="store_true")
    doctor.add_argument("--read-photos", action="store_true")
    _command(commands, "clean-photos", run_clean_photos)
    copied = _command(commands, "copy-site", run_copy_site)
    copied.add_argument("site")
    copied.add_argument("file", type=Path)
    brought = _command(commands, "bring-site", run_bring_site)
    brought.add_argument("file", type=Path)
    brought.add_argument("--owner", required=True)
    add_keeping(partial(_command, commands), lambda told: _ready_app(_settings(told)))
    add_planning(partial(_command, commands), lambda told: _ready_app(_settings(told)))
    add_audit(partial(_command, commands), lambda told: _ready_app(_settings(told)))
    add_archives(partial(_command, commands), lambda told: _ready_app(_settings(told)))
    return parser


def _command(commands: argparse._SubParsersAction[Worded], name: str, run: object) -> Worded:
    made = add_command(commands, name)
    made.add_argument("--data", type=Path)
    made.set_defaults(run=run)
    return made


def _serving(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--port", type=int, default=8000)
    parser.add_argument("--host", default="127.0.0.1")


def _settings(told: argparse.Namespace) -> Settings:
    from spanwalk.config import read_settings

    settings = read_settings(os.environ, told.data)
    settings.data.mkdir(parents=True, exist_ok=True)
    _close_to_others(settings.data)
    return settings


def _close_to_others(data: Path) -> None:
    """Close a data folder that was made before its files were kept from others, where it is ours to close."""
    for path in (data, *data.glob("spanwalk.db*")):
        if path.stat().st_mode & NOBODY_ELSE:
            with suppress(PermissionError):
                path.chmod(path.stat().st_mode & ~NOBODY_ELSE)


def _ready_app(settings: Settings) -> Flask:
    from spanwalk.app import create_app
    from spanwalk.services.bootstrap import prepare_database

    app = create_app(settings)
    with app.app_context():
        prepare_database()
    return app


def run_demo(told: argparse.Namespace) -> None:
    """Serve the demo from a folder of its own; its building is made at the first start."""
    from spanwalk.config import read_settings
    from spanwalk.services.demo.own_folder import claim_folder, throw_away
    from spanwalk.services.demo.people import PASSWORD
    from spanwalk.terminal_words import say

    quiet = {"SPANWALK_LOG_LEVEL": "warning"}  # what it prints is how to sign in, unless somebody asks for more
    settings = read_settings({**quiet, **os.environ}, told.data or Path(DEMO_FOLDER))
    settings = replace(settings, demo_password=PASSWORD)
    if told.fresh:
        throw_away(settings)
    claim_folder(settings)
    app = _ready_app(settings)
    with app.app_context():
        people = _load_demo()
    print(say("serving.demo", {"address": f"http://{told.host}:{told.port}/", "folder": str(settings.data)}))
    for person in people:
        facts = {"name": person["name"], "role": person["role"], "password": PASSWORD}
        print("  " + say("serving.sign-in", facts))
    _listen(app, told)


def _load_demo() -> list[PersonOfDemo]:
    from spanwalk.services.demo.people import demo_people
    from spanwalk.services.demo.site import ensure_demo
    from spanwalk.storage.database import reading

    ensure_demo()
    with reading() as session:
        return demo_people(session)


def run_serve(told: argparse.Namespace) -> None:
    """Serve an installation."""
    from spanwalk.services.privacy.keeping import let_go_old
    from spanwalk.terminal_words import say

    app = _real_app(told)
    with app.app_context():
        let_go_old(app.extensions["spanwalk"])
    print(say("serving.installation", {"address": f"http://{told.host}:{told.port}/"}))
    _listen(app, told)


def _listen(app: Flask, told: argparse.Namespace) -> None:
    from spanwalk.telemetry.logs import begin_logs
    from spanwalk.web.server.serving import serve

    settings: Settings = app.extensions["spanwalk"]
    begin_logs(settings.log, settings.log_level)
    serve(app, told.host, told.port)


def _real_app(told: argparse.Namespace) -> Flask:
    """The app of an installation, which must not be the demo's: everybody knows the demo's passwords."""
    from spanwalk.services.demo.own_folder import check_real, check_real_database
    from spanwalk.storage.database import reading

    settings = _settings(told)
    check_real(settings)
    app = _ready_app(settings)
    with app.app_context(), reading() as session:
        check_real_database(session)
    return app


def run_proxy_config(told: argparse.Namespace) -> None:
    """Print the configuration of an nginx in front."""
    from urllib.parse import urlsplit

    from spanwalk.config import SettingWrong, read_settings
    from spanwalk.terminal_words import say
    from spanwalk.web.server.proxy_config import Front, proxy_config

    name = told.name or urlsplit(read_settings(os.environ, told.data).public_url or "").hostname
    given = (told.certificate, told.key, told.server, told.https, told.http)
    if not name or not all(_is_plain(each) for each in (name, *given) if each is not None):
        raise SettingWrong(say("proxy-config.wrong"))
    certificate, key = told.certificate or f"/etc/ssl/{name}.pem", told.key or f"/etc/ssl/private/{name}.key"
    print(proxy_config(Front(name, certificate, key, told.server, told.https, told.http)), end="")


def _is_plain(text: str) -> bool:
    """Whether a text stands in a configuration as nothing but itself."""
    import re

    return re.fullmatch(r"[A-Za-z0-9_./:\[\]-]+", text) is not None


def run_init(told: argparse.Namespace) -> None:
    """Make the database and the first owner; say what comes next."""
    from spanwalk.services.catalogue.firm import keep_catalogue
    from spanwalk.services.people.people import add_person
    from spanwalk.services.refusals import WrongInput
    from spanwalk.storage.database import writing
    from spanwalk.terminal_words import say

    app = _real_app(told)
    owner = told.owner or input(say("init.ask-owner") + " ")
    password = _password(told.password_from, owner)
    try:
        with app.app_context(), writing() as session:
            keep_catalogue(session, add_person(session, owner, password, owner=True))
    except WrongInput as wrong:
        raise SystemExit(f"spanwalk: {say(wrong.code, wrong.facts)}") from None
    serve = "spanwalk serve" + (f" --data {told.data}" if told.data else "")
    print(say("init.done", {"owner": owner}))
    for step in ("init.serve", "init.open", "init.site", "init.https"):
        print("  " + say(step, {"command": serve, "address": "http://127.0.0.1:8000/", "owner": owner}))


def _password(source: str | None, owner: str) -> str:
    """The first line of a file or of standard input ('-'); else it is asked for without being shown."""
    import getpass

    from spanwalk.config import SettingWrong
    from spanwalk.terminal_words import say

    if source == "-":
        return sys.stdin.readline().rstrip("\n")
    if source is None:
        return getpass.getpass(say("init.ask-password", {"owner": owner}) + " ")
    try:
        return (Path(source).read_text(encoding="utf-8").splitlines() or [""])[0]
    except (OSError, UnicodeDecodeError) as error:
        raise SettingWrong(say("init.no-password-file", {"file": source, "reason": str(error)})) from error


def run_spec(told: argparse.Namespace) -> None:
    """Print what a record is."""
    from spanwalk import records

    if told.python:
        sys.stdout.write(records.python_types())
    elif told.types:
        sys.stdout.write(records.typescript())
    elif told.markdown:
        sys.stdout.write(records.markdown())
    else:
        sys.stdout.write(records.spec_text().decode())


def run_explain(told: argparse.Namespace) -> int:
    """Print the plan of a group; 1 where there is no such group."""
    from spanwalk.services.refusals import NotThere
    from spanwalk.services.text.explaining import explain
    from spanwalk.storage.database import reading
    from spanwalk.terminal_words import say

    app = _ready_app(_settings(told))
    try:
        with app.app_context(), reading() as session:
            print(explain(session, told.group))
    except NotThere as wrong:
        print(f"spanwalk: {say(wrong.code, wrong.facts)}", file=sys.stderr)
        return 1
    return 0


def run_fit(told: argparse.Namespace) -> int:
    """Print what fits; 1 where there is no such group, 2 where an option cannot be used."""
    from spanwalk.services.refusals import NotThere, WrongInput
    from spanwalk.services.text.adhoc_fit import fit_of_loose, refuse_loose
    from spanwalk.services.text.fit_lines import fit_of_group
    from spanwalk.storage.database import reading
    from spanwalk.terminal_words import say

    try:
        if told.group is None:
            print(fit_of_loose(vars(told)))
            return 0
        refuse_loose(vars(told))
        app = _ready_app(_settings(told))
        with app.app_context(), reading() as session:
            print(fit_of_group(session, told.group))
    except (NotThere, WrongInput) as wrong:
        print(f"spanwalk: {say(wrong.code, wrong.facts)}", file=sys.stderr)
        return 1 if isinstance(wrong, NotThere) else 2
    return 0


def run_figure(told: argparse.Namespace) -> int:
    """Print figures with their sources; 1 where none has all the words, or there is no such site."""
    from spanwalk.services.planning.figures import figure_lines
    from spanwalk.services.refusals import NotThere
    from spanwalk.storage.database import reading
    from spanwalk.terminal_words import say

    app = _ready_app(_settings(told))
    try:
        with app.app_context(), reading() as session:
            lines = list(figure_lines(session, told.words, told.site))
    except NotThere as wrong:
        print(f"spanwalk: {say(wrong.code, wrong.facts)}", file=sys.stderr)
        return 1
    if not lines:
        print(f"spanwalk: {say('figures.none', {'words': told.words})}", file=sys.stderr)
        return 1
    print("\n".join(lines))
    return 0


def run_doctor(told: argparse.Namespace) -> int:
    """Print what is wrong with the data and around it, a sentence each; 1 if anything is."""
    from spanwalk.app import create_app
    from spanwalk.services.doctor import Report, examine_all, examine_front
    from spanwalk.services.installation_checks import Surroundings, examine_surroundings
    from spanwalk.storage.database import reading
    from spanwalk.terminal_words import say
    from spanwalk.words import counted

    settings = _settings(told)
    app = create_app(settings)
    store = app.extensions["spanwalk-photos"]
    with app.app_context(), reading() as session:
        around = Surroundings([], []) if told.data_only else examine_surroundings(session, settings, store)
        report = Report() if told.around_only else examine_all(session, store, told.read_photos)
    if not told.data_only:
        examine_front(settings, report)
    findings = around.findings + report.findings
    for finding in findings:
        print(say(finding.code, finding.facts))
    for note in around.notes:
        print(say("around.note", {"text": say(note.code, note.facts)}))
    named = {
        "sites": "counted.site",
        "records": "keeping.record",
        "operations": "keeping.operation",
        "photos": "counted.photo",
    }
    counts = {name: counted(getattr(report, name), thing) for name, thing in named.items()}
    found = len(findings)
    print(say("doctor.not-well", counts | {"count": found}) if found else say("doctor.well", counts))
    return 1 if found else 0


def run_clean_photos(told: argparse.Namespace) -> int:
    """Make photos of before anew; 1 where one cannot be."""
    from spanwalk.services.photos.tidying import tidy
    from spanwalk.storage.tables import db
    from spanwalk.terminal_words import say

    app = _ready_app(_settings(told))
    with app.app_context():
        tidied = tidy(app.extensions["spanwalk-photos"])
        db.engine.dispose()
    facts = {"photos": tidied.photos, "made_anew": tidied.made_anew, "places_out": tidied.places_out}
    print(say("clean-photos.done", facts))
    for sha256 in tidied.left:
        print(say("clean-photos.left", {"photo": sha256}))
    return 1 if tidied.left else 0


def run_copy_site(told: argparse.Namespace) -> int:
    """Copy one site into a zip; 1 where there is no such site or the file is there already."""
    from spanwalk.services.files.site_copy import copy_site
    from spanwalk.services.planning.figures import site_called
    from spanwalk.services.refusals import NotThere
    from spanwalk.storage.database import reading
    from spanwalk.terminal_words import say

    if told.file.exists():
        print(f"spanwalk: {say('archive.file-there', {'file': str(told.file)})}", file=sys.stderr)
        return 1
    app = _ready_app(_settings(told))
    try:
        with app.app_context(), reading() as session:
            copy_site(session, app.extensions["spanwalk-photos"], site_called(session, told.site), told.file)
    except NotThere as wrong:
        print(f"spanwalk: {say(wrong.code, wrong.facts)}", file=sys.stderr)
        return 1
    print(say("copy.made", {"value": str(told.file)}))
    return 0


def run_bring_site(told: argparse.Namespace) -> int:
    """Take a copy of a site in; 1 where it is refused, and then nothing of it is here."""
    from spanwalk.services.files.site_copy import bring_site
    from spanwalk.services.people.people import owner_called
    from spanwalk.services.refusals import Refusal
    from spanwalk.storage.database import writing
    from spanwalk.terminal_words import say

    app = _ready_app(_settings(told))
    try:
        with app.app_context(), writing() as session:
            owner = owner_called(session, told.owner)
            made = bring_site(session, app.extensions["spanwalk-photos"], told.file, owner)
    except (Refusal, FileNotFoundError) as wrong:
        missing = ("archive.no-such-file", {"value": str(told.file)})
        code, facts = (wrong.code, wrong.facts) if isinstance(wrong, Refusal) else missing
        print(f"spanwalk: {say(code, facts)}", file=sys.stderr)
        return 1
    print(say("copy.brought", {"value": made}))
    return 0


if __name__ == "__main__":
    sys.exit(main())
