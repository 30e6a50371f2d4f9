"""Reads about milk."""

from dataclasses import dataclass

from django.db.models import Exists, F, FloatField, OuterRef, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from batches.intake.models import MilkLot
from haccp.lots.models import Hold, Lot, LotLink
from haccp.premises.models import Premises

ROUNDING_L = 0.05  # what remains of a lot after volumes were typed with one decimal


@dataclass(frozen=True, slots=True)
class Use:
    """A make that milk of a lot went into."""

    lot: Lot
    volume_l: float


def milk_of(premises: Premises, *, only_left: bool = False) -> QuerySet[MilkLot]:
    """Newest first, each with left_l (litres not yet used in a make) and is_held.

    only_left: milk that there is still some of.
    """
    used = (
        LotLink.objects.filter(parent=OuterRef("pk")).order_by().values("parent").annotate(used=Sum("amount"))
    ).values("used")
    milk = (
        MilkLot.objects.filter(lot__premises=premises)
        .select_related("lot", "lot__recorded_by")
        .annotate(
            left_l=F("volume_l") - Coalesce(Subquery(used, output_field=FloatField()), Value(0.0)),
            is_held=Exists(Hold.objects.standing().filter(lot=OuterRef("pk"))),
        )
        .order_by("-lot__begun_at", "-lot__recorded_at")
    )
    return milk.filter(left_l__gt=ROUNDING_L) if only_left else milk


def sources_of(premises: Premises) -> list[str]:
    """Whose milk came here before, in order of the alphabet."""
    found = MilkLot.objects.filter(lot__premises=premises).order_by().values_list("source", flat=True).distinct()
    return sorted(found, key=str.casefold)


def uses_of(milk: MilkLot) -> list[Use]:
    """The makes it went into, oldest first."""
    links = (
        LotLink.objects.filter(parent=milk.lot_id).select_related("child", "child__product").order_by("child__begun_at")
    )
    return [Use(link.child, link.amount) for link in links]


def left_l(milk: MilkLot) -> float:
    """Litres not yet used in a make."""
    used = LotLink.objects.filter(parent=milk.lot_id).aggregate(used=Sum("amount"))["used"] or 0.0
    return float(milk.volume_l - used)
