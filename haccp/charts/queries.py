"""The numbers that a check has read over time, as a control chart takes them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from haccp.checks.doubts import doubtful
from haccp.checks.models import Reading, Record
from haccp.plan.models import Check, CriticalLimit, Measure, Product
from haccp.plan.queries import revision_in_force
from haccp.premises.models import Premises

MOST = 300


@dataclass(frozen=True, slots=True)
class Value:
    """One value in SI, with the record that it stands in."""

    value: float
    at: datetime
    record: Record


def measures_charted(premises: Premises, now: datetime) -> list[Measure]:
    """Every number that the plan in force has read, by check. In two queries."""
    revision = revision_in_force(premises, now)
    if revision is None:
        return []
    return list(
        Measure.objects.filter(check_made__revision=revision, kind=Measure.Kind.NUMBER)
        .select_related("check_made__control_point", "check_made__place")
        .prefetch_related("limits__products", "check_made__products")
        .order_by("check_made__control_point__code", "check_made__name", "position")
    )


def is_of_lots(measure: Measure) -> bool:
    return measure.check_made.subject in (Check.Subject.BATCH, Check.Subject.MILK)


def products_of(premises: Premises, measure: Measure) -> list[Product]:
    """The cheeses that a chart of a batch's check is drawn for: what one does is no measure of another."""
    if measure.check_made.subject != Check.Subject.BATCH:
        return []
    named = list(measure.check_made.products.all())
    return named or list(Product.objects.filter(premises=premises, retired_at__isnull=True))


def values_of(premises: Premises, measure: Measure, product: Product | None, until: datetime) -> list[Value]:
    """The newest values, oldest first, in every revision of the plan; of a lot that was read often the last. In two
    queries.

    Readings of instruments that could not be relied on, or were found out since, are left out: a chart is of the
    process, not of them.
    """
    check = measure.check_made
    found = Reading.objects.filter(
        record__premises=premises,
        record__amended_by__isnull=True,
        record__observed_at__lte=until,
        record__instrument_unfit="",
        record__check_done__name=check.name,
        record__check_done__control_point__code=check.control_point.code,
        measure__label=measure.label,
        measure__quantity=measure.quantity,
        value_si__isnull=False,
    )
    if product is not None:
        found = found.filter(record__lot__product=product)
    newest = found.select_related("record__lot", "record__check_done").order_by("-record__observed_at", "-pk")
    rows = list(newest[: 4 * MOST])
    doubts = doubtful({row.record_id for row in rows})
    values: list[Value] = []
    seen = set()
    for row in rows:
        if row.record_id in doubts:
            continue
        if row.record.lot_id is not None:
            if row.record.lot_id in seen:
                continue
            seen.add(row.record.lot_id)
        values.append(Value(row.value_si or 0.0, row.record.observed_at, row.record))
    return values[:MOST][::-1]


def limits_of(measure: Measure, product: Product | None) -> tuple[float | None, float | None]:
    """The strictest lowest and highest value of the limits that watch it, SI; no query after measures_charted."""
    limits = [one for one in measure.limits.all() if _concerns(one, product)]
    low = [one.low for one in limits if one.low is not None]
    high = [one.high for one in limits if one.high is not None]
    return (max(low) if low else None), (min(high) if high else None)


def _concerns(limit: CriticalLimit, product: Product | None) -> bool:
    products: Sequence[Product] = list(limit.products.all())
    return not products or product is None or product in products
