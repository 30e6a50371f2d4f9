"""Pictures of a make: its timeline, and the course of its acidity against the limits by elapsed time."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from batches.making.past_makes import band_for
from batches.making.sheet import Sheet
from haccp.checks.models import Reading, Record
from haccp.checks.wording import RULING_WORDS
from haccp.drawing.acidity_chart import AcidityChart, AcidityLimit, acidity_chart
from haccp.drawing.chart import Event, Series
from haccp.drawing.layout import COMPACT
from haccp.drawing.picture import DOTTED, Picture
from haccp.drawing.roles import Role
from haccp.drawing.svg import to_svg_pair
from haccp.drawing.timeline import Step, Timeline, timeline, vertical_timeline
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.plan.models import CriticalLimit
from haccp.premises.models import Premises
from haccp.science.acidity import AcidityBand
from haccp.science.evaluators.elapsed import SLOW
from haccp.science.limit import Comparator
from haccp.science.ruling import Ruling
from haccp.science.units import decimals_of, from_si, quantity_of, show, spell_duration

# Ripening lasts months; beside it the hours of the make would be one dot.
MAKE_LASTS = timedelta(hours=48)


@dataclass(frozen=True, slots=True)
class Point:
    """A reading of the curve, for the table beside the picture. record: None for one of the make sheet. unfit: why it
    does not count, "" where it does."""

    at: datetime
    elapsed: str
    shown: str
    record: Record | None
    unfit: str


@dataclass(frozen=True, slots=True)
class _Sample:
    at: datetime
    value_si: float
    record: Record | None
    unfit: str


@dataclass(frozen=True, slots=True)
class AcidityCurve:
    """points and limits say in words what the picture shows. past_makes: how many the band is drawn from, 0 for none.
    warning: that it is slow, before the limit is breached; "" where it is not."""

    title: str
    svg: SafeString
    points: tuple[Point, ...]
    limits: tuple[str, ...]
    past_makes: int
    warning: str


def make_timeline(
    premises: Premises, lot: Lot, events: Sequence[LotEvent], records: Sequence[Record], sheet: Sheet | None = None
) -> SafeString:
    """The first two days of a batch: events, checks, and the stages that no event stands for; empty when nothing
    happened yet."""
    until = lot.begun_at + MAKE_LASTS
    steps = [_event_step(event) for event in events if event.occurred_at <= until]
    steps += [_record_step(record) for record in records if record.observed_at <= until]
    steps += [step for step in _stage_steps(sheet, events) if step.at <= until]
    if not steps:
        return SafeString("")
    in_order = sorted(steps, key=lambda step: step.at)
    line = Timeline(
        title=_("The make of %(code)s") % {"code": lot.code},
        description="; ".join(_in_words(premises, step) for step in in_order) + ".",
        steps=tuple(in_order),
        zone=premises.zone,
    )
    return _svg(timeline(line), vertical_timeline(line), f"make-{lot.id}")


def _stage_steps(sheet: Sheet | None, events: Sequence[LotEvent]) -> Iterable[Step]:
    """When each stage began, or was done; with what was read. A moment that an event tells of already is left out."""
    told = {event.occurred_at for event in events}
    for state in sheet.stages if sheet else ():
        at = state.began_at or state.done_at
        if at is None or at in told:
            continue
        values = [f"{one.typed_text} {one.typed_unit}" for one in state.readings]
        role = Role.PROBLEM if state.is_outside else Role.SERIES_2
        yield Step(at, state.stage.name.capitalize(), note=", ".join(values), role=role)


def _event_step(event: LotEvent) -> Step:
    place = event.place.name if event.place else ""
    label = EventKind(event.kind).label if event.kind in EventKind.values else event.kind
    return Step(event.occurred_at, str(label).capitalize(), note=" · ".join(x for x in (place, event.note) if x))


def _record_step(record: Record) -> Step:
    rulings = [Ruling(row.ruling) for row in record.rulings.all()]
    failed = [ruling for ruling in rulings if ruling.opens_deviation]
    values = ", ".join(f"{r.typed_text or r.choice} {r.typed_unit}".strip() for r in record.readings.all())
    words = RULING_WORDS[failed[0]].word if failed else ""
    return Step(
        record.observed_at,
        record.check_done.name,
        note=" · ".join(x for x in (values, words) if x),
        role=Role.PROBLEM if failed else Role.SERIES_3,
    )


def _in_words(premises: Premises, step: Step) -> str:
    local = step.at.astimezone(premises.zone)
    return f"{local:%H:%M} {step.label}" + (f" ({step.note})" if step.note else "")


def acidity_curves(
    premises: Premises, lot: Lot, events: Sequence[LotEvent], records: Sequence[Record], sheet: Sheet | None = None
) -> tuple[AcidityCurve, ...]:
    """One per quantity and starting event among the limits by elapsed time that judged this lot."""
    first: dict[str, datetime] = {}
    for event in events:
        first.setdefault(event.kind, event.occurred_at)
    families: dict[tuple[str, str], set[CriticalLimit]] = {}
    for limit in _elapsed_limits(records):
        families.setdefault((limit.quantity, str(limit.parameters["from_event"])), set()).add(limit)
    return tuple(
        _curve(lot, first, key, sorted(limits, key=lambda limit: limit.statement), records, sheet)
        for key, limits in sorted(families.items())
        if key[1] in first
    )


def _elapsed_limits(records: Iterable[Record]) -> Iterable[CriticalLimit]:
    for record in records:
        for row in record.rulings.all():
            if row.limit.evaluator == "elapsed":
                yield row.limit


def _curve(
    lot: Lot,
    first: Mapping[str, datetime],
    key: tuple[str, str],
    limits: Sequence[CriticalLimit],
    records: Sequence[Record],
    sheet: Sheet | None,
) -> AcidityCurve:
    quantity, from_event = key
    origin, unit = first[from_event], limits[0].unit or quantity_of(quantity).si_unit
    found = _samples(records, sheet, quantity, limits, origin)
    counted = [one for one in found if not one.unfit]
    band = band_for(lot, quantity, from_event)
    name = quantity_of(quantity).name
    since = from_event.replace("_", " ")
    limit_words = tuple(limit.statement for limit in limits)
    chart = AcidityChart(
        title=_("%(name)s of %(code)s") % {"name": name, "code": lot.code},
        description=_("%(name)s since %(event)s: %(values)s. Limits: %(limits)s.")
        % {
            "name": name,
            "event": since,
            "values": ", ".join(_spoken(one, quantity, origin, unit) for one in counted) or _("no reading yet"),
            "limits": "; ".join(limit_words),
        },
        starter_at=origin,
        times=[one.at for one in counted],
        values=[from_si(quantity, one.value_si, unit) for one in counted],
        limits=tuple(bound for limit in limits for bound in _bounds(limit, unit)),
        events=tuple(_marks(first, origin, counted)),
        unit=unit,
        since=since,
        decimals=decimals_of(quantity, unit),
        band=_edges(band, quantity, unit),
    )
    return AcidityCurve(
        title=chart.title,
        svg=_svg(
            acidity_chart(chart),
            acidity_chart(replace(chart, layout=COMPACT)),
            f"acidity-{quantity}-{from_event}",
        ),
        points=tuple(
            Point(
                one.at,
                spell_duration((one.at - origin).total_seconds()),
                show(quantity, one.value_si, unit),
                one.record,
                one.unfit,
            )
            for one in found
        ),
        limits=limit_words,
        past_makes=band.makes if band else 0,
        warning=_warning(records, limits, counted, band, quantity, unit, origin),
    )


def _samples(
    records: Sequence[Record],
    sheet: Sheet | None,
    quantity: str,
    limits: Sequence[CriticalLimit],
    origin: datetime,
) -> list[_Sample]:
    """Readings of the plan's checks and of the make sheet, in order of time. The records have said their doubts."""
    found = [
        _Sample(
            record.observed_at,
            reading.value_si or 0.0,
            record,
            record.instrument_unfit or record.doubt,
        )
        for record in records
        for reading in record.readings.all()
        if _belongs(record, reading, quantity, limits) and record.observed_at >= origin
    ]
    # What the make sheet served a check with is the record's
    told = {(one.at, one.value_si) for one in found}
    found += [
        _Sample(reading.mark.at, reading.value_si, None, reading.unfit)
        for state in (sheet.stages if sheet else ())
        for reading in state.readings
        if reading.what == quantity and reading.mark.at >= origin and (reading.mark.at, reading.value_si) not in told
    ]
    return sorted(found, key=lambda one: one.at)


