"""Swabs of the rooms and equipment: points, rota, taking, results, and what a find opens."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from batches.hygiene.actions.sealed import seal
from batches.hygiene.environment import points_now
from batches.hygiene.finds import touched_by
from batches.hygiene.models import Rota, Swab, SwabPoint, SwabResult, SwabSent
from batches.laboratory.actions import TestAsked, sample_take
from batches.laboratory.kept_elsewhere import Kept
from batches.laboratory.models import LISTERIA_SPECIES, SampleTest, TestResult
from haccp.deviations.actions import deviation_report
from haccp.deviations.models import Deviation
from haccp.plan.models import ControlPoint
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.environment.escalation import GUIDANCE
from haccp.science.sampling.typed import names_monocytogenes, read_detection

CLOCK_TOLERANCE = timedelta(minutes=2)
ON_A_SWAB = "the swab"
SOURCE = f"the rota of the zone; {GUIDANCE}"
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
def swabs_send(
    *,
    scope: Scope,
    swab_ids: Sequence[UUID],
    laboratory: str,
    sent_at: datetime | None = None,
    temperature: str = "",
    temperature_unit: str = "°C",
    note: str = "",
    now: datetime | None = None,
) -> list[SwabSent]:
    """Sends swabs to a laboratory: each becomes a sample there, and its result is kept in both.

    Moves: lock the premises; take a sample of each swab's place with a test for Listeria spp.; write and seal that it
    was sent. One sent before to the same laboratory is given back as it is. Raises ActionError for none chosen, a zone
    without a rota, and as sample_take; Conflict for one that has a result or went elsewhere.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    found = Swab.objects.filter(point__place__premises=scope.premises, id__in=swab_ids)
    swabs = list(found.select_related("point__place", "sent__test__sample").prefetch_related("results"))
    if not swabs or len(swabs) != len(set(swab_ids)):
        raise ActionError("Choose the swabs from the list.", field="swabs")
    return [
        _send(scope, swab, laboratory.strip(), sent_at, temperature, temperature_unit, note, now)
        for swab in sorted(swabs, key=lambda one: (one.taken_at, one.code))
    ]


def _send(
    scope: Scope,
    swab: Swab,
    laboratory: str,
    sent_at: datetime | None,
    temperature: str,
    temperature_unit: str,
    note: str,
    now: datetime,
) -> SwabSent:
    if hasattr(swab, "sent"):
        if swab.sent.test.sample.laboratory != laboratory:
            raise Conflict(f"Swab {swab.code} went to {swab.sent.test.sample.laboratory} already.", field="swabs")
        return swab.sent
    if swab.result is not None:
        raise Conflict(f"Swab {swab.code} has a result already; leave it out.", field="swabs")
    point = swab.point
    sample = sample_take(
        scope=scope,
        sample_id=uuid5(swab.id, "sample"),
        laboratory=laboratory,
        tests=[TestAsked(SampleTest.Kind.ABSENCE, LISTERIA_SPECIES, absent_in=ON_A_SWAB, source=SOURCE)],
        taken_at=swab.taken_at,
        place_id=point.place_id,
        verifies_id=_control_of(scope.premises, point, now).id,
        spot=f"{point.name} (zone {point.zone}), tube {swab.code}",
        sent_at=sent_at,
        temperature=temperature,
        temperature_unit=temperature_unit,
        note=note,
        now=now,
    )
    row = SwabSent.objects.create(swab=swab, test=sample.tests.get())
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
    """What was found on a swab that did not go to a laboratory as a sample. A find of Listeria opens a deviation,
    which names the lots that the place touched since its last free swab where the surface touches cheese; the guide of
    its point says what is done next. Raises ActionError for a swab that was sent: its sample takes the result.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    swab = _swab_with_results(Swab.objects.filter(point__place__premises=scope.premises, id=swab_id))
    if swab is None:
        raise ActionError("There is no such swab at this dairy.")
    if hasattr(swab, "sent"):
        raise ActionError(
            f"This swab went to the laboratory as sample {swab.sent.test.sample.code}: enter its result there, and it "
            "stands here as well."
        )
    there = swab.result
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
    return _write_result(
        scope, SwabResult(swab=swab, found=found, laboratory=laboratory, report=report, reported_on=reported_on), now
    )


def keep_test_result(scope: Scope, result: TestResult, now: datetime) -> Kept | None:
    """Registered in laboratory.kept_elsewhere: the result of a swab's sample is the swab's own result."""
    sent = SwabSent.objects.filter(test=result.test_id).first()
    swab = _swab_with_results(Swab.objects.filter(sent=sent)) if sent is not None else None
    if swab is None:
        return None
    text = result.values[0]
    found = SwabResult.Found.NOTHING
    if read_detection(text):
        found = SwabResult.Found.MONOCYTOGENES if names_monocytogenes(text) else SwabResult.Found.SPECIES
    earlier = swab.result
    row = SwabResult(
        id=uuid5(result.id, "swab"),
        swab=swab,
        found=found,
        laboratory=result.test.sample.laboratory,
        report=result.report_number,
        reported_on=scope.premises.local_date(result.reported_at),
        replaces=earlier,
        replace_reason=result.replace_reason if earlier is not None else "",
    )
    return Kept(_write_result(scope, row, now).deviation)


def _write_result(scope: Scope, row: SwabResult, now: datetime) -> SwabResult:
    """Opens what a find opens, unless an earlier version of the result stands open already; writes and seals."""
    row.laboratory, row.report = row.laboratory.strip(), row.report.strip()
    row.recorded_at, row.recorded_by = now, scope.user
    if row.found != SwabResult.Found.NOTHING and not _is_open_already(row):
        row.deviation = _deviation(scope, row, now)
    row.save(force_insert=True)
    seal(scope, row, now)
    return row


def _is_open_already(row: SwabResult) -> bool:
    opened = [one.deviation for one in row.swab.results.all() if one.deviation is not None]
    return any(not hasattr(one, "closure") for one in opened)


def _swab_with_results(swabs: QuerySet[Swab]) -> Swab | None:
    return (
        swabs.select_related("point__place", "sent__test__sample")
        .prefetch_related("results__deviation__closure")
        .first()
    )


def _deviation(scope: Scope, row: SwabResult, now: datetime) -> Deviation:
    swab, point = row.swab, row.swab.point
    before = next(one for one in points_now(scope.premises, now) if one.point.id == point.id)
    times = "" if not before.standing.finds else f", for the {_ordinal(before.standing.finds + 1)} time"
    return deviation_report(
        scope=scope,
        deviation_id=uuid5(swab.id if row.replaces_id is None else row.id, "found"),
        control_point_id=_control_of(scope.premises, point, now).id,
        summary=f"{SwabResult.Found(row.found).label} at {point} (zone {point.zone}), swab {swab.code}{times}.",
        occurred_at=swab.taken_at,
        lot_ids=[lot.id for lot in touched_by(swab, swab.taken_at)],
        now=now,
    )


def _control_of(premises: Premises, point: SwabPoint, now: datetime) -> ControlPoint:
    """Whose deviation a find at this point opens."""
    rota = Rota.objects.filter(premises=premises, zone=point.zone, replaced_by__isnull=True).first()
    control = _control_point(premises, rota.control_point_code, now) if rota else None
    if control is None:
        raise ActionError(WITHOUT_ROTA)
    return control


def _control_point(premises: Premises, code: str, at: datetime) -> ControlPoint | None:
    revision = revision_in_force(premises, at)
    return revision.control_points.filter(code=code).first() if revision else None


def _ordinal(number: int) -> str:
    return {2: "second", 3: "third"}.get(number, f"{number}th")
