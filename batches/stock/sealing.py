"""What the ledger says of stock: made the same way when a row is sealed and when it is verified."""

from batches.stock.models import Arrival, CounterSale, Dispatch, Item, ItemEvent, Transfer
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]


def item_body(item: Item) -> Body:
    return {
        "lot": item.lot_id,
        "number": item.number,
        "kind": item.kind,
        "parent": item.parent_id,
        "weight_kg": item.weight_kg,
        "typed": f"{item.typed_weight} {item.typed_unit}",
        "place": item.place_id,
        "best_before": item.best_before,
        "entered": item.entered_at,
        "recorded": item.recorded_at,
        "by": item.recorded_by_id,
    }


def event_body(event: ItemEvent) -> Body:
    return {
        "item": event.item_id,
        "kind": event.kind,
        "ends": event.ends,
        "weight_kg": event.weight_kg,
        "place": event.place_id,
        "dispatch": event.dispatch_id,
        "note": event.note,
        "occurred": event.occurred_at,
        "recorded": event.recorded_at,
        "by": event.recorded_by_id,
    }


def dispatch_body(dispatch: Dispatch) -> Body:
    """The customer by id alone: names and addresses of people are not put where they cannot be forgotten."""
    return {
        "number": dispatch.number,
        "customer": dispatch.customer_id,
        "document": f"{dispatch.document_type} {dispatch.document_number}",
        "dispatched": dispatch.dispatched_at,
        "note": dispatch.note,
        "recorded": dispatch.recorded_at,
        "by": dispatch.recorded_by_id,
    }


def sale_body(sale: CounterSale) -> Body:
    return {
        "lot": sale.lot_id,
        "day": sale.day,
        "weight_kg": sale.weight_kg,
        "typed": f"{sale.typed_weight} {sale.typed_unit}",
        "recorded": sale.recorded_at,
        "by": sale.recorded_by_id,
    }


def transfer_body(transfer: Transfer) -> Body:
    return {"dispatch": transfer.dispatch_id, "receiver": transfer.receiver_id}


def arrival_body(arrival: Arrival) -> Body:
    return {
        "dispatch": arrival.dispatch_id,
        "note": arrival.note,
        "arrived": arrival.arrived_at,
        "recorded": arrival.recorded_at,
        "by": arrival.recorded_by_id,
        "lots": sorted(
            [
                [str(one.lot_id), one.cheese, one.origin_code, one.sent_pieces, one.sent_kg, one.pieces, one.weight_kg]
                for one in arrival.lots.all()
            ],
            key=str,
        ),
    }


def register() -> None:
    register_rows(
        "stock.entered",
        prefix="item",
        rows=Item.objects.all,
        body=item_body,
        log_key="lot__premises__log__key",
    )
    register_rows(
        "stock.event",
        prefix="item_event",
        rows=ItemEvent.objects.all,
        body=event_body,
        log_key="item__lot__premises__log__key",
    )
    register_rows(
        "stock.dispatched",
        prefix="dispatch",
        rows=Dispatch.objects.all,
        body=dispatch_body,
        log_key="premises__log__key",
    )
    register_rows(
        "stock.transfer",
        prefix="transfer",
        rows=Transfer.objects.all,
        body=transfer_body,
        log_key="dispatch__premises__log__key",
    )
    register_rows(
        "stock.arrived",
        prefix="arrival",
        rows=lambda: Arrival.objects.prefetch_related("lots"),
        body=arrival_body,
        log_key="premises__log__key",
    )
    register_rows(
        "stock.counter_total",
        prefix="counter_sale",
        rows=CounterSale.objects.all,
        body=sale_body,
        log_key="lot__premises__log__key",
    )
