"""One way to write a value as JSON, so that it can be hashed: RFC 8785 (JSON Canonicalization Scheme).

What JSON lacks is turned into JSON first, so that a value read back from a database gives the bytes it gave
when it was sealed:

- a moment: UTC, microseconds, `2026-03-29T01:30:00.000000Z`; a date: `2026-03-29`;
- a time of day: `06:30:00.000000`;
- a Decimal: its value as a string in plain digits without trailing zeros (`1.50` and `1.5` are one value; the
  figure as a person typed it is text, and is kept as text);
- a UUID: its hyphenated text; an enum: its value; a tuple: a list.

A float that is whole is written without a point (RFC 8785 s.3.2.2.3), so 63 and 63.0 are one value too.
"""

import datetime as dt
import enum
import hashlib
import json
import math
import uuid
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

import rfc8785

JsonValue = None | bool | int | float | str | list["JsonValue"] | dict[str, "JsonValue"]

LARGEST_WHOLE = 2**53 - 1  # RFC 8785 s.3.2.2.3 by way of RFC 7493 s.2.2: beyond it a double skips whole numbers


class NotCanonicalError(ValueError):
    """A value that cannot be written as canonical JSON; the message says where it stands and what to do."""


def dumps(value: object) -> bytes:
    """Canonical JSON of a value, UTF-8. Errors: NotCanonicalError."""
    return text(value).encode("utf-8")


def text(value: object) -> str:
    """Canonical JSON of a value, as str. Errors: NotCanonicalError."""
    plain = to_json(value)
    if _is_simple(plain):
        return _SIMPLE.encode(plain)
    return rfc8785.dumps(plain).decode("utf-8")


# The standard library writes strings and whole numbers as RFC 8785 s.3.2.2 does and in a tenth of the time; it orders
# keys by code point where s.3.2.3 asks for UTF-16 units, which is the same for ASCII. Numbers with a point it writes
# otherwise.
_SIMPLE = json.JSONEncoder(ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":"))


def _is_simple(value: JsonValue) -> bool:
    """No number with a point, and every key in ASCII."""
    if isinstance(value, dict):
        return all(key.isascii() and _is_simple(item) for key, item in value.items())
    if isinstance(value, list):
        return all(_is_simple(item) for item in value)
    return not isinstance(value, float)


def loads(document: str) -> JsonValue:
    """The value of a canonical document; `text(loads(document)) == document`.

    Whole numbers too large to be exact were floats before they were written, and become floats again.
    """
    result: JsonValue = json.loads(document, parse_int=_whole_or_float)
    return result


def _whole_or_float(digits: str) -> int | float:
    number = int(digits)
    return number if abs(number) <= LARGEST_WHOLE else float(digits)


def to_json(value: object, *, place: str = "") -> JsonValue:
    """A value in JSON's own types. place: where it stands in the document, for messages.

    Errors: NotCanonicalError for naive moments, NaN and infinities, whole numbers beyond 2**53 - 1, keys that are
    not text, and types that this module does not know.
    """
    if isinstance(value, enum.Enum):
        return to_json(value.value, place=place)
    if value is None or isinstance(value, bool):
        return value
    for kind, convert in _CONVERSIONS:
        if isinstance(value, kind):
            return convert(value, place)
    raise _refused(place, f"a {type(value).__name__} has no agreed JSON form", "Give text or a number.")


def _refused(place: str, problem: str, remedy: str) -> NotCanonicalError:
    return NotCanonicalError(f"{place or 'The value'}: {problem}. {remedy}")


def _string(value: str, place: str) -> JsonValue:
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        raise _refused(place, "the text holds half of a surrogate pair", "Give whole Unicode characters.") from None
    return str(value)


def _whole(value: int, place: str) -> JsonValue:
    if abs(value) > LARGEST_WHOLE:
        raise _refused(place, f"{value} is too large to be an exact JSON number", "Give it as text.")
    return int(value)


def _float(value: float, place: str) -> JsonValue:
    if not math.isfinite(value):
        raise _refused(place, f"{value} is not a number that JSON can hold", "Leave it out or give null.")
    return float(value)


def _decimal(value: Decimal, place: str) -> JsonValue:
    if not value.is_finite():
        raise _refused(place, f"{value} is not a number that can be sealed", "Leave it out or give null.")
    digits = format(value, "f")
    if "." in digits:
        digits = digits.rstrip("0").rstrip(".")
    return "0" if digits in ("-0", "") else digits


def _moment(value: dt.datetime, place: str) -> JsonValue:
    if value.utcoffset() is None:
        raise _refused(place, f"the moment {value.isoformat()} has no time zone", "Give it with one.")
    return value.astimezone(dt.UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def _date(value: dt.date, place: str) -> JsonValue:
    return value.isoformat()


def _time_of_day(value: dt.time, place: str) -> JsonValue:
    if value.tzinfo is not None:
        raise _refused(place, f"the time of day {value.isoformat()} has a time zone", "Give local time.")
    return value.isoformat(timespec="microseconds")


def _uuid(value: uuid.UUID, place: str) -> JsonValue:
    return str(value)


def _mapping(value: Mapping[object, object], place: str) -> JsonValue:
    result: dict[str, JsonValue] = {}
    for key, item in value.items():
        name = key.value if isinstance(key, enum.Enum) else key
        if not isinstance(name, str):
            raise _refused(place, f"the key {key!r} is not text", "Give keys as text.")
        _string(name, place)
        if name in result:
            raise _refused(place, f"the key {name!r} stands there twice", "Give each key once.")
        result[name] = to_json(item, place=f"{place}.{name}" if place else name)
    return result


def _sequence(value: list[object] | tuple[object, ...], place: str) -> JsonValue:
    return [to_json(item, place=f"{place}[{number}]") for number, item in enumerate(value)]


# datetime before date, of which it is a subclass.
_CONVERSIONS: tuple[tuple[type | tuple[type, ...], Callable[[Any, str], JsonValue]], ...] = (
    (str, _string),
    (int, _whole),
    (float, _float),
    (Decimal, _decimal),
    (dt.datetime, _moment),
    (dt.date, _date),
    (dt.time, _time_of_day),
    (uuid.UUID, _uuid),
    (Mapping, _mapping),
    ((list, tuple), _sequence),
)


def sha256_of(value: object) -> str:
    """Hexadecimal SHA-256 of a value's canonical JSON: what a signature of it binds to. Errors: NotCanonicalError."""
    return hashlib.sha256(dumps(value)).hexdigest()
