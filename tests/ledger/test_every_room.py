"""What the rooms above seal, and what the database refuses to change."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction
from django.db.models import Model

from haccp.checks import actions as checks
from haccp.checks.models import MissedCheck
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.ledger import triggers
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.models import Hold
from haccp.plan.models import CriticalLimit
from tests.dairy import Dairy, open_dairy

pytestmark = pytest.mark.django_db
SEALED = [
    "lots.Lot",
    "lots.LotEvent",
    "lots.LotLink",
    "lots.Hold",
    "checks.Record",
    "checks.Reading",
    "checks.RulingRow",
    "checks.MissedCheck",
    "checks.MissedReason",
    "deviations.Deviation",
    "deviations.ImplicatedLot",
    "deviations.CorrectiveStep",
    "intake.MilkLot",
    "making.Make",
]


@pytest.fixture
def dairy() -> Dairy:
    """A dairy in which at least one row of every sealed kind was made through the actions."""
    dairy = open_dairy()
    morning = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
    make = dairy.start_make(at=morning)
    dairy.event(make, "placed_in_room", at=morning + timedelta(hours=10), place=dairy.room)
    dairy.save("Room 1 temperature", "16.5", at=morning + timedelta(days=1), instrument_id=dairy.thermometer.id)
    checks.sweep(now=morning + timedelta(days=2))
    missed = MissedCheck.objects.first()
    assert missed is not None
    checks.missed_reason_give(scope=dairy.helper, missed_id=missed.id, text="The vat overflowed.")
    deviation = Deviation.objects.get(cause="ruling")
    deviations.step_add(
        scope=dairy.maker, step_id=uuid4(), deviation_id=deviation.id, kind="cause", text="The door stood open."
    )
    assert Hold.objects.exists()
    return dairy


def test_every_row_agrees_with_its_entry(dairy: Dairy) -> None:
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem


@pytest.mark.parametrize("label", SEALED)
def test_a_sealed_row_refuses_update_and_delete_in_raw_sql_too(dairy: Dairy, label: str) -> None:
    model: type[Model] = apps.get_model(label)
    row = model._default_manager.first()
    assert row is not None
    table, column = model._meta.db_table, model._meta.pk.column
    for statement in (f'UPDATE "{table}" SET "{column}" = "{column}"', f'DELETE FROM "{table}"'):
        with pytest.raises(DatabaseError, match="sealed"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)


def test_an_approved_limit_refuses_to_become_laxer(dairy: Dairy) -> None:
    limit = CriticalLimit.objects.get(statement__startswith="At least 63")
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        CriticalLimit.objects.filter(pk=limit.pk).update(low=50.0)
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        limit.products.add(dairy.product)


def test_a_reading_changed_behind_the_triggers_is_named(dairy: Dairy) -> None:

    with triggers.lifted(connection), connection.cursor() as cursor:
        cursor.execute("UPDATE checks_reading SET value_si = 11.0 WHERE typed_text = '16.5'")
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert not report.holds
    assert "record:" in str(report.problem)
