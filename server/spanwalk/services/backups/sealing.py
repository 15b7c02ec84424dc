"""Seal a backup for a key whose other half is kept elsewhere, in the open format age (C2SP, age-encryption.org/v1).

The server needs only the public half: who takes the server cannot read its backups.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pyrage
from pyrage import x25519

from spanwalk.config import SettingWrong
from spanwalk.words import say

PRIVATE = "AGE-SECRET-KEY-"
PRIVATE_MODE = 0o600


def recipients(keys: Sequence[str]) -> list[x25519.Recipient]:
    """The public keys of SPANWALK_BACKUP_KEY.

    Raises
    ------
    SettingWrong
        One that is none; a private one is not repeated.
    """
    found = []
    for key in keys:
        if key.upper().startswith(PRIVATE):
            raise SettingWrong(say("keeping.key-private"))
        try:
            found.append(x25519.Recipient.from_str(key))
        except pyrage.RecipientError:
            raise SettingWrong(say("keeping.key-wrong", {"value": key[:80]})) from None
    return found


def seal(file: Path, sealed: Path, keys: Sequence[str]) -> None:
    """Write a sealed copy of a file."""
    pyrage.encrypt_file(str(file), str(sealed), recipients(keys))


def open_sealed(sealed: Path, file: Path, identities: Sequence[x25519.Identity]) -> None:
    """Write what is in a sealed file; nothing is left where it cannot be opened.

    Raises
    ------
    SettingWrong
        It was sealed for another key, or was changed or cut.
    """
    try:
        pyrage.decrypt_file(str(sealed), str(file), list(identities))
    except pyrage.DecryptError as error:
        file.unlink(missing_ok=True)  # what stood before a cut has been written by then
        raise SettingWrong(say("keeping.not-opened", {"reason": str(error)})) from None


def read_identities(file: Path) -> list[x25519.Identity]:
    """The private keys of a file, one a line, lines beginning with # aside.

    Raises
    ------
    SettingWrong
        It cannot be read, or holds none.
    """
    try:
        lines = [line.strip() for line in file.read_text(encoding="utf-8").splitlines()]
        found = [x25519.Identity.from_str(line) for line in lines if line and not line.startswith("#")]
    except (OSError, UnicodeDecodeError, pyrage.IdentityError) as error:
        raise SettingWrong(say("keeping.key-file-wrong", {"file": str(file), "reason": str(error)})) from None
    if not found:
        raise SettingWrong(say("keeping.key-file-wrong", {"file": str(file), "reason": "-"}))
    return found


def make_key(file: Path) -> str:
    """Make a pair of keys: the private one is written to a new file, the public one comes back.

    Raises
    ------
    SettingWrong
        The file is there already, or cannot be written.
    """
    made = x25519.Identity.generate()
    public = str(made.to_public())
    try:
        with file.open("x", encoding="utf-8") as out:
            file.chmod(PRIVATE_MODE)
            out.write(f"# {public}\n{made}\n")
    except OSError as error:
        raise SettingWrong(say("keeping.key-file-wrong", {"file": str(file), "reason": str(error)})) from None
    return public
