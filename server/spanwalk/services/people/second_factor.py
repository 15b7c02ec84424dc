"""What proves a person beside the password: codes of an authenticator, passkeys, and recovery codes for when these are lost."""

from __future__ import annotations

import hashlib
import secrets
import time
from typing import TypedDict, cast
from uuid import uuid4

import pyotp
from pyotp.exceptions import OTPVerificationError
from sqlalchemy import CursorResult, delete, or_, select, update
from sqlalchemy.orm import Session as Transaction

from spanwalk.services.clock import later, now
from spanwalk.services.people import passkeys
from spanwalk.services.people.noticed import RECOVERY_USED, enter_change
from spanwalk.services.people.passkeys import Here
from spanwalk.services.people.qr import qr_rows
from spanwalk.services.people.sealed import opened, sealed, sealed_anew
from spanwalk.services.refusals import InTheWay, NotThere, WrongInput
from spanwalk.storage.tables import PasskeyChallenge, RecoveryCode, SecondFactor
from spanwalk.telemetry.security import security_event

CODE, PASSKEY = "code", "passkey"
STEPS_APART = 1
"""A code of the half minute before or after is taken: clocks of phones differ."""
RECOVERY_CODES = 10
RECOVERY_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Without those that are read as another: i, l, o, 0 and 1."""
RECOVERY_GROUPS, RECOVERY_GROUP = 4, 4
FACTORS_MOST = 10
NAME_LETTERS_MOST = 80
SET_UP_S = 60 * 60


class Proof(TypedDict, total=False):
    """What somebody shows of a second factor: a code (of the authenticator, or a recovery code), or what a passkey signed."""

    code: str
    passkey: dict[str, object]


class Factor(TypedDict):
    """A second factor as its person sees it."""

    id: str
    kind: str
    name: str
    made_at: str
    used_at: str | None


class Authenticator(TypedDict):
    """An authenticator being set up, told this once: the key to scan or type."""

    id: str
    secret: str
    address: str
    qr: list[str]


def factors_of(session: Transaction, person_id: str) -> list[Factor]:
    """The second factors of a person that count, the oldest first."""
    query = (
        select(SecondFactor)
        .where(SecondFactor.person == person_id, SecondFactor.proven_at.is_not(None))
        .order_by(SecondFactor.made_at, SecondFactor.id)
    )
    return [
        Factor(id=row.id, kind=row.kind, name=row.name, made_at=row.made_at, used_at=row.used_at)
        for row in session.execute(query).scalars()
    ]


def codes_left(session: Transaction, person_id: str) -> int:
    """How many recovery codes a person has that are not used."""
    query = select(RecoveryCode.code_hash).where(RecoveryCode.person == person_id, RecoveryCode.used_at.is_(None))
    return len(session.execute(query).all())


def begin_authenticator(session: Transaction, person_id: str, person_name: str, here: Here) -> Authenticator:
    """A new key for an authenticator; it counts once a code of it has been entered.

    Raises
    ------
    InTheWay
        The person has many second factors already.
    """
    _refuse_many(session, person_id)
    unproven = (SecondFactor.person == person_id) & SecondFactor.proven_at.is_(None)
    session.execute(delete(SecondFactor).where(unproven))
    secret, factor = pyotp.random_base32(), str(uuid4())
    session.add(
        SecondFactor(
            id=factor, person=person_id, kind=CODE, name=here.host, made_at=now(), secret=sealed(secret, factor)
        )
    )
    session.flush()
    address = pyotp.TOTP(secret).provisioning_uri(name=person_name, issuer_name=f"Spanwalk {here.host}")
    return Authenticator(id=factor, secret=secret, address=address, qr=qr_rows(address))


def _refuse_many(session: Transaction, person_id: str) -> None:
    if len(factors_of(session, person_id)) >= FACTORS_MOST:
        raise InTheWay("factors-too-many", most=FACTORS_MOST)


def prove_authenticator(session: Transaction, person_id: str, code: str) -> list[str]:
    """Take an authenticator that was begun into use, by a code of it.

    Parameters
    ----------
    session : Session
        A writing transaction.
    person_id, code : str
        Whose it is, and what it shows.

    Returns
    -------
    list of str
        New recovery codes, told this once; none if the person had a second factor before.

    Raises
    ------
    NotThere
        None was begun within the hour.
    WrongInput
        The code is not that of the key.
    """
    query = select(SecondFactor).where(
        SecondFactor.person == person_id,
        SecondFactor.kind == CODE,
        SecondFactor.proven_at.is_(None),
        SecondFactor.made_at > later(-SET_UP_S),
    )
    row = session.execute(query).scalars().first()
    if row is None:
        raise NotThere("factor-unknown")
    step = step_of(opened(str(row.secret), row.id), code, time.time())
    if step is None:
        raise WrongInput("factor-code-wrong", field="code")
    first = not factors_of(session, person_id)
    row.last_step, row.proven_at, row.used_at = step, now(), now()
    session.flush()
    return new_recovery_codes(session, person_id) if first else []


def begin_passkey(session: Transaction, person_id: str, person_name: str, here: Here) -> dict[str, object]:
    """What a browser needs to make a passkey (WebAuthn's creation options).

    Raises
    ------
    InTheWay
        The person has many second factors already.
    """
    _refuse_many(session, person_id)
    challenge = _challenge(session, person_id)
    return passkeys.to_make(here, person_id, person_name, challenge, _credentials(session, person_id))


def keep_passkey(session: Transaction, person_id: str, here: Here, name: str, made: dict[str, object]) -> list[str]:
    """Keep a passkey that a browser made.

    Returns
    -------
    list of str
        New recovery codes, told this once; none if the person had a second factor before.

    Raises
    ------
    WrongInput
        It is not what was asked for.
    """
    key = passkeys.made_well(here, made, lambda challenge: _spend_challenge(session, person_id, challenge))
    taken = (
        key is not None
        and session.execute(select(SecondFactor.id).where(SecondFactor.credential == key.credential)).first()
    )
    if key is None or taken:
        raise WrongInput("passkey-not-made", field="passkey")
    first = not factors_of(session, person_id)
    kept = " ".join(name.split())[:NAME_LETTERS_MOST] or here.host
    session.add(
        SecondFactor(
            id=str(uuid4()), person=person_id, kind=PASSKEY, name=kept, made_at=now(), proven_at=now(),
            credential=key.credential, public_key=key.public_key, uses=key.uses,
        )
    )  # fmt: skip
    session.flush()
    return new_recovery_codes(session, person_id) if first else []


def passkey_to_ask(session: Transaction, person_id: str, here: Here) -> dict[str, object] | None:
    """What a browser needs to ask a passkey (WebAuthn's request options); None: the person has none."""
    credentials = _credentials(session, person_id)
    if not credentials:
        return None
    return passkeys.to_ask(here, _challenge(session, person_id), credentials)


def _credentials(session: Transaction, person_id: str) -> list[str]:
    query = select(SecondFactor.credential).where(SecondFactor.person == person_id, SecondFactor.kind == PASSKEY)
    return [str(each) for each in session.execute(query).scalars()]


def _challenge(session: Transaction, person_id: str) -> str:
    session.execute(delete(PasskeyChallenge).where(PasskeyChallenge.expires_at < now()))
    challenge = secrets.token_urlsafe(32)
    session.add(PasskeyChallenge(challenge=challenge, person=person_id, expires_at=later(passkeys.ANSWER_WITHIN_S)))
    session.flush()
    return challenge


def _spend_challenge(session: Transaction, person_id: str, challenge: str) -> bool:
    """Whether a challenge was put to this person of late and is not spent; it is now."""
    theirs = (PasskeyChallenge.challenge == challenge) & (PasskeyChallenge.person == person_id)
    return _changed(session, delete(PasskeyChallenge).where(theirs, PasskeyChallenge.expires_at > now()))


def proves(session: Transaction, person_id: str, proof: Proof, here: Here, known: str | None = None) -> bool:
    """Whether somebody has shown a second factor of a person. What was shown is good once.

    Parameters
    ----------
    session : Session
        A writing transaction.
    person_id : str
        Whose it must be.
    proof : Proof
        What was shown.
    here : Here
        Where passkeys are for.
    known : str or None
        The secret in the cookie of the phone that it was shown on.
    """
    shown = proof.get("passkey")
    if shown is not None:
        return _passkey_proves(session, person_id, shown, here)
    code = proof.get("code", "")
    return _code_proves(session, person_id, code) or _recovery_proves(session, person_id, code, known)


def _code_proves(session: Transaction, person_id: str, code: str) -> bool:
    query = select(SecondFactor.id, SecondFactor.secret).where(
        SecondFactor.person == person_id, SecondFactor.kind == CODE, SecondFactor.proven_at.is_not(None)
    )
    for row in session.execute(query).all():
        kept = str(row.secret)
        step = step_of(opened(kept, row.id), code, time.time())
        if step is None:
            continue
        unused = or_(SecondFactor.last_step.is_(None), SecondFactor.last_step < step)
        values = {"last_step": step, "used_at": now(), "secret": sealed_anew(kept, row.id)}
        return _changed(session, update(SecondFactor).where(SecondFactor.id == row.id, unused).values(**values))
    return False


def step_of(secret: str | None, code: str, at_s: float) -> int | None:
    """The time step whose code this is, around a moment; None: of none of them.

    Parameters
    ----------
    secret : str or None
        The key, in base 32; None: it could not be opened, and no code is one of it.
    code : str
        As typed.
    at_s : float
        Seconds since 1970, UTC [s].

    References
    ----------
    RFC 6238, with SHA-1, 6 digits, steps of 30 s.
    """
    digits = "".join(code.split())
    if secret is None or len(digits) != 6 or not digits.isascii() or not digits.isdigit():
        return None
    try:
        return pyotp.TOTP(secret).verify_and_get_timecode(digits, for_time=at_s, valid_window=STEPS_APART)
    except OTPVerificationError:
        return None


def _recovery_proves(session: Transaction, person_id: str, code: str, known: str | None) -> bool:
    theirs = (RecoveryCode.person == person_id) & (RecoveryCode.code_hash == _recovery_hash(code))
    unused = update(RecoveryCode).where(theirs, RecoveryCode.used_at.is_(None))
    proves = _changed(session, unused.values(used_at=now()))
    if proves:
        security_event("recovery-code-used", subject=person_id)
        enter_change(session, RECOVERY_USED, person_id, known)
    return proves


def _passkey_proves(session: Transaction, person_id: str, shown: dict[str, object], here: Here) -> bool:
    query = select(SecondFactor).where(
        SecondFactor.person == person_id, SecondFactor.kind == PASSKEY, SecondFactor.credential == str(shown.get("id"))
    )
    row = session.execute(query).scalar_one_or_none()
    if row is None:
        return False
    key = passkeys.Passkey(str(row.credential), str(row.public_key), row.uses or 0)
    uses = passkeys.signed_by(here, key, shown, lambda challenge: _spend_challenge(session, person_id, challenge))
    if uses is None:
        return False
    row.uses, row.used_at = uses, now()
    return True


def _changed(session: Transaction, statement: object) -> bool:
    result = cast("CursorResult[object]", session.execute(statement))  # type: ignore[call-overload]
    return result.rowcount == 1


def new_recovery_codes(session: Transaction, person_id: str) -> list[str]:
    """Recovery codes in the place of those before; told this once, kept only as hashes.

    Raises
    ------
    NotThere
        The person has no second factor that they could stand in for.
    """
    if not factors_of(session, person_id):
        raise NotThere("factor-unknown")
    session.execute(delete(RecoveryCode).where(RecoveryCode.person == person_id))
    codes = ["-".join(_letters() for _ in range(RECOVERY_GROUPS)) for _ in range(RECOVERY_CODES)]
    session.add_all(RecoveryCode(person=person_id, code_hash=_recovery_hash(code)) for code in codes)
    session.flush()
    return codes


def _letters() -> str:
    return "".join(secrets.choice(RECOVERY_LETTERS) for _ in range(RECOVERY_GROUP))


def _recovery_hash(code: str) -> str:
    """What of a recovery code is stored: 79 random bits need no slow hash. Case, spaces and hyphens say nothing."""
    plain = "".join(letter for letter in code.casefold() if letter.isalnum())
    return hashlib.sha256(f"recovery {plain}".encode()).hexdigest()


def remove_factor(session: Transaction, person_id: str, factor_id: str) -> None:
    """Take off one of a person's second factors; with the last of them go the recovery codes.

    Raises
    ------
    NotThere
        It is none of theirs.
    """
    theirs = (SecondFactor.id == factor_id) & (SecondFactor.person == person_id)
    if not _changed(session, delete(SecondFactor).where(theirs)):
        raise NotThere("factor-unknown")
    if not factors_of(session, person_id):
        session.execute(delete(RecoveryCode).where(RecoveryCode.person == person_id))


def take_off_all(session: Transaction, person_id: str) -> None:
    """Take off all second factors of a person, for one who has lost them and their recovery codes."""
    for table in (SecondFactor, RecoveryCode, PasskeyChallenge):
        session.execute(delete(table).where(table.person == person_id))
