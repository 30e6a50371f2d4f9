"""What a new revision changes for batches in progress, and moving one of them to it."""

import dataclasses
from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.lots.models import RevisionMove
from haccp.lots.queries import batches_in_progress, batches_touched, revision_ids_of
from haccp.plan import actions as plan
from haccp.plan.document.parts import CriticalLimit
from haccp.plan.models import PlanRevision
from haccp.plan.rows import read_plan
from haccp.premises.errors import ActionError, NotAllowed
from tests.dairy import PASSWORD, Dairy, open_dairy

pytestmark = pytest.mark.django_db
MORNING = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()


def lower_ph(dairy: Dairy, *, at: datetime) -> PlanRevision:
    """A second revision, copied from the first: pH at most 5.30 within the six hours."""
    draft = plan.revision_copy(scope=dairy.owner, change_summary="Lower pH.", at=at)
    old = next(part for part in read_plan(draft).limits if isinstance(part, CriticalLimit) and part.quantity == "ph")
    new = dataclasses.replace(old, statement="pH at most 5.30 within 6 h of the starter", high=5.3)
    plan.part_change(scope=dairy.owner, revision=draft, part=new)
    return plan.revision_approve(scope=dairy.owner, revision=draft, effective_from=at, password=PASSWORD, at=at)


def test_a_new_revision_tells_what_it_would_change_for_each_batch_in_progress(dairy: Dairy) -> None:
    gone, made = (dairy.start_make(at=MORNING + timedelta(days=n)) for n in range(2))
    dairy.event(gone, "placed_in_room", at=MORNING + 10 * HOUR, place=dairy.room)
    dairy.event(gone, "left_room", at=MORNING + 20 * HOUR)
    assert [lot.pk for lot in batches_in_progress(dairy.owner.premises)] == [made.lot_id]

    revision = lower_ph(dairy, at=MORNING + timedelta(days=2))

    (touched,) = batches_touched(revision)
    assert touched.lot.pk == made.lot_id
    assert touched.stands_under == dairy.revision
    assert [change.sentence for change in touched.changes] == [
        "Limit “pH at most 5.30 within 6 h of the starter”: statement: “pH at most 5.40 within 6 h of the starter” → "
        "“pH at most 5.30 within 6 h of the starter”; highest value: pH 5.40 → pH 5.30."
    ]


