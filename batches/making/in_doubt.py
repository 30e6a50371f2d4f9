"""What was read at the stages of makes with an instrument that was found out later."""

from collections.abc import Iterable
from datetime import datetime

from batches.making.course import EVENTS, ONE_AT_A_TIME
from batches.making.models import StageKind, StageReading
from haccp.calibration.queries import doubted
from haccp.calibration.resting import Resting
from haccp.premises.models import Instrument
from haccp.science.ruling import Ruling

STAGE = "stage reading"


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
        since = None if one.what in ONE_AT_A_TIME else (begins,) if begins else ()
        yield Resting(
            one.pk, f"{words} of {lot.code}, {one.mark.stage}", one.quantity, one.mark.at, lot=lot, since=since
        )


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
