"""The calibration in force at the moment of a reading, and whether it lets the reading count.

A pH reading rests on the slope and offset that two buffers gave last before it; a later calibration says nothing of it
(one that finds the meter out puts it in doubt, which is another matter).
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from haccp.calibration.models import Calibration
from haccp.checks.models import Record
from haccp.checks.reliability import Standing, Values
from haccp.checks.remarks import Remark
from haccp.premises.models import Instrument
from haccp.science.calibration.electrode import Buffer, Electrode, ElectrodeLimits, calibrate, unfit_reason
from haccp.science.evaluators.wording import capital

BUFFERS = Calibration.Method.BUFFERS


def standing(instrument: Instrument, at: datetime, values: Values) -> Standing | None:
    """Registered in haccp.checks.reliability. None where the entry of the instrument says it all."""
    known = list(
        instrument.calibrations.select_related("instrument", "premises").order_by("performed_at", "recorded_at")
    )
    if not known:
        return None
    found = _by_the_last_before(instrument, known, at, values)
    following = next((one for one in known if one.performed_at > at), None)
    if following is None or following.found_good or (found is not None and found.unfit):
        return found
    # Entered late, from paper: what was read before it was found out is in doubt whenever it is written down
    found_on = instrument.premises.local_date(following.performed_at).isoformat()
    why = f"{instrument.name} was found out on {found_on}: {following.found_reason}"
    return Standing(following.expanded_uncertainty, why)


def _by_the_last_before(
    instrument: Instrument, known: Sequence[Calibration], at: datetime, values: Values
) -> Standing | None:
    newest, before = known[-1], [one for one in known if one.performed_at <= at]
    stated, day = instrument.calibrated_on, instrument.premises.local_date(at)
    is_stated = stated is not None and stated != instrument.premises.local_date(newest.performed_at)
    if not before:
        if is_stated and stated is not None and stated <= day:
            return None
        why = f"{instrument.name} was calibrated only after it"
        return Standing(newest.expanded_uncertainty, why) if known[0].method == BUFFERS else None
    found = before[-1]
    if is_stated and stated is not None and instrument.premises.local_date(found.performed_at) < stated <= day:
        return None
    unfit = why_unfit(found, at, values)
    if found == newest:
        unfit = unfit or instrument.unfit_on(day)
    return Standing(found.expanded_uncertainty, unfit)


def why_unfit(found: Calibration, at: datetime, values: Values) -> str | None:
    name = found.instrument.name
    if found.valid_until is None or not found.left_good:
        return f"{name} was left out of order at its calibration: {found.left_reason}"
    day = found.premises.local_date(at)
    if day > found.valid_until:
        return f"the calibration of {name} ran out on {found.valid_until.isoformat()}"
    if found.method != BUFFERS:
        return None
    # How long it counts was said at the calibration: to the end of that day
    ends = datetime.combine(found.valid_until + timedelta(days=1), time.min, tzinfo=found.premises.zone)
    limits = ElectrodeLimits(valid_s=(ends - found.performed_at).total_seconds())
    one = electrode(found)
    reasons = (unfit_reason(one, at, value, limits) for value in values.get("ph", ()))
    return next((reason for reason in reasons if reason), None)


def electrode(found: Calibration) -> Electrode:
    """Slope and offset as left by a calibration with two buffers."""
    first, second = found.points[:2]
    return calibrate(
        found.performed_at,
        Buffer(first["ph"], first["mv_left"]),
        Buffer(second["ph"], second["mv_left"]),
        first.get("temperature_c") or 20.0,
    )


def words(found: Calibration) -> str:
    """“slope 98.2 % of Nernst's, offset +4.0 mV, 20 Mar 07:10” for a reading that rests on it."""
    one = electrode(found)
    local = timezone.localtime(found.performed_at, found.premises.zone)
    shown = f"slope {one.slope_percent:.1f} % of Nernst’s, offset {one.offset_mv:+.1f} mV".replace("-", "−")
    return f"electrode as calibrated {local:%-d %b %H:%M}: {shown}"


def electrodes_for(moments: Mapping[Any, tuple[UUID | None, datetime, datetime]]) -> dict[Any, Calibration]:
    """Key -> the two-buffer calibration in force; in one query. moments: key -> (instrument, read at, recorded at)."""
    asked = {instrument for instrument, _at, _known in moments.values() if instrument is not None}
    if not asked:
        return {}
    latest = max(at for _instrument, at, _known in moments.values())
    rows = list(
        Calibration.objects.filter(instrument__in=asked, performed_at__lte=latest)
        .filter(Q(instrument__kind=Instrument.Kind.PH_METER))
        .select_related("instrument", "premises")
        .order_by("performed_at", "recorded_at")
    )
    found: dict[Any, Calibration] = {}
    for key, (instrument, at, known) in moments.items():
        before = [
            one
            for one in rows
            if one.instrument_id == instrument and one.performed_at <= at and one.recorded_at <= known
        ]
        if before and before[-1].method == BUFFERS:
            found[key] = before[-1]
    return found


def remarks_on(records: Iterable[Record]) -> Mapping[UUID, list[Remark]]:
    """What the page of a record says of the electrode it was read with; registered in haccp.checks.remarks."""
    moments = {record.pk: (record.instrument_id, record.observed_at, record.recorded_at) for record in records}
    return {
        key: [Remark("", f"{capital(words(one))}.", reverse("calibration:calibration", args=[one.pk]), "Calibration")]
        for key, one in electrodes_for(moments).items()
    }
