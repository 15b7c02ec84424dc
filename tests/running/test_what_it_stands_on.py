"""`spanwalk doctor` around the data: public address, TLS, proxy, certificate's end, clock, disk, versions, photo store."""

from __future__ import annotations

import json
import shutil
import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import delete, update
from tests.support.installation import Installation, installed

from spanwalk.cli import main
from spanwalk.config import read_settings
from spanwalk.services import installation_checks
from spanwalk.services.clock import later
from spanwalk.services.installation_checks import Surroundings, examine_surroundings
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import FolderStore, StoreFails
from spanwalk.storage.tables import Operation
from spanwalk.words import say

READY = {
    "ready": True,
    "version": version("spanwalk"),
    "database": "ok",
    "tables": "ok",
    "photos": "ok",
    "stopping": False,
}
HSTS = {"Strict-Transport-Security": "max-age=31536000"}


class Front:
    """A proxy that answers what a test says, over TLS with a certificate that this test alone trusts."""

    def __init__(self, folder: Path, days: int) -> None:
        self.body: bytes = json.dumps(READY).encode()
        self.headers: dict[str, str] = dict(HSTS)
        certificate, key = folder / "certificate.pem", folder / "key.pem"
        subject = ["-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost", "-days", str(days)]
        made = ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes"]
        subprocess.run(
            [*made, "-keyout", key, "-out", certificate, *subject], check=True, capture_output=True, timeout=60
        )
        self.certificate, front = certificate, self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                self.send_response_only(200)
                for name, value in front.headers.items():
                    self.send_header(name, value)
                self.end_headers()
                self.wfile.write(front.body)

            def log_message(self, format: str, *args: Any) -> None:
                return

        self.server = ThreadingHTTPServer(("localhost", 0), Handler)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(certificate, key)
        self.server.socket = context.wrap_socket(self.server.socket, server_side=True)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    @property
    def url(self) -> str:
        return f"https://localhost:{self.server.server_address[1]}"


@pytest.fixture(scope="module")
def fronts(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[int], Front]]:
    if shutil.which("openssl") is None:
        pytest.skip("A certificate is made with openssl: run 'apt-get install openssl'.")
    made: dict[int, Front] = {}

    def front(days: int) -> Front:
        if days not in made:
            made[days] = Front(tmp_path_factory.mktemp("front"), days)
        made[days].body, made[days].headers = json.dumps(READY).encode(), dict(HSTS)
        return made[days]

    yield front
    for each in made.values():
        each.server.shutdown()
        each.server.server_close()


def looked(here: Installation, public_url: str | None = None, store: Any = None, **more: Any) -> Surroundings:
    settings = replace(here.app.extensions["spanwalk"], public_url=public_url, **more)
    with here.app.app_context(), reading() as session:
        return examine_surroundings(session, settings, store or here.app.extensions["spanwalk-photos"])


def codes(found: Surroundings, of: str = "") -> set[str]:
    """Codes of what is wrong, of those that begin so; and each can be said."""
    assert all(say(each.code, each.facts) for each in (*found.findings, *found.notes))
    return {code for each in found.findings if (code := each.code.removeprefix("around.")).startswith(of)}


ABOUT_THE_ADDRESS = ("address", "certificate", "proxy")


def of_address(found: Surroundings) -> set[str]:
    return {code for code in codes(found) if code.startswith(ABOUT_THE_ADDRESS)}


def test_a_good_front_is_well_and_its_certificates_end_is_told(
    here: Installation, fronts: Callable[[int], Front], monkeypatch: pytest.MonkeyPatch
) -> None:
    front = fronts(90)
    monkeypatch.setenv("SSL_CERT_FILE", str(front.certificate))
    found = looked(here, front.url)
    assert of_address(found) == set()
    notes = {each.code: each.facts for each in found.notes}
    assert notes["around.certificate-ends"]["days"] in (89, 90)
    assert notes["around.tls"]["protocol"] in ("TLSv1.2", "TLSv1.3")


def test_a_certificate_that_ends_soon_is_wrong_while_it_still_holds(
    here: Installation, fronts: Callable[[int], Front], monkeypatch: pytest.MonkeyPatch
) -> None:
    front = fronts(20)
    monkeypatch.setenv("SSL_CERT_FILE", str(front.certificate))
    assert of_address(looked(here, front.url)) == {"certificate-ends"}


def test_a_certificate_that_nobody_issued_is_refused_as_a_phone_would(
    here: Installation, fronts: Callable[[int], Front]
) -> None:
    assert of_address(looked(here, fronts(90).url)) == {"certificate-refused"}


def no_https(front: Front) -> None:
    front.headers = {}


def another_server(front: Front) -> None:
    front.body = b"<h1>Welcome</h1>"


