"""Checks that are due each day while a batch is in a room."""

from datetime import UTC, datetime, timedelta

import pytest

from haccp.checks import actions as checks
from haccp.checks.actions.plan_due import lots_with_daily_checks
from haccp.checks.models import DueCheck
from haccp.lots.actions import hold_lift
from haccp.lots.kinds import EventKind
from haccp.lots.models import Hold
from haccp.plan import actions as plan
from tests.dairy import PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)


def dairy_that_turns_its_cheese() -> Dairy:
    dairy = open_dairy()
    revision = plan.revision_copy(scope=dairy.owner, change_summary="Turning", at=MORNING)
    plan.control_point_add(
        scope=dairy.owner,
        revision=revision,
        draft=plan.ControlPointDraft(
            code="CCP 4",
            name="Rind",
            kind="ccp",
            corrective_action="Wash the rind.",
            limits=[
                plan.LimitDraft(
                    key="look",
                    statement="No blue mould",
                    quantity="answer",
                    evaluator="answer",
                    comparator="one_of",
                    accepted=["none"],
                )
            ],
            checks=[
                plan.CheckDraft(
                    name="Turned",
                    subject="batch",
                    cadence={
                        "kind": "event_daily",
                        "event": EventKind.PLACED_IN_ROOM,
                        "until_event": EventKind.LEFT_ROOM,
                        "at": "09:00",
                        "every_days": 1,
                    },
                    measures=[plan.MeasureDraft("Mould", "answer", choices=["none", "some"], limits=["look"])],
                )
            ],
        ),
    )
    dairy.revision = plan.revision_approve(
        scope=dairy.owner, revision=revision, effective_from=MORNING, password=PASSWORD, at=MORNING
    )
    return dairy


def test_a_batch_is_due_each_day_from_the_room_to_its_end_and_costs_nothing_after() -> None:
    dairy = dairy_that_turns_its_cheese()
    start = MORNING + timedelta(hours=1)
    make = dairy.start_make(at=start)
    assert list(lots_with_daily_checks(dairy.owner.premises)) == []

    dairy.event(make, EventKind.PLACED_IN_ROOM, at=start + timedelta(hours=10), place=dairy.room)
    assert list(lots_with_daily_checks(dairy.owner.premises)) == [make.lot]
    for days in range(1, 4):
        checks.sweep(now=start + timedelta(days=days))
    turned = DueCheck.objects.filter(check_due__name="Turned", lot=make.lot)
    before_leaving = start + timedelta(days=4)
    assert turned.filter(due_at__lt=before_leaving).count() == 3

    # Nobody heated this milk, and what is on hold may not leave: that is another matter, and is settled here.
    for hold in Hold.objects.filter(lot=make.lot):
        hold_lift(scope=dairy.owner, hold=hold, reason="Looked at.", at=before_leaving)
    dairy.event(make, EventKind.LEFT_ROOM, at=before_leaving)
    assert list(lots_with_daily_checks(dairy.owner.premises)) == []
    # The check of that morning had been planned already; it is due no more.
    assert not turned.filter(due_at__gte=before_leaving).exists()
