"""What the ledger says of care, weights and climate: made the same way when a row is sealed and when it is verified."""

from batches.ripening.models import Care, RoomLog, RoomReading, Weighing
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]


def care_body(care: Care) -> Body:
    return {
        "kind": care.kind,
        "place": care.place_id,
        "done": care.done_at,
        "note": care.note,
        "recorded": care.recorded_at,
        "by": care.recorded_by_id,
        "lots": sorted(str(one.lot_id) for one in care.lots.all()),
    }


def weighing_body(one: Weighing) -> Body:
    return {
        "lot": one.lot_id,
        "pieces": one.pieces,
        "mass_kg": one.mass_kg,
        "typed": [one.typed_mass, one.typed_unit],
        "instrument": one.instrument_id,
        "instrument_unfit": one.instrument_unfit,
        "weighed": one.weighed_at,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def reading_body(one: RoomReading) -> Body:
    return {
        "place": one.place_id,
        "read": one.read_at,
        "temperature_c": one.temperature_c,
        "relative_humidity": one.relative_humidity,
        "typed": one.typed,
        "instrument": one.instrument_id,
        "expanded_uncertainty": one.expanded_uncertainty,
        "instrument_unfit": one.instrument_unfit,
        "note": one.note,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def log_body(one: RoomLog) -> Body:
    """The samples are sealed with the file that they stand in."""
    return {
        "place": one.place_id,
        "trace": one.trace_id,
        "channel": one.channel,
        "label": one.label,
        "quantity": one.quantity,
        "instrument": one.instrument_id,
        "expanded_uncertainty": one.expanded_uncertainty,
        "instrument_unfit": one.instrument_unfit,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def register() -> None:
    register_rows(
        "care.given",
        prefix="care",
        rows=lambda: Care.objects.prefetch_related("lots"),
        body=care_body,
        log_key="premises__log__key",
    )
    register_rows(
        "lot.weighed",
        prefix="weighing",
        rows=Weighing.objects.all,
        body=weighing_body,
        log_key="lot__premises__log__key",
    )
    register_rows(
        "room.read",
        prefix="room_reading",
        rows=RoomReading.objects.all,
        body=reading_body,
        log_key="place__premises__log__key",
    )
    register_rows(
        "room.logged",
        prefix="room_log",
        rows=RoomLog.objects.defer("overview").all,
        body=log_body,
        log_key="place__premises__log__key",
    )
