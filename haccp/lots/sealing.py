"""What the ledger says of lots: made the same way when a row is sealed and when it is verified."""

from haccp.ledger.sealed_rows import register_rows
from haccp.lots.models import Hold, HoldLift, Lot, LotEvent, LotLink, LotOrigin, RevisionMove

Body = dict[str, object]


def lot_body(lot: Lot) -> Body:
    return {
        "kind": lot.kind,
        "code": lot.code,
        "product": lot.product_id,
        "revision": lot.revision_id,
        "begun": lot.begun_at,
        "recorded": lot.recorded_at,
        "by": lot.recorded_by_id,
    }


def event_body(event: LotEvent) -> Body:
    body: Body = {
        "lot": event.lot_id,
        "kind": event.kind,
        "place": event.place_id,
        "occurred": event.occurred_at,
        "recorded": event.recorded_at,
        "by": event.recorded_by_id,
        "note": event.note,
    }
    body |= {"withdrawn": True} if event.withdrawn else {}
    says_why = event.corrects_id or event.reason
    return body | ({"corrects": event.corrects_id, "reason": event.reason} if says_why else {})


def link_body(link: LotLink) -> Body:
    return {
        "parent": link.parent_id,
        "child": link.child_id,
        "amount": link.amount,
        "unit": link.unit,
        "recorded": link.recorded_at,
    }


def origin_body(row: LotOrigin) -> Body:
    return {"lot": row.lot_id, "origin": row.origin_id, "steps": row.steps}


def hold_body(hold: Hold) -> Body:
    return {"lot": hold.lot_id, "cause": hold.cause, "reason": hold.reason, "placed": hold.placed_at}


def lift_body(lift: HoldLift) -> Body:
    return {"hold": lift.hold_id, "reason": lift.reason, "lifted": lift.lifted_at, "by": lift.lifted_by_id}


def move_body(move: RevisionMove) -> Body:
    return {
        "lot": move.lot_id,
        "from": move.from_revision_id,
        "to": move.to_revision_id,
        "reason": move.reason,
        "moved": move.moved_at,
        "by": move.moved_by_id,
    }


def register() -> None:
    register_rows(
        "lot.moved_to_revision",
        prefix="revision_move",
        rows=RevisionMove.objects.all,
        body=move_body,
        log_key="lot__premises__log__key",
    )
    register_rows("lot.opened", prefix="lot", rows=Lot.objects.all, body=lot_body, log_key="premises__log__key")
    register_rows(
        "lot.event",
        prefix="lot_event",
        rows=LotEvent.every.all,
        body=event_body,
        log_key="lot__premises__log__key",
    )
    register_rows(
        "lot.link",
        prefix="lot_link",
        rows=LotLink.objects.all,
        body=link_body,
        log_key="parent__premises__log__key",
    )
    register_rows(
        "lot.came_from",
        prefix="lot_origin",
        rows=LotOrigin.objects.all,
        body=origin_body,
        log_key="lot__premises__log__key",
    )
    register_rows(
        "hold.placed", prefix="hold", rows=Hold.objects.all, body=hold_body, log_key="lot__premises__log__key"
    )
    register_rows(
        "hold.lifted",
        prefix="hold_lift",
        rows=HoldLift.objects.all,
        body=lift_body,
        log_key="hold__lot__premises__log__key",
    )
