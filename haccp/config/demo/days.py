"""Evenings and mornings: the day signed off by who worked it, and reviewed by the owner a day later."""

from datetime import date, datetime, timedelta

from haccp.checks import actions as checks
from haccp.checks.daybook import DayBook, day_book
from haccp.checks.models import DaySignature
from haccp.config.demo.agenda import Agenda
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.local_days import SUNDAY, at, local_day
from haccp.config.demo.people import HELPER, MAKER, OWNER

NOT_REVIEWED_DAYS = 3  # the last few wait for the owner
Meaning = DaySignature.Meaning


def add_day(dairy: Dairy, agenda: Agenda, day: date) -> None:
    """Sweeps that plan ahead, the signatures of this day, and the review of it."""
    agenda.add(at(day, 0, 5), agenda.sweep)
    agenda.add(at(day, 12, 5), agenda.sweep)
    agenda.add(at(day, 22, 12), lambda now: _sign_off(dairy, day, now))
    next_day = day + timedelta(days=1)
    agenda.add(at(next_day, 9, 35), lambda now: _sign_off(dairy, day, now))
    if day < dairy.today - timedelta(days=NOT_REVIEWED_DAYS):
        agenda.add(at(next_day, 17, 30), lambda now: _review(dairy, day, now))


def _sign_off(dairy: Dairy, day: date, now: datetime) -> None:
    """Where the day has its answers and nobody has signed it yet."""
    if DaySignature.objects.filter(premises=dairy.premises, day=day, meaning=Meaning.SIGNED_OFF).exists():
        return
    book = day_book(dairy.premises, day)
    if not book.unanswered:
        _sign_off_as_it_stands(dairy, book, now)


def _sign_off_as_it_stands(dairy: Dairy, book: DayBook, now: datetime) -> None:
    day = book.day
    is_helper = day.weekday() == SUNDAY and local_day(now) == day
    checks.day_sign(
        scope=dairy.staff.helper if is_helper else dairy.staff.maker,
        day=day,
        meaning=Meaning.SIGNED_OFF,
        password=HELPER.password if is_helper else MAKER.password,
        seen_sha256=book.content_sha256,
        now=now,
    )


def _review(dairy: Dairy, day: date, now: datetime) -> None:
    """Where something was added since the day was signed off, it is signed off again first."""
    book = day_book(dairy.premises, day)
    if book.unanswered or book.reviewed:
        return
    if book.signed_off is None:
        _sign_off_as_it_stands(dairy, book, now)
    checks.day_sign(
        scope=dairy.staff.owner,
        day=day,
        meaning=Meaning.REVIEWED,
        password=OWNER.password,
        seen_sha256=book.content_sha256,
        now=now,
    )
