"""What was read at the stages of makes, and beside the recorder of a heat treatment, with an instrument that was found
out later."""

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Exists, Max, OuterRef, Q

from batches.making.course import EVENTS, ONE_AT_A_TIME
from batches.making.models import HeatSheet, StageKind, StageReading
from haccp.calibration.queries import doubted
from haccp.calibration.resting import Resting
from haccp.premises.models import Instrument
from haccp.science.ruling import Ruling

STAGE = "stage reading"
BESIDE_RECORDER = "reading beside the recorder"


def readings_read_with(instrument: Instrument, since: datetime | None, until: datetime) -> Iterable[Resting]:
    """Registered in haccp.calibration.resting. Marks that were corrected count no more."""
    found = StageReading.objects.filter(
        instrument=instrument, mark__at__lte=until, mark__corrected_by__isnull=True
    ).select_related("mark__make__lot", "mark__stage")
    if since is not None:
        found = found.filter(mark__at__gt=since)
    for one in found:
        lot = one.mark.make.lot
        words = f"{one.get_what_display()} {one.typed_text} {one.typed_unit}".strip()
        begins = EVENTS.get(StageKind(one.mark.stage.kind))
        counts_from = None if one.what in ONE_AT_A_TIME else (begins,) if begins else ()
        yield Resting(
            one.pk, f"{words} of {lot.code}, {one.mark.stage}", one.quantity, one.mark.at, lot=lot, since=counts_from
        )


def thermometers_read_with(instrument: Instrument, since: datetime | None, until: datetime) -> Iterable[Resting]:
    """Registered in haccp.calibration.resting. Of each heat treatment the last sheet: the others count no more."""
    later = HeatSheet.objects.filter(record=OuterRef("record"), recorded_at__gt=OuterRef("recorded_at"))
    found = (
        HeatSheet.objects.filter(~Exists(later), Q(thermometer=instrument) | Q(air_thermometer=instrument))
        .annotate(read_at=Max("thermometers__at"))
        .filter(read_at__lte=until)
        .select_related("record__lot", "record__check_done__control_point")
        .order_by("read_at", "pk")
    )
    if since is not None:
        found = found.filter(read_at__gt=since)
    for one in found:
        lot, check = one.record.lot, one.record.check_done
        words = f"Thermometer beside the recorder, {check.name}" + (f" of {lot.code}" if lot else "")
        code = check.control_point.code
        yield Resting(one.pk, words, "temperature", one.read_at, lot=lot, place=one.record.place, beside=code)


def say_doubts(readings: Iterable[StageReading]) -> None:
    """Each whose instrument was found out says so, and its limits say unproven unless they were breached. Nothing is
    written. One query."""
    readings = list(readings)
    doubts = doubted(one.pk for one in readings)
    for one in readings:
        doubt = doubts.get(one.pk)
        if doubt is None:
            continue
        one.unfit = one.unfit or doubt.reason
        if one.ruling and one.ruling != Ruling.BREACHED:
            one.ruling, one.said = Ruling.UNPROVEN.value, f"Unproven: {doubt.reason}"
