"""What an installation stands on: its public address with TLS and proxy, clock, disk, versions, photo store, backups, keys.

Each finding is a code with facts; its sentence says what is wrong and what to do. What is only worth knowing is a note.
The photo store is tried with a photo of its own, which is taken out again; nothing else is changed.
"""

from __future__ import annotations

import ctypes
import hashlib
import http.client
import json
import os
import secrets
import shutil
import socket
import sqlite3
import ssl
import sys
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from importlib.metadata import version
from pathlib import Path
from urllib.parse import urlsplit

from sqlalchemy import func, select, text
from sqlalchemy.orm import Session

from spanwalk.config import Settings, SettingWrong
from spanwalk.services.backups.remembered import last_backup, put_aside
from spanwalk.services.backups.sealing import recipients
from spanwalk.services.doctor import Finding
from spanwalk.services.people.sealed import how_kept
from spanwalk.storage.migrating import newest_revision, tables_state
from spanwalk.storage.photos import PhotoStore, StoreFails
from spanwalk.storage.tables import Operation

TIMEOUT_S = 10
CERTIFICATE_DAYS_LEAST = 21
"""A renewal that comes by itself comes 30 days before the end (common practice, no source): by then it has failed."""
BACKUP_DAYS_MOST = 8
"""Every night is advised; one a week, and a day late, is still one."""
FREE_BYTES_LEAST = 2_000_000_000
FREE_SHARE_LEAST = 0.05
CLOCK_APART_MOST_S = 5.0
SQLITE_LEAST = (3, 38, 0)
"""JSON functions without a build option (sqlite.org, release 3.38.0, from memory)."""
POSTGRES_LEAST = 130_000
NOT_SYNCHRONISED = 0x0040
"""STA_UNSYNC of adjtimex(2)."""


@dataclass
class Surroundings:
    """What was found wrong, and what is worth knowing."""

    findings: list[Finding]
    notes: list[Finding]

    def find(self, code: str, **facts: object) -> None:
        """Something is wrong."""
        self.findings.append(Finding(f"around.{code}", facts))

    def note(self, code: str, **facts: object) -> None:
        """Something is worth knowing."""
        self.notes.append(Finding(f"around.{code}", facts))


def examine_surroundings(session: Session, settings: Settings, store: PhotoStore) -> Surroundings:
    """Look at everything around the data.

    Parameters
    ----------
    session : Session
        One snapshot of the database.
    settings : Settings
        What the installation was told.
    store : PhotoStore
        Where photos lie; one is put, read and taken out again.
    """
    found = Surroundings([], [])
    _versions(session, found)
    _disk(settings.data, found)
    _clock(session, found)
    _store(store, found)
    _backup_keys(settings, found)
    _last_backup(session, settings, found)
    _secret_keys(session, settings, found)
    _public_address(settings, found)
    return found


