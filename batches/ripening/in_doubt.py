"""What was read of the air of rooms, logged there and weighed with an instrument that was found out later."""

from collections.abc import Iterable
from datetime import datetime

from batches.ripening.models import RoomLog, RoomReading, Weighing
from haccp.calibration.resting import Resting
from haccp.premises.models import Instrument

AIR = "air reading"
LOGGER = "logger"
WEIGHING = "weighing"


def air_read_with(instrument: Instrument, since: datetime | None, until: datetime) -> Iterable[Resting]:
    found = RoomReading.objects.filter(instrument=instrument, read_at__lte=until).select_related("place")
    if since is not None:
        found = found.filter(read_at__gt=since)
    for one in found:
        quantity = "relative_humidity" if one.temperature_c is None else "temperature"
        yield Resting(one.pk, f"Air of {one.place.name}", quantity, one.read_at, place=one.place)


def logged_with(instrument: Instrument, since: datetime | None, until: datetime) -> Iterable[Resting]:
    """A recording that reaches into the time in doubt is unproven as a whole."""
    found = (
        RoomLog.objects.filter(instrument=instrument, starts_at__lte=until).select_related("place").defer("overview")
    )
    if since is not None:
        found = found.filter(ends_at__gt=since)
    for one in found:
        words = f"Recording of {one.place.name}, {one.label}, {one.get_quantity_display()}"
        yield Resting(one.pk, words, one.quantity, one.ends_at, place=one.place)


def weighed_with(instrument: Instrument, since: datetime | None, until: datetime) -> Iterable[Resting]:
    found = Weighing.objects.filter(instrument=instrument, weighed_at__lte=until).select_related("lot")
    if since is not None:
        found = found.filter(weighed_at__gt=since)
    for one in found:
        words = f"Weight {one.typed_mass} {one.typed_unit} of {one.lot.code}"
        yield Resting(one.pk, words, "mass", one.weighed_at, lot=one.lot)
