"""What is left of an ingredient lot: what came in, less what makes used, and as it was counted since."""

from typing import Any

from django.db.models import F, FloatField, OuterRef, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from batches.intake.models import IngredientLot, StockChange
from haccp.lots.models import LotLink
from haccp.premises.models import Premises
from haccp.science.units import from_si, show

SI_UNIT = {"mass": "kg", "volume": "L", "pieces": "pc"}
ROUNDING = {"mass": 5e-7, "volume": 5e-7, "pieces": 0.005}  # half the last digit that anybody weighs or counts
SMALL_UNIT = {"mass": "g", "volume": "mL"}


def ingredients_of(premises: Premises) -> QuerySet[Any]:
    """IngredientLots, each with left_si in the SI unit of its quantity; newest first."""
    used = LotLink.objects.filter(parent=OuterRef("pk")).order_by().values("parent").annotate(total=Sum("amount"))
    changed = StockChange.objects.filter(lot=OuterRef("pk")).order_by().values("lot").annotate(total=Sum("change_si"))
    return (
        IngredientLot.objects.filter(lot__premises=premises)
        .select_related("lot", "lot__recorded_by", "supplier")
        .annotate(
            left_si=F("amount_si")
            - Coalesce(Subquery(used.values("total"), output_field=FloatField()), Value(0.0))
            + Coalesce(Subquery(changed.values("total"), output_field=FloatField()), Value(0.0))
        )
        .order_by("-lot__begun_at", "-lot__recorded_at")
    )


def left_si(row: IngredientLot) -> float:
    """In the SI unit of its quantity; below zero where more was used than came in."""
    used = LotLink.objects.filter(parent=row.pk).aggregate(all=Sum("amount"))["all"] or 0.0
    changed = StockChange.objects.filter(lot=row.pk).aggregate(all=Sum("change_si"))["all"] or 0.0
    return float(row.amount_si - used + changed)


def show_amount(quantity: str, amount_si: float, unit: str = "") -> str:
    """As people weigh it: 350 g, 2.40 kg, 12 mL, 0.35 g. unit: "" picks by size."""
    if not unit:
        small = SMALL_UNIT.get(quantity)
        unit = small if small and abs(amount_si) < 1 else SI_UNIT[quantity]
    size = abs(from_si(quantity, amount_si, unit))
    whole = quantity == "pieces" and abs(size - round(size)) < 0.005
    decimals = 0 if whole or size >= 100 else 1 if size >= 10 else 2 if size >= 0.1 or size < 1e-9 else 3
    return show(quantity, amount_si, unit, decimals=decimals)
