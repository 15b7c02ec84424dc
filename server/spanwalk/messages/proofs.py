"""What is shown and told of second factors: at the sign-in, where it is entered again, and where they are kept."""

from __future__ import annotations

from typing import TypedDict

from marshmallow import fields

from spanwalk.messages.forms import Flag, ListOf, Message, Object, Text, Whole, identifier

KINDS = ("code", "passkey")
CODE_LETTERS_MOST = 40
PASSWORD_LETTERS_MOST = 200
PASSKEY = "A passkey's answer, as the browser's toJSON() gives it"


CODE_RIGHT = f"text of 1 to {CODE_LETTERS_MOST} letters"


class ProofIn(Message):
    """What is shown of a second factor; nothing, as long as it was not asked for."""

    code = Text(
        CODE_RIGHT,
        "Six digits of the authenticator, or a recovery code",
        least=1,
        most=CODE_LETTERS_MOST,
        required=False,
        allow_none=True,
    )
    passkey = Object("an object", PASSKEY, required=False, allow_none=True)


class Shown(TypedDict, total=False):
    """What is shown of a second factor. As read."""

    code: str | None
    passkey: dict[str, object] | None


class EnteredIn(ProofIn):
    """Proving again who one is: a second factor if one has any, else the password; nothing: to be told which."""

    password = Text(
        f"text of 1 to {PASSWORD_LETTERS_MOST} letters", "Of who has no second factor", least=1,
        most=PASSWORD_LETTERS_MOST, required=False, allow_none=True,
    )  # fmt: skip


class Entered(Shown, total=False):
    """Proving again who one is. As read."""

    password: str | None


class BeginIn(Message):
    """Nothing but that it is begun."""


class Begun(TypedDict):
    """Nothing but that it is begun. As read."""


class AuthenticatorIn(Message):
    """The first code of an authenticator that is being set up."""

    code = Text(CODE_RIGHT, "Six digits of the authenticator", least=1, most=CODE_LETTERS_MOST)


class FirstCode(TypedDict):
    """The first code of an authenticator. As read."""

    code: str


class PasskeyIn(Message):
    """A passkey that the browser has made."""

    name = Text("text of at most 80 letters", "How it is listed", most=80)
    passkey = Object("an object", PASSKEY)


class NewPasskey(TypedDict):
    """A passkey that the browser has made. As read."""

    name: str
    passkey: dict[str, object]


class FactorTold(Message):
    """A second factor of one's own."""

    id = identifier("a second factor's id")
    kind = Text("code or passkey", "An authenticator that shows codes, or a passkey", among=KINDS)
    name = Text("a name")
    made_at = Text("a time")
    used_at = Text("a time", "When it was last shown; null: never", allow_none=True)


class FactorsOut(Message):
    """One's own second factors."""

    factors = ListOf(fields.Nested(FactorTold), "the second factors", "Those that count, the oldest first")
    codes_left = Whole("a count", "Recovery codes that are not used")
    advised = Flag(about="Whether one keeps people and sites, and should have one")
    required = Flag(about="Whether this server wants one of those who keep people and sites")


class AuthenticatorOut(Message):
    """An authenticator to set up, told this once."""

    id = identifier("a second factor's id")
    secret = Text("text", "The key in base 32, to be typed")
    address = Text("an otpauth address", "The same, to be opened")
    qr = ListOf(fields.String(), "rows of 0 and 1", "The address as a QR code, row by row")


class PasskeyAskedOut(Message):
    """What a browser is asked to make a passkey of."""

    options = fields.Dict(required=True, metadata={"description": "WebAuthn's creation options, as JSON"})


class CodesOut(Message):
    """Recovery codes, told this once."""

    codes = ListOf(fields.String(), "recovery codes", "Each good once; none: those one has stay good")
