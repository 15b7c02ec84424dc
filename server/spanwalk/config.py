"""Settings, read from the environment once, when a command starts."""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import SplitResult, urlsplit

from spanwalk.telemetry.logs import FORMS, LEVELS, PLAIN
from spanwalk.words import say

PUSH_OPERATIONS_MOST = 1000
PUSH_BYTES_MOST = 4_000_000
PHOTO_BYTES_MOST = 12_000_000
PHOTO_PIXELS_MOST = 50_000_000
PERSON_RATE, PERSON_RATE_LEAST, PERSON_RATE_MOST = 600, 60, 1_000_000
"""Pushes and photos a minute: a phone that comes out of a basement with hundreds sends some three a second."""
DAYS_KEPT_MOST = 3660
PUBLIC_URL_LETTERS_MOST = 80
"""A longer address makes the modules of a small label finer than a phone reads at arm's length."""
SECRET_KEY_BYTES = 32
"""Of a key in the secret file."""
METRICS_TOKEN_LETTERS_LEAST = 20
"""Of the token with which figures are fetched."""


class SettingWrong(Exception):
    """A setting that is missing or cannot be used; the text says which and what would be right."""


@dataclass(frozen=True)
class Settings:
    """What one installation is told from outside.

    Parameters
    ----------
    database_url : str
        SQLAlchemy address; SQLite file or PostgreSQL.
    photo_url : str
        ``file:///folder`` or ``s3://bucket/prefix``.
    data : Path
        Folder for the database, photos and backups of one machine.
    demo_password : str or None
        The password of the demo people; None when this is not the demo.
    secure_cookies : bool
        Send the session cookie over HTTPS only.
    session_days : int
        Days without use after which a sign-in ends.
    session_days_most : int
        Days after which it ends however much it is used.
    enter_again_minutes : int
        Minutes for which one entry of password or second factor is enough for people, exports and deletions.
    second_factor_required : bool
        Whether owners and managers must have a second factor for these.
    public_url : str or None
        Where people and phones reach this installation, without a slash at its end: what labels and one-time links
        say. None: labels hold their bare code.
    trusted_proxy : str or None
        The address that a proxy in front comes from; what it says of whom it asks for is believed, and cookies are
        secure. None: nobody is believed.
    person_rate : int
        Pushes and photos that a person may send in a minute; 0: as many as they like.
    backup_keys : tuple of str
        Public keys that backups are sealed for; none: they are not sealed.
    secret_file : Path or None
        The file that `secret_keys` were read from.
    secret_keys : tuple of bytes
        Keys that authenticators' keys are sealed with in the database: the first seals, all of them open.
    keep_links_days, keep_imports_days, keep_sign_ins_days : int
        Days after which used links, what was read of files, and who signed in when are let go.
    keep_phones_days : int
        Days after which a phone that nobody uses is forgotten.
    keep_aside_days : int
        Days after which what a restore put aside is let go.
    log, log_level : str
        Form of log lines, `plain` or `json`, and the least level that is written.
    metrics_token : str or None
        With which figures are fetched at /api/metrics; None: none are kept, and there is no such address.
    """

    database_url: str
    photo_url: str
    data: Path
    demo_password: str | None = None
    secure_cookies: bool = False
    session_days: int = 7
    session_days_most: int = 30
    enter_again_minutes: int = 10
    second_factor_required: bool = False
    public_url: str | None = None
    trusted_proxy: str | None = None
    person_rate: int = 0
    log: str = PLAIN
    log_level: str = "info"
    metrics_token: str | None = None
    busy_timeout_s: float = 30.0
    backup_keys: tuple[str, ...] = ()
    secret_file: Path | None = None
    secret_keys: tuple[bytes, ...] = field(default=(), repr=False)
    keep_links_days: int = 90
    keep_imports_days: int = 90
    keep_sign_ins_days: int = 365
    keep_phones_days: int = 400
    keep_aside_days: int = 30
    extra: Mapping[str, str] = field(default_factory=dict)


def data_folder(environment: Mapping[str, str]) -> Path:
    """Where data goes unless told otherwise: SPANWALK_DATA, else ./spanwalk-data."""
    return Path(environment.get("SPANWALK_DATA") or "spanwalk-data").absolute()


