"""Reads about calibrations: the instruments and how they stand, and which records are in doubt."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.db.models import Count, Prefetch, Q, QuerySet
from django.urls import reverse

from haccp.calibration.models import Calibration, Doubt, DoubtedReading, LaterRuling
from haccp.checks.models import Record
from haccp.checks.remarks import Remark
from haccp.deviations.models import Deviation
from haccp.lots.models import Lot
from haccp.premises.models import Instrument, Premises
from haccp.science.calibration.drift import Check, Drift, drift
from haccp.science.errors import InputError
from haccp.science.ruling import Ruling

SOON = timedelta(days=14)
GOOD = (Ruling.MET, Ruling.CLOSE)


@dataclass(frozen=True, slots=True)
class InstrumentStanding:
    """unfit: why it cannot be relied on today, or "". is_soon: its calibration runs out within two weeks."""

    instrument: Instrument
    unfit: str
    is_soon: bool
    last: Calibration | None


def instruments_standing(premises: Premises, today: date) -> list[InstrumentStanding]:
    """Every instrument in use, in a constant number of queries."""
    newest = Calibration.objects.order_by("-performed_at", "-recorded_at")
    instruments = (
        Instrument.objects.filter(premises=premises, retired_at__isnull=True)
        .select_related("place")
        .prefetch_related(Prefetch("calibrations", queryset=newest))
    )
    found = []
    for one in instruments:
        until = one.calibration_valid_until
        last = next(iter(one.calibrations.all()), None)
        is_soon = until is not None and today <= until <= today + SOON
        found.append(InstrumentStanding(one, one.unfit_on(today) or "", is_soon, last))
    return found


def calibrations_of(instrument: Instrument) -> QuerySet[Calibration]:
    """Newest first, with how many records and other readings each put in doubt."""
    return (
        instrument.calibrations.select_related("recorded_by", "instrument")
        .annotate(doubt_count=Count("doubts", distinct=True) + Count("doubted_readings", distinct=True))
        .order_by("-performed_at", "-recorded_at")
    )


def calibrations_on(premises: Premises) -> QuerySet[Calibration]:
    return Calibration.objects.filter(premises=premises).select_related("instrument", "recorded_by")


def last_good_at(instrument: Instrument, before: datetime) -> datetime | None:
    """When it was last known to be good: left good by a calibration, or as its entry states; None: never."""
    last = (
        instrument.calibrations.filter(performed_at__lt=before, left_ruling__in=GOOD).order_by("-performed_at").first()
    )
    if last is not None:
        return last.performed_at
    stated = instrument.calibrated_on
    if stated is None:
        return None
    # The day's end: nobody wrote down at which hour it was calibrated
    return min(datetime.combine(stated, time.max, tzinfo=instrument.premises.zone), before)


def drift_of(calibrations: Iterable[Calibration]) -> Drift | None:
    """How fast an instrument drifts at its first point, over calibrations of one method; None with fewer than two."""
    ordered = sorted((one for one in calibrations if one.tolerance), key=lambda one: one.performed_at)
    checks = [
        Check(one.performed_at, found - true, (found if left is None else left) - true)
        for one in ordered
        for true, found, left in [_first_point(one)]
    ]
    try:
        return drift(checks, ordered[-1].tolerance or 0.0) if len(checks) > 1 else None
    except InputError:  # two at one moment
        return None


def _first_point(one: Calibration) -> tuple[float, float, float | None]:
    point = one.points[0]
    return float(point["true"]), float(point["found"]), None if point["left"] is None else float(point["left"])


def _with_rulings(doubts: QuerySet[Doubt]) -> QuerySet[Doubt]:
    rulings = LaterRuling.objects.select_related("limit")
    return doubts.select_related("calibration__instrument", "deviation__closure").prefetch_related(
        Prefetch("rulings", queryset=rulings)
    )


def doubts_of(calibration: Calibration) -> QuerySet[Doubt]:
    """With the records that they concern, oldest first."""
    records = Prefetch("record", queryset=Record.objects.with_details())
    return _with_rulings(Doubt.objects.filter(calibration=calibration)).prefetch_related(records)


def is_disposed(doubt: Doubt | DoubtedReading) -> bool:
    """Somebody decided: its deviation is closed."""
    return doubt.deviation is not None and hasattr(doubt.deviation, "closure")


def standing_doubts(record_ids: Iterable[UUID]) -> Mapping[UUID, Doubt]:
    """Record -> the newest doubt of it that nobody has disposed of. One query and one for the rulings."""
    found = _with_rulings(Doubt.objects.filter(record__in=list(record_ids), deviation__closure__isnull=True))
    return {doubt.record_id: doubt for doubt in found.order_by("calibration__performed_at")}


def doubtful_records(record_ids: Collection[UUID], as_of: datetime | None) -> Mapping[UUID, str]:
    """Record -> why it is in doubt, as it stood at a moment (None: today); registered in haccp.checks.doubts."""
    found = Doubt.objects.filter(record__in=record_ids)
    if as_of is None:
        found = found.filter(deviation__closure__isnull=True)
    else:
        undecided = Q(deviation__closure__isnull=True) | Q(deviation__closure__closed_at__gt=as_of)
        found = found.filter(undecided, calibration__recorded_at__lte=as_of)
    return dict(found.order_by("calibration__performed_at").values_list("record", "reason"))


def doubts_about(lots: Iterable[Lot]) -> Mapping[UUID, list[Doubt]]:
    """Lot -> doubts of its own records that nobody has disposed of. In two queries."""
    found: dict[UUID, list[Doubt]] = defaultdict(list)
    doubts = _with_rulings(
        Doubt.objects.filter(record__lot__in=[lot.pk for lot in lots], deviation__closure__isnull=True)
    ).select_related("record__check_done")
    for doubt in doubts:
        if doubt.record.lot_id is not None:
            found[doubt.record.lot_id].append(doubt)
    return found


def readings_doubted_by(calibration: Calibration) -> QuerySet[DoubtedReading]:
    """What rests on the instrument besides the checks of the plan, oldest first."""
    return calibration.doubted_readings.select_related("lot", "place", "deviation__closure")


def doubted(abouts: Iterable[UUID]) -> Mapping[UUID, DoubtedReading]:
    """Row that holds a reading -> the newest doubt of it that nobody has disposed of. One query."""
    found = DoubtedReading.objects.filter(about__in=list(abouts), deviation__closure__isnull=True)
    found = found.select_related("calibration__instrument", "deviation").order_by("calibration__performed_at")
    return {one.about: one for one in found}


def doubted_of_lots(lots: Iterable[Lot]) -> list[DoubtedReading]:
    """What was read of these lots, is in doubt, and is not disposed of. One query."""
    found = DoubtedReading.objects.filter(lot__in=[lot.pk for lot in lots], deviation__closure__isnull=True)
    return list(found.select_related("lot", "deviation", "calibration__instrument"))


def remarks_on(records: Iterable[Record]) -> Mapping[UUID, list[Remark]]:
    """What the page of a record says of doubts about it; registered in haccp.checks.remarks."""
    found: dict[UUID, list[Remark]] = defaultdict(list)
    for doubt in _with_rulings(Doubt.objects.filter(record__in=[record.pk for record in records])):
        disposed = is_disposed(doubt)
        still = "It counts as unproven until it is disposed of."
        words = f"{doubt.reason} " + (f"Disposed of in {doubt.deviation.reference}." if disposed else still)
        corrected = " ".join(row.corrected_reason for row in doubt.rulings.all() if row.corrected_reason)
        if corrected:
            words += f" Corrected by the error found: {corrected}"
        found[doubt.record_id].append(
            Remark(
                ruling="" if disposed else Ruling.UNPROVEN,
                words=words,
                link=reverse("deviations:detail", args=[doubt.deviation_id]),
                link_words=doubt.deviation.reference,
            )
        )
    return found


def deviations_of(calibration: Calibration) -> list[Deviation]:
    """Those that it opened, one for each control point concerned."""
    concerned = Q(doubts__calibration=calibration) | Q(doubted_readings__calibration=calibration)
    found = Deviation.objects.filter(concerned).distinct()
    return list(found.select_related("control_point", "closure").order_by("number"))
