"""Keys of authenticators, sealed in the database for a key that lies elsewhere; and names that were typed, kept as hashes.

Who gets the database, or a backup of it, gets no codes by it. Without `SPANWALK_SECRET_FILE` keys stand there as they
are, which `spanwalk doctor` says. AES-256-GCM; what is sealed is bound to the row that it stands in.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import secrets
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from flask import current_app
from sqlalchemy import select, update
from sqlalchemy.orm import Session as Transaction

from spanwalk.config import SECRET_KEY_BYTES, Settings, SettingWrong
from spanwalk.services.people.names import name_key
from spanwalk.storage.tables import Installation, SecondFactor
from spanwalk.words import say

MARK = "sealed.1."
"""Before what is sealed; a key of an authenticator is in base 32 and never begins so."""
NONCE_BYTES, KEY_ID_LETTERS = 12, 8
PRIVATE_MODE = 0o600
NAME_LETTERS_MOST = 200
NAMES = b"spanwalk: names that were typed"


def _keys() -> tuple[bytes, ...]:
    settings: Settings = current_app.extensions["spanwalk"]
    return settings.secret_keys


def _key_id(key: bytes) -> str:
    return hashlib.sha256(b"spanwalk key id" + key).hexdigest()[:KEY_ID_LETTERS]


def sealed(secret: str, whose: str) -> str:
    """A secret as the database keeps it: sealed by the first key, or as it is where there is none.

    Parameters
    ----------
    secret : str
        What is to be kept.
    whose : str
        The id of its row; in another row it cannot be opened.
    """
    keys = _keys()
    if not keys:
        return secret
    nonce = secrets.token_bytes(NONCE_BYTES)
    inside = AESGCM(keys[0]).encrypt(nonce, secret.encode(), whose.encode())
    return f"{MARK}{_key_id(keys[0])}.{base64.urlsafe_b64encode(nonce + inside).decode()}"


def opened(kept: str, whose: str) -> str | None:
    """A secret from what the database keeps; None: it was sealed for a key that is not here, or for another row."""
    if not kept.startswith(MARK):
        return kept
    try:
        raw = base64.urlsafe_b64decode(kept.rpartition(".")[2])
    except binascii.Error:
        return None
    for key in _keys():
        try:
            return AESGCM(key).decrypt(raw[:NONCE_BYTES], raw[NONCE_BYTES:], whose.encode()).decode()
        except InvalidTag:
            continue
    return None


def sealed_anew(kept: str, whose: str) -> str:
    """What the database is to keep from now on: sealed by the first key, if it can be opened and is not so already."""
    keys = _keys()
    if not keys or kept.startswith(f"{MARK}{_key_id(keys[0])}."):
        return kept
    secret = opened(kept, whose)
    return kept if secret is None else sealed(secret, whose)


def seal_all(session: Transaction) -> int:
    """Seal every authenticator's key that is not sealed by the first key; how many were."""
    count = 0
    for id, kept in _kept(session):
        anew = sealed_anew(kept, id)
        if anew != kept:
            session.execute(update(SecondFactor).where(SecondFactor.id == id).values(secret=anew))
            count += 1
    return count


def how_kept(session: Transaction) -> tuple[int, int]:
    """How many authenticators' keys stand in the database as they are, and how many cannot be opened here."""
    rows = _kept(session)
    plain = sum(not kept.startswith(MARK) for _id, kept in rows)
    return plain, sum(opened(kept, id) is None for id, kept in rows)


def _kept(session: Transaction) -> list[tuple[str, str]]:
    """Ids of authenticators, and how their keys stand in the database."""
    query = select(SecondFactor.id, SecondFactor.secret).where(SecondFactor.secret.is_not(None))
    return [(id, str(kept)) for id, kept in session.execute(query)]


def hidden_name(session: Transaction, name: str) -> str:
    """What is kept of a name that was typed: never itself, for it may be a password in the wrong field.

    A hash under a key of the secret file; without one, under what tells this database from others, which keeps it from
    being read but not from being guessed by who has the database.
    """
    keys = _keys()
    key = keys[0] if keys else session.execute(select(Installation.incarnation)).scalar_one().encode()
    own = hmac.new(key, NAMES, hashlib.sha256).digest()
    return hmac.new(own, name_key(name)[:NAME_LETTERS_MOST].encode("utf-8", "replace"), hashlib.sha256).hexdigest()


def make_secret_file(file: Path) -> None:
    """Make a file with one new key.

    Raises
    ------
    SettingWrong
        It is there already, or cannot be written.
    """
    made = base64.urlsafe_b64encode(secrets.token_bytes(SECRET_KEY_BYTES)).decode()
    try:
        with file.open("x", encoding="utf-8") as out:
            file.chmod(PRIVATE_MODE)
            out.write(f"{made}\n")
    except OSError as error:
        raise SettingWrong(say("keeping.key-file-wrong", {"file": str(file), "reason": str(error)})) from None
