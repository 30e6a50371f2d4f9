"""What came into stock on a day, what left, was sold, lost or came back: for the day book."""

from datetime import datetime

from django.db.models import Count, Sum

from batches.stock.models import CounterSale, Dispatch, Item, ItemEvent
from haccp.checks.daybook import JsonDict, Section
from haccp.premises.models import Premises
from haccp.science.units import show

Kind = ItemEvent.Kind
TOLD = (Kind.SAMPLE, Kind.LOSS, Kind.RETURNED)


def day_section(premises: Premises, start: datetime, end: datetime) -> Section:
    """In a constant number of queries. A day's total over the counter belongs to the day that it is of."""
    return Section(
        "Into stock, dispatched, sold",
        (
            *_entered(premises, start, end),
            *_dispatched(premises, start, end),
            *_by_the_piece(premises, start, end),
            *_over_the_counter(premises, start),
        ),
    )


def _line(row_id: object, reference: str, what: str, text: str) -> JsonDict:
    return {"id": str(row_id), "reference": reference, "what": what, "text": text}


def _entered(premises: Premises, start: datetime, end: datetime) -> list[JsonDict]:
    """Whole pieces by batch and kind; what was cut from a piece is in stock already."""
    rows = (
        Item.objects.for_premises(premises)
        .filter(parent__isnull=True, entered_at__gte=start, entered_at__lt=end)
        .order_by()
        .values("lot", "lot__code", "kind")
        .annotate(count=Count("pk"), kg=Sum("weight_kg"))
        .order_by("lot__code", "kind")
    )
    return [
        _line(
            row["lot"],
            row["lot__code"],
            "into stock",
            f"{row['count']} × {Item.Kind(row['kind']).label}, {show('mass', row['kg'])}",
        )
        for row in rows
    ]


def _dispatched(premises: Premises, start: datetime, end: datetime) -> list[JsonDict]:
    rows = Dispatch.objects.filter(premises=premises, dispatched_at__gte=start, dispatched_at__lt=end)
    lines = []
    for one in rows.select_related("customer").prefetch_related("events__item__lot").order_by("dispatched_at", "pk"):
        events = list(one.events.all())
        codes = ", ".join(sorted({event.item.lot.code for event in events}))
        kg = show("mass", sum(event.weight_kg for event in events))
        text = f"{len(events)} pieces of {codes}, {kg}, {one.document_type} {one.document_number}"
        lines.append(_line(one.pk, one.customer.name, f"dispatch {one.number}", text))
    return lines


def _by_the_piece(premises: Premises, start: datetime, end: datetime) -> list[JsonDict]:
    rows = ItemEvent.objects.filter(
        item__lot__premises=premises, kind__in=TOLD, occurred_at__gte=start, occurred_at__lt=end
    )
    return [
        _line(one.pk, str(one.item), str(one.get_kind_display()), f"{show('mass', one.weight_kg)}. {one.note}".strip())
        for one in rows.select_related("item__lot").order_by("occurred_at", "recorded_at", "pk")
    ]


def _over_the_counter(premises: Premises, start: datetime) -> list[JsonDict]:
    day = premises.local_date(start)
    rows = CounterSale.objects.filter(lot__premises=premises, day=day).select_related("lot").order_by("recorded_at")
    return [
        _line(one.pk, one.lot.code, "over the counter", f"{one.typed_weight} {one.typed_unit} in all") for one in rows
    ]
