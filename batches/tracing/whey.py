"""Whey that is left, for makes that begin with it; registered in batches.making.whey."""

from django.db.models import Exists, F, FloatField, OuterRef, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from batches.intake.queries import ROUNDING_L
from batches.making.whey import Whey
from batches.tracing.models import ByProduct
from haccp.lots.models import Hold, LotLink
from haccp.premises.models import Premises


def whey_left(premises: Premises) -> list[Whey]:
    """Newest first, in one query."""
    used = LotLink.objects.filter(parent=OuterRef("pk")).order_by().values("parent").annotate(used=Sum("amount"))
    came_off = LotLink.objects.filter(child=OuterRef("pk"))
    rows = (
        ByProduct.objects.filter(lot__premises=premises, kind=ByProduct.Kind.WHEY, unit="L")
        .select_related("lot")
        .annotate(
            left_l=F("amount") - Coalesce(Subquery(used.values("used"), output_field=FloatField()), Value(0.0)),
            is_held=Exists(Hold.objects.standing().filter(lot=OuterRef("pk"))),
            from_code=Subquery(came_off.values("parent__code")[:1]),
        )
        .filter(left_l__gt=ROUNDING_L)
        .order_by("-lot__begun_at")
    )
    return [Whey(row.lot, row.left_l, row.is_held, f"whey of {row.from_code}") for row in rows]
