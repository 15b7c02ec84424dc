"""Passkeys (WebAuthn Level 3): what a browser is asked, and whether its answer is right. Nothing is kept here."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # some 100 modules, which only who has a passkey needs
    from webauthn.helpers.structs import PublicKeyCredentialDescriptor

ANSWER_WITHIN_S = 5 * 60
"""How long a browser may take to answer [s]."""
Spent = Callable[[str], bool]
"""Whether a challenge was put and is not spent yet; asking spends it."""


@dataclass(frozen=True)
class Here:
    """Where this installation is reached: the host that passkeys are for, and scheme, host and port of the page."""

    host: str
    origin: str


@dataclass(frozen=True)
class Passkey:
    """A passkey: its id and public key in base64url, and how often it says it was used."""

    credential: str
    public_key: str
    uses: int


def to_make(here: Here, person_id: str, name: str, challenge: str, credentials: list[str]) -> dict[str, object]:
    """Creation options for a browser; `credentials`: the ids of passkeys that the person has already."""
    from webauthn import generate_registration_options, options_to_json
    from webauthn.helpers.structs import (
        AuthenticatorSelectionCriteria,
        ResidentKeyRequirement,
        UserVerificationRequirement,
    )

    options = generate_registration_options(
        rp_id=here.host,
        rp_name="Spanwalk",
        user_name=name,
        user_id=person_id.encode(),
        challenge=_bytes(challenge),
        timeout=ANSWER_WITHIN_S * 1000,
        exclude_credentials=_described(credentials),
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.DISCOURAGED,
            user_verification=UserVerificationRequirement.PREFERRED,
        ),
    )
    return _object(options_to_json(options))


def to_ask(here: Here, challenge: str, credentials: list[str]) -> dict[str, object]:
    """Request options for a browser; `credentials`: the ids of the passkeys that may answer."""
    from webauthn import generate_authentication_options, options_to_json

    options = generate_authentication_options(
        rp_id=here.host,
        challenge=_bytes(challenge),
        timeout=ANSWER_WITHIN_S * 1000,
        allow_credentials=_described(credentials),
    )
    return _object(options_to_json(options))


def made_well(here: Here, made: dict[str, object], spent: Spent) -> Passkey | None:
    """The passkey that a browser made when it was asked to; None: it is none, or not what was asked for."""
    from webauthn import verify_registration_response
    from webauthn.helpers import bytes_to_base64url
    from webauthn.helpers.exceptions import WebAuthnException

    challenge = _challenge_in(made)
    if challenge is None or not spent(challenge):
        return None
    try:
        proven = verify_registration_response(
            credential=json.dumps(made),
            expected_challenge=_bytes(challenge),
            expected_rp_id=here.host,
            expected_origin=here.origin,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError):
        return None
    return Passkey(
        bytes_to_base64url(proven.credential_id),
        bytes_to_base64url(proven.credential_public_key),
        proven.sign_count,
    )


def signed_by(here: Here, key: Passkey, shown: dict[str, object], spent: Spent) -> int | None:
    """How often a passkey says it was used, if it signed what it was asked to; None: it did not."""
    from webauthn import verify_authentication_response
    from webauthn.helpers.exceptions import WebAuthnException

    challenge = _challenge_in(shown)
    if challenge is None or not spent(challenge):
        return None
    try:
        proven = verify_authentication_response(
            credential=json.dumps(shown),
            expected_challenge=_bytes(challenge),
            expected_rp_id=here.host,
            expected_origin=here.origin,
            credential_public_key=_bytes(key.public_key),
            credential_current_sign_count=key.uses,
        )
    except (WebAuthnException, ValueError, KeyError, TypeError):
        return None
    return proven.new_sign_count


def _challenge_in(answer: dict[str, object]) -> str | None:
    """The challenge that an answer says it is to; whether that was put is for who keeps them."""
    try:
        response = answer["response"]
        said = json.loads(_bytes(str(response["clientDataJSON"])))["challenge"]  # type: ignore[index]
        return said if isinstance(said, str) and len(said) < 100 else None
    except (ValueError, KeyError, TypeError):
        return None


def _described(credentials: list[str]) -> list[PublicKeyCredentialDescriptor]:
    from webauthn.helpers.structs import PublicKeyCredentialDescriptor

    return [PublicKeyCredentialDescriptor(id=_bytes(each)) for each in credentials]


def _bytes(text: str) -> bytes:
    from webauthn.helpers import base64url_to_bytes

    return base64url_to_bytes(text)


def _object(text: str) -> dict[str, object]:
    read: dict[str, object] = json.loads(text)
    return read
