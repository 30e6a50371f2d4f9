"""Control charts as people see them: signals in words, capability against the limit, constant cost."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from haccp.charts.drawn import charts_of
from haccp.charts.queries import limits_of, measures_charted, values_of
from tests.dairy import Dairy, open_dairy
from tests.web.pages import signed_in

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 30, 12, 0, tzinfo=UTC)
# NIST/SEMATECH e-Handbook, 6.3.2.2, worked example: flow rates with centre 50.81, mean moving range 1.8778 and limits
# 45.82 and 55.80.
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def test_a_room_s_temperature_is_charted_with_its_signals_and_its_limit() -> None:
    """The handbook's example with 40 taken from every value, so that it is air of a room: only the centre moves."""
    dairy = open_dairy()
    client = signed_in(dairy.helper)
    for i, value in enumerate(FLOW):
        dairy.save("Room 1 temperature", f"{value - 40:.1f}", at=NOW - timedelta(days=20 - i),
                   instrument_id=dairy.thermometer.id)  # fmt: skip
    measure = next(one for one in measures_charted(dairy.owner.premises, NOW) if one.label == "Top shelf")
    values = values_of(dairy.owner.premises, measure, None, NOW)
    assert [round(one.value, 1) for one in values] == [round(value - 40, 1) for value in FLOW]
    assert limits_of(measure, None) == (8.0, 14.0)
    drawn = charts_of(measure, values, 8.0, 14.0, "°C")
    assert "centre 10.81" in drawn.charts[0].svg
    assert "+3σ 15.8" in drawn.charts[0].svg
    assert "−3σ 5.81" in drawn.charts[0].svg
    assert drawn.charts[0].signals == ()
    assert drawn.capability is not None
    assert drawn.capability.cpk == pytest.approx(0.56, abs=0.02)

    with time_machine.travel(NOW, tick=False):
        with CaptureQueriesContext(connection) as few:
            page = client.get(reverse("charts:charts") + f"?measure={measure.key}").content.decode()
        assert "10 values" in page
        assert "cannot hold the limit by itself" in page
        saved = dairy.save("Room 1 temperature", "30.0", at=NOW - timedelta(days=5), instrument_id=dairy.thermometer.id)
        with CaptureQueriesContext(connection) as many:
            page = client.get(reverse("charts:charts") + f"?measure={measure.key}").content.decode()
        assert len(few) == len(many)
        assert "larger than the process makes by itself" in page
        assert reverse("checks:record", args=[saved.record.pk]) in page
        assert client.get(reverse("charts:charts") + "?measure=nonsense&product=none").status_code == 200


def test_a_chart_of_batches_takes_the_last_value_of_each_and_one_cheese_at_a_time() -> None:
    dairy: Dairy = open_dairy()
    for n in range(4, 0, -1):
        make = dairy.start_make(at=NOW - timedelta(days=n))
        dairy.event(make, "starter_added", at=make.lot.begun_at)
        for hours, value in ((2, 6.2), (6, 5.2 + n / 100)):
            dairy.save("pH of the curd", str(value), at=make.lot.begun_at + timedelta(hours=hours),
                       instrument_id=dairy.ph_meter.id, lot_id=make.lot_id)  # fmt: skip
    measure = next(one for one in measures_charted(dairy.owner.premises, NOW) if one.quantity == "ph")
    values = values_of(dairy.owner.premises, measure, dairy.product, NOW)
    assert [round(one.value, 2) for one in values] == [5.24, 5.23, 5.22, 5.21]
    # One value, or values that never change, make no chart, and the page says so
    assert charts_of(measure, values[:1], None, None, "").problem
    assert charts_of(measure, [values[0]] * 5, None, None, "").problem