def read_settings(environment: Mapping[str, str], data: Path | None = None) -> Settings:
    """Settings from the environment.

    Parameters
    ----------
    environment : mapping of str to str
        SPANWALK_DATA, SPANWALK_DATABASE_URL, SPANWALK_PHOTO_URL, SPANWALK_SECURE_COOKIES (yes/no),
        SPANWALK_SESSION_DAYS, SPANWALK_SESSION_DAYS_MOST, SPANWALK_ENTER_AGAIN_MINUTES,
        SPANWALK_SECOND_FACTOR_REQUIRED (yes/no), SPANWALK_PUBLIC_URL, SPANWALK_TRUSTED_PROXY,
        SPANWALK_PERSON_RATE, SPANWALK_BACKUP_KEY, SPANWALK_KEEP_LINKS_DAYS, SPANWALK_KEEP_IMPORTS_DAYS,
        SPANWALK_KEEP_SIGN_INS_DAYS, SPANWALK_KEEP_PHONES_DAYS, SPANWALK_KEEP_ASIDE_DAYS, SPANWALK_SECRET_FILE, SPANWALK_LOG, SPANWALK_LOG_LEVEL, SPANWALK_METRICS_TOKEN.
    data : Path, optional
        Data folder given on the command line; goes before SPANWALK_DATA.

    Raises
    ------
    SettingWrong
        A value that cannot be used.
    """
    folder = data.absolute() if data is not None else data_folder(environment)
    proxy = _proxy(environment, "SPANWALK_TRUSTED_PROXY")
    secret_file = environment.get("SPANWALK_SECRET_FILE", "").strip()
    return Settings(
        database_url=environment.get("SPANWALK_DATABASE_URL") or f"sqlite:///{folder / 'spanwalk.db'}",
        photo_url=environment.get("SPANWALK_PHOTO_URL") or (folder / "photos").as_uri(),
        data=folder,
        secure_cookies=_yes(environment, "SPANWALK_SECURE_COOKIES", default="yes" if proxy else "no"),
        session_days=_days(environment, "SPANWALK_SESSION_DAYS", 7),
        session_days_most=_days(environment, "SPANWALK_SESSION_DAYS_MOST", 30),
        enter_again_minutes=_minutes(environment, "SPANWALK_ENTER_AGAIN_MINUTES", 10),
        second_factor_required=_yes(environment, "SPANWALK_SECOND_FACTOR_REQUIRED", default="no"),
        public_url=_public_url(environment, "SPANWALK_PUBLIC_URL"),
        trusted_proxy=proxy,
        person_rate=_rate(environment, "SPANWALK_PERSON_RATE"),
        backup_keys=tuple(environment.get("SPANWALK_BACKUP_KEY", "").split()),
        secret_file=Path(secret_file).absolute() if secret_file else None,
        secret_keys=_secret_keys("SPANWALK_SECRET_FILE", secret_file) if secret_file else (),
        keep_links_days=_days(environment, "SPANWALK_KEEP_LINKS_DAYS", 90, DAYS_KEPT_MOST),
        keep_imports_days=_days(environment, "SPANWALK_KEEP_IMPORTS_DAYS", 90, DAYS_KEPT_MOST),
        keep_sign_ins_days=_days(environment, "SPANWALK_KEEP_SIGN_INS_DAYS", 365, DAYS_KEPT_MOST),
        keep_phones_days=_days(environment, "SPANWALK_KEEP_PHONES_DAYS", 400, DAYS_KEPT_MOST),
        keep_aside_days=_days(environment, "SPANWALK_KEEP_ASIDE_DAYS", 30, DAYS_KEPT_MOST),
        log=_one_of(environment, "SPANWALK_LOG", FORMS, PLAIN),
        log_level=_one_of(environment, "SPANWALK_LOG_LEVEL", LEVELS, "info"),
        metrics_token=_token(environment, "SPANWALK_METRICS_TOKEN"),
        extra={k: v for k, v in environment.items() if k.startswith("SPANWALK_S3_")},
    )


