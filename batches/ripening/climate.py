"""The climate of a room: what was read there in the last weeks, drawn against the limits in force."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.utils.safestring import SafeString, mark_safe

from haccp.checks.doubts import say_doubts
from haccp.checks.models import MissedCheck, Reading, Record, RulingRow
from haccp.drawing.climate_chart import ClimateChart, climate_chart
from haccp.drawing.layout import COMPACT
from haccp.drawing.svg import to_svg_pair
from haccp.plan.models import Check, CriticalLimit, Measure
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Place, Premises, User
from haccp.science.units import decimals_of, from_si, quantity_of, show

PERIOD = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class ClimateReading:
    at: datetime
    shown: str
    record: Record
    rulings: tuple[RulingRow, ...]


@dataclass(frozen=True, slots=True)
class Climate:
    """One measure of a room. readings: oldest first. limits: their statements. svg: "" where nothing can be drawn."""

    title: str
    readings: tuple[ClimateReading, ...]
    limits: tuple[str, ...]
    missed: tuple[MissedCheck, ...]
    svg: SafeString

    @property
    def last(self) -> ClimateReading | None:
        return self.readings[-1] if self.readings else None


def climates(premises: Premises, place: Place, now: datetime, reader: User) -> tuple[Climate, ...]:
    """One for each number that the plan in force has read in the room. In the units that the reader prefers."""
    revision = revision_in_force(premises, now)
    if revision is None:
        return ()
    measures = list(
        Measure.objects.filter(check_made__revision=revision, check_made__place=place, kind=Measure.Kind.NUMBER)
        .select_related("check_made__control_point")
        .prefetch_related("limits")
        .order_by("check_made__name", "position")
    )
    records = _records(premises, place, now)
    missed = _missed(premises, place, now)
    return tuple(_climate(premises, place, measure, records, missed, now, reader) for measure in measures)


def _records(premises: Premises, place: Place, now: datetime) -> list[Record]:
    return say_doubts(
        Record.objects.for_premises(premises)
        .current()
        .filter(place=place, observed_at__gt=now - PERIOD, observed_at__lte=now)
        .with_details()
        .order_by("observed_at")
    )


def _missed(premises: Premises, place: Place, now: datetime) -> list[MissedCheck]:
    return list(
        MissedCheck.objects.filter(
            due__premises=premises, due__check_due__place=place, due__due_at__gt=now - PERIOD, due__due_at__lte=now
        )
        .select_related("due__check_due__control_point", "reason")
        .order_by("due__due_at")
    )


def _climate(
    premises: Premises,
    place: Place,
    measure: Measure,
    records: Sequence[Record],
    missed: Sequence[MissedCheck],
    now: datetime,
    reader: User,
) -> Climate:
    unit = reader.preferred_unit(measure.quantity) or measure.unit or quantity_of(measure.quantity).si_unit
    found = list(_readings(measure, records))
    limits = [limit for limit in measure.limits.all() if limit.evaluator == "reading"]
    omitted = tuple(one for one in missed if _same_check(one.due.check_due, measure.check_made))
    title = f"{measure.label}: {quantity_of(measure.quantity).name}"
    return Climate(
        title=title,
        readings=tuple(
            ClimateReading(
                record.observed_at,
                show(measure.quantity, reading.value_si or 0.0, unit),
                record,
                tuple(row for row in record.rulings.all() if _same_limit(row.limit, limits)),
            )
            for record, reading in found
        ),
        limits=tuple(limit.statement for limit in limits),
        missed=omitted,
        svg=_draw(premises, place, measure, found, limits, omitted, now, unit, title),
    )


def _same_check(one: Check, other: Check) -> bool:
    """The same check in any revision: by its control point's code and its name."""
    return one.name == other.name and one.control_point.code == other.control_point.code


def _same_limit(limit: CriticalLimit, limits: Iterable[CriticalLimit]) -> bool:
    return any(limit.statement == other.statement for other in limits)


def _readings(measure: Measure, records: Iterable[Record]) -> Iterable[tuple[Record, Reading]]:
    for record in records:
        if not _same_check(record.check_done, measure.check_made):
            continue
        for reading in record.readings.all():
            same = reading.measure.label == measure.label and reading.measure.quantity == measure.quantity
            if same and reading.value_si is not None:
                yield record, reading


def _draw(
    premises: Premises,
    place: Place,
    measure: Measure,
    found: Sequence[tuple[Record, Reading]],
    limits: Sequence[CriticalLimit],
    missed: Sequence[MissedCheck],
    now: datetime,
    unit: str,
    title: str,
) -> SafeString:
    quantity = measure.quantity

    def shown(values: Iterable[float | None], pick: str) -> float | None:
        """The strictest of several limits, in the unit of the picture."""
        given = [value for value in values if value is not None]
        if not given:
            return None
        return from_si(quantity, max(given) if pick == "low" else min(given), unit)

    low, high = shown((x.low for x in limits), "low"), shown((x.high for x in limits), "high")
    if not found and low is None and high is None:
        return SafeString("")
    chart = ClimateChart(
        title=f"{place.name}, {title}",
        description=_described(found, limits, missed, quantity, unit),
        unit=unit,
        zone=premises.zone,
        from_at=now - PERIOD,
        to_at=now,
        times=[record.observed_at for record, _reading in found],
        values=[from_si(quantity, reading.value_si or 0.0, unit) for _record, reading in found],
        low=low,
        high=high,
        target_low=shown((x.target_low for x in limits), "low"),
        target_high=shown((x.target_high for x in limits), "high"),
        missed=tuple(one.due.due_at for one in missed),
        decimals=decimals_of(quantity, unit),
        longest_gap_s=3 * 86400.0,
    )
    pair = to_svg_pair(
        climate_chart(chart), climate_chart(replace(chart, layout=COMPACT)), id_prefix=f"climate-{measure.pk}"
    )
    return mark_safe(pair)  # noqa: S308 - the drawing room escapes every text that it writes


def _described(
    found: Sequence[tuple[Record, Reading]],
    limits: Sequence[CriticalLimit],
    missed: Sequence[MissedCheck],
    quantity: str,
    unit: str,
) -> str:
    values = [reading.value_si or 0.0 for _record, reading in found]
    parts = [f"The last {PERIOD.days} days: {len(values)} readings"]
    if values:
        parts.append(f"from {show(quantity, min(values), unit)} to {show(quantity, max(values), unit)}")
    parts.append(f"{len(missed)} missed checks")
    parts += [f"limit: {limit.statement}" for limit in limits]
    return ", ".join(parts) + "."
