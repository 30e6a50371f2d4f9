"""What was weighed, logged and read beside a recorder with an instrument that is found out: listed, in doubt, left out.

That the validity of earlier results is looked into when an instrument is unfit: ISO 9001:2015, 7.1.5.2, from memory.
"""

from datetime import date, timedelta
from uuid import uuid4

import numpy as np
import pytest
from django.urls import reverse

from batches.making.heat_record import heat_record
from batches.making.models import HeatSheet
from batches.ripening import actions as ripening
from batches.ripening.ageing_clock import clock_of
from batches.ripening.weights import weights_of
from haccp.calibration.measuring import PointTyped as Point
from haccp.calibration.models import Calibration, DoubtedReading
from haccp.checks import actions as checks
from haccp.ledger.verification import verify_log
from haccp.lots.models import Hold
from haccp.premises import actions as premises
from haccp.premises.errors import ActionError
from haccp.premises.models import Instrument
from haccp.science.ruling import Ruling
from tests.calibration.conftest import NOW
from tests.calibration.test_calibrations import calibrate
from tests.dairy import HOUR, Dairy
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def add(dairy: Dairy, name: str, kind: str) -> Instrument:
    return premises.instrument_add(
        scope=dairy.owner, name=name, kind=kind, expanded_uncertainty=0.01, calibrated_on=date(2026, 1, 10),
        calibration_valid_until=date(2027, 1, 10), at=NOW - 60 * DAY,
    )  # fmt: skip


def doubted_by(calibration: Calibration) -> dict[str, DoubtedReading]:
    return {row.source: row for row in DoubtedReading.objects.filter(calibration=calibration)}


def test_what_a_scale_weighed_is_named_and_left_out_of_the_loss(dairy: Dairy) -> None:
    scale, make = add(dairy, "Bench scale", "scale"), dairy.start_make(at=NOW - 9 * DAY)
    client, address = signed_in(dairy.helper), reverse("ripening:weigh", args=[make.pk])
    assert f'<option value="{scale.pk}" selected>' in client.get(address).content.decode()  # the only one
    form = {"pieces": "1", "unit": "kg", "instrument": str(scale.pk)}
    for mass, day in (("4.0", 12), ("3.8", 15), ("3.7", 19)):
        sent = form | {"weighing_id": str(uuid4()), "mass": mass, "weighed_at": f"2026-03-{day}T08:00"}
        assert client.post(address, sent).status_code == 302
    with pytest.raises(ActionError, match="no such scale"):
        ripening.weigh(
            scope=dairy.maker, weighing_id=uuid4(), lot_id=make.pk, mass="3", unit="kg", weighed_at=NOW,
            instrument_id=dairy.thermometer.pk,
        )  # fmt: skip
    calibrate(
        dairy,
        scale,
        "reference",
        Point(true="5", found="5.0"),
        performed_at=NOW - 7 * DAY,
        unit="kg",
        tolerance="0.02",
        reference="Weight F1, 5 kg",
    )
    found = calibrate(
        dairy,
        scale,
        "reference",
        Point(true="5", found="5.4", left="5.0"),
        unit="kg",
        tolerance="0.02",
        reference="Weight F1, 5 kg",
    )
    assert found.found_ruling == "breached"
    # Only what was weighed since it was last good
    assert DoubtedReading.objects.filter(calibration=found).count() == 2
    assert set(doubted_by(found)) == {"weighing"}
    first, second, third = weights_of(make.pk)
    assert (first.unfit, second.loss_percent, third.loss_percent) == ("", None, None)
    assert "Bench scale was found out" in second.unfit
    page = client.get(reverse("making:batch", args=[make.pk])).content.decode()
    assert page.count("does not count: Bench scale was found out") == 2
    assert verify_log(dairy.owner.premises.log).holds