def not_ready(front: Front) -> None:
    front.body = json.dumps(READY | {"ready": False, "photos": "no answer"}).encode()


def other_version(front: Front) -> None:
    front.body = json.dumps(READY | {"version": "0.0.1"}).encode()


def wrong_clock(front: Front) -> None:
    front.headers = HSTS | {"Date": format_datetime(datetime.now(UTC) - timedelta(hours=1), usegmt=True)}


@pytest.mark.parametrize(
    ("harm", "code"),
    [
        (no_https, "proxy-says-no-https"),
        (another_server, "address-is-another"),
        (not_ready, "address-not-ready"),
        (other_version, "address-other-version"),
        (wrong_clock, "clock-differs"),
    ],
)
def test_what_a_proxy_does_wrong_is_named(
    here: Installation,
    fronts: Callable[[int], Front],
    monkeypatch: pytest.MonkeyPatch,
    harm: Callable[[Front], None],
    code: str,
) -> None:
    front = fronts(90)
    monkeypatch.setenv("SSL_CERT_FILE", str(front.certificate))
    harm(front)
    assert code in codes(looked(here, front.url))


def test_an_address_at_which_nothing_answers_and_one_without_tls(here: Installation) -> None:
    assert of_address(looked(here, "https://localhost:1")) == {"address-no-answer"}
    assert of_address(looked(here, "http://localhost:1")) == {"address-no-answer", "address-without-tls"}


def test_without_a_public_address_that_is_said_and_not_wrong(here: Installation) -> None:
    found = looked(here)
    assert of_address(found) == set()
    assert "around.no-public-address" in {each.code for each in found.notes}


def test_the_photo_store_is_tried_and_left_as_it_was(here: Installation) -> None:
    store = here.app.extensions["spanwalk-photos"]
    before = list(store.names())
    assert codes(looked(here), "photo") == set()
    assert list(store.names()) == before


class Harmed(FolderStore):
    """A folder that does one thing wrong."""

    wrong = ""

    def put(self, name: str, data: bytes) -> None:
        if self.wrong == "put":
            raise StoreFails("planted")
        super().put(name, data[1:] if self.wrong == "differs" else data)

    def drop(self, name: str) -> None:
        if self.wrong != "keeps":
            super().drop(name)


@pytest.mark.parametrize(
    ("wrong", "code"),
    [("put", "photo-store-not-writable"), ("differs", "photo-store-differs"), ("keeps", "photo-store-keeps")],
)
def test_a_photo_store_that_does_not_keep_its_word_is_found(
    here: Installation, tmp_path: Path, wrong: str, code: str
) -> None:
    store = Harmed(tmp_path / "photos")
    store.wrong = wrong
    assert codes(looked(here, store=store), "photo") == {code}


