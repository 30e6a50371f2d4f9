"""Writes that make the trace a graph: whey and trim written down, milk blended, one lot worked into another."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.intake.models import MilkLot
from batches.intake.queries import ROUNDING_L, left_l
from batches.intake.standing import standings
from batches.stock.actions.entering import events_write, find_items
from batches.stock.models import ItemEvent
from batches.tracing import sealing
from batches.tracing.amounts import QUANTITY_OF_UNIT, ROUNDING, left_of
from batches.tracing.models import ByProduct
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.models import Lot, LotLink
from haccp.lots.queries import revision_ids_of
from haccp.plan.models import PlanRevision
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import read_typed, show

CLOCK_TOLERANCE = timedelta(minutes=2)
QUANTITY_OF = {"L": "volume", "gal (US)": "volume", "kg": "mass", "g": "mass", "lb": "mass"}
SI_UNIT = {"volume": "L", "mass": "kg"}


@transaction.atomic
def by_product_record(
    *,
    scope: Scope,
    lot_id: UUID,
    from_lot_id: UUID,
    kind: str,
    amount: str,
    unit: str,
    drawn_at: datetime,
    now: datetime | None = None,
) -> ByProduct:
    """Whey, cream, trim or curd that came off a batch becomes a lot of its own; it shares every hold of the batch.

    The same lot_id sent again gives the lot already there. Raises ActionError with a sentence per field.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = ByProduct.objects.select_related("lot").filter(pk=lot_id).first()
    if there is not None:
        if (there.kind, there.typed_amount, there.typed_unit) != (kind, amount.strip(), unit):
            raise Conflict("This was already sent with other content; start a new entry.")
        return there
    batch = _find(premises, from_lot_id)
    if kind not in ByProduct.Kind.values:
        raise ActionError("Choose what came off: whey, cream, trim or curd.", field="kind")
    value, si_unit = _read(amount, unit)
    _refuse_time(batch, drawn_at, now, field="drawn_at")
    lot = lots.lot_open(
        scope=scope,
        lot_id=lot_id,
        kind=Lot.Kind.BY_PRODUCT,
        code=_free_code(premises, f"{batch.code}-{kind[0].upper()}"),
        revision=PlanRevision.objects.get(pk=revision_ids_of([batch])[batch.pk]),
        begun_at=drawn_at,
        at=now,
    )
    made = ByProduct.objects.create(
        lot=lot, kind=kind, amount=value, unit=si_unit, typed_amount=amount.strip(), typed_unit=unit
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="lot.by_product",
        subject=f"by_product:{lot.pk}",
        body=sealing.by_product_body(made),
        actor=scope.actor,
        at=now,
    )
    lots.link_add(scope=scope, parent=batch, child=lot, amount=value, unit=si_unit, at=now, carries_hold=True)
    return made


@transaction.atomic
def milk_blend(
    *,
    scope: Scope,
    lot_id: UUID,
    milk_l: Mapping[UUID, float],
    blended_at: datetime,
    now: datetime | None = None,
) -> MilkLot:
    """Milk of several lots run together becomes one lot. milk_l: milk lot -> litres of it.

    Raises ActionError for fewer than two lots, several species, milk on hold, or more than there is.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = MilkLot.objects.select_related("lot").filter(pk=lot_id).first()
    used = {one: volume for one, volume in milk_l.items() if volume > 0}
    if there is not None:
        if dict(there.lot.links_in.values_list("parent_id", "amount")) != used:
            raise Conflict("This blend was already sent with other content; start a new entry.")
        return there
    milk = list(MilkLot.objects.filter(lot__premises=premises, pk__in=used).select_related("lot"))
    if len(milk) != len(used) or len(milk) < 2:
        raise ActionError("Choose at least two milk lots of this dairy, and how much of each.", field="milk")
    if len({one.species for one in milk}) > 1:
        raise ActionError("Milk of different animals stays apart: no cheese of the plan is made of both.", field="milk")
    known = standings(premises, [one.lot for one in milk], now)
    for one in milk:
        against = known[one.pk].why_not(heated=True)
        if against:
            raise ActionError(f"{one.lot.code} may not be used: {', '.join(against)}.", field="milk")
        left = left_l(one)
        if used[one.pk] > left + ROUNDING_L:
            raise ActionError(f"Only {show('volume', left)} of {one.lot.code} is left.", field="milk")
        _refuse_time(one.lot, blended_at, now, field="blended_at")
    revision = revision_in_force(premises, blended_at)
    if revision is None:
        raise ActionError("No approved plan was in force then; have the plan approved before recording milk.")
    stem = f"M{blended_at.astimezone(premises.zone):%y%m%d}-B"
    lot = lots.lot_open(
        scope=scope,
        lot_id=lot_id,
        kind=Lot.Kind.MILK,
        code=_free_code(premises, stem),
        revision=revision,
        begun_at=blended_at,
        at=now,
    )
    total = sum(used.values())
    blend = MilkLot.objects.create(
        lot=lot,
        species=milk[0].species,
        source=" + ".join(sorted({one.source for one in milk}))[:120],
        volume_l=total,
        typed_volume=f"{total:g}",
        typed_unit="L",
    )
    for one in milk:
        lots.link_add(scope=scope, parent=one.lot, child=lot, amount=used[one.pk], unit="L", at=now)
    return blend


@transaction.atomic
def use_record(
    *,
    scope: Scope,
    parent_id: UUID,
    child_id: UUID,
    amount: str,
    unit: str,
    now: datetime | None = None,
) -> LotLink:
    """Some of one lot went into another: whey into ricotta, trim into a batch, milk into another lot.

    Cheese itself is worked in by its pieces (rework_record). Raises ActionError for another unit than the lot is
    counted in, for more than there is, for a lot on hold, and for a link that would make a lot its own ancestor.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    parent, child = _find(premises, parent_id), _find(premises, child_id)
    if parent.kind in (Lot.Kind.BATCH, Lot.Kind.RECEIVED):
        raise ActionError("Choose the pieces of cheese that are worked in, on the page of their stock.", field="parent")
    if parent.kind == Lot.Kind.BRINE:
        raise ActionError("A batch is laid in brine on the page of the brine.", field="parent")
    value, si_unit = _read(amount, unit)
    counted_in, left = left_of(parent)
    if si_unit != counted_in:
        raise ActionError(f"{parent.code} is counted in {counted_in}; give the amount in that.", field="unit")
    if left is not None and value > left + ROUNDING[counted_in]:
        raise ActionError(
            f"Only {show(QUANTITY_OF_UNIT[counted_in], max(left, 0.0))} of {parent.code} is left.", field="amount"
        )
    return lots.link_add(scope=scope, parent=parent, child=child, amount=value, unit=si_unit, at=now)


