"""How the acidity of a product's past good makes went: the band that a make is seen against while it happens."""

from collections import defaultdict
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef

from haccp.checks.doubts import doubtful
from haccp.checks.models import Reading, RulingRow
from haccp.lots.models import Hold, Lot, LotEvent
from haccp.science.acidity import AcidityBand, band_of
from haccp.science.ruling import Ruling

LATEST = 30  # makes that are looked at


def band_for(lot: Lot, quantity: str, from_event: str) -> AcidityBand | None:
    """Of the product's makes before this one that no limit by elapsed time spoke against and nothing holds.

    Values in SI, time in s since the event. What was read with an instrument that is in doubt is left out. None with
    fewer than three of them. Four queries.
    """
    bad = RulingRow.objects.filter(
        record__lot=OuterRef("pk"),
        record__amended_by__isnull=True,
        limit__evaluator="elapsed",
        ruling__in=(Ruling.BREACHED, Ruling.UNPROVEN),
    )
    good = (
        Lot.objects.filter(premises=lot.premises_id, product=lot.product_id, begun_at__lt=lot.begun_at)
        .exclude(Exists(bad))
        .exclude(Exists(Hold.objects.standing().filter(lot=OuterRef("pk"))))
        .order_by("-begun_at")
    )
    lots = list(good.values_list("pk", flat=True)[:LATEST])
    began: dict[UUID, datetime] = {}
    events = LotEvent.objects.filter(lot__in=lots, kind=from_event).order_by("occurred_at")
    for lot_id, at in events.values_list("lot_id", "occurred_at"):
        began.setdefault(lot_id, at)
    curves: dict[UUID, list[tuple[float, float]]] = defaultdict(list)
    readings = Reading.objects.filter(
        record__lot__in=began,
        record__amended_by__isnull=True,
        record__instrument_unfit="",
        measure__quantity=quantity,
        value_si__isnull=False,
    ).order_by("record__observed_at")
    rows = list(readings.values_list("record_id", "record__lot_id", "record__observed_at", "value_si"))
    doubts = doubtful({record_id for record_id, *_ in rows})
    for record_id, lot_id, at, value in rows:
        if record_id in doubts:
            continue
        elapsed = (at - began[lot_id]).total_seconds()
        if value is not None and elapsed >= 0 and (not curves[lot_id] or elapsed > curves[lot_id][-1][0]):
            curves[lot_id].append((elapsed, float(value or 0.0)))
    return band_of([curve for _, curve in sorted(curves.items(), key=lambda item: str(item[0]))])