def test_a_disk_that_is_nearly_full_is_found(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    usage = type("Usage", (), {"total": 10**12, "used": 0, "free": 10**12})
    monkeypatch.setattr(installation_checks.shutil, "disk_usage", lambda _folder: usage)
    assert codes(looked(here), "disk-nearly") == set()
    usage.free = 10**12 // 20 - 1  # type: ignore[attr-defined]
    assert codes(looked(here), "disk-nearly") == {"disk-nearly-full"}


def test_a_data_folder_that_others_may_look_into_is_found(here: Installation) -> None:
    folder = here.app.extensions["spanwalk"].data
    folder.chmod(0o700)
    assert codes(looked(here), "folder") == set()
    folder.chmod(0o750)
    assert codes(looked(here), "folder") == {"folder-open-to-others"}


@pytest.mark.parametrize("key", ["age1nonsense", "AGE-SECRET-KEY-1PLANTED"])
def test_a_key_for_backups_that_cannot_be_used_is_found_before_the_night_and_a_private_one_is_not_repeated(
    here: Installation, key: str
) -> None:
    assert codes(looked(here), "backup") == set()
    found = looked(here, backup_keys=(key,))
    assert codes(found, "backup") == {"backup-key-wrong"}
    (told,) = (say(each.code, each.facts) for each in found.findings if "backup-key" in each.code)
    assert "PLANTED" not in told


def told_of(found: Surroundings, of: str) -> dict[str, Any]:
    """Notes that begin so, with their facts."""
    notes = {each.code.removeprefix("around."): each.facts for each in found.notes}
    return {code: facts for code, facts in notes.items() if code.startswith(of)}


@pytest.mark.parametrize(("days", "wrong"), [(0, False), (8, False), (9, True)])
@pytest.mark.parametrize("sealed", [False, True])
def test_the_age_of_the_last_backup_is_told_and_whether_it_is_sealed_and_an_old_one_is_wrong(
    here: Installation, days: int, wrong: bool, sealed: bool
) -> None:
    here.floor()
    file = here.app.extensions["spanwalk"].data / "last-backup.json"
    file.write_text(json.dumps({"made_at": later(-86400 * days - 60), "where": "/srv/b", "sealed": sealed}))
    found = looked(here)
    how = "sealed" if sealed else "plain"
    assert codes(found, "last-backup") == ({f"last-backup-old-{how}"} if wrong else set())
    assert told_of(found, "last-backup") == ({} if wrong else {f"last-backup-{how}": {"days": days, "where": "/srv/b"}})


@pytest.mark.parametrize("text", [None, "", "{}", '{"made_at": "yesterday", "where": "", "sealed": true}'])
def test_work_without_a_backup_that_is_known_of_is_wrong(here: Installation, text: str | None) -> None:
    here.floor()
    file = here.app.extensions["spanwalk"].data / "last-backup.json"
    file.unlink(missing_ok=True)
    if text is not None:
        file.write_text(text)
    assert codes(looked(here), "last-backup") == {"last-backup-none"}


def test_nothing_to_lose_needs_no_backup(tmp_path: Path) -> None:
    with installed(tmp_path / "data") as made:
        with made.app.app_context(), writing() as session:
            session.execute(delete(Operation))
        assert codes(looked(made), "last-backup") == set()


def test_what_restores_left_is_told_with_when_it_goes(here: Installation) -> None:
    data = here.app.extensions["spanwalk"].data
    assert told_of(looked(here), "aside") == {}
    folder = data / f"before-restore-{datetime.now(UTC) - timedelta(days=10):%Y-%m-%dT%H%M%SZ}"
    folder.mkdir()
    assert told_of(looked(here), "aside") == {"aside-sealed": {"folder": str(folder), "days": 20}}
    (folder / "spanwalk.db").touch()
    assert told_of(looked(here), "aside") == {"aside-plain": {"folder": str(folder), "days": 20}}


def test_keys_of_authenticators_that_stand_as_they_are_or_cannot_be_opened_are_found(
    here: Installation, tmp_path: Path
) -> None:
    from spanwalk.services.people import sealed
    from spanwalk.storage.tables import SecondFactor

    def kept(secret: str) -> Surroundings:
        with here.app.app_context(), writing() as session:
            session.execute(delete(SecondFactor))
            row = {"id": "f", "person": here.people["crew"], "kind": "code", "name": "n", "made_at": later(0)}
            session.add(SecondFactor(**row, secret=secret))
        return looked(here)

    one, other = tmp_path / "one", tmp_path / "other"
    for file in (one, other):
        sealed.make_secret_file(file)
    keys = {file: read_settings({"SPANWALK_SECRET_FILE": str(file)}).secret_keys for file in (one, other)}
    assert set(told_of(looked(here), "no-secret")) == {"no-secret-file"}
    found = kept("GEZDGNBVGY3TQOJQ")
    assert codes(found, "factors") == {"factors-plain"}
    own = here.app.extensions["spanwalk"]
    try:
        here.app.extensions["spanwalk"] = replace(own, secret_file=one, secret_keys=keys[one])
        found = kept("GEZDGNBVGY3TQOJQ")
        assert (codes(found, "factors"), set(told_of(found, "factors"))) == (set(), {"factors-not-sealed-yet"})
        with here.app.app_context():
            text = sealed.sealed("GEZDGNBVGY3TQOJQ", "f")
        assert codes(kept(text), "factors") == set()
        assert codes(looked(here), "secret-file") == set()
        one.chmod(0o640)
        assert codes(looked(here), "secret-file") == {"secret-file-open-to-others"}
        assert set(told_of(looked(here, secret_file=own.data / "secret.txt"), "secret")) == {"secret-file-in-data"}
        here.app.extensions["spanwalk"] = replace(own, secret_file=other, secret_keys=keys[other])
        assert codes(kept(text), "factors") == {"factors-unopened"}
    finally:
        here.app.extensions["spanwalk"] = own


def test_a_clock_that_nobody_keeps_or_that_went_back_is_found(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(installation_checks, "_synchronised", lambda: True)
    here.floor()
    assert codes(looked(here), "clock") == set()
    monkeypatch.setattr(installation_checks, "_synchronised", lambda: False)
    with here.app.app_context(), writing() as session:
        session.execute(update(Operation).values(received_at=later(3600)))
    assert codes(looked(here), "clock") == {"clock-not-synchronised", "clock-went-back"}


def test_the_command_says_versions_and_may_look_around_only(
    here: Installation, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["doctor", "--around-only", "--data", str(here.app.extensions["spanwalk"].data)])
    told = capsys.readouterr().out
    assert f"Spanwalk {version('spanwalk')}, Python 3." in told
    assert "0 operations" in told
