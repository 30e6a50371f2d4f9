"""Checks that a batch must have before it is released, and which of them it lacks."""

from collections.abc import Sequence
from dataclasses import dataclass

from haccp.checks.models import Record
from haccp.lots.models import Lot
from haccp.lots.queries import revision_ids_of
from haccp.plan.models import Check
from haccp.science.ruling import Ruling

SATISFIED = (Ruling.MET, Ruling.CLOSE)


@dataclass(frozen=True, slots=True)
class BeforeRelease:
    """record: the last one of this check of the lot, in any revision; is_met: every limit that judged it was met."""

    check: Check
    lot: Lot
    record: Record | None
    is_met: bool


def checks_before_release(lots: Sequence[Lot]) -> list[BeforeRelease]:
    """Of each batch among the lots, by the revision that it stands under; a constant number of queries."""
    batches = [lot for lot in lots if lot.kind == Lot.Kind.BATCH]
    under = revision_ids_of(batches)
    of_revision: dict[object, list[Check]] = {}
    checks = (
        Check.objects.filter(revision__in=set(under.values()), cadence__kind="before_release")
        .prefetch_related("products")
        .select_related("control_point")
        .order_by("control_point__code", "name")
    )
    for check in checks:
        of_revision.setdefault(check.revision_id, []).append(check)
    last = _last_records(batches) if of_revision else {}
    return [
        _standing(check, lot, last.get((lot.pk, check.key)))
        for lot in batches
        for check in of_revision.get(under[lot.pk], [])
        if _concerns(check, lot)
    ]


def _concerns(check: Check, lot: Lot) -> bool:
    products = {product.pk for product in check.products.all()}
    return not products or lot.product_id in products


def _last_records(lots: Sequence[Lot]) -> dict[tuple[object, str], Record]:
    rows = (
        Record.objects.current()
        .filter(lot__in=lots, check_done__cadence__kind="before_release")
        .select_related("check_done", "recorded_by")
        .prefetch_related("rulings")
        .order_by("observed_at", "recorded_at")
    )
    return {(row.lot_id, row.check_done.key): row for row in rows}


def _standing(check: Check, lot: Lot, record: Record | None) -> BeforeRelease:
    met = record is not None and all(row.ruling in SATISFIED for row in record.rulings.all())
    return BeforeRelease(check, lot, record, met)
