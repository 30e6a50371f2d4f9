"""Counts and detections as laboratories write them. The ways of writing are common practice, no source."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.sampling.typed import read_count, read_detection


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("120", 120, 120),
        (" 0 ", 0, 0),
        ("< 10", 0, 10),
        ("<10 cfu/g", 0, 10),
        ("≤ 40", 0, 40),
        ("> 300", math.nextafter(300, math.inf), math.inf),
        ("more than 1500", math.nextafter(1500, math.inf), math.inf),
        ("1.5e4", 15_000, 15_000),
        ("2,3 × 10^4 CFU/g", 23_000, 23_000),
        ("4.0x10³", 4000, 4000),
        ("1 200 000", 1_200_000, 1_200_000),
        ("1,200,000", 1_200_000, 1_200_000),
        ("~ 250", 250, 250),
        ("3.0 x 10^2 KBE/g", 300, 300),
    ],
)
def test_counts(text: str, low: float, high: float) -> None:
    found = read_count(text)
    assert (found.low, found.high) == (low, high)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "No count"),
        ("< ", "No count"),
        ("many", "not a count"),
        ("-5", "less than nothing"),
        ("1,200", "can be read as 1200 or as 1.200"),
        ("1.200", "can be read as 1200 or as 1.200"),
        ("1e15", "more than a sample can hold"),
        ("1e99", "more than a sample can hold"),
        ("12; 14", "not a count"),
        ("NaN", "not a count"),
    ],
)
def test_what_is_no_count_is_refused_with_a_remedy(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        read_count(text)


@given(st.text(max_size=20))
def test_nothing_else_is_raised_for_any_text(text: str) -> None:
    for read in (read_count, read_detection):
        try:
            read(text)
        except InputError as error:
            remedy = error.remedy
        else:
            remedy = "none is needed"
        assert remedy


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("not detected", False),
        ("Not detected in 25 g", False),
        ("n.d.", False),
        ("ND/25g", False),
        ("absent", False),
        ("Detected", True),
        ("present in 25 g", True),
        ("positive", True),
    ],
)
def test_detections(text: str, found: bool) -> None:
    assert read_detection(text) is found


@pytest.mark.parametrize("text", ["", "maybe", "12", "not sure"])
def test_what_says_neither_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_detection(text)