def _edges(band: AcidityBand | None, quantity: str, unit: str) -> tuple[Series, ...]:
    if band is None:
        return ()
    return tuple(
        Series(
            label, band.t_s, np.array([from_si(quantity, float(v), unit) for v in values]), Role.SERIES_3, dash=DOTTED
        )
        for values, label in ((band.high, _("past makes")), (band.low, ""))
    )


def _warning(
    records: Sequence[Record],
    limits: Sequence[CriticalLimit],
    counted: Sequence[_Sample],
    band: AcidityBand | None,
    quantity: str,
    unit: str,
    origin: datetime,
) -> str:
    """That the limit will be missed at this rate, in the words of its last ruling; else that past makes were faster."""
    wanted = {limit.pk for limit in limits}
    last = [row for record in records for row in record.rulings.all() if row.limit_id in wanted]
    if last and last[-1].code == SLOW:
        return str(last[-1].reason)
    if last and last[-1].ruling != Ruling.AWAITED:
        return ""
    if not counted or band is None:
        return ""
    at_s = (counted[-1].at - origin).total_seconds()
    there, value = band.at(at_s), counted[-1].value_si
    falls = limits[0].comparator != Comparator.AT_LEAST
    if there is None or not (value > there[1] if falls else value < there[0]):
        return ""
    return _(
        "Slower than the last %(n)s good makes: %(value)s after %(time)s, where they lay from %(low)s to %(high)s."
    ) % {
        "n": band.makes,
        "value": show(quantity, value, unit),
        "time": spell_duration(at_s),
        "low": show(quantity, there[0], unit),
        "high": show(quantity, there[1], unit),
    }