@transaction.atomic
def rework_record(
    *,
    scope: Scope,
    request_id: UUID,
    item_ids: Sequence[UUID],
    child_id: UUID,
    worked_at: datetime,
    now: datetime | None = None,
) -> list[LotLink]:
    """Pieces of cheese go into a batch: they leave stock, and their batches become its ancestors."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    child = _find(premises, child_id)
    events = [uuid5(request_id, str(one)) for one in item_ids]
    if ItemEvent.objects.filter(pk__in=events).exists():
        return list(LotLink.objects.filter(child=child, parent__items__in=item_ids).distinct())
    items = find_items(scope, item_ids)
    strange = [str(item) for item in items if item.lot.kind == Lot.Kind.RECEIVED]
    if strange:
        # A hold at the premises that made it would not reach what was made of it here.
        words = f"{', '.join(strange)}: cheese from another of your premises is not worked in here; send it back there."
        raise ActionError(words, field="items")
    _refuse_time(child, worked_at, now, field="worked_at")
    by_lot: dict[UUID, float] = {}
    for item in items:
        by_lot[item.lot_id] = by_lot.get(item.lot_id, 0.0) + item.now_kg
    parents = Lot.objects.in_bulk(by_lot)
    links = [
        lots.link_add(scope=scope, parent=parents[lot_id], child=child, amount=kg, unit="kg", at=now)
        for lot_id, kg in by_lot.items()
    ]
    worked_in = [
        ItemEvent(
            id=uuid5(request_id, str(item.pk)),
            item=item,
            kind=ItemEvent.Kind.REWORKED,
            ends=True,
            weight_kg=item.now_kg,
            note=f"into {child.code}",
            occurred_at=worked_at,
            recorded_at=now,
            recorded_by=scope.user,
        )
        for item in items
    ]
    events_write(scope, worked_in, now)
    return links


def _find(premises: Premises, lot_id: UUID) -> Lot:
    lot = Lot.objects.for_premises(premises).filter(pk=lot_id).first()
    if lot is None:
        raise ActionError("There is no such lot at this dairy.", field="lot")
    return lot


def _read(amount: str, unit: str) -> tuple[float, str]:
    if unit not in QUANTITY_OF:
        raise ActionError("Choose the unit from the list.", field="unit")
    try:
        value = read_typed(QUANTITY_OF[unit], amount.strip(), unit).value_si
    except InputError as error:
        raise ActionError(str(error), field="amount") from error
    if value <= 0:
        raise ActionError("Enter how much it was, more than nothing.", field="amount")
    return value, SI_UNIT[QUANTITY_OF[unit]]


def _refuse_time(lot: Lot, moment: datetime, now: datetime, *, field: str) -> None:
    if moment > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field=field)
    if moment < lot.begun_at:
        raise ActionError(f"That is before {lot.code} began; correct the time.", field=field)


def _free_code(premises: Premises, stem: str) -> str:
    """stem, then stem2, stem3 ...: unique because the premises' row is locked."""
    count = Lot.objects.for_premises(premises).filter(code__startswith=stem).count()
    return f"{stem}{count + 1}" if count else stem
