"""A record names the revision and limit it was judged by; judging it again years later gives the same ruling."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from haccp.checks import actions as checks
from haccp.checks.judging import judge_again
from haccp.checks.models import Record
from haccp.lots.kinds import EventKind
from haccp.plan import actions as plan
from haccp.premises.models import Instrument
from tests.dairy import PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def a_day_of_records(dairy: Dairy) -> None:
    """Met, close, breached, unproven and awaited; several readings; an answer; a curve with an amendment."""
    make = dairy.start_make(at=MORNING)
    dairy.save(
        "Milk acceptance", "9.0", "negative", at=MORNING, lot_id=make.lot.links_in.get().parent_id, **warm(dairy)
    )
    for temperature in ("11.0", "13.4", "13.95", "16.5"):
        dairy.save("Room 1 temperature", temperature, "11.0", at=MORNING + HOUR, **warm(dairy))
    starter = MORNING + HOUR
    dairy.event(make, EventKind.STARTER_ADDED, at=starter)
    first = None
    for hours, ph in ((2, "6.20"), (4, "5.80"), (5.9, "5.42")):
        saved = dairy.save(
            "pH of the curd", ph, at=starter + hours * HOUR, lot_id=make.lot_id, instrument_id=dairy.ph_meter.id
        )
        first = first or saved.record
    assert first is not None
    # Amended after the later readings were judged: those must go on seeing what was known when they were.
    checks.record_amend(
        scope=dairy.maker,
        record_id=uuid4(),
        amends_id=first.id,
        entries=dairy.entries("pH of the curd", "5.10"),
        observed_at=first.observed_at,
        reason="Read the wrong line of the notebook.",
        instrument_id=dairy.ph_meter.id,
        now=starter + 8 * HOUR,
    )


def warm(dairy: Dairy) -> dict[str, object]:
    return {"instrument_id": dairy.thermometer.id}


def rulings() -> dict[str, set[tuple[object, str, float | None, str]]]:
    return {
        str(record.id): {(one.limit_id, one.ruling, one.margin, one.reason) for one in record.rulings.all()}
        for record in Record.objects.all()
    }


def again() -> dict[str, set[tuple[object, str, float | None, str]]]:
    return {
        str(record.id): {
            (limit.id, verdict.ruling.value, verdict.margin, verdict.reason) for limit, verdict in judge_again(record)
        }
        for record in Record.objects.all()
    }


def test_every_ruling_comes_out_the_same() -> None:
    dairy = open_dairy()
    a_day_of_records(dairy)
    kept = rulings()
    assert {ruling for rows in kept.values() for _, ruling, _, _ in rows} >= {
        "met", "close", "breached", "unproven", "awaited",
    }  # fmt: skip
    assert again() == kept


def test_neither_a_new_plan_nor_a_new_calibration_changes_an_old_ruling() -> None:
    dairy = open_dairy()
    a_day_of_records(dairy)
    kept = rulings()

    Instrument.objects.update(expanded_uncertainty=2.0, calibration_valid_until=datetime(2026, 1, 1, tzinfo=UTC).date())
    revision = plan.revision_copy(scope=dairy.owner, change_summary="Stricter", at=MORNING)
    plan.control_point_add(
        scope=dairy.owner,
        revision=revision,
        draft=plan.ControlPointDraft(
            code="CCP 4",
            name="Room",
            kind="ccp",
            corrective_action="Move them.",
            limits=[
                plan.LimitDraft(
                    key="air",
                    statement="Air at most 9 °C",
                    quantity="temperature",
                    evaluator="reading",
                    comparator="at_most",
                    high=9.0,
                )
            ],
            checks=[
                plan.CheckDraft(
                    name="Room 1 air",
                    subject="place",
                    place=dairy.room,
                    cadence={"kind": "by_hand"},
                    measures=[plan.MeasureDraft("Air", "number", "temperature", "°C", limits=["air"])],
                )
            ],
        ),
    )
    plan.revision_approve(
        scope=dairy.owner,
        revision=revision,
        effective_from=MORNING + 48 * HOUR,
        password=PASSWORD,
        at=MORNING + 48 * HOUR,
    )
    assert again() == kept
