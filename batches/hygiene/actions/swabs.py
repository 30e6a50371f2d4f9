"""Swabs of the rooms and equipment: points, rota, taking, results, and what a find opens."""

from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.hygiene.actions.sealed import seal
from batches.hygiene.environment import points_now
from batches.hygiene.finds import touched_by
from batches.hygiene.models import Rota, Swab, SwabPoint, SwabResult
from haccp.deviations.actions import deviation_report
from haccp.deviations.models import Deviation
from haccp.plan.models import ControlPoint
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

CLOCK_TOLERANCE = timedelta(minutes=2)
WITHOUT_ROTA = "Set a rota for this zone first: it says whose deviation a find opens."


@transaction.atomic
def swab_point_add(
    *, scope: Scope, point_id: UUID, place_id: UUID, name: str, zone: int, now: datetime | None = None
) -> SwabPoint:
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    there = SwabPoint.objects.filter(id=point_id, place__premises=scope.premises).first()
    if there is not None:
        return there
    place = Place.objects.filter(premises=scope.premises, id=place_id).first()
    if place is None:
        raise ActionError("Choose the place from the list.", field="place")
    if not name.strip():
        raise ActionError("Say where the swab is taken, such as “drain by the door”.", field="name")
    if zone not in SwabPoint.Zone.values:
        raise ActionError("Choose the zone.", field="zone")
    if SwabPoint.objects.filter(place=place, name=name.strip()).exists():
        raise Conflict(f"{place.name} has a point of this name already.", field="name")
    row = SwabPoint.objects.create(
        id=point_id, place=place, name=name.strip(), zone=zone, recorded_at=now, recorded_by=scope.user
    )
    seal(scope, row, now)
    return row


@transaction.atomic
def rota_set(
    *,
    scope: Scope,
    rota_id: UUID,
    zone: int,
    first_on: date,
    every_days: int,
    at_once: int,
    control_point_code: str,
    now: datetime | None = None,
) -> Rota:
    """How often swabs are taken in a zone; takes the place of the zone's earlier rota."""
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = Rota.objects.filter(id=rota_id, premises=scope.premises).first()
    if there is not None:
        return there
    wrong: dict[str, str] = {}
    if zone not in SwabPoint.Zone.values:
        wrong["zone"] = "Choose the zone."
    if not 1 <= every_days <= 366:
        wrong["every_days"] = "Give a number of days from 1 to 366."
    if not 1 <= at_once <= 100:
        wrong["at_once"] = "Give a number of swabs from 1 to 100."
    if _control_point(scope.premises, control_point_code, now) is None:
        wrong["control_point_code"] = "Choose a control point of the plan in force."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    old = Rota.objects.filter(premises=scope.premises, zone=zone, replaced_by__isnull=True).first()
    row = Rota.objects.create(
        id=rota_id,
        premises=scope.premises,
        zone=zone,
        first_on=first_on,
        every_days=every_days,
        at_once=at_once,
        control_point_code=control_point_code,
        replaces=old,
        recorded_at=now,
        recorded_by=scope.user,
    )
    seal(scope, row, now)
    return row


@transaction.atomic
def swab_take(
    *, scope: Scope, swab_id: UUID, point_id: UUID, code: str, taken_at: datetime, now: datetime | None = None
) -> Swab:
    """Raises ActionError without a code or for a time to come, Conflict for a code used at this point."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = Swab.objects.filter(id=swab_id, point__place__premises=scope.premises).first()
    if there is not None:
        return there
    point = SwabPoint.objects.filter(place__premises=scope.premises, id=point_id).select_related("place").first()
    if point is None:
        raise ActionError("Choose the point from the list.", field="point")
    if not code.strip():
        raise ActionError("Type the code that stands on the tube.", field="code")
    if taken_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="taken_at")
    if Swab.objects.filter(point=point, code=code.strip()).exists():
        raise Conflict("A swab of this point has that code already; give this one another.", field="code")
    row = Swab.objects.create(
        id=swab_id, point=point, code=code.strip(), taken_at=taken_at, recorded_at=now, recorded_by=scope.user
    )
    seal(scope, row, now)
    return row


@transaction.atomic
def swab_result_add(
    *,
    scope: Scope,
    swab_id: UUID,
    found: str,
    laboratory: str,
    report: str,
    reported_on: date,
    now: datetime | None = None,
) -> SwabResult:
    """What the laboratory found. A find of Listeria opens a deviation, which names the lots that the place touched
    since its last free swab where the surface touches cheese; the guide of its point says what is done next.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    swab = Swab.objects.filter(id=swab_id, point__place__premises=scope.premises).select_related("point__place").first()
    if swab is None:
        raise ActionError("There is no such swab at this dairy.")
    there = SwabResult.objects.filter(swab=swab).first()
    if there is not None:
        if (there.found, there.laboratory, there.report) != (found, laboratory.strip(), report.strip()):
            raise Conflict("A result of this swab is recorded already.")
        return there
    wrong: dict[str, str] = {}
    if found not in SwabResult.Found.values:
        wrong["found"] = "Choose what the laboratory found."
    if not laboratory.strip():
        wrong["laboratory"] = "Name the laboratory."
    if reported_on < scope.premises.local_date(swab.taken_at):
        wrong["reported_on"] = "That is before the swab was taken; correct the date."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    deviation = _deviation(scope, swab, found, now) if found != SwabResult.Found.NOTHING else None
    row = SwabResult.objects.create(
        swab=swab,
        found=found,
        laboratory=laboratory.strip(),
        report=report.strip(),
        reported_on=reported_on,
        deviation=deviation,
        recorded_at=now,
        recorded_by=scope.user,
    )
    seal(scope, row, now)
    return row


def _deviation(scope: Scope, swab: Swab, found: str, now: datetime) -> Deviation:
    point = swab.point
    rota = Rota.objects.filter(premises=scope.premises, zone=point.zone, replaced_by__isnull=True).first()
    control = _control_point(scope.premises, rota.control_point_code, now) if rota else None
    if control is None:
        raise ActionError(WITHOUT_ROTA)
    before = next(one for one in points_now(scope.premises, now) if one.point.id == point.id)
    times = "" if not before.standing.finds else f", for the {_ordinal(before.standing.finds + 1)} time"
    return deviation_report(
        scope=scope,
        deviation_id=uuid5(swab.id, "found"),
        control_point_id=control.id,
        summary=f"{SwabResult.Found(found).label} at {point} (zone {point.zone}), swab {swab.code}{times}.",
        occurred_at=swab.taken_at,
        lot_ids=[lot.id for lot in touched_by(swab, swab.taken_at)],
        now=now,
    )


def _control_point(premises: Premises, code: str, at: datetime) -> ControlPoint | None:
    revision = revision_in_force(premises, at)
    return revision.control_points.filter(code=code).first() if revision else None


def _ordinal(number: int) -> str:
    return {2: "second", 3: "third"}.get(number, f"{number}th")