def _versions(session: Session, found: Surroundings) -> None:
    engine = session.get_bind().engine
    if engine.dialect.name == "sqlite":
        database = f"SQLite {sqlite3.sqlite_version}"
        if sqlite3.sqlite_version_info < SQLITE_LEAST:
            found.find("database-too-old", version=database, right=".".join(map(str, SQLITE_LEAST)))
    else:
        number = int(session.execute(text("SHOW server_version_num")).scalar_one())
        database = f"PostgreSQL {number // 10_000}.{number % 10_000}"
        if number < POSTGRES_LEAST:
            found.find("database-too-old", version=database, right=str(POSTGRES_LEAST // 10_000))
    found.note(
        "versions",
        version=version("spanwalk"),
        python=".".join(map(str, sys.version_info[:3])),
        database=database,
        tables=f"{newest_revision()} ({tables_state(engine)})",
    )


def _disk(folder: Path, found: Surroundings) -> None:
    there = next(each for each in (folder, *folder.parents) if each.exists())
    usage = shutil.disk_usage(there)
    if usage.free < FREE_BYTES_LEAST or usage.free < usage.total * FREE_SHARE_LEAST:
        found.find("disk-nearly-full", folder=str(folder), free=_gigabytes(usage.free), total=_gigabytes(usage.total))
    files = os.statvfs(there)
    if files.f_files and files.f_favail < files.f_files * FREE_SHARE_LEAST:
        found.find("disk-few-files-left", folder=str(folder), free=files.f_favail, total=files.f_files)
    mode = there.stat().st_mode & 0o077
    if there == folder and mode:
        found.find("folder-open-to-others", folder=str(folder), mode=oct(folder.stat().st_mode & 0o777)[2:])


def _gigabytes(size: int) -> str:
    return f"{size / 1e9:.1f} GB"


def _clock(session: Session, found: Surroundings) -> None:
    if not _synchronised():
        found.find("clock-not-synchronised")
    if tables_state(session.get_bind().engine) == "none":
        return
    newest = session.execute(select(func.max(Operation.received_at))).scalar_one()
    ahead = (datetime.fromisoformat(newest) - datetime.now(UTC)).total_seconds() if newest else 0.0
    if ahead > CLOCK_APART_MOST_S:
        found.find("clock-went-back", newest=newest, seconds=round(ahead))
    if session.get_bind().dialect.name == "postgresql":
        theirs = session.execute(text("SELECT clock_timestamp()")).scalar_one()
        apart = abs((theirs - datetime.now(UTC)).total_seconds())
        if apart > CLOCK_APART_MOST_S:
            found.find("clock-differs", other="PostgreSQL", seconds=round(apart))


def _synchronised() -> bool:
    """Whether Linux keeps its clock by others'; True where that cannot be asked."""
    try:
        call = ctypes.CDLL(None, use_errno=True).adjtimex
    except (OSError, AttributeError):
        return True
    told = (ctypes.c_char * 512)()  # struct timex, its first field 0: only asked; `status` follows five longs
    if call(told) < 0:
        return True
    status = ctypes.c_int.from_buffer(told, 5 * ctypes.sizeof(ctypes.c_long)).value
    return not status & NOT_SYNCHRONISED


def _store(store: PhotoStore, found: Surroundings) -> None:
    data = b"spanwalk doctor " + secrets.token_bytes(16)
    name = hashlib.sha256(data).hexdigest()
    try:
        store.put(name, data)
        read = store.get(name)
        store.drop(name)
        if read != data:
            found.find("photo-store-differs")
        elif store.has(name):
            found.find("photo-store-keeps")
    except StoreFails as failed:
        found.find("photo-store-not-writable", reason=str(failed)[:200])


def _backup_keys(settings: Settings, found: Surroundings) -> None:
    try:
        recipients(settings.backup_keys)
    except SettingWrong as wrong:
        found.find("backup-key-wrong", reason=str(wrong))


def _last_backup(session: Session, settings: Settings, found: Surroundings) -> None:
    """When the last backup was made, and whether it is sealed; what restores put aside."""
    last = last_backup(settings.data)
    if last is None:
        known = tables_state(session.get_bind().engine) != "none"
        if known and session.execute(select(Operation.id).limit(1)).first() is not None:
            found.find("last-backup-none")
    else:
        days = _days_since(last["made_at"])
        tell = found.find if days > BACKUP_DAYS_MOST else found.note
        sealed = "sealed" if last["sealed"] else "plain"
        tell(f"last-backup-{'old-' if days > BACKUP_DAYS_MOST else ''}{sealed}", days=days, where=last["where"])
    for aside in put_aside(settings.data):
        left = settings.keep_aside_days - _days_since(aside.made_at)
        code = "aside-sealed" if aside.sealed else "aside-plain"
        found.note(code, folder=str(aside.folder), days=max(0, left))


def _days_since(moment: str) -> int:
    return int((datetime.now(UTC) - datetime.fromisoformat(moment)).total_seconds() // 86400)


def _secret_keys(session: Session, settings: Settings, found: Surroundings) -> None:
    """How authenticators' keys lie in the database."""
    file = settings.secret_file
    if file is not None and file.exists() and file.stat().st_mode & 0o077:
        found.find("secret-file-open-to-others", file=str(file), mode=oct(file.stat().st_mode & 0o777)[2:])
    if file is not None and settings.data in file.parents:
        found.note("secret-file-in-data", file=str(file))
    if tables_state(session.get_bind().engine) not in ("ok", "newer"):
        return
    plain, unopened = how_kept(session)
    if plain and not settings.secret_keys:
        found.find("factors-plain", count=plain)
    elif plain:
        found.note("factors-not-sealed-yet", count=plain)
    if unopened:
        found.find("factors-unopened", count=unopened)
    if not plain and not settings.secret_keys:
        found.note("no-secret-file")


def _public_address(settings: Settings, found: Surroundings) -> None:
    address = settings.public_url
    if address is None:
        found.note("no-public-address")
        return
    parts = urlsplit(address)
    host, port = parts.hostname or "", parts.port or (443 if parts.scheme == "https" else 80)
    if parts.scheme != "https":
        found.find("address-without-tls", address=address)
    elif not _certificate(host, port, address, found):
        return
    try:
        status, headers, body = _asked(parts.scheme, host, port)
    except (OSError, http.client.HTTPException) as failed:
        found.find("address-no-answer", address=address, reason=_short(failed))
        return
    _answer(address, status, headers, body, found)


def _certificate(host: str, port: int, address: str, found: Surroundings) -> bool:
    """Whether the certificate lets phones in; when it ends is told."""
    try:
        with (
            closing(socket.create_connection((host, port), timeout=TIMEOUT_S)) as plain,
            closing(ssl.create_default_context().wrap_socket(plain, server_hostname=host)) as secure,
        ):
            told, protocol = secure.getpeercert() or {}, secure.version() or ""
    except ssl.SSLCertVerificationError as failed:
        found.find("certificate-refused", address=address, reason=failed.verify_message)
        return False
    except (OSError, ssl.SSLError) as failed:
        found.find("address-no-answer", address=address, reason=_short(failed))
        return False
    ends = ssl.cert_time_to_seconds(str(told["notAfter"]))
    days = int((ends - datetime.now(UTC).timestamp()) // 86400)
    day = datetime.fromtimestamp(ends, UTC).date().isoformat()
    (found.find if days < CERTIFICATE_DAYS_LEAST else found.note)(
        "certificate-ends", address=address, day=day, days=days
    )
    found.note("tls", address=address, protocol=protocol)
    return True


def _asked(scheme: str, host: str, port: int) -> tuple[int, http.client.HTTPMessage, bytes]:
    secure = scheme == "https"
    made = http.client.HTTPSConnection if secure else http.client.HTTPConnection
    with closing(made(host, port, timeout=TIMEOUT_S)) as connection:
        connection.request("GET", "/api/ready")
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read(100_000)


def _answer(address: str, status: int, headers: http.client.HTTPMessage, body: bytes, found: Surroundings) -> None:
    """Whether it is this server that answers there, and whether the proxy tells it all that it must know."""
    try:
        told = json.loads(body)
        theirs = str(told["version"])
    except (ValueError, KeyError, TypeError):
        found.find("address-is-another", address=address, status=status)
        return
    if not told.get("ready"):
        found.find("address-not-ready", address=address, parts=", ".join(f"{k}: {v}" for k, v in told.items()))
    if theirs != version("spanwalk"):
        found.find("address-other-version", address=address, theirs=theirs, ours=version("spanwalk"))
    if address.startswith("https:") and "Strict-Transport-Security" not in headers:
        found.find("proxy-says-no-https", address=address)
    if (told_at := headers.get("Date")) is not None:
        apart = abs((parsedate_to_datetime(told_at) - datetime.now(UTC)).total_seconds())
        if apart > CLOCK_APART_MOST_S:
            found.find("clock-differs", other=address, seconds=round(apart))


def _short(failed: Exception) -> str:
    return f"{type(failed).__name__}: {failed}"[:200]
