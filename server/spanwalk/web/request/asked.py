"""What comes with a request beside its body when somebody proves who they are: where from, what was shown, which phone."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlsplit

from flask import current_app, request

from spanwalk.config import Settings
from spanwalk.messages.proofs import Shown
from spanwalk.services.people.passkeys import Here
from spanwalk.services.people.second_factor import Proof
from spanwalk.services.people.signing_in import Asked
from spanwalk.web.request.auth import PHONE_COOKIE


def here() -> Here:
    """Where this installation is reached: the address that is set, and only where none is, the one it was asked at."""
    settings: Settings = current_app.extensions["spanwalk"]
    address = urlsplit(settings.public_url or request.host_url)
    return Here(address.hostname or "", f"{address.scheme}://{address.netloc}")


def asked(shown: Shown | Mapping[str, object] | None = None) -> Asked:
    """Where this request comes from, and what it shows of a second factor."""
    told = shown or {}
    proof: Proof = {}
    code, passkey = told.get("code"), told.get("passkey")
    if isinstance(passkey, dict):
        proof["passkey"] = passkey
    elif isinstance(code, str):
        proof["code"] = code
    return Asked(request.remote_addr or "", here(), proof, request.cookies.get(PHONE_COOKIE))
