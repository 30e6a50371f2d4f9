"""A heat treatment in full, phosphatase with its caveats, and the acidity curve beside past makes."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any
from uuid import uuid4

import numpy as np
import pytest
import time_machine
from django.urls import reverse

from batches.making import actions as making
from batches.making import pictures
from batches.making.actions import ThermometerTyped
from batches.making.heat_record import heat_record
from batches.making.models import HeatSheet, Make
from haccp.checks import actions as checks
from haccp.checks.models import Record
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.premises.errors import ActionError
from haccp.science.acidity import band_of
from haccp.science.ruling import Ruling
from haccp.science.trace import FloatArray
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import reader, signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 10, 7, 0, tzinfo=UTC)
T = np.arange(0.0, 2701.0, 10.0)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW + 12 * HOUR, tick=False):
        yield


def heated(dairy: Dairy, make: Make, milk: FloatArray) -> Record:
    times = [make.lot.begun_at + timedelta(seconds=t) for t in T.tolist()]
    rows = [f"{at:%Y-%m-%dT%H:%M:%SZ},{value:.2f}" for at, value in zip(times, milk, strict=True)]
    data = "time,milk °C\n" + "\n".join(row.replace("nan", "") for row in rows) + "\n"
    file = checks.trace_store_file(
        scope=dairy.maker, trace_id=uuid4(), data=data.encode(), filename="vat 1.csv", lot_id=make.pk
    )
    at = make.lot.begun_at + HOUR
    return dairy.save("Heat treatment", at=at, lot_id=make.pk, trace_id=file.pk, instrument_id=dairy.recorder.id).record


def sheet_of(dairy: Dairy, record: Record, process: str = "batch", **more: object) -> HeatSheet:
    arguments: dict[str, object] = {"sheet_id": uuid4(), "record_id": record.pk, "process": process, "fat": "3,8"}
    return making.heat_sheet_save(scope=dairy.maker, **(arguments | more))  # type: ignore[arg-type]


def test_the_law_of_the_jurisdiction_is_judged_as_it_stands_and_raised_for_rich_milk() -> None:
    """Regulation (EC) 853/2004 Annex III s. IX ch. II: 63 °C for 30 min. 21 CFR 1240.61(b) and footnote 1: 66 °C for
    milk of 10 % fat and more."""
    dairy = open_dairy()
    make = dairy.start_make(at=NOW)
    record = heated(dairy, make, 64.5 + 0.05 * np.sin(T / 60))
    premises = dairy.owner.premises
    assert "Say first how the milk was treated" in heat_record(premises, record, None).no_law
    best = heat_record(premises, record, sheet_of(dairy, record)).best
    assert best is not None
    assert (best.pair.jurisdiction, best.pair.temperature_c, best.verdict.ruling) == ("EU", 63.0, Ruling.MET)
    premises.jurisdiction = "US"
    rich = heat_record(premises, record, sheet_of(dairy, record, fat="12")).best
    assert rich is not None
    assert (rich.pair.temperature_c, rich.pair.is_bumped, rich.verdict.ruling) == (66.0, True, Ruling.BREACHED)
    # Continuous at 72 °C for 15 s: nothing of this run was hot enough, and tube and valve were not tested.
    flow = heat_record(premises, record, sheet_of(dairy, record, "continuous")).legal
    assert flow
    assert all(one.run is not None and one.verdict.ruling is Ruling.BREACHED for one in flow)
    premises.jurisdiction = "CA"
    assert "no published pair" in heat_record(premises, record, sheet_of(dairy, record, "thermisation")).no_law
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds


def test_its_page_shows_course_lethality_thermometers_and_unproven_parts() -> None:
    dairy = open_dairy()
    make = dairy.start_make(at=NOW)
    milk = 64.5 + 0.05 * np.sin(T / 60)
    milk[(T > 900) & (T < 1300)] = np.nan
    record = heated(dairy, make, milk)
    client, address = signed_in(dairy.maker), reverse("making:heat", args=[make.pk, record.pk])
    assert "No result yet" in client.get(address).content.decode()
    form = {"sheet_id": str(uuid4()), "process": "batch", "fat": "380", "unit": "°C", "at_1": "2026-03-10T07:10"}
    form |= {"indicating_1": "64,1", "note": "calm"}
    answer = client.post(address, form)
    assert answer.status_code == 422
    assert all(text in answer.content.decode() for text in ("Did you mean 38?", 'value="380"', 'value="64,1"', "calm"))
    assert client.post(address, form | {"fat": "3.8"}).status_code == 302
    page = client.get(address).content.decode()
    for text in ("Unproven parts", "reads too high", "Listeria monocytogenes", "853/2004", "unproven"):
        assert text in page
    with pytest.raises(ActionError, match="not within the recording"):
        sheet_of(dairy, record, thermometers=[ThermometerTyped(1, NOW + 9 * HOUR, "64")])
    assert "What the recorder does not know" not in reader(dairy).get(address).content.decode()

    making.phosphatase_record(
        scope=dairy.maker, result_id=uuid4(), make_id=make.pk, activity="420", sampled_at=NOW + HOUR
    )
    # 350 mU/L for cow's milk: Regulation (EC) 2074/2005, Annex VIa, chapter II
    assert "the limit for cow milk is 350 mU/L" in client.get(address).content.decode()


def test_a_slow_make_is_told_of_before_its_limit_is_breached_and_beside_past_makes() -> None:
    past = band_of([[(0.0, 6.6 + n), (3 * 3600.0, 5.6 + n)] for n in (0.0, 0.1, 0.2)])
    limit: Any = SimpleNamespace(pk=1, comparator="at_most")

    def warning(code: str, ruling: str, ph: float) -> str:
        row = SimpleNamespace(limit_id=1, code=code, ruling=ruling, reason="At this rate it is missed.")
        record: Any = SimpleNamespace(rulings=SimpleNamespace(all=lambda: [row]))
        sample = pictures._Sample(NOW + 2 * HOUR, ph, None, "")
        return pictures._warning([record], [limit], [sample], past, "ph", "pH", NOW)

    assert warning("elapsed.slow", "awaited", 6.0) == "At this rate it is missed."
    assert warning("elapsed.awaited", "awaited", 6.5).startswith(
        "Slower than the last 3 good makes: pH 6.50 after 2 h, where they lay from pH 5.93 to pH 6.13"
    )
    assert warning("elapsed.awaited", "awaited", 6.0) == ""
    assert warning("elapsed.met", "met", 6.5) == ""
