"""Writes about lots. Called by the actions of rooms above; each must run inside their transaction."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from haccp.ledger import actions as ledger
from haccp.ledger.actions import Sealing
from haccp.ledger.bulk import among, insert
from haccp.lots import closure, moves, sealing
from haccp.lots.kinds import EventKind
from haccp.lots.models import Hold, HoldLift, Lot, LotEvent, LotLink, LotOrigin, RevisionMove
from haccp.lots.queries import HELD_ELSEWHERE, held_elsewhere, revision_ids_of
from haccp.plan.models import PlanRevision, Product
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place
from haccp.premises.scope import Scope


def lot_open(
    *,
    scope: Scope,
    lot_id: UUID,
    kind: str,
    code: str,
    revision: PlanRevision,
    begun_at: datetime,
    product: Product | None = None,
    at: datetime,
) -> Lot:
    """A new lot under the revision it begins with. Raises Conflict when the code is taken."""
    if Lot.objects.filter(premises=scope.premises, code=code).exists():
        raise Conflict(f"There is already a lot with the code {code}; choose another.", field="code")
    lot = Lot.objects.create(
        id=lot_id,
        premises=scope.premises,
        kind=kind,
        code=code,
        product=product,
        revision=revision,
        begun_at=begun_at,
        recorded_at=at,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="lot.opened",
        subject=f"lot:{lot.id}",
        body=sealing.lot_body(lot),
        actor=scope.actor,
        at=at,
    )
    return lot


def event_add(
    *,
    scope: Scope,
    lot: Lot,
    kind: str,
    occurred_at: datetime,
    at: datetime,
    place: Place | None = None,
    note: str = "",
    event_id: UUID | None = None,
    corrects: LotEvent | None = None,
    reason: str = "",
    withdrawn: bool = False,
) -> LotEvent:
    """Something that happened to a lot. Raises ActionError for a moment before the lot began or after now.

    corrects, reason: the event of the same lot and kind whose time was wrong, and why. withdrawn: it never
    happened.
    """
    if occurred_at < lot.begun_at:
        raise ActionError(f"That is before {lot.code} began; correct the time.", field="occurred_at")
    if kind == EventKind.LEFT_ROOM:
        refuse_held(lot, "and may not leave. To keep it apart, place it in another room")
    event = LotEvent.objects.create(
        id=event_id or uuid4(),
        lot=lot,
        kind=kind,
        place=place,
        occurred_at=occurred_at,
        recorded_at=at,
        recorded_by=scope.user,
        note=note,
        corrects=corrects,
        reason=reason,
        withdrawn=withdrawn,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="lot.event",
        subject=f"lot_event:{event.id}",
        body=sealing.event_body(event),
        actor=scope.actor,
        at=at,
    )
    moves.tell(scope, lot, place, at)
    return event


def refuse_held(lot: Lot, consequence: str) -> None:
    """Raises ActionError while a hold on the lot stands."""
    hold = Hold.objects.standing().filter(lot=lot).order_by("placed_at").first()
    if hold is not None:
        raise ActionError(f"{lot.code} is on hold {consequence}: {hold.reason}", field="lot")
    if held_elsewhere([lot.pk]):
        raise ActionError(f"{lot.code} is {HELD_ELSEWHERE}, {consequence}.", field="lot")


def link_add(
    *,
    scope: Scope,
    parent: Lot,
    child: Lot,
    amount: float,
    unit: str,
    at: datetime,
    carries_hold: bool = False,
) -> LotLink:
    """parent went into child; amount in L or kg as `unit` says.

    The premises' row is locked by every caller, so that two links cannot close a circle between them. Raises
    ActionError when either lot is not of these premises, when parent was itself made from child, and when parent is
    on hold. carries_hold: what comes off a held lot (its whey) is written down all the same, and held with it.
    """
    if {parent.premises_id, child.premises_id} != {scope.premises.id}:
        raise ActionError("One of these lots is not known at this dairy; choose from the list.")
    if not (math.isfinite(amount) and amount > 0):
        raise ActionError(f"Say how much of {parent.code} went into {child.code}, more than nothing.", field="amount")
    if not carries_hold:
        refuse_held(parent, "and cannot be used")
    if parent.pk == child.pk or parent.pk in closure.descendants([child.pk]):
        raise ActionError(
            f"{parent.code} was itself made from {child.code}, so it cannot have gone into it. "
            "Check both lots; if cheese was worked in again, it goes into a new batch.",
            field="child",
        )
    link = LotLink.objects.create(parent=parent, child=child, amount=amount, unit=unit, recorded_at=at)
    ledger.seal(
        log_id=scope.log_id,
        kind="lot.link",
        subject=f"lot_link:{link.id}",
        body=sealing.link_body(link),
        actor=scope.actor,
        at=at,
    )
    for hold in Hold.objects.standing().filter(lot=parent) if carries_hold else ():
        hold_place(log_id=scope.log_id, lots=[child], cause=hold.cause, reason=hold.reason, actor=scope.actor, at=at)
    moves.tell(scope, child, None, at)
    return link


def origin_add(*, scope: Scope, lot: Lot, origin: Lot, at: datetime) -> list[LotOrigin]:
    """lot, new at these premises, is what came of origin from another premises of the producer.

    What holds origin, or any lot that origin itself came from, holds lot too from now on (`LotQuerySet.with_hold`).
    """
    behind = [origin.pk, *LotOrigin.objects.filter(lot=origin).order_by("steps").values_list("origin", flat=True)]
    rows = [LotOrigin(lot=lot, origin_id=pk, steps=steps) for steps, pk in enumerate(behind, start=1)]
    LotOrigin.objects.bulk_create(rows)
    for row in rows:
        ledger.seal(
            log_id=scope.log_id,
            kind="lot.came_from",
            subject=f"lot_origin:{row.pk}",
            body=sealing.origin_body(row),
            actor=scope.actor,
            at=at,
        )
    return rows


@dataclass(frozen=True, slots=True)
class Placing:
    """A lot to be held, for which cause and reason; log_id: of its premises."""

    log_id: UUID
    lot: Lot
    cause: str
    reason: str


def hold_place(*, log_id: UUID, lots: Sequence[Lot], cause: str, reason: str, actor: str, at: datetime) -> list[Hold]:
    """Holds each lot for this cause; a lot that it already holds is left as it is."""
    return holds_place([Placing(log_id, lot, cause, reason) for lot in lots], actor=actor, at=at)


def holds_place(placings: Sequence[Placing], *, actor: str, at: datetime) -> list[Hold]:
    """As hold_place, for many causes at once and lots of one or many premises, in a constant number of queries."""
    if not placings:
        return []
    held = Hold.objects.filter(lot__in=among({one.lot.pk for one in placings}))
    already = set(held.values_list("lot_id", "cause"))
    fresh = {(one.lot.pk, one.cause): one for one in placings if (one.lot.pk, one.cause) not in already}
    holds = [Hold(lot=one.lot, cause=one.cause, reason=one.reason, placed_at=at) for one in fresh.values()]
    insert(holds)
    sealings: dict[UUID, list[Sealing]] = defaultdict(list)
    for one, hold in zip(fresh.values(), holds, strict=True):
        sealings[one.log_id].append(Sealing("hold.placed", f"hold:{hold.id}", sealing.hold_body(hold)))
    if sealings:
        ledger.seal_across(sealings, actor=actor, at=at)
    return holds


def hold_lift(*, scope: Scope, hold: Hold, reason: str, at: datetime) -> HoldLift:
    """Ends a hold. Only the action that settles the hold's cause may call this."""
    lift = HoldLift.objects.create(hold=hold, reason=reason, lifted_at=at, lifted_by=scope.user)
    ledger.seal(
        log_id=scope.log_id,
        kind="hold.lifted",
        subject=f"hold_lift:{lift.id}",
        body=sealing.lift_body(lift),
        actor=scope.actor,
        at=at,
    )
    return lift


