"""Swabs: which are due, what they found, and what a find leads to."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import QuerySet

from batches.hygiene.models import Rota, Swab, SwabPoint, SwabResult
from haccp.premises.models import Premises
from haccp.science.environment import rota as science_rota
from haccp.science.environment.escalation import Standing, standing

NOTHING = SwabResult.Found.NOTHING


@dataclass(frozen=True, slots=True)
class PointNow:
    """A swab point, its results, how it stands, and since when a swab of it is due (None when none is)."""

    point: SwabPoint
    standing: Standing
    last: Swab | None
    awaits_result: bool
    due_on: date | None


@dataclass(frozen=True, slots=True)
class PlaceNow:
    may_not_be_used: bool
    sentence: str


def points_now(premises: Premises, now: datetime) -> list[PointNow]:
    """Every swab point in the order of zone and walk; a constant number of queries."""
    points = list(SwabPoint.objects.filter(place__premises=premises).select_related("place"))
    taken: dict[UUID, list[Swab]] = defaultdict(list)
    swabs = Swab.objects.filter(point__in=points).select_related("sent").prefetch_related("results")
    for swab in swabs.order_by("taken_at", "recorded_at"):
        taken[swab.point_id].append(swab)
    due = _due(premises, points, taken, premises.local_date(now))
    return [_point_now(point, taken[point.id], due.get(point.id)) for point in points]


def standing_of_places(places: Iterable[UUID], at: datetime) -> dict[UUID, PlaceNow]:
    """Places that swabs of a surface keep from being used; two queries."""
    found: dict[SwabPoint, list[bool]] = defaultdict(list)
    swabs = (
        Swab.objects.filter(point__place__in=list(places), taken_at__lte=at, results__isnull=False)
        .distinct()
        .select_related("point")
        .prefetch_related("results")
        .order_by("taken_at", "recorded_at")
    )
    for swab in swabs:
        if swab.result is not None:
            found[swab.point].append(swab.result.found != NOTHING)
    kept: dict[UUID, PlaceNow] = {}
    for point, results in found.items():
        stands = standing(point.zone, results)
        if stands.may_not_be_used:
            sentence = f"Listeria was found {stands.finds} times at “{point.name}”, and it is not yet shown to be free."
            kept[point.place_id] = PlaceNow(True, sentence)
    return kept


def rotas_in_use(premises: Premises) -> list[Rota]:
    return list(Rota.objects.filter(premises=premises, replaced_by__isnull=True).order_by("zone"))


def free_swabs(point: SwabPoint) -> QuerySet[Swab]:
    """Those of which the result that counts found nothing."""
    counts = SwabResult.objects.filter(found=NOTHING, replaced_by__isnull=True)
    return Swab.objects.filter(point=point, results__in=counts)


def last_free_at(point: SwabPoint, before: datetime) -> datetime | None:
    """When a swab of this point was last taken that found nothing."""
    return (
        free_swabs(point).filter(taken_at__lt=before).order_by("-taken_at").values_list("taken_at", flat=True).first()
    )


def _point_now(point: SwabPoint, swabs: list[Swab], due_on: date | None) -> PointNow:
    results = [swab.result for swab in swabs if swab.result is not None]
    stands = standing(point.zone, [one.found != NOTHING for one in results])
    awaits = len(results) < len(swabs)
    if stands.is_open and not awaits:
        due_on = results[-1].reported_on
    return PointNow(point, stands, swabs[-1] if swabs else None, awaits, due_on)


def _due(
    premises: Premises, points: Iterable[SwabPoint], taken: dict[UUID, list[Swab]], today: date
) -> dict[UUID, date]:
    due: dict[UUID, date] = {}
    for rota in rotas_in_use(premises):
        in_zone = sorted((one for one in points if one.zone == rota.zone), key=lambda one: (one.recorded_at, one.name))
        turns = science_rota.turns(
            len(in_zone),
            first_on=rota.first_on,
            every_days=rota.every_days,
            at_once=rota.at_once,
            until=today,
        )
        swabbed = [
            (number, premises.local_date(swab.taken_at))
            for number, point in enumerate(in_zone)
            for swab in taken[point.id]
        ]
        for number, on in science_rota.missing(turns, swabbed, today=today, every_days=rota.every_days):
            due[in_zone[number].id] = on
    return due