def test_a_batch_stays_under_the_revision_that_it_began_with(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    lower_ph(dairy, at=MORNING + HOUR)
    dairy.event(make, "starter_added", at=MORNING + 2 * HOUR)

    due = DueCheck.objects.filter(lot=make.lot, check_due__name="pH of the curd")
    assert {row.check_due.revision_id for row in due} == {dairy.revision.pk}


def test_a_batch_moved_with_a_reason_is_checked_by_the_later_revision_from_then_on(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "starter_added", at=MORNING + HOUR)  # due 2, 4 and 6 h later
    revision = lower_ph(dairy, at=MORNING + 2 * HOUR)
    now = MORNING + 4 * HOUR

    checks.batch_move_to_revision(
        scope=dairy.owner, lot_id=make.lot_id, revision_id=revision.pk, reason="Set after the change.", now=now
    )

    due = DueCheck.objects.filter(lot=make.lot, check_due__name="pH of the curd").order_by("due_at")
    assert [(row.due_at, row.check_due.revision_id) for row in due] == [
        (MORNING + 3 * HOUR, dairy.revision.pk),
        (MORNING + 5 * HOUR, revision.pk),
        (MORNING + 7 * HOUR, revision.pk),
    ]
    assert revision_ids_of([make.lot]) == {make.lot_id: revision.pk}
    assert make.lot.revision_id == dairy.revision.pk
    assert batches_touched(revision) == []
    assert verify_log(Log.objects.get(pk=dairy.owner.log_id)).holds
    with pytest.raises(IntegrityError), transaction.atomic():
        RevisionMove.objects.update(reason="none")


def test_a_sweep_after_a_move_plans_nothing_twice(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    dairy.event(make, "starter_added", at=MORNING + HOUR)
    revision = lower_ph(dairy, at=MORNING + 2 * HOUR)
    now = MORNING + 4 * HOUR
    checks.batch_move_to_revision(scope=dairy.owner, lot_id=make.lot_id, revision_id=revision.pk, reason="R.", now=now)
    before = DueCheck.objects.filter(lot=make.lot).count()

    assert checks.plan_due_for_lot(lot=make.lot, now=now + HOUR) == 0
    assert DueCheck.objects.filter(lot=make.lot).count() == before


def test_a_move_is_refused_in_words(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    revision = lower_ph(dairy, at=MORNING + HOUR)
    draft = plan.revision_copy(scope=dairy.owner, change_summary="Third.", at=MORNING + HOUR)

    def move(to: PlanRevision, reason: str = "Why not.", scope: object = dairy.owner) -> None:
        checks.batch_move_to_revision(
            scope=scope,  # type: ignore[arg-type]
            lot_id=make.lot_id,
            revision_id=to.pk,
            reason=reason,
            now=MORNING + 2 * HOUR,
        )

    with pytest.raises(ActionError, match="Say why the batch is moved"):
        move(revision, reason=" ")
    with pytest.raises(ActionError, match="is a draft; approve it first"):
        move(draft)
    with pytest.raises(ActionError, match="stands under Revision 1 already"):
        move(dairy.revision)
    with pytest.raises(NotAllowed):
        move(revision, scope=dairy.maker)
    with pytest.raises(ActionError, match="no such batch or plan"):
        move(revision, scope=open_dairy(name="Other Dairy").owner)
    assert not RevisionMove.objects.exists()


def test_a_revision_written_anew_takes_no_batch_over(dairy: Dairy) -> None:
    make = dairy.start_make(at=MORNING)
    old = read_plan(dairy.revision)
    anew = plan.revision_draft(scope=dairy.owner, scope_statement="All.", change_summary="Anew.", at=MORNING)
    step = plan.step_add(scope=dairy.owner, revision=anew, name="Milk received", kind="reception")
    point = next(one for one in old.control_points if one.code == "CCP 1")
    limit = next(one for one in old.limits if one.control_point == point.key)
    check = next(one for one in old.checks if one.control_point == point.key)
    plan.control_point_add(
        scope=dairy.owner,
        revision=anew,
        draft=plan.ControlPointDraft(
            code="CCP 1", name=point.name, kind="ccp", corrective_action="Hold it.", step=step,
            limits=[
                plan.LimitDraft(
                    "hold", limit.statement, limit.quantity, limit.evaluator, limit.comparator, low=limit.low,
                    parameters=limit.parameters, unit=limit.unit,
                )
            ],
            checks=[
                plan.CheckDraft(
                    check.name, check.subject, check.cadence,
                    [plan.MeasureDraft("Recorder file", "recorder_file", "temperature", limits=["hold"])],
                )
            ],
        ),
    )  # fmt: skip
    with pytest.raises(ActionError, match="this plan does not describe it"):
        plan.revision_approve(
            scope=dairy.owner, revision=anew, effective_from=MORNING + HOUR, password=PASSWORD, at=MORNING + HOUR
        )
    plan.product_retire(scope=dairy.owner, product_id=dairy.product.pk, at=MORNING)
    anew = plan.revision_approve(
        scope=dairy.owner, revision=anew, effective_from=MORNING + HOUR, password=PASSWORD, at=MORNING + HOUR
    )

    with pytest.raises(ActionError, match="was not copied from Revision 1"):
        checks.batch_move_to_revision(
            scope=dairy.owner, lot_id=make.lot_id, revision_id=anew.pk, reason="Why not.", now=MORNING + 2 * HOUR
        )
