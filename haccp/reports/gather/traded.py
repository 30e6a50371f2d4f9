"""Which releases, dispatches, sales and recalls a document speaks of, and the ledger's entries about them."""

from collections.abc import Iterator
from typing import Any

from django.db.models import Q, QuerySet

from batches.recall.models import Recall, RecallMark
from batches.release.models import Release
from batches.stock.models import CounterSale, Dispatch, ItemEvent, Transfer
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
    """Of the whole dairy, or the one that was chosen: a recall reaches beyond any batch."""
    period, found = scope.period, Recall.objects.filter(premises=scope.period.premises_id)
    if scope.choice.recall:
        return found.filter(pk=scope.choice.recall)
    if not scope.choice.is_whole:
        return found.none()
    return found.filter(started_at__gte=period.start, started_at__lt=period.end)


def marks_in(scope: PackScope) -> QuerySet[RecallMark]:
    return RecallMark.objects.filter(recall__in=recalls_in(scope).values("id"))


def trade_subjects(scope: PackScope) -> Iterator[str]:
    """Of entries behind the lines: signatures of releases, the pieces of dispatches, moves."""
    yield from (f"signature:{one}" for one in releases_in(scope).values_list("signature", flat=True))
    yield from (f"release:{one}" for one in releases_in(scope).values_list("id", flat=True))
    sent = dispatches_in(scope).values("id")
    events = ItemEvent.objects.filter(dispatch__in=sent)
    yield from (f"item_event:{one}" for one in events.values_list("id", flat=True))
    yield from (f"transfer:{one}" for one in Transfer.objects.filter(dispatch__in=sent).values_list("pk", flat=True))


def _of(scope: PackScope, rows: QuerySet[Any], lot: str, moment: str) -> QuerySet[Any]:
    """In the period; of chosen lots whenever it was; of a control point nothing."""
    period, choice = scope.period, scope.choice
    if choice.is_whole:
        return rows.filter(Q(**{f"{moment}__gte": period.start, f"{moment}__lt": period.end}))
    return rows.filter(**{f"{lot}__in": scope.batch_ids}) if choice.of_lots else rows.none()
