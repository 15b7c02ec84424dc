"""What messages are made of: strict fields, each with the sentence of what would be right, and the first that is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypedDict, TypeVar, Unpack, cast

from marshmallow import EXCLUDE, Schema, ValidationError, fields, validate

from spanwalk.records import RECORD_ID, short, storable

WHOLE_MOST = 2**53
"""Beyond this JavaScript no longer counts."""
UUID_RIGHT = "a UUID in lower case"
T = TypeVar("T")
Errors = str | list[object] | dict[object, object]
"""What marshmallow says of what is wrong: sentences, by field."""
AMOUNT_MOST = 1e12


class Attributes(TypedDict, total=False):
    """What a field of a message may be given besides its own: as marshmallow names it."""

    required: bool
    allow_none: bool
    data_key: str
    metadata: dict[str, object]
    load_default: object
    error_messages: dict[str, Errors]


class OfObject(Attributes, total=False):
    """The same of an object: what stands in it."""

    keys: fields.Field[str]
    values: fields.Field[str] | fields.Field[int] | fields.Field[dict[str, object]] | fields.Nested


class Message(Schema):
    """A message. What it does not name is passed over: a newer phone may say more."""

    error_messages = {"type": "an object"}  # noqa: RUF012

    class Meta:
        unknown = EXCLUDE


def _said(right: str, about: str, more: Attributes) -> Attributes:
    """What every field is made with: whatever is wrong with it, the sentence says what would be right."""
    errors: dict[str, Errors] = dict.fromkeys(("required", "null", "invalid", "invalid_utf8", "too_large"), right)
    more.setdefault("metadata", {}).setdefault("description", about or right[0].upper() + right[1:])
    return {"error_messages": errors, "required": True, **more}


class Text(fields.String):
    """Text itself, never a number; `least` to `most` letters, or of a pattern, or one of a few."""

    def __init__(
        self,
        right: str,
        about: str = "",
        *,
        least: int = 0,
        most: int | None = None,
        pattern: str = "",
        among: tuple[str, ...] = (),
        **more: Unpack[Attributes],
    ) -> None:
        checks: list[Callable[[str], object]] = [_kept(right)]
        if least or most is not None:
            checks.append(validate.Length(min=least or None, max=most, error=right))
        if pattern:
            checks.append(_Matching(pattern, right))
        if among:
            checks.append(validate.OneOf(among, error=right))
        super().__init__(validate=checks, **_said(right, about, more))


def _kept(right: str) -> Callable[[str], None]:
    def check(value: str) -> None:
        if not storable(value):
            raise ValidationError(right)

    return check


class _Matching:
    """The whole text matches a pattern; apispec shows its `regex`."""

    def __init__(self, pattern: str, right: str) -> None:
        self.regex, self.right = re.compile(f"^(?:{pattern})$"), right

    def __call__(self, value: str) -> None:
        if self.regex.fullmatch(value) is None:
            raise ValidationError(self.right)


def identifier(right: str = UUID_RIGHT, about: str = "", **more: Unpack[Attributes]) -> Text:
    """The id of a record, person or phone: a UUID in lower case."""
    return Text(right, about, pattern=RECORD_ID.pattern, **more)


class Whole(fields.Integer):
    """A whole number from `least` to `most`, never text, never true or false."""

    def __init__(
        self, right: str, about: str = "", *, least: int | None = 0, most: int = WHOLE_MOST, **more: Unpack[Attributes]
    ) -> None:
        span = validate.Range(min=least, max=most, error=right)
        super().__init__(strict=True, validate=span, **_said(right, about, more))


class WholeText(Whole):
    """A whole number of a query, written as digits."""

    def __init__(self, about: str, *, most: int = WHOLE_MOST, **more: Unpack[Attributes]) -> None:
        super().__init__(f"a whole number from 0 to {most}", about, most=most, **more)

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, object] | None, **more: object) -> int:
        if not isinstance(value, str) or re.fullmatch("[0-9]{1,60}", value) is None:
            raise self.make_error("invalid", input=value)
        return int(value)


class DecimalText(fields.Float):
    """A number of a query, written with digits and at most one point."""

    def __init__(self, about: str, *, least: float, most: float, **more: Unpack[Attributes]) -> None:
        right = f"a number from {least:g} to {most:g}, with a point if need be"
        super().__init__(validate=validate.Range(min=least, max=most, error=right), **_said(right, about, more))

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, object] | None, **more: object) -> float:
        if not isinstance(value, str) or re.fullmatch(r"-?[0-9]{1,9}(\.[0-9]{1,9})?", value) is None:
            raise self.make_error("invalid", input=value)
        return float(value)


class Number(fields.Float):
    """A number itself from `least` to `most`, never text, never true or false."""

    def __init__(self, about: str, *, least: float, most: float, **more: Unpack[Attributes]) -> None:
        right = f"a number from {least:g} to {most:g}"
        super().__init__(validate=validate.Range(min=least, max=most, error=right), **_said(right, about, more))

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, object] | None, **more: object) -> float:
        if type(value) not in (int, float):
            raise self.make_error("invalid", input=value)
        return float(cast("float", value))


class Amount(Number):
    """A number itself from 0 to `most`."""

    def __init__(self, about: str, *, most: float = AMOUNT_MOST, **more: Unpack[Attributes]) -> None:
        super().__init__(about, least=0, most=most, **more)


class Flag(fields.Boolean):
    """True or false themselves."""

    def __init__(self, right: str = "true or false", about: str = "", **more: Unpack[Attributes]) -> None:
        super().__init__(**_said(right, about, more))

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, object] | None, **more: object) -> bool:
        if type(value) is not bool:
            raise self.make_error("invalid", input=value)
        return value


class Object(fields.Dict):
    """An object that is wrong as a whole when one of its values is wrong; `values` says what stands in it."""

    def __init__(self, right: str, about: str = "", **more: Unpack[OfObject]) -> None:
        self.right = right
        super().__init__(**_said(right, about, more))

    def _deserialize(
        self, value: object, attr: str | None, data: Mapping[str, object] | None, **more: object
    ) -> dict[str, object]:
        try:
            made: dict[str, object] = super()._deserialize(value, attr, data, **more)  # type: ignore[no-untyped-call]  # marshmallow's is
            return made
        except ValidationError:
            raise ValidationError(self.right) from None


class ListOf(fields.List[object]):
    """A list that is wrong as a whole when one of its items is wrong."""

    def __init__(
        self,
        of: fields.Field[T],
        right: str,
        about: str = "",
        *,
        validate: Callable[[list[object]], object] | None = None,
        **more: Unpack[Attributes],
    ) -> None:
        self.right = right
        super().__init__(cast("fields.Field[object]", of), validate=validate, **_said(right, about, more))

    def _deserialize(
        self, value: object, attr: str | None, data: Mapping[str, object] | None, **more: object
    ) -> list[object]:
        try:
            return super()._deserialize(value, attr, data, **more)
        except ValidationError:
            raise ValidationError(self.right) from None


@dataclass(frozen=True)
class WrongField:
    """The first field of a message that is wrong: its path, its value, and what would be right."""

    field: str
    value: object
    right: str

    @property
    def facts(self) -> dict[str, object]:
        """Facts of the sentence."""
        return {"field": self.field, "value": self.value, "right": self.right}


def first_wrong(message: Schema, errors: Mapping[str, object], body: Mapping[str, object]) -> WrongField:
    """The first field that is wrong, in the message's order, of what marshmallow found."""
    names = [field.data_key or name for name, field in message.fields.items()]
    name = next(each for each in (*names, *errors) if each in errors)
    found: object = errors[name]
    value, path = body.get(name), [name]
    while isinstance(found, dict):
        inner, found = next(iter(found.items()))
        if inner != "_schema":
            path.append(str(inner))
            value = value.get(inner) if isinstance(value, dict) else value
    return WrongField(".".join(path), short(value), str(cast("list[object]", found)[0]))
