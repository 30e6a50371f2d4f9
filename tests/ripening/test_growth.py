"""What could grow: by composition, by the published tables, over the real history; and that it rules nothing."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from batches.laboratory import actions as laboratory
from batches.ripening.growth import growth_of
from haccp.checks.models import RulingRow
from haccp.deviations.models import Deviation
from haccp.lots.models import Hold
from tests.dairy import HOUR, Dairy, open_dairy
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)
DAY = timedelta(days=1)


def _measured(dairy: Dairy, lot_id: object, **values: str) -> None:
    sample = laboratory.sample_take(
        scope=dairy.maker, sample_id=uuid4(), laboratory="County laboratory", taken_at=NOW - DAY, lot_id=lot_id,  # type: ignore[arg-type]
        tests=[laboratory.TestAsked(kind="quantity", parameter=key) for key in values], now=NOW,
    )  # fmt: skip
    for test in sample.tests.all():
        laboratory.result_enter(
            scope=dairy.maker, result_id=uuid4(), test_id=test.pk, values=[values[test.parameter]],
            reported_at=NOW - HOUR, now=NOW,
        )  # fmt: skip


def test_composition_tables_and_growth_over_the_rooms_history() -> None:
    dairy = open_dairy()
    make = dairy.start_make(at=NOW - 5 * DAY)
    dairy.event(make, "placed_in_room", at=NOW - 5 * DAY + HOUR, place=dairy.room)
    lot = make.lot
    found = growth_of(dairy.owner.premises, lot, NOW)
    assert len(found.missing) == 2
    assert found.advice == ()

    _measured(dairy, make.lot_id, moisture="55", salt="2.0", ph="5.6")
    for day in range(4, 0, -1):
        dairy.save("Room 1 temperature", "12.0", at=NOW - day * DAY, instrument_id=dairy.thermometer.id)
    found = growth_of(dairy.owner.premises, lot, NOW)
    # Salt 2.0 %, moisture 55 %: S/M 3.636 %, aw 0.9795 by aw = 1 − 0.033 m (Marcos 1981), worked by hand
    assert found.composition.salt_in_moisture == pytest.approx(3.636, abs=0.001)
    assert found.composition.aw_taken is not None
    assert found.composition.aw_taken.value == pytest.approx(0.9795, abs=0.0005)
    # pH 5.6 and 0.98: able to support Listeria by 2073/2005; table B of the Food Code asks for an assessment
    assert "able to grow" in found.judgements[0].words
    assert "until an assessment" in found.judgements[1].words
    growth = {one.organism: one for one in found.advice}
    assert growth["Listeria monocytogenes"].log10_increase > 0.3
    assert all("Advice only" in one.caution and one.range_sentence for one in found.advice)
    assert found.history is not None
    assert set(found.history.temperature_c.tolist()) == {12.0}

    with time_machine.travel(NOW, tick=False):
        page = signed_in(dairy.helper).get(reverse("ripening:growth", args=[make.pk])).content.decode()
    assert "This is advice, and no ruling." in page
    assert page.count("The model lets") == 3
    assert "cfu" not in page


def test_below_forty_per_cent_moisture_the_equation_is_not_used() -> None:
    dairy = open_dairy()
    make = dairy.start_make(at=NOW - 5 * DAY)
    _measured(dairy, make.lot_id, moisture="37", salt="3.5", ph="5.3")
    found = growth_of(dairy.owner.premises, make.lot, NOW)
    assert found.composition.aw_by_salt is not None
    assert found.composition.aw_by_salt.warnings
    assert found.composition.aw_taken is None
    assert any("No water activity" in sentence for sentence in found.missing)


def test_advice_never_turns_a_breach_into_a_pass() -> None:
    """A cold room breached its limit; nothing could grow at 2 °C and pH 4.0, and the hold stands all the same."""
    dairy = open_dairy()
    make = dairy.start_make(at=NOW - 3 * DAY)
    dairy.event(make, "placed_in_room", at=NOW - 3 * DAY + HOUR, place=dairy.room)
    for day in (2, 1):
        dairy.save("Room 1 temperature", "2.0", at=NOW - day * DAY, instrument_id=dairy.thermometer.id)
    _measured(dairy, make.lot_id, moisture="50", salt="6", ph="4.0")
    before = [list(model.objects.order_by("pk").values()) for model in (RulingRow, Deviation, Hold)]
    found = growth_of(dairy.owner.premises, make.lot, NOW)
    assert {one.log10_increase for one in found.advice} == {0.0}
    assert [list(model.objects.order_by("pk").values()) for model in (RulingRow, Deviation, Hold)] == before
    assert Hold.objects.standing().filter(lot=make.lot).exists()
