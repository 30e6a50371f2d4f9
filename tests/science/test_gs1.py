"""GS1 numbers and links against the standard's published examples."""

import pytest

from haccp.science.errors import InputError
from haccp.science.gs1 import (
    Named,
    fits,
    in_brackets,
    link,
    read_element_string,
    read_gln,
    read_gtin,
    read_link,
)

# gs1.org, "How to calculate a check digit manually": 629104150021 takes the check digit 3.
# GS1 Digital Link standard, URI Syntax, examples of section 5 (from memory): GTIN 09520123456788 and 9506000134352.


@pytest.mark.parametrize(
    ("typed", "gtin"),
    [
        ("6291041500213", "06291041500213"),
        ("9506000134352", "09506000134352"),
        ("09520123456788", "09520123456788"),
        ("9520 1234 5678 8", "09520123456788"),
        ("614141007349", "00614141007349"),
    ],
)
def test_published_gtins_are_read_to_fourteen_digits(typed: str, gtin: str) -> None:
    assert read_gtin(typed) == gtin


@pytest.mark.parametrize("wrong", ["6291041500214", "629104150021", "", "62910415002I3", "1" * 15])
def test_every_other_check_digit_and_length_is_refused(wrong: str) -> None:
    with pytest.raises(InputError, match="not a GTIN"):
        read_gtin(wrong)


def test_of_ten_check_digits_one_is_right() -> None:
    right = []
    for digit in range(10):
        try:
            right.append(read_gln(f"952012345678{digit}"))
        except InputError:
            continue
    assert right == ["9520123456788"]


@pytest.mark.parametrize(
    ("uri", "named"),
    [
        ("https://id.gs1.org/01/09520123456788", Named("01", "09520123456788")),
        ("https://id.gs1.org/01/09520123456788/10/ABC123", Named("01", "09520123456788", "ABC123")),
        ("https://example.com/path/01/09520123456788/10/ABC%2F1", Named("01", "09520123456788", "ABC/1")),
        ("https://id.gs1.org/414/9520123456788/254/32a%2Fb", Named("414", "9520123456788", "32a/b")),
        ("https://id.gs1.org/8004/9520614141234567", Named("8004", "9520614141234567")),
    ],
)
def test_published_links_name_what_they_should_and_are_written_back(uri: str, named: Named) -> None:
    assert read_link(uri) == named
    assert link(uri.split(f"/{named.identifier}/")[0], named) == uri


def test_element_strings_are_read_from_the_scanner_and_from_the_print_beneath_the_code() -> None:
    """GS1 General Specifications section 7.8: (01) has a set length, (10) ends at FNC1 or at the end."""
    named = Named("01", "09520123456788", "ABC123")
    for scanned in (
        "0109520123456788" + "10ABC123",
        "10ABC123\x1d" + "0109520123456788",
        "0109520123456788" + "10ABC123\x1d" + "15260601",
        "(01)09520123456788(10)ABC123",
    ):
        assert read_element_string(scanned) == named
    assert in_brackets(named) == "(01)09520123456788(10)ABC123"


@pytest.mark.parametrize("text", ["https://id.gs1.org/01/09520123456789", "https://example.com/", "not a link"])
def test_what_is_no_link_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_link(text)


def test_what_may_stand_in_a_batch_number() -> None:
    assert fits("WT260310-2", 20)
    assert not fits("WT 260310", 20)
    assert not fits("Käse", 20)
    assert not fits("A" * 21, 20)
