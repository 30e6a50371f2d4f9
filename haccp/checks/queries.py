"""Reads about checks: today's rounds, what was missed, whether the schedule runs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.conf import settings
from django.db.models import Prefetch

from haccp.checks.models import DueCheck, MissedCheck, Record, SweepRun
from haccp.checks.models.record import RecordQuerySet
from haccp.premises.models import Place, Premises


# Late in the evening "later today" would be empty, while an overnight set or the early round is still to come.
LOOK_AHEAD = timedelta(hours=8)


@dataclass(frozen=True, slots=True)
class Round:
    """Due checks of one place, in the order of the walk; place is None for those of a lot or the whole dairy."""

    place: Place | None
    checks: tuple[DueCheck, ...]


@dataclass(frozen=True, slots=True)
class Today:
    """late: past due, still in grace. due: may be done now. later: opens later today, or in the next few hours."""

    late: tuple[Round, ...]
    due: tuple[Round, ...]
    later: tuple[Round, ...]
    missed: tuple[MissedCheck, ...]
    done: tuple[Record, ...]

    @property
    def late_count(self) -> int:
        return sum(len(one.checks) for one in self.late)

    @property
    def due_count(self) -> int:
        return sum(len(one.checks) for one in self.due)


def day_bounds(premises: Premises, day: date) -> tuple[datetime, datetime]:
    """The first moment of a local day and of the next, as aware datetimes; 23 to 25 hours apart."""
    start = datetime.combine(day, time.min, tzinfo=premises.zone)
    end = datetime.combine(day + timedelta(days=1), time.min, tzinfo=premises.zone)
    return start, end


def today(premises: Premises, now: datetime) -> Today:
    """What the first page shows, in a constant number of queries."""
    start, end = day_bounds(premises, premises.local_date(now))
    open_checks = list(
        DueCheck.objects.for_premises(premises)
        .unsettled()
        .filter(opens_at__lt=max(end, now + LOOK_AHEAD))
        .select_related("check_due__control_point", "check_due__place", "lot__product")
    )
    return Today(
        late=_rounds([due for due in open_checks if due.due_at < now]),
        due=_rounds([due for due in open_checks if due.opens_at <= now <= due.due_at]),
        later=_rounds([due for due in open_checks if due.opens_at > now]),
        missed=tuple(missed_unanswered(premises)),
        done=tuple(
            Record.objects.for_premises(premises)
            .current()
            .filter(observed_at__gte=start, observed_at__lt=end)
            .with_details()
            .order_by("-observed_at")
        ),
    )


def missed_unanswered(premises: Premises) -> list[MissedCheck]:
    """Missed checks that nobody has given a reason for, oldest first."""
    return list(
        MissedCheck.objects.filter(due__premises=premises, reason__isnull=True)
        .select_related("due__check_due__control_point", "due__check_due__place", "due__lot")
        .order_by("missed_at")
    )


def records_between(premises: Premises, start: datetime, end: datetime) -> RecordQuerySet:
    """Records observed or recorded in [start, end), amended ones included."""
    return (
        Record.objects.for_premises(premises)
        .filter(observed_at__gte=start, observed_at__lt=end)
        .with_details()
        .order_by("observed_at", "recorded_at")
    )


def due_of_lot(lot_id: UUID) -> list[DueCheck]:
    """Every check that is or was due for a lot, with its records."""
    return list(
        DueCheck.objects.filter(lot_id=lot_id)
        .select_related("check_due__control_point", "missed", "missed__reason")
        .prefetch_related(Prefetch("records", queryset=Record.objects.current().with_details()))
        .order_by("due_at")
    )


def schedule_patience_s() -> float:
    """How long the sweep may be silent before the site says so: several sweeps, and five minutes at least."""
    return max(300.0, 5 * settings.SWEEP_SECONDS)


def schedule_stopped_since(*, now: datetime, allowed_s: float) -> datetime | None:
    """When the sweep last ran, if that is longer ago than allowed; None while it runs.

    Where it has never run, the time since the first dairy was opened counts.
    """
    last = SweepRun.objects.filter(name=SweepRun.DUE_CHECKS).values_list("finished_at", flat=True).first()
    if last is None:
        last = Premises.objects.order_by("log__opened_at").values_list("log__opened_at", flat=True).first()
    if last is None or (now - last).total_seconds() <= allowed_s:
        return None
    return last


def _rounds(checks: Sequence[DueCheck]) -> tuple[Round, ...]:
    def place_key(due: DueCheck) -> tuple[int, str]:
        place = due.check_due.place
        return (place.walking_order, place.name) if place else (-1, "")

    rounds: dict[tuple[int, str], list[DueCheck]] = {}
    for due in sorted(checks, key=lambda due: (place_key(due), due.due_at)):
        rounds.setdefault(place_key(due), []).append(due)
    return tuple(Round(members[0].check_due.place, tuple(members)) for members in rounds.values())
