"""Which releases, dispatches, sales and recalls a document speaks of, and the ledger's entries about them."""

from collections.abc import Iterator, Sequence
from typing import Any

from django.db.models import Q, QuerySet

from batches.recall.models import Recall, RecallMark
from batches.release.models import Release
from batches.stock.models import CounterSale, Dispatch, ItemEvent
from haccp.reports.gather.scope import PackScope

TOLD_BY_THE_PIECE = (ItemEvent.Kind.SAMPLE, ItemEvent.Kind.LOSS, ItemEvent.Kind.RETURNED)


def releases_in(scope: PackScope) -> QuerySet[Release]:
    return _of(scope, Release.objects.filter(lot__premises=scope.period.premises_id), "lot", "released_at")


def dispatches_in(scope: PackScope) -> QuerySet[Dispatch]:
    found = Dispatch.objects.filter(premises=scope.period.premises_id)
    return _of(scope, found, "events__item__lot", "dispatched_at").distinct()


def sales_in(scope: PackScope) -> QuerySet[CounterSale]:
    period, found = scope.period, CounterSale.objects.filter(lot__premises=scope.period.premises_id)
    if scope.choice.is_whole:
        return found.filter(day__gte=period.first_day, day__lte=period.last_day)
    return _of(scope, found, "lot", "recorded_at")


def pieces_in(scope: PackScope) -> QuerySet[ItemEvent]:
    """Samples, losses and what came back."""
    found = ItemEvent.objects.filter(item__lot__premises=scope.period.premises_id, kind__in=TOLD_BY_THE_PIECE)
    return _of(scope, found, "item__lot", "occurred_at")


def recalls_in(scope: PackScope) -> QuerySet[Recall]:
    """Of the whole dairy alone: a recall reaches beyond any batch."""
    period, found = scope.period, Recall.objects.filter(premises=scope.period.premises_id)
    if not scope.choice.is_whole:
        return found.none()
    return found.filter(started_at__gte=period.start, started_at__lt=period.end)


def trade_count(scope: PackScope) -> int:
    return sum(one.count() for one in _all(scope))


def trade_subjects(scope: PackScope) -> Iterator[str]:
    """Of the ledger's entries about all this."""
    for release, signature in releases_in(scope).values_list("id", "signature"):
        yield from (f"release:{release}", f"signature:{signature}")
    yield from (f"dispatch:{one}" for one in dispatches_in(scope).values_list("id", flat=True))
    sent = ItemEvent.objects.filter(dispatch__in=dispatches_in(scope).values("id"))
    yield from (f"item_event:{one}" for one in sent.values_list("id", flat=True))
    yield from (f"item_event:{one}" for one in pieces_in(scope).values_list("id", flat=True))
    yield from (f"counter_sale:{one}" for one in sales_in(scope).values_list("id", flat=True))
    recalls = recalls_in(scope)
    yield from (f"recall:{one}" for one in recalls.values_list("id", flat=True))
    marks = RecallMark.objects.filter(recall__in=recalls.values("id"))
    yield from (f"recall_mark:{one}" for one in marks.values_list("id", flat=True))


def _all(scope: PackScope) -> Sequence[QuerySet[Any]]:
    return releases_in(scope), dispatches_in(scope), sales_in(scope), pieces_in(scope), recalls_in(scope)


def _of(scope: PackScope, rows: QuerySet[Any], lot: str, moment: str) -> QuerySet[Any]:
    """In the period; of chosen lots whenever it was; of a control point nothing."""
    period, choice = scope.period, scope.choice
    if choice.is_whole:
        return rows.filter(Q(**{f"{moment}__gte": period.start, f"{moment}__lt": period.end}))
    return rows.filter(**{f"{lot}__in": scope.batch_ids}) if choice.of_lots else rows.none()
