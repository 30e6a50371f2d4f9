"""Opens deviations: from a ruling, from a missed check that guards a critical limit, or by hand."""

from collections import Counter, defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from haccp.checks.actions.missed import SCHEDULE_ACTOR
from haccp.checks.models import MissedCheck, Record, RulingRow
from haccp.deviations import sealing
from haccp.deviations.actions.implicate import implicated_rows
from haccp.deviations.contacts import MadeFrom
from haccp.deviations.implication import (
    Implication,
    implicated,
    implicated_by_missed,
    implicated_by_name,
    last_met_before,
)
from haccp.deviations.models import Deviation, MissedAgain
from haccp.deviations.reach import reach
from haccp.ledger import actions as ledger
from haccp.ledger.actions import Sealing
from haccp.ledger.bulk import among, insert
from haccp.lots import actions as lots
from haccp.lots.models import Lot
from haccp.plan.models import ControlPoint, PlanRevision
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises, User
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.ruling import Ruling

CLOCK_TOLERANCE = timedelta(minutes=2)


def after_record(scope: Scope, record: Record, rulings: Sequence[RulingRow], at: datetime) -> None:
    """Runs inside record_save's transaction: each ruling that is not satisfied opens a deviation.

    An amended record does not open a second one while the deviation of an earlier version stands open.
    """
    for ruling in rulings:
        if Ruling(ruling.ruling).opens_deviation and not _already_open(record, ruling):
            _open_for_ruling(scope, record, ruling, at)


def after_missed(missed: Sequence[MissedCheck], at: datetime) -> None:
    """Runs inside the flags' transaction: each that guards a critical limit or says so opens a deviation, or joins the
    one that stands open since the same check was missed and nothing was met in between."""
    opening = [one for one in missed if one.due.check_due.deviates_if_missed]
    if not opening:
        return
    premises = Premises.objects.select_related("log").in_bulk({one.due.premises_id for one in opening})
    met = last_met_before(opening)
    standing = _standing(premises)
    first_of: dict[UUID, MissedCheck] = {}
    joining: list[tuple[MissedCheck, MissedCheck | Deviation]] = []
    for one in opening:
        run = standing.get(_run(one))
        if run is None or run[0] < (met.get(one.pk) or run[0]):
            first_of[one.pk] = one
            standing[_run(one)] = (one.missed_at, one)
        else:
            joining.append((one, run[1]))
    firsts = list(first_of.values())
    implications = implicated_by_missed(firsts, premises, at)
    openings = [
        _of_missed(premises[one.due.premises_id], one, found) for one, found in zip(firsts, implications, strict=True)
    ]
    opened = dict(zip(first_of, _open_all(openings, actor=SCHEDULE_ACTOR, at=at), strict=True))
    rows = [
        MissedAgain(missed=one, deviation=opened[to.pk] if isinstance(to, MissedCheck) else to, joined_at=at)
        for one, to in joining
    ]
    _join_all(rows, premises, at)


Run = tuple[UUID, str, UUID | None]


def _run(missed: MissedCheck) -> Run:
    due = missed.due
    return due.premises_id, due.check_due.key, due.lot_id


def _standing(premises: Collection[UUID]) -> dict[Run, tuple[datetime, MissedCheck | Deviation]]:
    """Open deviations of missed checks by what was missed: since when, and which; the last of each. One query."""
    of_missed = Deviation.objects.open().filter(premises__in=among(premises), cause=Deviation.Cause.MISSED)
    found: dict[Run, tuple[datetime, MissedCheck | Deviation]] = {}
    for one in of_missed.select_related("missed__due__check_due").order_by("occurred_at"):
        if one.missed is not None:
            found[_run(one.missed)] = (one.occurred_at, one)
    return found


def _join_all(rows: Sequence[MissedAgain], premises: Mapping[UUID, Premises], at: datetime) -> None:
    insert(rows)
    sealings: dict[UUID, list[Sealing]] = defaultdict(list)
    for row in rows:
        log_id = premises[row.missed.due.premises_id].log_id
        body = sealing.missed_again_body(row)
        sealings[log_id].append(Sealing("deviation.missed_again", f"missed_again:{row.pk}", body))
    if sealings:
        ledger.seal_across(sealings, actor=SCHEDULE_ACTOR, at=at)


