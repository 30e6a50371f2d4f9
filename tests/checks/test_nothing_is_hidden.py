"""Trying to have a day signed, reviewed or forgotten with something hidden in it."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest

from haccp.checks import actions as checks
from haccp.checks.daybook import day_book
from haccp.checks.days import day_lines
from haccp.checks.models import DayLeftUnreviewed, DueCheck, MissedCheck, MissedReason, PlanningMark
from haccp.checks.reviewing import days_lacking, unreviewed
from haccp.ledger.models import Entry
from haccp.premises.errors import ActionError
from tests.dairy import PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
DAY = date(2026, 3, 2)
MORNING = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
EVENING = datetime(2026, 3, 2, 23, 0, tzinfo=UTC)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def sign(dairy: Dairy, meaning: str, at: datetime, day: date = DAY) -> None:
    scope = dairy.maker if meaning == "signed_off" else dairy.owner
    seen = day_book(dairy.owner.premises, day).content_sha256
    checks.day_sign(scope=scope, day=day, meaning=meaning, password=PASSWORD, seen_sha256=seen, now=at)


def answer(dairy: Dairy, at: datetime) -> None:
    ids = list(MissedCheck.objects.filter(reason__isnull=True).values_list("pk", flat=True))
    checks.missed_reasons_give(scope=dairy.maker, missed_ids=ids, text="Nobody was here.", now=at)


def signed_twice(dairy: Dairy, **record: Any) -> Any:
    """A day with one record, all answered, signed off and reviewed."""
    checks.sweep(now=MORNING)
    saved = dairy.save("Room 1 temperature", "11.0", at=MORNING, instrument_id=dairy.thermometer.id, **record)
    checks.sweep(now=EVENING)
    answer(dairy, EVENING)
    sign(dairy, "signed_off", EVENING)
    sign(dairy, "reviewed", EVENING)
    return saved


def test_a_day_that_the_schedule_has_not_come_to_cannot_be_signed(dairy: Dairy) -> None:
    """The schedule stood still: no row says yet what was due."""
    checks.sweep(now=MORNING)
    much_later = MORNING + timedelta(days=20)
    day = DAY + timedelta(days=10)
    assert not DueCheck.objects.filter(due_at__date=day).exists()

    assert "schedule has not run" in day_book(dairy.owner.premises, day).unanswered[0]
    with pytest.raises(ActionError, match="cannot be signed yet"):
        sign(dairy, "signed_off", much_later, day)


def test_a_check_past_its_grace_is_missed_though_no_sweep_ran_before_it_was_entered(dairy: Dairy) -> None:
    checks.sweep(now=MORNING)
    due = DueCheck.objects.get(check_due__name="Room 1 temperature", due_at__date=DAY)

    late = EVENING + timedelta(hours=3)
    saved = dairy.save(
        "Room 1 temperature", "11.0", at=due.due_at, due_id=due.pk, instrument_id=dairy.thermometer.id, now=late
    )

    missed = MissedCheck.objects.get(due=due)
    assert (missed.missed_at, missed.flagged_at) == (due.grace_ends_at, late)
    assert (saved.record.observed_at, saved.record.recorded_at) == (due.due_at, late)


def test_an_amendment_that_names_another_day_opens_the_day_of_what_it_amends(dairy: Dairy) -> None:
    saved = signed_twice(dairy)
    assert day_book(dairy.owner.premises, DAY).reviewed

    later = EVENING + timedelta(days=1)
    checks.record_amend(
        scope=dairy.maker,
        record_id=uuid4(),
        amends_id=saved.record.pk,
        entries=dairy.entries("Room 1 temperature", "9.0"),
        observed_at=MORNING + timedelta(days=1),
        reason="It was the next day.",
        now=later,
    )

    book = day_book(dairy.owner.premises, DAY)
    assert book.changed_since_signed
    assert not book.reviewed
    assert DAY in unreviewed(dairy.owner.premises, later + timedelta(days=1)).recent


def test_a_day_signed_off_anew_after_a_change_is_not_reviewed_by_the_review_of_before(dairy: Dairy) -> None:
    signed_twice(dairy)
    later = EVENING + timedelta(hours=10)
    dairy.save("Room 1 temperature", "12.0", at=MORNING, instrument_id=dairy.thermometer.id, now=later)
    sign(dairy, "signed_off", later + timedelta(minutes=1))

    line = next(one for one in day_lines(dairy.owner.premises, last=DAY, count=1, now=later) if one.day == DAY)
    assert line.changed_since
    assert line.lacks_review
    assert DAY in unreviewed(dairy.owner.premises, later).recent
    sign(dairy, "reviewed", later + timedelta(minutes=2))
    assert DAY not in unreviewed(dairy.owner.premises, later + timedelta(days=1)).recent


def test_a_day_of_long_ago_is_counted_until_it_is_reviewed_and_again_when_it_changes(dairy: Dairy) -> None:
    premises = dairy.owner.premises
    checks.sweep(now=MORNING)
    saved = dairy.save("Room 1 temperature", "11.0", at=MORNING, instrument_id=dairy.thermometer.id)
    much_later = MORNING + timedelta(days=100)
    checks.sweep(now=much_later)
    today = premises.local_date(much_later)
    every = days_lacking(premises, first=date(2026, 3, 1), until=today, now=much_later)

    found = unreviewed(premises, much_later)
    assert found.count == len(every) == len(set(every))
    assert found.oldest == min(every)
    assert found.older == DayLeftUnreviewed.objects.filter(premises=premises).count() > 60

    answer(dairy, much_later)
    sign(dairy, "signed_off", much_later)
    sign(dairy, "reviewed", much_later)
    assert unreviewed(premises, much_later).count == found.count - 1

    checks.record_amend(
        scope=dairy.maker,
        record_id=uuid4(),
        amends_id=saved.record.pk,
        entries=dairy.entries("Room 1 temperature", "9.0"),
        observed_at=MORNING,
        reason="Misread.",
        now=much_later + timedelta(minutes=5),
    )
    assert unreviewed(premises, much_later + timedelta(minutes=6)).count == found.count


def test_one_reason_for_many_is_a_row_and_an_entry_for_each(dairy: Dairy) -> None:
    checks.sweep(now=MORNING + timedelta(days=42))
    missed = list(MissedCheck.objects.values_list("pk", flat=True))
    assert len(missed) > 80
    assert DueCheck.objects.filter(reason_wanted=True).count() == len(missed)

    given = checks.missed_reasons_give(scope=dairy.maker, missed_ids=missed, text="Nobody was here.")

    assert len(given) == len(missed) == MissedReason.objects.count()
    assert Entry.objects.filter(kind="check.missed_reason").count() == len(missed)
    assert not DueCheck.objects.filter(reason_wanted=True).exists()
    assert checks.missed_reasons_give(scope=dairy.maker, missed_ids=missed, text="Otherwise.") == []
    assert set(MissedReason.objects.values_list("text", flat=True)) == {"Nobody was here."}


def test_a_reason_is_for_what_is_missed_here(dairy: Dairy) -> None:
    other = open_dairy(name="Hill Farm Dairy")
    checks.sweep(now=EVENING)
    theirs = MissedCheck.objects.filter(due__premises=other.owner.premises).values_list("pk", flat=True)
    with pytest.raises(ActionError, match="no such missed check"):
        checks.missed_reasons_give(scope=dairy.maker, missed_ids=list(theirs), text="Never mind.")
    assert not MissedReason.objects.exists()


def test_planning_is_done_once_however_often_a_day_is_looked_at(dairy: Dairy) -> None:
    checks.sweep(now=MORNING)
    mark = PlanningMark.objects.get(premises=dairy.owner.premises)
    with pytest.raises(ActionError):
        sign(dairy, "signed_off", EVENING)
    mark.refresh_from_db()
    assert mark.planned_until == MORNING + timedelta(hours=36)
