"""What the ledger says of what came in: made the same way when a row is sealed and when it is verified."""

from batches.intake.models import Acceptance, IngredientLot, MilkCount, MilkFinding, MilkLot, StockChange
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]


def milk_body(milk: MilkLot) -> Body:
    return {
        "species": milk.species,
        "source": milk.source,
        "supplier": milk.supplier_id,
        "volume_l": milk.volume_l,
        "typed": [milk.typed_volume, milk.typed_unit],
        "milked": [milk.milked_from, milk.milked_until],
    }


def finding_body(finding: MilkFinding) -> Body:
    return {
        "lot": finding.lot_id,
        "kind": finding.kind,
        "value_si": finding.value_si,
        "answer": finding.answer,
        "typed": [finding.typed_text, finding.typed_unit],
        "observed": finding.observed_at,
        "instrument": finding.instrument_id,
        "uncertainty": finding.expanded_uncertainty,
        "unfit": finding.unfit,
        "note": finding.note,
        "recorded": finding.recorded_at,
        "by": finding.recorded_by_id,
    }


def acceptance_body(one: Acceptance) -> Body:
    return {
        "lot": one.lot_id,
        "decision": one.decision,
        "reason": one.reason,
        "decided": one.decided_at,
        "by": one.decided_by_id,
    }


def count_body(count: MilkCount) -> Body:
    return {
        "supplier": count.supplier_id,
        "species": count.species,
        "quantity": count.quantity,
        "sampled": count.sampled_on.isoformat(),
        "value": count.value,
        "is_below": count.is_below,
        "typed": [count.typed_text, count.typed_unit],
        "laboratory": count.laboratory,
        "corrects": count.corrects_id,
        "note": count.note,
        "recorded": count.recorded_at,
        "by": count.recorded_by_id,
    }


def ingredient_body(one: IngredientLot) -> Body:
    return {
        "kind": one.kind,
        "name": one.name,
        "supplier": one.supplier_id,
        "supplier_lot": one.supplier_lot,
        "expires": one.expires_on.isoformat() if one.expires_on else None,
        "quantity": one.quantity,
        "amount_si": one.amount_si,
        "typed": [one.typed_amount, one.typed_unit],
        "strength": [one.strength, one.strength_unit],
        "bulk_density": one.bulk_density_g_per_ml,
        "note": one.note,
    }


def stock_body(change: StockChange) -> Body:
    return {
        "lot": change.lot_id,
        "change_si": change.change_si,
        "typed": [change.typed_text, change.typed_unit],
        "reason": change.reason,
        "changed": change.changed_at,
        "by": change.changed_by_id,
    }


def register() -> None:
    of_lot = "lot__premises__log__key"
    register_rows("milk.received", prefix="milk", rows=MilkLot.objects.all, body=milk_body, log_key=of_lot)
    register_rows("milk.found", prefix="finding", rows=MilkFinding.objects.all, body=finding_body, log_key=of_lot)
    register_rows(
        "lot.acceptance", prefix="acceptance", rows=Acceptance.objects.all, body=acceptance_body, log_key=of_lot
    )
    register_rows(
        "milk.counted", prefix="count", rows=MilkCount.objects.all, body=count_body, log_key="premises__log__key"
    )
    register_rows(
        "ingredient.received", prefix="ingredient", rows=IngredientLot.objects.all, body=ingredient_body, log_key=of_lot
    )
    register_rows("ingredient.stock", prefix="stock", rows=StockChange.objects.all, body=stock_body, log_key=of_lot)