def test_the_thermometer_beside_the_recorder_is_named_and_found_out(dairy: Dairy) -> None:
    """A continuous run is compared with the indicating thermometer (PMO, item 16p, from memory); one that is found out
    compares nothing."""
    make = dairy.start_make(at=NOW - 2 * DAY)
    seconds = np.arange(0.0, 2400.0, 5.0)
    times = [make.lot.begun_at + timedelta(seconds=float(t)) for t in seconds]
    data = "time,milk °C\n" + "".join(f"{at:%Y-%m-%dT%H:%M:%SZ},{73.0 + n % 3 / 10}\n" for n, at in enumerate(times))
    file = checks.trace_store_file(
        scope=dairy.maker, trace_id=uuid4(), data=data.encode(), filename="run.csv", lot_id=make.pk
    )
    record = dairy.save(
        "Heat treatment", at=make.lot.begun_at + HOUR, lot_id=make.pk, trace_id=file.pk,
        instrument_id=dairy.recorder.id,
    ).record  # fmt: skip
    probe = dairy.thermometer
    form = {
        "sheet_id": str(uuid4()), "process": "continuous", "fat": "3,8", "unit": "°C", "tube_s": "16",
        "thermometer": str(probe.pk), "at_1": f"{times[60]:%Y-%m-%dT%H:%M}", "indicating_1": "73,4",
    }  # fmt: skip
    client, address = signed_in(dairy.maker), reverse("making:heat", args=[make.pk, record.pk])
    assert client.post(address, form).status_code == 302
    sheet = HeatSheet.objects.get()
    assert (sheet.typed["fat"], sheet.thermometers.get().typed["indicating"]) == ("3,8", "73,4")
    page = client.get(address).content.decode()
    assert f"Read with {probe.name}" in page
    assert 'value="73,4"' in page

    def compared() -> Ruling:
        [judged] = [one for one in heat_record(dairy.owner.premises, record, sheet).legal if one.run is not None][:1]
        assert judged.run is not None
        [said] = [one for one in judged.run.findings if "indicating" in one.reason]
        return said.ruling

    assert compared() is Ruling.MET
    found = calibrate(dairy, probe, "ice_point", Point(found="2.5", left="0.0"))
    row = doubted_by(found)["reading beside the recorder"]
    assert row.deviation is not None
    assert row.deviation.control_point.code == "CCP 1"  # where its recording is judged
    # Its recording stands, so nothing is held for a thermometer that only compared
    assert not Hold.objects.filter(cause=row.deviation.hold_cause).exists()
    assert compared() is Ruling.UNPROVEN
    assert "was found out on" in client.get(address).content.decode()
    assert verify_log(dairy.owner.premises.log).holds


def test_a_logger_found_out_proves_no_days(dairy: Dairy) -> None:
    """21 CFR 133.113(a)(1): cured at not less than 35 °F for at least 60 days, of raw milk."""
    type(dairy.owner.premises).objects.update(jurisdiction="US")
    type(dairy.product).objects.update(treatment="raw")
    here = type(dairy.owner.premises).objects.get()
    logger, make = add(dairy, "Shelf logger", "recorder"), dairy.start_make(at=NOW - 6 * DAY)
    dairy.event(make, "placed_in_room", at=NOW - 6 * DAY, place=dairy.room)
    rows = [f"{NOW - 6 * DAY + n * HOUR:%Y-%m-%dT%H:%M:%SZ},{11.0 + n % 2 / 10}" for n in range(6 * 24)]
    file = checks.trace_store_file(
        scope=dairy.maker, trace_id=uuid4(), data=("time,air °C\n" + "\n".join(rows)).encode(), filename="shelf.csv",
        lot_id=None,
    )  # fmt: skip
    [log] = ripening.logs_add(
        scope=dairy.maker, room_id=dairy.room.pk, trace_id=file.pk, instrument_id=logger.pk,
        channels=[ripening.ChannelSaid("air", "temperature", "Shelf")],
    )  # fmt: skip

    def proven_days() -> float:
        clock = clock_of(here, make.lot_id, NOW).governing
        assert clock is not None
        return clock.proven_s / 86400

    assert proven_days() > 5.5
    found = calibrate(dairy, logger, "ice_point", Point(found="3.0", left="0.0"))
    assert doubted_by(found)["logger"].about == log.pk
    assert proven_days() == 0


def test_pages_show_what_a_doubted_record_counts_as(dairy: Dairy) -> None:
    milk = dairy.receive_milk(at=NOW - 3 * HOUR)
    dairy.start_make(at=NOW - 2 * HOUR, milk=milk)
    dairy.save("Room 1 temperature", "11.0", at=NOW - 3 * HOUR, instrument_id=dairy.thermometer.id)
    client = signed_in(dairy.helper)
    pages = [reverse("ripening:rooms"), reverse("ripening:room", args=[dairy.room.pk])]
    pages.append(reverse("checks:day", args=[(NOW - 3 * HOUR).date()]))
    assert not any("ruling-unproven" in client.get(page).content.decode() for page in pages)
    calibrate(dairy, dairy.thermometer, "ice_point", Point(found="3.0", left="0.0"))
    for page in pages:
        assert "ruling-unproven" in client.get(page).content.decode(), page
    assert "Thermometer was found out on 2026-03-20" in client.get(pages[1]).content.decode()
