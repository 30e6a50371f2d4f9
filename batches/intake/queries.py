"""Reads about milk."""

from dataclasses import dataclass

from django.db.models import Exists, F, FloatField, OuterRef, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from batches.intake.in_doubt import with_doubts
from batches.intake.models import Acceptance, MilkFinding, MilkLot, Supplier
from haccp.lots.models import Hold, Lot, LotLink
from haccp.plan.models import Check, Measure, PlanRevision
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
    """Suppliers of milk, and whose milk came here before, in order of the alphabet."""
    found = MilkLot.objects.filter(lot__premises=premises).order_by().values_list("source", flat=True).distinct()
    return sorted({*found, *suppliers_of(premises, of_milk=True).values_list("name", flat=True)}, key=str.casefold)


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


def decisions_of(lot: Lot) -> list[Acceptance]:
    """Oldest first; the last one counts."""
    return list(lot.acceptances.select_related("decided_by").order_by("decided_at"))


def findings_of(milk: MilkLot) -> list[MilkFinding]:
    """In order of observation, each with why it does not count now."""
    return with_doubts(milk.lot.findings.select_related("instrument", "recorded_by"))


def suppliers_of(premises: Premises, *, of_milk: bool = False) -> QuerySet[Supplier]:
    """Those that are still used, by name."""
    found = Supplier.objects.filter(premises=premises, retired_at__isnull=True)
    return found.exclude(kind=Supplier.Kind.INGREDIENTS) if of_milk else found


def asked_by_checks(revision: PlanRevision | None) -> frozenset[str]:
    """Kinds of finding that the plan's own checks of milk ask for already, so that nobody types them twice."""
    if revision is None:
        return frozenset()
    measures = Measure.objects.filter(check_made__revision=revision, check_made__subject=Check.Subject.MILK)
    kinds = set()
    for measure in measures:
        if measure.kind == Measure.Kind.NUMBER:
            kinds.add(measure.quantity)
        elif {"negative", "positive"} <= set(measure.choices or ()):
            kinds.add(MilkFinding.Kind.RESIDUES)
        elif measure.kind == Measure.Kind.ANSWER and any(w in measure.label.lower() for w in ("smell", "look")):
            kinds.add(MilkFinding.Kind.SENSES)
    return frozenset(kinds)
