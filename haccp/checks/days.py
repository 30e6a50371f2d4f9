"""The list of days: what each one recorded, missed and still lacks, and who signed it."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import OuterRef, Subquery

from haccp.checks.models import DaySignature, DueCheck, MissedCheck, MissedReason, Record
from haccp.checks.queries import day_bounds
from haccp.lots.models import LotEvent
from haccp.premises.models import Premises

Meaning = DaySignature.Meaning


@dataclass(frozen=True, slots=True)
class DayLine:
    """records, missed, unanswered: counts. signed_off, reviewed: the last signature of each meaning."""

    day: date
    records: int
    missed: int
    unanswered: int
    signed_off: DaySignature | None
    reviewed: DaySignature | None
    last_change: datetime | None

    @property
    def changed_since(self) -> bool:
        """Something was entered after one of the signatures: whoever signed then has not seen it."""
        signed_at = [one.signature.signed_at for one in (self.signed_off, self.reviewed) if one]
        return bool(signed_at and self.last_change and self.last_change > min(signed_at))

    @property
    def lacks_review(self) -> bool:
        """There is something to review, and nobody has reviewed it as it now stands."""
        if not (self.records or self.missed):
            return False
        return self.reviewed is None or self.changed_since or self.unanswered > 0


def day_lines(premises: Premises, *, last: date, count: int, now: datetime) -> list[DayLine]:
    """`count` days up to and with `last`, newest first, none before the dairy opened; constant queries."""
    opened = premises.local_date(premises.log.opened_at)
    first = last - timedelta(days=count - 1)
    start, _ = day_bounds(premises, first)
    _, end = day_bounds(premises, last)
    due_then = {"due__premises": premises, "due__due_at__gte": start, "due__due_at__lt": end}
    records = list(
        Record.objects.for_premises(premises)
        .filter(observed_at__gte=start, observed_at__lt=end)
        .annotate(amended_at=Subquery(Record.objects.filter(amends=OuterRef("pk")).values("recorded_at")[:1]))
        .values_list("observed_at", "recorded_at", "amended_at")
    )
    missed = list(MissedCheck.objects.filter(**due_then).values_list("due__due_at", "flagged_at", "reason__id"))
    reasons = MissedReason.objects.filter(**{f"missed__{key}": value for key, value in due_then.items()})
    events = LotEvent.every.filter(lot__premises=premises, occurred_at__gte=start, occurred_at__lt=end)
    undone = DueCheck.objects.for_premises(premises).unsettled().filter(due_at__gte=start, due_at__lt=min(end, now))
    changes = _last_change(
        premises,
        [
            # An amendment may name another time, of another day; it changes the day of what it amends all the same.
            *((observed, amended or recorded) for observed, recorded, amended in records),
            *((due_at, flagged_at) for due_at, flagged_at, _ in missed),
            *reasons.values_list("missed__due__due_at", "given_at"),
            *(
                (occurred, corrected or recorded)
                for occurred, recorded, corrected in events.values_list(
                    "occurred_at", "recorded_at", "corrected_by__recorded_at"
                )
            ),
        ],
    )
    unanswered = [due_at for due_at, _, reason in missed if reason is None]
    records_of = _per_day(premises, (observed for observed, _, _ in records))
    missed_of = _per_day(premises, (due_at for due_at, _, _ in missed))
    unanswered_of = _per_day(premises, [*unanswered, *undone.values_list("due_at", flat=True)])
    signed = _signatures(premises, first, last)
    return [
        DayLine(
            day=day,
            records=records_of[day],
            missed=missed_of[day],
            unanswered=unanswered_of[day],
            signed_off=signed.get((day, Meaning.SIGNED_OFF)),
            reviewed=signed.get((day, Meaning.REVIEWED)),
            last_change=changes.get(day),
        )
        for day in (last - timedelta(days=back) for back in range(count))
        if day >= opened
    ]


@dataclass(frozen=True, slots=True)
class DaySigning:
    """The last signature of each meaning, whether something was entered after one of them, and how many checks of the
    day nobody has done or said a reason for."""

    signed_off: DaySignature | None
    reviewed: DaySignature | None
    changed_since: bool
    unanswered: int


def signing_of(premises: Premises, days: Iterable[date], now: datetime) -> dict[date, DaySigning]:
    """How each of these days stands at a moment, in a constant number of queries."""
    wanted = sorted(set(days))
    if not wanted:
        return {}
    count = (wanted[-1] - wanted[0]).days + 1
    lines = day_lines(premises, last=wanted[-1], count=count, now=now)
    found = {
        line.day: DaySigning(line.signed_off, line.reviewed, line.changed_since, line.unanswered) for line in lines
    }
    return {day: found.get(day, DaySigning(None, None, False, 0)) for day in wanted}


def _per_day(premises: Premises, moments: Iterable[datetime]) -> Counter[date]:
    return Counter(premises.local_date(moment) for moment in moments)


def _last_change(premises: Premises, moments: Iterable[tuple[datetime, datetime]]) -> dict[date, datetime]:
    """moments: (when it belongs to, when it was entered)."""
    latest: dict[date, datetime] = {}
    for belongs_to, entered_at in moments:
        day = premises.local_date(belongs_to)
        latest[day] = max(entered_at, latest.get(day, entered_at))
    return latest


def _signatures(premises: Premises, first: date, last: date) -> dict[tuple[date, str], DaySignature]:
    found = (
        DaySignature.objects.filter(premises=premises, day__gte=first, day__lte=last)
        .select_related("signature", "signed_by")
        .order_by("signature__signed_at")
    )
    return {(one.day, one.meaning): one for one in found}
