"""Canonical JSON against RFC 8785: the sample of s.3.2.2 to 3.2.4 and the number table of Appendix B."""

import datetime as dt
import enum
import json
import struct
import uuid
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.ledger import canonical
from haccp.ledger.canonical import NotCanonicalError


def test_the_sample_document_of_the_rfc() -> None:
    document = r"""{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"""
    # RFC 8785 s.3.2.4, the bytes in hexadecimal.
    expected = bytes.fromhex(
        "7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72"
        "75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72 73 22 3a"
        "5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31"
        "65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37"
        "5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30"
        "30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d"
    )
    assert canonical.dumps(json.loads(document)) == expected


def test_keys_are_sorted_by_utf_16_as_in_the_rfc() -> None:
    # RFC 8785 s.3.2.3.
    document = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(json.loads(canonical.dumps(document)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


@pytest.mark.parametrize(
    ("ieee", "written"),
    [
        # RFC 8785 Appendix B: IEEE 754 bits and JSON.
        ("0000000000000000", "0"),
        ("8000000000000000", "0"),
        ("0000000000000001", "5e-324"),
        ("8000000000000001", "-5e-324"),
        ("7fefffffffffffff", "1.7976931348623157e+308"),
        ("ffefffffffffffff", "-1.7976931348623157e+308"),
        ("4340000000000000", "9007199254740992"),
        ("c340000000000000", "-9007199254740992"),
        ("4430000000000000", "295147905179352830000"),
        ("44b52d02c7e14af5", "9.999999999999997e+22"),
        ("44b52d02c7e14af6", "1e+23"),
        ("44b52d02c7e14af7", "1.0000000000000001e+23"),
        ("444b1ae4d6e2ef4e", "999999999999999700000"),
        ("444b1ae4d6e2ef4f", "999999999999999900000"),
        ("444b1ae4d6e2ef50", "1e+21"),
        ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
        ("3eb0c6f7a0b5ed8d", "0.000001"),
        ("41b3de4355555553", "333333333.3333332"),
        ("41b3de4355555554", "333333333.33333325"),
        ("41b3de4355555555", "333333333.3333333"),
        ("41b3de4355555556", "333333333.3333334"),
        ("41b3de4355555557", "333333333.33333343"),
        ("becbf647612f3696", "-0.0000033333333333333333"),
        ("43143ff3c1cb0959", "1424953923781206.2"),
    ],
)
def test_numbers_of_appendix_b(ieee: str, written: str) -> None:
    number = struct.unpack(">d", bytes.fromhex(ieee))[0]
    assert canonical.text(number) == written
    assert canonical.text(canonical.loads(written)) == written


@pytest.mark.parametrize("ieee", ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"])
def test_what_appendix_b_calls_an_error_is_one(ieee: str) -> None:
    with pytest.raises(NotCanonicalError, match="is not a number that JSON can hold"):
        canonical.text(struct.unpack(">d", bytes.fromhex(ieee))[0])


class Milk(enum.StrEnum):
    EWE = "ewe"


class Grade(enum.Enum):
    FIRST = Decimal("1.0")


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (dt.datetime(2026, 3, 29, 3, 30, tzinfo=ZoneInfo("Europe/Berlin")), '"2026-03-29T01:30:00.000000Z"'),
        (dt.datetime(2026, 3, 29, 1, 30, 0, 120, tzinfo=dt.UTC), '"2026-03-29T01:30:00.000120Z"'),
        (dt.date(2026, 3, 29), '"2026-03-29"'),
        (dt.time(6, 30), '"06:30:00.000000"'),
        (uuid.UUID(int=7), '"00000000-0000-0000-0000-000000000007"'),
        (Decimal("1.50"), '"1.5"'),
        (Decimal("-0.00"), '"0"'),
        (Decimal("0E+5"), '"0"'),
        (Decimal("1E+3"), '"1000"'),
        (Decimal("0.00000000000000000000000000000000012345"), '"0.00000000000000000000000000000000012345"'),
        (Decimal("12345678901234567890123456789012345.10"), '"12345678901234567890123456789012345.1"'),
        (Milk.EWE, '"ewe"'),
        (Grade.FIRST, '"1"'),
        ({Milk.EWE: (1, 2.0, True, None)}, '{"ewe":[1,2,true,null]}'),
        (63.0, "63"),
    ],
)
def test_values_that_json_lacks(value: object, written: str) -> None:
    assert canonical.text(value) == written


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        (dt.datetime(2026, 3, 29), "The value: the moment 2026-03-29T00:00:00 has no time zone. Give it with one."),  # noqa: DTZ001
        ({"a": [{"b": float("nan")}]}, r"a\[0\]\.b: nan is not a number that JSON can hold."),
        ({"volume": 2**53}, "volume: 9007199254740992 is too large to be an exact JSON number. Give it as text."),
        ({"x": Decimal("Infinity")}, "x: Infinity is not a number that can be sealed."),
        ({1: "x"}, "The value: the key 1 is not text."),
        ({"x": {1, 2}}, "x: a set has no agreed JSON form."),
        ({"x": b"raw"}, "x: a bytes has no agreed JSON form."),
        ({"x": dt.timedelta(seconds=1)}, "x: a timedelta has no agreed JSON form."),
        ({"x": dt.time(6, tzinfo=dt.UTC)}, "x: the time of day 06:00:00[+]00:00 has a time zone."),
        ({"x": "\ud800"}, "x: the text holds half of a surrogate pair."),
        ({"\ud800": 1}, "the text holds half of a surrogate pair."),
    ],
)
def test_what_cannot_be_sealed_is_refused_and_its_place_named(value: object, sentence: str) -> None:
    with pytest.raises(NotCanonicalError, match=sentence):
        canonical.text(value)


NUMBERS = st.integers(-(2**53) + 1, 2**53 - 1) | st.floats(allow_nan=False, allow_infinity=False)
JSON = st.recursive(
    st.none() | st.booleans() | NUMBERS | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@given(JSON)
def test_a_canonical_document_is_read_and_written_unchanged(value: object) -> None:
    written = canonical.text(value)
    assert canonical.text(canonical.loads(written)) == written
    assert json.loads(written, parse_int=float) == value


@given(st.decimals(allow_nan=False, allow_infinity=False), st.integers(0, 6))
def test_equal_decimals_are_written_alike_whatever_their_trailing_zeros(number: Decimal, zeros: int) -> None:
    sign, digits, exponent = number.as_tuple()
    padded = Decimal((sign, digits + (0,) * zeros, int(exponent) - zeros))
    assert canonical.text(number) == canonical.text(padded)
    assert Decimal(json.loads(canonical.text(number))) == number
