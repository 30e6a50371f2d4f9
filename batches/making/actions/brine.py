"""A brine is made up of water and salt, refreshed, discarded; a batch is laid in it."""

from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.intake import stock
from batches.intake.models import IngredientLot
from batches.intake.standing import standing_of
from batches.making import sealing
from batches.making.brines import brines_at, tanks_of
from batches.making.models import Brine, BrineChange, BrineUse, Make
from haccp.checks.actions import event_record
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot, LotLink
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import read_typed

What = BrineChange.What
CLOCK_TOLERANCE = timedelta(minutes=2)


@transaction.atomic
def brine_make_up(
    *,
    scope: Scope,
    lot_id: UUID,
    tank_id: UUID,
    water: str,
    volume: str,
    volume_unit: str,
    salt_id: UUID,
    salt: str,
    salt_unit: str,
    made_at: datetime,
    note: str = "",
    now: datetime | None = None,
) -> Brine:
    """Opens a brine lot in a tank that holds none: the tank is taken into use, and the salt that went in is linked.

    water: where it came from. The same lot_id sent again gives the brine already there. Raises ActionError with a
    sentence per field; Conflict where another brine stands in the tank.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = Brine.objects.select_related("lot").filter(pk=lot_id).first()
    if there is not None:
        if (there.lot.premises_id, there.tank_id, there.water) != (scope.premises.pk, tank_id, water.strip()):
            raise Conflict("This brine was already sent with other content; start a new entry.")
        return there
    tank = tanks_of(scope.premises).filter(pk=tank_id).first()
    if tank is None:
        raise ActionError("Choose the tank from the list; add one as a place of the kind “brine tank”.", field="tank")
    standing = brines_at(scope.premises, only_in_use=True).filter(tank=tank).first()
    if standing is not None:
        raise Conflict(f"{standing.lot.code} stands in {tank.name}; discard it first.", field="tank")
    if not water.strip():
        raise ActionError("Say where the water came from.", field="water")
    _refuse_future(made_at, now)
    revision = revision_in_force(scope.premises, made_at)
    if revision is None:
        raise ActionError("No approved plan was in force then; have the plan approved before making up a brine.")
    lot = lots.lot_open(
        scope=scope,
        lot_id=lot_id,
        kind=Lot.Kind.BRINE,
        code=_next_code(scope.premises, made_at),
        revision=revision,
        begun_at=made_at,
        at=now,
    )
    brine = Brine.objects.create(lot=lot, tank=tank, water=water.strip())
    ledger.seal(
        log_id=scope.log_id,
        kind="brine.made_up",
        subject=f"brine:{brine.pk}",
        body=sealing.brine_body(brine),
        actor=scope.actor,
        at=now,
    )
    change = BrineChange(id=uuid5(lot_id, What.MADE_UP), brine=brine, what=What.MADE_UP, note=note.strip(), at=made_at)
    _put_in(scope, change, volume, volume_unit, salt_id, salt, salt_unit, now)
    event_record(
        scope=scope,
        lot_id=lot.pk,
        kind=EventKind.EQUIPMENT_USED,
        occurred_at=made_at,
        event_id=uuid5(lot_id, "tank"),
        place_id=tank.pk,
        now=now,
    )
    return brine


@transaction.atomic
def brine_refresh(
    *,
    scope: Scope,
    change_id: UUID,
    brine_id: UUID,
    refreshed_at: datetime,
    volume: str = "",
    volume_unit: str = "L",
    salt_id: UUID | None = None,
    salt: str = "",
    salt_unit: str = "kg",
    note: str = "",
    now: datetime | None = None,
) -> BrineChange:
    """Water or salt, or both, is added; or something else is done, as note says (skimmed, boiled, filtered)."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = _sent(change_id, brine_id, What.REFRESHED, note)
    if there is not None:
        return there
    brine = _in_use(scope, brine_id)
    _refuse_moment(brine, refreshed_at, now)
    if not (volume.strip() or salt.strip() or note.strip()):
        raise ActionError("Say what was added, or what was done.", field="note")
    change = BrineChange(id=change_id, brine=brine, what=What.REFRESHED, note=note.strip(), at=refreshed_at)
    _put_in(scope, change, volume, volume_unit, salt_id, salt, salt_unit, now)
    return change


