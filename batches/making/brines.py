"""Reads about brines: what each is, whether it is in use, what lay in it, and what was read at its tank."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Count, Exists, FloatField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils import timezone

from batches.intake.models import IngredientLot
from batches.intake.stock import ROUNDING, ingredients_of
from batches.making.models import Brine, BrineChange, Make
from haccp.checks.models import Record
from haccp.lots.kinds import EventKind
from haccp.lots.models import Hold, Lot
from haccp.premises.models import Place, Premises

What = BrineChange.What
# A Brine with what _with_changes adds to it.
Standing = Any


def _with_changes(brines: QuerySet[Brine]) -> QuerySet[Standing]:
    """Each with volume_l (all water that went in), salt_kg, refreshed_at, discarded_at, used_by and is_held."""
    changes = BrineChange.objects.filter(brine=OuterRef("pk")).order_by()
    sums = changes.values("brine")
    return brines.select_related("lot", "lot__recorded_by", "tank").annotate(
        volume_l=Coalesce(Subquery(sums.annotate(sum=Sum("water_l")).values("sum"), output_field=FloatField()), 0.0),
        salt_kg=Coalesce(
            Subquery(sums.annotate(sum=Sum("salt__amount")).values("sum"), output_field=FloatField()), 0.0
        ),
        refreshed_at=Subquery(changes.filter(what=What.REFRESHED).order_by("-at").values("at")[:1]),
        discarded_at=Subquery(changes.filter(what=What.DISCARDED).values("at")[:1]),
        used_by=Count("uses"),
        is_held=Exists(Hold.objects.standing().filter(lot=OuterRef("pk"))),
    )


def brines_of(lots: Iterable[Lot]) -> list[Standing]:
    """Those of the lots that are brines. One query, or none."""
    ids = [lot.pk for lot in lots if lot.kind == Lot.Kind.BRINE]
    return list(_with_changes(Brine.objects.filter(pk__in=ids))) if ids else []


def brines_at(premises: Premises, *, only_in_use: bool = False) -> QuerySet[Standing]:
    """Newest first."""
    found = _with_changes(Brine.objects.filter(lot__premises=premises)).order_by("-lot__begun_at")
    return found.filter(discarded_at__isnull=True) if only_in_use else found


def tanks_of(premises: Premises) -> QuerySet[Place]:
    return Place.objects.filter(premises=premises, kind=Place.Kind.BRINE_TANK, retired_at__isnull=True)


def salt_of(premises: Premises) -> QuerySet[Any]:
    """Salt lots of which something is left."""
    found = ingredients_of(premises).filter(kind=IngredientLot.Kind.SALT, quantity=IngredientLot.Quantity.MASS)
    return found.filter(left_si__gt=ROUNDING["mass"])


def may_be_laid_in(brine: Brine) -> QuerySet[Make]:
    """Batches that are neither in a room yet nor gone, nor in this brine already; the newest first."""
    moved_on = Q(lot__events__kind__in=(EventKind.PLACED_IN_ROOM, EventKind.LEFT_ROOM))
    return (
        Make.objects.filter(lot__premises=brine.lot.premises_id)
        .exclude(pk__in=Make.objects.filter(moved_on).values("pk"))
        .exclude(brinings__brine=brine)
        .select_related("lot__product")
        .order_by("-lot__begun_at")
    )


def readings_of(brine: Standing) -> QuerySet[Record]:
    """What the plan's checks read of the brine itself, and at its tank while it stood there; the newest first."""
    until = brine.discarded_at or timezone.now()
    at_tank = Q(place=brine.tank_id, lot__isnull=True)
    while_there = Q(observed_at__gte=brine.lot.begun_at, observed_at__lte=until)
    return (
        Record.objects.for_premises(brine.lot.premises)
        .current()
        .filter(Q(lot=brine.pk) | at_tank & while_there)
        .with_details()
        .order_by("-observed_at")
    )