def _belongs(record: Record, reading: Reading, quantity: str, limits: Sequence[CriticalLimit]) -> bool:
    judged = {row.limit_id for row in record.rulings.all()}
    return (
        reading.value_si is not None
        and reading.measure.quantity == quantity
        and any(limit.pk in judged for limit in limits)
    )


def _bounds(limit: CriticalLimit, unit: str) -> Iterable[AcidityLimit]:
    elapsed_s = float(limit.parameters["within_s"])
    if limit.comparator != Comparator.AT_LEAST and limit.high is not None:
        yield AcidityLimit(elapsed_s, from_si(limit.quantity, limit.high, unit), at_most=True)
    if limit.comparator != Comparator.AT_MOST and limit.low is not None:
        yield AcidityLimit(elapsed_s, from_si(limit.quantity, limit.low, unit), at_most=False)


def _marks(first: Mapping[str, datetime], origin: datetime, found: Sequence[_Sample]) -> Iterable[Event]:
    """Other events of the make while the curve was measured."""
    last = max((one.at for one in found), default=origin)
    for kind, at in first.items():
        if origin < at <= last and kind in EventKind.values:
            yield Event((at - origin).total_seconds(), str(EventKind(kind).label))


def _spoken(one: _Sample, quantity: str, origin: datetime, unit: str) -> str:
    value = show(quantity, one.value_si, unit)
    return f"{value} {_('after')} {spell_duration((one.at - origin).total_seconds())}"


def _svg(wide: Picture, compact: Picture, id_prefix: str) -> SafeString:
    # Safe: the drawing room escapes every text that it writes.
    return mark_safe(to_svg_pair(wide, compact, id_prefix=id_prefix))  # noqa: S308