def _of_missed(premises: Premises, missed: MissedCheck, implication: Implication) -> "_Opening":
    due = missed.due
    check = due.check_due
    local = due.due_at.astimezone(premises.zone)
    about = f" of {due.lot.code}" if due.lot else ""
    return _Opening(
        premises=premises,
        control_point=check.control_point,
        cause=Deviation.Cause.MISSED,
        summary=f"{check.name}{about}, due on {local.day} {local:%b} at {local:%H:%M}, was not done.",
        occurred_at=missed.missed_at,
        implication=implication,
        missed=missed,
    )


@transaction.atomic
def deviation_report(
    *,
    scope: Scope,
    deviation_id: UUID,
    control_point_id: UUID,
    summary: str,
    occurred_at: datetime,
    lot_ids: Sequence[UUID] = (),
    is_complaint: bool = False,
    origin_unknown: bool = False,
    now: datetime | None = None,
) -> Deviation:
    """Somebody reports one by hand, naming the lots it may have touched; what it reaches from there is added.

    origin_unknown: something was found that does not belong there, and nobody knows from where; then all that shares
    a source or a room with these lots is implicated too.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = Deviation.objects.filter(id=deviation_id).first()
    if there is not None:
        kept = (there.premises_id, there.control_point_id, there.summary, there.occurred_at)
        touched = set(there.implicated.values_list("lot_id", flat=True))
        if kept != (premises.pk, control_point_id, summary.strip(), occurred_at) or not touched.issuperset(lot_ids):
            raise Conflict("This report was already sent with other content; start a new one.")
        return there
    if not summary.strip():
        raise ActionError("Say in a sentence what happened.", field="summary")
    if occurred_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="occurred_at")
    revision = PlanRevision.objects.for_premises(scope.premises).in_force(now).first()
    point = ControlPoint.objects.filter(id=control_point_id, revision=revision).first()
    if revision is None or point is None:
        raise ActionError("Choose the control point of the plan that this concerns.", field="control_point")
    named = list(Lot.objects.for_premises(scope.premises).filter(id__in=lot_ids))
    if len(named) != len(set(lot_ids)):
        raise ActionError("One of these lots is not known at this dairy.", field="lots")
    return _open(
        premises=premises,
        control_point=point,
        cause=Deviation.Cause.COMPLAINT if is_complaint else Deviation.Cause.BY_HAND,
        summary=summary.strip(),
        occurred_at=occurred_at,
        implication=implicated_by_name(named, scope.user.name, None if is_complaint or origin_unknown else occurred_at),
        origin_unknown=origin_unknown,
        actor=scope.actor,
        at=now,
        scope=scope,
        deviation_id=deviation_id,
    )


def deviation_open(
    *,
    scope: Scope,
    deviation_id: UUID,
    control_point: ControlPoint,
    summary: str,
    occurred_at: datetime,
    implication: Implication,
    holds: bool,
    at: datetime,
    cause: str = Deviation.Cause.BY_HAND,
    origin_unknown: bool = False,
) -> Deviation:
    """Opens one for what a room above found (a laboratory's result, a calibration), inside its transaction.

    The caller has locked the premises. holds: whether every implicated lot is held at once. origin_unknown: whether
    what shares a source with the lots found is implicated too.
    """
    return _open(
        premises=scope.premises,
        control_point=control_point,
        cause=cause,
        summary=summary,
        occurred_at=occurred_at,
        implication=implication,
        actor=scope.actor,
        at=at,
        scope=scope,
        deviation_id=deviation_id,
        holds=holds,
        origin_unknown=origin_unknown,
    )


def _already_open(record: Record, ruling: RulingRow) -> bool:
    earlier: list[UUID] = []
    version = record.amends
    while version is not None:
        earlier.append(version.pk)
        version = version.amends
    return Deviation.objects.open().filter(ruling__record__in=earlier, ruling__limit=ruling.limit_id).exists()


def _open_for_ruling(scope: Scope, record: Record, ruling: RulingRow, at: datetime) -> None:
    found = implicated(scope.premises, record.check_done, record.lot, record.observed_at, at)
    about = f" ({record.lot.code})" if record.lot else ""
    _open(
        premises=scope.premises,
        control_point=record.check_done.control_point,
        cause=Deviation.Cause.RULING,
        summary=f"{record.check_done.name}{about}: {ruling.reason}",
        occurred_at=record.observed_at,
        implication=found,
        actor=scope.actor,
        at=at,
        scope=scope,
        ruling=ruling,
    )


def _open(
    *,
    premises: Premises,
    control_point: ControlPoint,
    cause: str,
    summary: str,
    occurred_at: datetime,
    implication: Implication,
    actor: str,
    at: datetime,
    scope: Scope,
    ruling: RulingRow | None = None,
    deviation_id: UUID | None = None,
    holds: bool | None = None,
    origin_unknown: bool = False,
) -> Deviation:
    opening = _Opening(
        premises=premises,
        control_point=control_point,
        cause=cause,
        summary=summary,
        occurred_at=occurred_at,
        implication=implication,
        opened_by=scope.user,
        ruling=ruling,
        deviation_id=deviation_id,
        holds=holds,
        origin_unknown=origin_unknown,
    )
    return _open_all([opening], actor=actor, at=at)[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Opening:
    """holds: whether each implicated lot is held; None: where the control point is critical. A prerequisite's breach
    is judged by a person; a critical limit's holds the product at once."""

    premises: Premises
    control_point: ControlPoint
    cause: str
    summary: str
    occurred_at: datetime
    implication: Implication
    opened_by: User | None = None
    ruling: RulingRow | None = None
    missed: MissedCheck | None = None
    deviation_id: UUID | None = None
    holds: bool | None = None
    origin_unknown: bool = False


def _open_all(openings: Sequence[_Opening], *, actor: str, at: datetime) -> list[Deviation]:
    """Deviations of one or many premises, whose rows every caller has locked, so that the next numbers are free."""
    following = _following_numbers({one.premises.pk for one in openings})
    made_from = MadeFrom(found.lot.pk for one in openings for found in one.implication.lots)
    deviations, implicated_lots, placings = [], [], []
    sealings: dict[UUID, list[Sealing]] = defaultdict(list)
    for one in openings:
        year = one.premises.local_date(at).year
        following[one.premises.pk, year] += 1
        deviation = Deviation(
            id=one.deviation_id or uuid4(),
            premises=one.premises,
            year=year,
            number=following[one.premises.pk, year],
            cause=one.cause,
            ruling=one.ruling,
            missed=one.missed,
            control_point=one.control_point,
            summary=one.summary,
            occurred_at=one.occurred_at,
            opened_at=at,
            opened_by=one.opened_by,
            exposed_from=one.implication.exposed_from,
            origin_unknown=one.origin_unknown,
        )
        touched = (
            reach(one.premises, one.implication, at, origin_unknown=one.origin_unknown, made_from=made_from)
            if one.implication.lots
            else []
        )
        rows = implicated_rows(deviation, touched)
        deviations.append(deviation)
        if one.control_point.is_critical if one.holds is None else one.holds:
            reason = f"{deviation.reference}: {one.summary}"
            placings += [
                lots.Placing(one.premises.log_id, found.lot, deviation.hold_cause, reason) for found, _ in touched
            ]
        implicated_lots += rows
        body = sealing.deviation_body(deviation, rows)
        sealings[one.premises.log_id].append(Sealing("deviation.opened", f"deviation:{deviation.id}", body))
    insert(deviations)
    insert(implicated_lots)
    if sealings:
        ledger.seal_across(sealings, actor=actor, at=at)
    lots.holds_place(placings, actor=actor, at=at)
    return deviations


def _following_numbers(premises: set[UUID]) -> Counter[tuple[UUID, int]]:
    """The last number of each premises and year."""
    last = Deviation.objects.filter(premises__in=among(premises)).values_list("premises", "year")
    return Counter({(pk, year): number for pk, year, number in last.annotate(Max("number")).order_by()})
