"""When a review falls due."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from haccp.plan.reviewing import Occasion, ReviewDue, review_due

START = date(2026, 3, 1)


def due(
    *occasions: Occasion, reviewed_on: tuple[date, ...] = (), every_months: int = 12, since: date = START
) -> ReviewDue:
    return review_due(in_force_since=since, reviewed_on=reviewed_on, every_months=every_months, occasions=occasions)


def test_a_plan_is_reviewed_a_year_after_it_came_into_force() -> None:
    assert due() == ReviewDue(date(2027, 3, 1), ("the yearly review",))


def test_a_review_puts_the_next_one_a_year_off() -> None:
    assert due(reviewed_on=(date(2026, 9, 15), date(2026, 5, 1))).on == date(2027, 9, 15)


def test_the_last_of_february_counts_to_the_last_of_february() -> None:
    assert due(since=date(2028, 2, 29)).on == date(2029, 2, 28)


def test_an_occasion_makes_it_due_at_once_and_a_review_settles_it() -> None:
    vat = Occasion(date(2026, 6, 1), "new equipment: a second vat")
    moulds = Occasion(date(2026, 7, 1), "new product: a small one")

    assert due(moulds, vat) == ReviewDue(date(2026, 6, 1), (vat.words, moulds.words), date(2026, 6, 1))
    assert due(vat, moulds, reviewed_on=(date(2026, 6, 10),)) == ReviewDue(
        date(2026, 7, 1), (moulds.words,), date(2026, 7, 1)
    )
    assert due(vat, reviewed_on=(date(2026, 6, 1),)).on == date(2027, 6, 1)


def test_an_occasion_after_the_yearly_review_fell_due_does_not_put_it_off() -> None:
    late = Occasion(date(2027, 4, 1), "complaint")

    assert due(late) == ReviewDue(date(2027, 3, 1), ("the yearly review",))


def test_it_is_overdue_the_day_after() -> None:
    assert not due().is_overdue(date(2027, 3, 1))
    assert due().is_overdue(date(2027, 3, 2))


def test_the_regular_review_is_open_before_its_day_and_a_called_one_from_its_call() -> None:
    dublin = ZoneInfo("Europe/Dublin")  # an hour ahead of UTC in summer
    day_s = 86_400.0
    regular = due().window(dublin, before_s=14 * day_s, grace_s=14 * day_s)
    assert regular == (
        datetime(2027, 2, 16, tzinfo=UTC),
        datetime(2027, 3, 2, tzinfo=UTC),
        datetime(2027, 3, 16, tzinfo=UTC),
    )
    told_late = Occasion(date(2026, 6, 1), "complaint", known_on=date(2026, 6, 20))
    opens, due_at, grace_ends = due(told_late).window(dublin, before_s=14 * day_s, grace_s=14 * day_s)
    assert opens == datetime(2026, 6, 19, 23, tzinfo=UTC)
    assert due_at == datetime(2026, 6, 27, 23, tzinfo=UTC)
    assert grace_ends == datetime(2026, 7, 11, 23, tzinfo=UTC)
