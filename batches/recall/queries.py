"""Reads about recalls, and when the next exercise is due."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Prefetch, QuerySet

from batches.recall.models import Recall, RecallMark
from haccp.checks.daybook import JsonDict, Section
from haccp.checks.other_work import Work
from haccp.premises.models import Premises
from haccp.premises.scope import Scope

LOOKS_AHEAD = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Course:
    """A recall with its marks. chosen, finished: None while they are not."""

    recall: Recall
    marks: tuple[RecallMark, ...]

    @property
    def chosen(self) -> RecallMark | None:
        return self._one(RecallMark.Kind.CHOSEN)

    @property
    def finished(self) -> RecallMark | None:
        return self._one(RecallMark.Kind.FINISHED)

    @property
    def reached(self) -> dict[object, RecallMark]:
        """Customer's id -> when they were reached."""
        return {mark.customer_id: mark for mark in self.marks if mark.kind == RecallMark.Kind.REACHED}

    def _one(self, kind: str) -> RecallMark | None:
        return next((mark for mark in self.marks if mark.kind == kind), None)


def recalls_of(premises: Premises) -> QuerySet[Recall]:
    marks = RecallMark.objects.select_related("lot__product", "customer", "by", "recall")
    return (
        Recall.objects.filter(premises=premises)
        .select_related("started_by", "premises")
        .prefetch_related(Prefetch("marks", marks))
    )


def course_of(recall: Recall) -> Course:
    return Course(recall, tuple(recall.marks.all()))


def next_due(premises: Premises) -> date | None:
    """When the last finished recall says that it is to be tried again; None where none was finished or it says never.

    A real recall counts as well: it is the hardest exercise.
    """
    last = (
        RecallMark.objects.filter(recall__premises=premises, kind=RecallMark.Kind.FINISHED)
        .select_related("recall")
        .order_by("-at")
        .first()
    )
    if last is None or not last.recall.repeat_after_days:
        return None
    return premises.local_date(last.at) + timedelta(days=last.recall.repeat_after_days)


def exercise_due(scope: Scope, now: datetime) -> Sequence[Work]:
    """For the first page: the next exercise, from two weeks before it is due."""
    due = next_due(scope.premises)
    if due is None or due > scope.premises.local_date(now) + LOOKS_AHEAD:
        return ()
    return (Work(due, "Recall exercise: trace a lot and reach its customers", "recall:start"),)


def day_section(premises: Premises, start: datetime, end: datetime) -> Section:
    """For the day book: recalls and exercises begun and finished that day."""
    begun = recalls_of(premises).filter(started_at__gte=start, started_at__lt=end).order_by("started_at", "pk")
    finished = RecallMark.objects.filter(
        recall__premises=premises, kind=RecallMark.Kind.FINISHED, at__gte=start, at__lt=end
    )
    lines: list[JsonDict] = [
        {"id": str(one.pk), "reference": str(one.get_kind_display()), "what": "begun", "text": one.reason}
        for one in begun
    ]
    lines += [
        {"id": str(one.pk), "reference": str(one.recall.get_kind_display()), "what": "finished", "text": one.note}
        for one in finished.select_related("recall").order_by("at", "pk")
    ]
    return Section("Recalls", tuple(lines))
