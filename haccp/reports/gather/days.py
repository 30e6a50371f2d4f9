"""Days of the period: what they hold, who signed them, and what came after the signature."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from haccp.checks.models import DaySignature, MissedReason
from haccp.checks.models.due import MissedCheck
from haccp.checks.models.record import Record
from haccp.ledger.models import Signature
from haccp.lots.models import LotEvent
from haccp.reports.gather.period import Period


@dataclass(frozen=True, slots=True)
class Day:
    """signed_off, reviewed: "name, moment of signing" of the last such signature. later_entries: since that."""

    day: date
    records: int
    missed: int
    signed_off: tuple[str, datetime] | None
    reviewed: tuple[str, datetime] | None
    later_entries: int


def days_of(period: Period, until: datetime) -> tuple[Day, ...]:
    """Every day of the period up to the moment `until`, in a constant number of queries."""
    signatures: dict[date, dict[str, Signature]] = defaultdict(dict)
    signed = DaySignature.objects.filter(
        premises=period.premises_id, day__gte=period.first_day, day__lte=period.last_day
    )
    for one in signed.select_related("signature").order_by("signature__signed_at"):
        signatures[one.day][one.meaning] = one.signature
    observed = _records(period)
    missed = MissedCheck.objects.filter(
        due__premises=period.premises_id, due__due_at__gte=period.start, due__due_at__lt=period.end
    ).values_list("due__due_at", flat=True)
    record_count = Counter(_local(period, at) for at, _ in observed)
    missed_count = Counter(_local(period, at) for at in missed)
    entered: dict[date, list[datetime]] = defaultdict(list)
    for at, recorded_at in [*observed, *_reasons(period), *_events(period)]:
        entered[_local(period, at)].append(recorded_at)
    last_day = min(period.last_day, until.astimezone(period.zone).date())
    return tuple(
        _day(day, record_count[day], missed_count[day], signatures[day], entered[day])
        for day in _each(period.first_day, last_day)
    )


def _records(period: Period) -> list[tuple[datetime, datetime]]:
    return list(
        Record.objects.filter(
            premises=period.premises_id, observed_at__gte=period.start, observed_at__lt=period.end
        ).values_list("observed_at", "recorded_at")
    )


def _reasons(period: Period) -> Iterable[tuple[datetime, datetime]]:
    return MissedReason.objects.filter(
        missed__due__premises=period.premises_id,
        missed__due__due_at__gte=period.start,
        missed__due__due_at__lt=period.end,
    ).values_list("missed__due__due_at", "given_at")


def _events(period: Period) -> Iterable[tuple[datetime, datetime]]:
    return LotEvent.objects.filter(
        lot__premises=period.premises_id, occurred_at__gte=period.start, occurred_at__lt=period.end
    ).values_list("occurred_at", "recorded_at")


def _day(day: date, records: int, missed: int, signatures: dict[str, Signature], entered: list[datetime]) -> Day:
    off = signatures.get(DaySignature.Meaning.SIGNED_OFF)
    reviewed = signatures.get(DaySignature.Meaning.REVIEWED)
    last = max((one.signed_at for one in (off, reviewed) if one is not None), default=None)
    return Day(
        day=day,
        records=records,
        missed=missed,
        signed_off=(off.printed_name, off.signed_at) if off else None,
        reviewed=(reviewed.printed_name, reviewed.signed_at) if reviewed else None,
        later_entries=sum(at > last for at in entered) if last else 0,
    )


def _each(first: date, last: date) -> Iterable[date]:
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def _local(period: Period, moment: datetime) -> date:
    return moment.astimezone(period.zone).date()
