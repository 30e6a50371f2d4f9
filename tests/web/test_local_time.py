"""Times typed by people, across the changes of the clock that the tz database lists for Dublin in 2026."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from haccp.premises.local_time import LocalTimeInput, read_local
from haccp.science.errors import InputError

DUBLIN = ZoneInfo("Europe/Dublin")


def test_a_summer_time_is_an_hour_ahead_of_utc() -> None:
    assert read_local("2026-07-01T07:05", DUBLIN) == datetime(2026, 7, 1, 6, 5, tzinfo=UTC)


def test_a_time_that_the_clock_skipped_is_refused() -> None:
    # Summer time begins at 01:00 UTC on the last Sunday of March: Directive 2000/84/EC, article 2.
    with pytest.raises(InputError, match="skipped 01:30 on 29 Mar 2026"):
        read_local("2026-03-29T01:30", DUBLIN)


def test_a_time_that_the_clock_showed_twice_needs_its_pass() -> None:
    # It ends at 01:00 UTC on the last Sunday of October: Directive 2000/84/EC, article 3.
    with pytest.raises(InputError, match="showed 01:30 twice on 25 Oct 2026"):
        read_local("2026-10-25T01:30", DUBLIN)

    assert read_local("2026-10-25T01:30+01:00", DUBLIN) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert read_local("2026-10-25T01:30+00:00", DUBLIN) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


@pytest.mark.parametrize("text", ["", "yesterday", "2026-02-30T10:00", "25:00"])
def test_what_is_no_time_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError, match="for example 2026-03-10 07:05"):
        read_local(text, DUBLIN)


def test_the_input_offers_the_two_passes_only_for_such_an_hour() -> None:
    with timezone.override(DUBLIN):
        twice = LocalTimeInput().render("at", "2026-10-25T01:30")
        second = LocalTimeInput().render("at", datetime(2026, 10, 25, 1, 30, tzinfo=UTC))
        once = LocalTimeInput().render("at", "2026-10-26T01:30")

    assert 'name="at_offset"' in twice
    assert '<option value="+00:00" selected>' in second
    assert "at_offset" not in once


def test_a_pass_left_over_from_an_earlier_try_is_not_used() -> None:
    with timezone.override(DUBLIN):
        read = LocalTimeInput().value_from_datadict({"at": "2026-10-26T01:30", "at_offset": "+01:00"}, {}, "at")

    assert read == "2026-10-26T01:30"
