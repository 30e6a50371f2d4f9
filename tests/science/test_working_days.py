"""Working days, against calendars counted by hand, a published spreadsheet example and python-dateutil."""

from datetime import date, datetime, timedelta

import pytest
from dateutil.rrule import DAILY, rrule, rruleset
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.working_days import oldest_in_time, review_due_on, working_day_after

# 5 U.S.C. 6103: Thanksgiving is the fourth Thursday of November, Christmas 25 December.
THANKSGIVING, CHRISTMAS = date(2026, 11, 26), date(2026, 12, 25)


@pytest.mark.parametrize(
    ("created_on", "due_on"),
    [
        # 21 CFR 117.165(a)(4), seven working days (from memory), counted on the calendar of 2026
        (date(2026, 11, 2), date(2026, 11, 11)),  # Monday: 3 4 5 6 · 9 10 11
        (date(2026, 11, 6), date(2026, 11, 17)),  # Friday: 9 10 11 12 13 · 16 17
        (date(2026, 11, 7), date(2026, 11, 17)),  # Saturday: as from the Friday
        (date(2026, 11, 8), date(2026, 11, 17)),  # Sunday: likewise
        (date(2026, 11, 23), date(2026, 12, 3)),  # Monday: 24 25 27 · 30 1 2 3, the 26th is Thanksgiving
        (date(2026, 12, 24), date(2027, 1, 5)),  # Thursday: 28 29 30 31 1 · 4 5, the 25th is Christmas
    ],
)
def test_a_record_is_to_be_reviewed_by_the_seventh_working_day(created_on: date, due_on: date) -> None:
    assert review_due_on(created_on, holidays=[THANKSGIVING, CHRISTMAS]) == due_on


def test_the_worked_example_of_the_spreadsheet_function_workday() -> None:
    # OpenFormula (ISO/IEC 26300-2) function WORKDAY; its widely published worked example, from memory:
    # 151 working days after 1 October 2008 are 30 April 2009, with three holidays 5 May 2009.
    started = date(2008, 10, 1)
    assert working_day_after(started, 151) == date(2009, 4, 30)
    holidays = [date(2008, 11, 26), date(2008, 12, 4), date(2009, 1, 21)]
    assert working_day_after(started, 151, holidays=holidays) == date(2009, 5, 5)


def test_a_holiday_on_a_weekend_or_told_twice_costs_no_further_day() -> None:
    saturday = date(2026, 11, 7)
    assert review_due_on(date(2026, 11, 6), holidays=[saturday, saturday]) == date(2026, 11, 17)
    assert review_due_on(date(2026, 11, 6), holidays=[date(2026, 11, 9)] * 2) == date(2026, 11, 18)


def test_a_dairy_that_rests_on_other_days() -> None:
    # Works Saturday, rests Sunday and Monday: from Friday 6 November 7 · 10 11 12 13 14 · 17.
    assert review_due_on(date(2026, 11, 6), weekend=(6, 0)) == date(2026, 11, 17)
    assert working_day_after(date(2026, 11, 6), 1, weekend=()) == date(2026, 11, 7)


DATES = st.dates(date(2000, 1, 1), date(2040, 1, 1))


@given(
    DATES,
    st.integers(1, 60),
    st.lists(st.integers(-5, 80), max_size=12),
    st.sets(st.integers(0, 6), max_size=6),
)
def test_the_same_day_as_python_dateutil_counts(day: date, count: int, free: list[int], weekend: set[int]) -> None:
    holidays = [day + timedelta(days=number) for number in free]
    working = rruleset()
    midnight = datetime.combine(day, datetime.min.time())
    working.rrule(rrule(DAILY, dtstart=midnight, byweekday=sorted(set(range(7)) - weekend)))
    for holiday in [day, *holidays]:
        working.exdate(datetime.combine(holiday, datetime.min.time()))
    assert working_day_after(day, count, holidays=holidays, weekend=weekend) == working[count - 1].date()


@pytest.mark.parametrize(
    ("count", "weekend", "problem"),
    [
        (0, (5, 6), "0 is not a number of working days."),
        (-7, (5, 6), "-7 is not a number of working days."),
        (1, (5, 7), "The weekend names a day that is not in the week."),
        (1, tuple(range(7)), "Every day is a weekend day, so no working day comes."),
    ],
)
def test_a_count_that_makes_no_sense_is_refused_with_a_sentence(
    count: int, weekend: tuple[int, ...], problem: str
) -> None:
    with pytest.raises(InputError) as refused:
        working_day_after(date(2026, 11, 2), count, weekend=weekend)
    assert refused.value.problem == problem
    assert refused.value.remedy


@given(DATES, st.integers(1, 20), st.sets(st.integers(-60, 10), max_size=20))
def test_what_is_older_than_the_oldest_day_in_time_is_overdue_and_nothing_else(
    today: date, count: int, free: set[int]
) -> None:
    holidays = [today + timedelta(days=one) for one in free]
    oldest = oldest_in_time(today, count, holidays=holidays)
    for back in range(90):
        day = today - timedelta(days=back)
        assert (working_day_after(day, count, holidays=holidays) >= today) == (day >= oldest)