def revision_move(*, scope: Scope, lot: Lot, revision: PlanRevision, reason: str, at: datetime) -> RevisionMove:
    """Puts a lot under a later revision. What was recorded of it stays judged by what it was judged by.

    Raises ActionError without a reason, for a draft or a revision of another dairy, for one that is not later than
    the lot's, and for one that was written anew: its limits could not be told from those already judged.
    """
    if not reason.strip():
        raise ActionError("Say why the batch is moved; the reason stays with it.", field="reason")
    if revision.premises_id != scope.premises.id or lot.premises_id != scope.premises.id:
        raise ActionError("There is no such plan at this dairy.", field="revision")
    if not revision.is_approved:
        raise ActionError(f"{revision} is a draft; approve it first.", field="revision")
    current = PlanRevision.objects.get(pk=revision_ids_of([lot])[lot.pk])
    if revision.number <= current.number:
        raise ActionError(f"{lot.code} stands under {current} already; choose a later one.", field="revision")
    if not _of_one_line(current, revision):
        raise ActionError(
            f"{revision} was not copied from {current}, so what was recorded of {lot.code} cannot be carried over; "
            f"leave it under {current}.",
            field="revision",
        )
    move = RevisionMove.objects.create(
        lot=lot, from_revision=current, to_revision=revision, reason=reason.strip(), moved_at=at, moved_by=scope.user
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="lot.moved_to_revision",
        subject=f"revision_move:{move.id}",
        body=sealing.move_body(move),
        actor=scope.actor,
        at=at,
    )
    return move


def _of_one_line(one: PlanRevision, other: PlanRevision) -> bool:
    """Whether they have control points in common, by the keys that copies keep."""
    keys = [{point.key for point in revision.control_points.all()} for revision in (one, other)]
    return bool(keys[0] & keys[1])
