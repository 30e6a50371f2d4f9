"""What the period shows, in numbers that add up."""

from collections import Counter
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from haccp.checks.models import MissedCheck, RulingRow
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot
from haccp.reports.gather.days import Day
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.science.ruling import Ruling

# A record with several limits counts once, under the gravest of its rulings.
GRAVEST_FIRST = (Ruling.BREACHED, Ruling.UNPROVEN, Ruling.AWAITED, Ruling.CLOSE, Ruling.MET)


@dataclass(frozen=True, slots=True)
class PointCount:
    """done = met + close + breached + unproven + unjudged; missed beside it. amended: of those done."""

    title: str
    key: str
    is_critical: bool
    done: int
    met: int
    close: int
    breached: int
    unproven: int
    unjudged: int
    missed: int
    amended: int


@dataclass(frozen=True, slots=True)
class Counts:
    points: tuple[PointCount, ...]
    deviations_opened: int
    deviations_closed: int
    deviations_open: int
    missed: int
    missed_without_reason: int
    still_due: int
    days: int
    days_signed_off: int
    days_reviewed: int
    days_changed: int
    batches_begun: int
    records: int
    amendments: int


def counts_of(scope: PackScope, days: tuple[Day, ...]) -> Counts:
    """One query for each five hundred records, and a constant number beside."""
    period = scope.period
    gravest = _gravest(scope)
    missed: Counter[str] = Counter()
    without_reason = 0
    for group in in_groups(scope.missed_ids):
        codes = MissedCheck.objects.filter(id__in=group).values_list("due__check_due__control_point__code", "reason")
        for code, reason in codes:
            missed[code] += 1
            without_reason += reason is None
    points = []
    for point in scope.points:
        tally = Counter(gravest.get(chain[-1]) for chain in point.chains)
        points.append(
            PointCount(
                title=point.title,
                key=point_key(point.code),
                is_critical=point.is_critical,
                done=len(point.chains),
                met=tally[Ruling.MET],
                close=tally[Ruling.CLOSE],
                breached=tally[Ruling.BREACHED],
                unproven=tally[Ruling.UNPROVEN],
                unjudged=tally[Ruling.AWAITED] + tally[None],
                missed=missed[point.code],
                amended=sum(len(chain) > 1 for chain in point.chains),
            )
        )
    mine = Deviation.objects.filter(premises=period.premises_id, id__in=scope.deviation_ids)
    in_period = Q(opened_at__gte=period.start, opened_at__lt=period.end)
    return Counts(
        points=tuple(points),
        deviations_opened=mine.filter(in_period).count(),
        deviations_closed=mine.filter(closure__closed_at__gte=period.start, closure__closed_at__lt=period.end).count(),
        deviations_open=mine.filter(opened_at__lt=period.end, closure__isnull=True).count(),
        missed=len(scope.missed_ids),
        missed_without_reason=without_reason,
        still_due=scope.still_due,
        days=len(days),
        days_signed_off=sum(bool(day.signed_off) for day in days),
        days_reviewed=sum(bool(day.reviewed) for day in days),
        days_changed=sum(bool(day.later_entries) for day in days),
        batches_begun=Lot.objects.filter(id__in=scope.batch_ids).begun_between(period.start, period.end).count(),
        records=len(scope.record_ids),
        amendments=sum(len(chain) - 1 for point in scope.points for chain in point.chains),
    )


def point_key(code: str) -> str:
    """What links call the section of a control point."""
    return "records-" + "".join(
        letter if letter.isascii() and letter.isalnum() else f"_{ord(letter):x}" for letter in code
    )


def _gravest(scope: PackScope) -> dict[UUID, Ruling]:
    rank = {ruling: place for place, ruling in enumerate(GRAVEST_FIRST)}
    found: dict[UUID, Ruling] = {}
    for group in in_groups(scope.current_ids):
        for record_id, text in RulingRow.objects.filter(record__in=group).order_by().values_list("record", "ruling"):
            ruling = Ruling(text)
            if record_id not in found or rank[ruling] < rank[found[record_id]]:
                found[record_id] = ruling
    return found
