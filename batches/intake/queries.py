"""Reads about milk."""

from django.db.models import QuerySet, Sum

from batches.intake.models import MilkLot
from haccp.lots.models import LotLink
from haccp.premises.models import Premises


def milk_of(premises: Premises) -> QuerySet[MilkLot]:
    return (
        MilkLot.objects.filter(lot__premises=premises)
        .select_related("lot", "lot__recorded_by")
        .order_by("-lot__begun_at")
    )


def left_l(milk: MilkLot) -> float:
    """Litres not yet used in a make."""
    used = LotLink.objects.filter(parent=milk.lot_id).aggregate(used=Sum("amount"))["used"] or 0.0
    return float(milk.volume_l - used)
