"""A heat treatment as a device sees it: what the recorder does not know, what the law says, the enzyme afterwards."""

from datetime import timedelta
from uuid import uuid4

import pytest
import time_machine

from haccp.checks import actions as checks
from tests.api.conftest import OPENED
from tests.api.device import Device, iso, refusal
from tests.dairy import HOUR, Dairy
from tests.release.ready import recording

DAY = timedelta(days=1)
MIN = timedelta(minutes=1)


def test_the_sheet_beside_a_recording_brings_what_the_law_says(
    dairy: Dairy, maker: Device, stranger: Device, clock: time_machine.Traveller
) -> None:
    """63 °C for 30 min: Regulation (EC) 853/2004, Annex III, section IX, chapter II; the file: 65 °C for 40 min."""
    began = OPENED + DAY
    clock.move_to(began + 3 * HOUR)
    make = dairy.start_make(at=began)
    trace = checks.trace_store_file(
        scope=dairy.maker, trace_id=uuid4(), data=recording(began), filename="vat.csv", lot_id=make.lot_id
    )
    record = dairy.save(
        "Heat treatment", at=began, lot_id=make.lot_id, trace_id=trace.pk, instrument_id=dairy.recorder.pk
    ).record
    here = f"heat-treatments/{record.pk}/"
    before = maker.get(here).json()
    assert (before["sheet"], before["legal"]) == (None, [])
    assert "how the milk was treated" in before["no_law"]

    body = {
        "id": str(uuid4()), "process": "batch", "fat": "3,9",
        "thermometers": [{"at": iso(began + 10 * MIN), "indicating": "65,6"}],
    }  # fmt: skip
    said = refusal(maker.post(here, body | {"fat": "39,x"}), 400, "refused")
    assert "fat" in said["fields"]
    away = [{"at": iso(began + 9 * HOUR), "indicating": "65"}]
    assert "within the recording" in str(refusal(maker.post(here, body | {"thermometers": away}), 400, "refused"))
    saved = maker.post(here, body)
    assert saved.status_code == 201, saved.content
    told = saved.json()
    best = told["legal"][0]
    assert (best["lowest_c"], best["hold_s"], best["ruling"]) == (63.0, 1800.0, "met")
    assert told["sheet"]["thermometers"][0]["indicating_c"] == pytest.approx(65.6)
    # 40 min at 65.0 to 65.7 °C are worth more than 40 min at 63 °C; less 0.2 °C that the recorder may be off
    assert told["lethality_s"] > 2400
    assert maker.post(here, body).json() == told
    assert refusal(maker.post(here, body | {"process": "thermisation"}), 409, "conflict")

    enzyme = {"id": str(uuid4()), "activity": "45", "sampled_at": iso(began + HOUR)}
    there = f"makes/{make.pk}/phosphatase/"
    assert maker.post(there, enzyme).json()["activity_mu_per_l"] == 45.0
    future = enzyme | {"id": str(uuid4()), "sampled_at": iso(began + DAY)}
    assert "in the future" in str(refusal(maker.post(there, future), 400, "refused"))
    for path in (here, there):
        assert stranger.post(path, body).status_code == 404
