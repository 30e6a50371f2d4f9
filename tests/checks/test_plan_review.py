"""The review of the plan as a check: due in the rounds, answered by the signed review, missed if nobody does it."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from haccp.checks import actions as checks
from haccp.checks import queries
from haccp.checks.models import DueCheck, MissedCheck, PlanningMark, Record
from haccp.deviations import actions as deviations
from haccp.deviations.models import Deviation
from haccp.ledger.models import Log
from haccp.ledger.verification import verify_log
from haccp.plan import actions as plan
from haccp.plan.document.own_review import CADENCE
from haccp.plan.document.parts import Borrowed, ProductDescription
from haccp.plan.library_store import library_ready
from haccp.plan.models import LibraryValue, PlanReview
from haccp.plan.queries import review_due_of
from haccp.premises import actions as premises
from haccp.premises.errors import ActionError, Conflict
from tests.dairy import OPENED_AT, PASSWORD, Dairy, open_dairy
from tests.web.pages import signed_in

DAY = timedelta(days=1)


@pytest.fixture
def dairy(db: None) -> Dairy:
    return open_dairy()


def reviews_due(dairy: Dairy) -> list[DueCheck]:
    return list(DueCheck.objects.filter(premises=dairy.owner.premises, check_due__cadence=CADENCE).order_by("due_at"))


def plan_until(dairy: Dairy, now: datetime) -> None:
    checks.plan_due_review(premises=dairy.owner.premises, now=now)


def review(dairy: Dairy, at: datetime, **more: object) -> PlanReview:
    typed: dict[str, object] = {"outcome": "All holds.", "change_needed": False, "password": PASSWORD}
    return plan.review_record(scope=dairy.owner, at=at, **(typed | more))  # type: ignore[arg-type]


def test_the_yearly_review_is_due_once_a_year_and_answered_by_the_signed_review(dairy: Dairy) -> None:
    plan_until(dairy, OPENED_AT + 300 * DAY)
    assert reviews_due(dairy) == []
    now = datetime(2027, 2, 20, 9, tzinfo=UTC)  # in force since 1 March 2026
    plan_until(dairy, now)
    plan_until(dairy, now + DAY)
    due = reviews_due(dairy)[0]
    assert (due.opens_at, due.due_at) == (datetime(2027, 2, 16, tzinfo=UTC), datetime(2027, 3, 2, tzinfo=UTC))
    assert due in [one for group in queries.today(dairy.owner.premises, now).due for one in group.checks]
    # It is signed on its own page, and nowhere else.
    helper = signed_in(dairy.helper)
    assert helper.get(reverse("checks:due", args=[due.pk]))["Location"] == reverse("plan:review")
    with pytest.raises(ActionError, match="A review of the plan is signed"):
        checks.record_save(
            scope=dairy.owner, record_id=uuid4(), check_id=due.check_due_id, entries={}, observed_at=now, due_id=due.pk,
            now=now,
        )  # fmt: skip
    review_id = uuid4()
    signed = review(dairy, now, review_id=review_id, change_needed=True)
    assert review(dairy, now, review_id=review_id, change_needed=True) == signed  # a double tap
    with pytest.raises(Conflict):
        review(dairy, now, review_id=review_id, outcome="Something else.")
    record = Record.objects.get(pk=review_id)
    assert (record.due, record.recorded_by) == (due, dairy.owner.user)
    assert [reading.choice for reading in record.readings.all()] == ["All holds.", "yes"]
    due.refresh_from_db()
    assert due.settled_at == now
    with pytest.raises(ActionError, match="A review of the plan is signed"):
        checks.record_amend(
            scope=dairy.owner, record_id=uuid4(), amends_id=record.pk, entries={}, observed_at=now, reason="x"
        )
    # The next one is a year after the review, not after the day it was due.
    plan_until(dairy, datetime(2028, 2, 20, tzinfo=UTC))
    assert [one.due_at.date() for one in reviews_due(dairy)] == [date(2027, 3, 2), date(2028, 2, 21)]
    report = verify_log(Log.objects.get(pk=dairy.owner.log_id))
    assert report.holds, report.problem


def test_a_review_that_nobody_does_is_missed_and_may_still_be_done_late(dairy: Dairy) -> None:
    PlanningMark.objects.update_or_create(
        premises=dairy.owner.premises, defaults={"planned_until": datetime(2027, 3, 20, tzinfo=UTC)}
    )  # only the review is of interest here, not a year of room temperatures
    late = datetime(2027, 3, 19, 12, tzinfo=UTC)
    checks.sweep(now=late)
    (due,) = reviews_due(dairy)
    missed = MissedCheck.objects.get(due=due)
    assert missed.missed_at == datetime(2027, 3, 16, tzinfo=UTC)
    assert not Deviation.objects.filter(missed=missed).exists()  # no cheese is touched by it
    signed = review(dairy, late)
    assert Record.objects.get(pk=signed.pk).due == due
    # A service that stood still all the while finds the same afterwards.
    DueCheck.objects.filter(pk=due.pk).update(slot_key="elsewhere")
    plan_until(dairy, late + DAY)
    again = [one for one in reviews_due(dairy) if one.slot_key != "elsewhere"]
    assert [(one.due_at, one.grace_ends_at) for one in again] == [(due.due_at, due.grace_ends_at)]


def test_what_calls_for_a_review_makes_it_due_within_a_week(dairy: Dairy) -> None:
    told = OPENED_AT + 20 * DAY
    plan.review_occasion_record(
        scope=dairy.owner, kind="complaint", description="A customer was ill.", occurred_at=told - 5 * DAY, at=told
    )
    (due,) = reviews_due(dairy)
    assert (due.opens_at.date(), due.due_at) == (told.date(), datetime(2026, 3, 29, tzinfo=UTC))
    # A second call before the review changes nothing; a new revision answers both.
    plan.review_occasion_record(
        scope=dairy.owner, kind="new_knowledge", description="A study.", occurred_at=told, at=told + DAY
    )
    assert reviews_due(dairy) == [due]
    review(dairy, told + 2 * DAY)
    plan_until(dairy, told + 3 * DAY)
    assert [one.settled_at for one in reviews_due(dairy)] == [told + 2 * DAY]


def test_a_new_revision_takes_back_the_review_of_the_old_one(dairy: Dairy) -> None:
    told = OPENED_AT + 20 * DAY
    plan.review_occasion_record(scope=dairy.owner, kind="other", description="x", occurred_at=told, at=told)
    assert len(reviews_due(dairy)) == 1
    draft = plan.revision_copy(scope=dairy.owner, change_summary="Better.", at=told + DAY)
    plan.revision_approve(
        scope=dairy.owner, revision=draft, effective_from=told + DAY, password=PASSWORD, at=told + DAY
    )
    plan_until(dairy, told + 2 * DAY)
    assert reviews_due(dairy) == []


def test_cheeses_equipment_deviations_and_replaced_sources_call_by_themselves(dairy: Dairy) -> None:
    def reasons(at: datetime) -> tuple[str, ...]:
        due = review_due_of(dairy.owner.premises, at)
        assert due is not None
        return due.reasons

    at = OPENED_AT + 10 * DAY
    assert reasons(at) == ("the yearly review",)
    premises.place_add(scope=dairy.owner, name="Office", kind="other", at=at)
    assert reasons(at) == ("the yearly review",)
    premises.place_add(scope=dairy.owner, name="Vat 2", kind="vat", at=at)
    plan.product_add(scope=dairy.owner, name="Blue", code="B", species="cow", treatment="raw", at=at + DAY)
    assert reasons(at + DAY) == ("new equipment: Vat 2", "new product: Blue")
    review(dairy, at + DAY)
    for day in (2, 3, 4):
        deviations.deviation_report(
            scope=dairy.maker, deviation_id=uuid4(), control_point_id=dairy.check("Vat 1 cleaned").control_point_id,
            summary="Chlorine too weak.", occurred_at=at + day * DAY, now=at + day * DAY,
        )  # fmt: skip
        found = reasons(at + day * DAY)
        assert found[0].startswith("trend of deviations: 3 at") == (day == 4)
    draft = plan.revision_copy(scope=dairy.owner, change_summary="x", at=at + 5 * DAY)
    library_ready(at=at)
    value = LibraryValue.objects.filter(superseded_by="")[0]
    borrowed = Borrowed(part=draft.limits.all()[0].key, entry=value.key, document="x", jurisdiction="EU")
    plan.part_add(scope=dairy.owner, revision=draft, part=borrowed)
    plan.part_add(scope=dairy.owner, revision=draft, part=ProductDescription(product="B", herds_free="yes"))
    plan.revision_approve(
        scope=dairy.owner, revision=draft, effective_from=at + 6 * DAY, password=PASSWORD, at=at + 6 * DAY
    )
    assert reasons(at + 7 * DAY) == ("the yearly review",)
    LibraryValue.objects.filter(pk=value.pk).update(superseded_by="newer", effective_to=(at + 8 * DAY).date())
    assert reasons(at + 9 * DAY) == (f"changed law or published limit: {value.title}",)