@transaction.atomic
def brine_discard(
    *,
    scope: Scope,
    change_id: UUID,
    brine_id: UUID,
    reason: str,
    discarded_at: datetime,
    now: datetime | None = None,
) -> BrineChange:
    """It is poured away, on hold or not: it feeds nobody then. What lay in it stays linked to it."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = _sent(change_id, brine_id, What.DISCARDED, reason)
    if there is not None:
        return there
    brine = _in_use(scope, brine_id)
    _refuse_moment(brine, discarded_at, now)
    if not reason.strip():
        raise ActionError("Say why it is discarded, and where to.", field="reason")
    last = brine.uses.order_by("-laid_in_at").first()
    if last is not None and discarded_at < last.laid_in_at:
        raise ActionError(f"{last.make} was laid in it after that; correct the time.", field="at")
    change = BrineChange(id=change_id, brine=brine, what=What.DISCARDED, note=reason.strip(), at=discarded_at)
    _write(scope, change, now)
    return change


@transaction.atomic
def batch_lay_in_brine(
    *,
    scope: Scope,
    use_id: UUID,
    brine_id: UUID,
    make_id: UUID,
    laid_in_at: datetime,
    now: datetime | None = None,
) -> BrineUse:
    """The batch is in the tank from then on until it comes into a room; it is salted, if nobody had said so yet.

    The same use_id sent again gives the use already there. Raises ActionError for a brine on hold, and a moment that
    cannot be; Conflict for a batch that was laid in this brine already.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = BrineUse.objects.filter(pk=use_id).first()
    if there is not None:
        if (there.brine_id, there.make_id, there.laid_in_at) != (brine_id, make_id, laid_in_at):
            raise Conflict("This was already sent with other content; start a new entry.")
        return there
    brine = _in_use(scope, brine_id)
    make = Make.objects.select_related("lot").filter(lot__premises=scope.premises, pk=make_id).first()
    if make is None:
        raise ActionError("There is no such batch at this dairy; choose one from the list.", field="make")
    _refuse_moment(brine, laid_in_at, now)
    if BrineUse.objects.filter(brine=brine, make=make).exists():
        raise Conflict(f"{make} was laid in {brine.lot.code} already.", field="brine")
    # What it lay in: a brine is not used up by a cheese.
    volume_l = brines_at(scope.premises).get(pk=brine.pk).volume_l
    link = lots.link_add(scope=scope, parent=brine.lot, child=make.lot, amount=volume_l, unit="L", at=now)
    use = BrineUse.objects.create(
        id=use_id,
        brine=brine,
        make=make,
        link=link,
        laid_in_at=laid_in_at,
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="brine.used",
        subject=f"brine_use:{use.pk}",
        body=sealing.brine_use_body(use),
        actor=scope.actor,
        at=now,
    )
    kinds = [EventKind.LAID_IN_BRINE]
    if not make.lot.events.filter(kind=EventKind.SALTED).exists():
        kinds.insert(0, EventKind.SALTED)
    for kind in kinds:
        event_record(
            scope=scope,
            lot_id=make.pk,
            kind=kind,
            occurred_at=laid_in_at,
            event_id=uuid5(use_id, kind),
            place_id=brine.tank_id,
            note=f"in brine {brine.lot.code}",
            now=now,
        )
    return use


