"""The review of the plan as a check: due by the plan's history, answered by the review that is signed."""

from collections.abc import Iterator
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from haccp.checks.actions.plan_due import HORIZON, insert_due
from haccp.checks.actions.records import EntryTyped, record_of_review
from haccp.checks.models import DueCheck
from haccp.plan.document.own_review import CADENCE, CHANGE_NEEDED, NO_CHANGE
from haccp.plan.models import Check, Measure, PlanReview, PlanRevision
from haccp.plan.occasions import occasions_since
from haccp.plan.queries import revision_in_force
from haccp.plan.reviewing import Occasion, review_due
from haccp.premises.models import Premises
from haccp.premises.scope import Scope


@transaction.atomic
def plan_due_review(*, premises: Premises, now: datetime, before: PlanReview | None = None) -> int:
    """The due review of the plan in force, and those of its past that came too late. Returns how many rows are new.

    From each review and each new revision the next is counted anew, so that a sweep after weeks gives the rows that
    a sweep every minute would have given. What is due no more, because the plan was replaced or a call came first,
    is taken back. before: as it was before that review was signed, so that the review finds what it answers.
    """
    wanted = [row for row in _rows(premises, now, before) if row.opens_at <= now + HORIZON]
    keys = {(row.check_due_id, row.slot_key) for row in wanted}
    standing = DueCheck.objects.for_premises(premises).unsettled().filter(check_due__cadence=CADENCE)
    for due in standing:
        if (due.check_due_id, due.slot_key) not in keys:
            DueCheck.objects.filter(pk=due.pk, settled_at__isnull=True).delete()
    return insert_due(wanted)


def after_review(scope: Scope, review: PlanReview | None, at: datetime) -> None:
    """Registered in haccp.plan.consequences: the review answers its check, and the next is planned."""
    plan_due_review(premises=scope.premises, now=at, before=review)
    if review is None:
        return
    revision = revision_in_force(scope.premises, at)
    check = _check_of(revision) if revision else None
    if check is not None:
        due = (
            DueCheck.objects.for_premises(scope.premises)
            .filter(check_due=check, records__isnull=True, opens_at__lte=at)
            .order_by("-due_at")
            .first()
        )
        record_of_review(
            scope=scope,
            record_id=review.pk,
            check_id=check.pk,
            entries=dict(_entries(check, review)),
            observed_at=review.reviewed_at,
            due_id=due.pk if due else None,
            now=at,
        )
    plan_due_review(premises=scope.premises, now=at)


def _rows(premises: Premises, now: datetime, before: PlanReview | None) -> Iterator[DueCheck]:
    revisions = list(
        PlanRevision.objects.for_premises(premises)
        .approved()
        .filter(effective_from__lte=now)
        .order_by("effective_from", "number")
    )
    if not revisions:
        return
    checks = {
        check.revision_id: check
        for check in Check.objects.filter(revision__in=revisions, cadence=CADENCE).order_by("-name")
    }
    reviews = PlanReview.objects.filter(revision__premises=premises, reviewed_at__lte=now)
    if before is not None:
        reviews = reviews.exclude(pk=before.pk)
    starts = [one.effective_from for one in revisions if one.effective_from is not None]
    marks = sorted({*starts, *reviews.values_list("reviewed_at", flat=True)})
    first_day = premises.local_date(marks[0])
    occasions = occasions_since(revisions[-1], first_day, now)
    for mark, following in zip(marks, [*marks[1:], None], strict=True):
        revision = next(one for one in reversed(revisions) if one.effective_from and one.effective_from <= mark)
        check = checks.get(revision.pk)
        if check is None:
            continue
        row = _row(premises, revision, check, premises.local_date(mark), occasions)
        if following is None or row.grace_ends_at < following:
            yield row


def _row(premises: Premises, revision: PlanRevision, check: Check, since: date, occasions: list[Occasion]) -> DueCheck:
    due = review_due(
        in_force_since=since, reviewed_on=(), every_months=revision.review_every_months, occasions=occasions
    )
    opens_at, due_at, grace_ends_at = due.window(premises.zone, before_s=check.window_before_s, grace_s=check.grace_s)
    return DueCheck(
        premises=premises,
        check_due=check,
        slot_key=f"|review since {since.isoformat()} due {due_at.date().isoformat()}",
        opens_at=opens_at,
        due_at=due_at,
        grace_ends_at=grace_ends_at,
    )


def _check_of(revision: PlanRevision) -> Check | None:
    return revision.checks.filter(cadence=CADENCE).order_by("name").first()


def _entries(check: Check, review: PlanReview) -> Iterator[tuple[UUID, EntryTyped]]:
    """What the review says, for the measures that ask it: the first text, and an answer of yes and no."""
    measures = list(check.measures.all())
    text = next((one for one in measures if one.kind == Measure.Kind.TEXT), None)
    answer = next((one for one in measures if {CHANGE_NEEDED, NO_CHANGE} == set(one.choices)), None)
    if text is not None:
        yield text.pk, EntryTyped(review.outcome)
    if answer is not None:
        yield answer.pk, EntryTyped(CHANGE_NEEDED if review.change_needed else NO_CHANGE)