def _wrong(code: str, name: str, value: str, **facts: object) -> SettingWrong:
    return SettingWrong(say(f"setting.{code}", {"name": name, "value": value, **facts}))


def _yes(environment: Mapping[str, str], name: str, default: str) -> bool:
    text = environment.get(name, default)
    if text not in ("yes", "no"):
        raise _wrong("yes-or-no", name, text)
    return text == "yes"


def _one_of(environment: Mapping[str, str], name: str, right: tuple[str, ...], default: str) -> str:
    text = environment.get(name) or default
    if text not in right:
        raise _wrong("one-of", name, text, right=", ".join(right))
    return text


def _token(environment: Mapping[str, str], name: str) -> str | None:
    """A secret that a program sends; what it is, is never repeated."""
    text = environment.get(name, "").strip()
    if text and (len(text) < METRICS_TOKEN_LETTERS_LEAST or not text.isascii() or not text.isprintable()):
        raise _wrong("token", name, "", least=METRICS_TOKEN_LETTERS_LEAST)
    return text or None


def _secret_keys(name: str, file: str) -> tuple[bytes, ...]:
    """Keys of a file, one a line, lines that begin with # aside; none of it is repeated where it is wrong."""
    try:
        lines = [line.strip() for line in Path(file).read_text(encoding="utf-8").splitlines()]
        keys = tuple(base64.urlsafe_b64decode(line) for line in lines if line and not line.startswith("#"))
    except (OSError, UnicodeDecodeError) as error:
        raise _wrong("file-unread", name, file, reason=type(error).__name__) from None
    except (binascii.Error, ValueError):
        keys = ()
    if not keys or any(len(key) != SECRET_KEY_BYTES for key in keys):
        raise _wrong("no-keys", name, file)
    return keys


def _proxy(environment: Mapping[str, str], name: str) -> str | None:
    text = environment.get(name, "").strip()
    if not text:
        return None
    try:
        return str(ip_address(text))
    except ValueError:
        raise _wrong("proxy", name, text) from None


def _rate(environment: Mapping[str, str], name: str) -> int:
    text = environment.get(name, str(PERSON_RATE))
    if text == "no":
        return 0
    if not text.isdigit() or not PERSON_RATE_LEAST <= int(text) <= PERSON_RATE_MOST:
        raise _wrong("rate", name, text, least=PERSON_RATE_LEAST, most=PERSON_RATE_MOST)
    return int(text)


def _days(environment: Mapping[str, str], name: str, default: int, most: int = 366) -> int:
    return _whole(environment, name, default, "days", most)


def _minutes(environment: Mapping[str, str], name: str, default: int) -> int:
    return _whole(environment, name, default, "minutes", 1440)


def _whole(environment: Mapping[str, str], name: str, default: int, unit: str, most: int) -> int:
    text = environment.get(name, str(default))
    if not re.fullmatch("[0-9]{1,4}", text) or not 1 <= int(text) <= most:
        raise _wrong(f"whole-{unit}", name, text, most=most)
    return int(text)


def _public_url(environment: Mapping[str, str], name: str) -> str | None:
    """Scheme, host and port; nothing else, because a path or a name in it would stand on labels for years."""
    text = environment.get(name, "").strip()
    if not text:
        return None
    if not _is_address(text):
        raise _wrong("public-url", name, text, most=PUBLIC_URL_LETTERS_MOST)
    return text.rstrip("/").lower()


def _is_address(text: str) -> bool:
    try:
        parts = urlsplit(text)
        port_wrong = parts.port == 0
    except ValueError:
        return False
    return not port_wrong and len(text) <= PUBLIC_URL_LETTERS_MOST and _is_origin(parts, text)


def _is_origin(parts: SplitResult, text: str) -> bool:
    """Whether scheme, host and port are all that there is, one slash at the end aside."""
    host = parts.hostname or ""
    whole = f"{parts.scheme}://{host}" + (f":{parts.port}" if parts.port is not None else "")
    return (
        parts.scheme in ("http", "https")
        and re.fullmatch(r"[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?", host) is not None
        and ".." not in host
        and text.lower().removesuffix("/") == whole
    )