def _put_in(
    scope: Scope,
    change: BrineChange,
    volume: str,
    volume_unit: str,
    salt_id: UUID | None,
    salt: str,
    salt_unit: str,
    now: datetime,
) -> None:
    """Reads water and salt, links the salt, writes the change. What is wrong is said at once, each at its field."""
    wrong: dict[str, str] = {}
    is_new = change.what == What.MADE_UP
    if volume.strip() or is_new:
        try:
            change.water_l = _more_than_nothing("volume", volume, volume_unit)
        except InputError as error:
            wrong["volume"] = str(error)
        change.typed_water, change.water_unit = volume.strip(), volume_unit
    row, kg = None, 0.0
    if salt.strip() or is_new:
        try:
            kg = _more_than_nothing("mass", salt, salt_unit)
            row = _salt(scope, salt_id, kg, change.at)
        except InputError as error:
            wrong["salt"] = str(error)
        except ActionError as error:
            wrong |= error.fields
        change.typed_salt, change.salt_unit = salt.strip(), salt_unit
    if wrong:
        first = next(iter(wrong.values()))
        raise ActionError(first if len(wrong) == 1 else f"{len(wrong)} entries need correcting.", fields=wrong)
    if row is not None:
        change.salt = _link(scope, row, change.brine, kg, now)
    _write(scope, change, now)


def _link(scope: Scope, salt: IngredientLot, brine: Brine, kg: float, now: datetime) -> LotLink:
    return lots.link_add(scope=scope, parent=salt.lot, child=brine.lot, amount=kg, unit="kg", at=now)


def _more_than_nothing(quantity: str, text: str, unit: str) -> float:
    value = read_typed(quantity, text.strip(), unit).value_si
    if value <= 0:
        raise InputError("That is nothing.", remedy="Type how much went in.")
    return value


def _salt(scope: Scope, salt_id: UUID | None, kg: float, at: datetime) -> IngredientLot:
    row = (
        IngredientLot.objects.select_related("lot", "lot__premises")
        .filter(lot__premises=scope.premises, pk=salt_id, kind=IngredientLot.Kind.SALT)
        .first()
    )
    if row is None or row.quantity != IngredientLot.Quantity.MASS:
        raise ActionError("Choose the salt lot from the list.", field="salt_lot")
    left = stock.left_si(row)
    if kg > left + stock.ROUNDING[row.quantity]:
        shown = stock.show_amount(row.quantity, max(left, 0.0))
        raise ActionError(f"Only {shown} of {row.lot.code} is left; correct its stock, or add another lot after it.",
                          field="salt")  # fmt: skip
    lots.refuse_held(row.lot, "and cannot be used")
    against = standing_of(row.lot, at).why_not(heated=False)
    if against:
        raise ActionError(f"{row.name} ({row.lot.code}) may not be used: {', '.join(against)}.", field="salt_lot")
    return row


def _write(scope: Scope, change: BrineChange, now: datetime) -> None:
    change.recorded_at, change.recorded_by = now, scope.user
    change.save(force_insert=True)
    ledger.seal(
        log_id=scope.log_id,
        kind="brine.changed",
        subject=f"brine_change:{change.pk}",
        body=sealing.brine_change_body(change),
        actor=scope.actor,
        at=now,
    )


def _sent(change_id: UUID, brine_id: UUID, what: str, note: str) -> BrineChange | None:
    there = BrineChange.objects.filter(pk=change_id).first()
    if there is not None and (there.brine_id, there.what, there.note) != (brine_id, what, note.strip()):
        raise Conflict("This was already sent with other content; start a new entry.")
    return there


def _in_use(scope: Scope, brine_id: UUID) -> Brine:
    brine = Brine.objects.select_related("lot", "tank").filter(lot__premises=scope.premises, pk=brine_id).first()
    if brine is None:
        raise ActionError("There is no such brine at this dairy; choose one from the list.", field="brine")
    if brine.changes.filter(what=What.DISCARDED).exists():
        raise Conflict(f"{brine.lot.code} is discarded already.", field="brine")
    return brine


def _refuse_future(moment: datetime, now: datetime) -> None:
    if moment > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="at")


def _refuse_moment(brine: Brine, moment: datetime, now: datetime) -> None:
    _refuse_future(moment, now)
    if moment < brine.lot.begun_at:
        raise ActionError(f"That is before {brine.lot.code} was made up; correct the time.", field="at")


def _next_code(premises: Premises, made_at: datetime) -> str:
    """BR260310, then BR260310-2: unique because the premises' row is locked."""
    stem = f"BR{made_at.astimezone(premises.zone):%y%m%d}"
    count = Lot.objects.for_premises(premises).filter(code__startswith=stem).count()
    return f"{stem}-{count + 1}" if count else stem
