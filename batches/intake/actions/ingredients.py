"""Ingredients and packaging come in, and their stock is corrected."""

import math
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.intake import sealing, stock
from batches.intake.models import IngredientLot, StockChange, Supplier
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.models import Lot
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import QUANTITIES, read_typed

CLOCK_TOLERANCE = timedelta(minutes=2)
LONGEST_KEPT = timedelta(days=20 * 366)


def quantity_of_unit(unit: str) -> str:
    """mass, volume or pieces. Raises ActionError for another unit."""
    for key in IngredientLot.Quantity.values:
        if unit in QUANTITIES[key].units:
            return str(key)
    raise ActionError("Choose the unit of the amount.", field="amount_unit")


@transaction.atomic
def ingredient_receive(
    *,
    scope: Scope,
    lot_id: UUID,
    kind: str,
    name: str,
    amount: str,
    amount_unit: str,
    received_at: datetime,
    supplier_id: UUID | None = None,
    supplier_lot: str = "",
    expires_on: date | None = None,
    strength: str = "",
    strength_unit: str = "",
    bulk_density: str = "",
    note: str = "",
    now: datetime | None = None,
) -> IngredientLot:
    """Opens an ingredient lot. amount as typed; its unit says whether it is weighed, measured or counted.

    strength, bulk_density: numbers as typed, "" for none. The same lot_id sent again gives the lot already there.
    Raises ActionError with a sentence per field.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = IngredientLot.objects.select_related("lot").filter(pk=lot_id).first()
    if there is not None:
        kept = (there.lot.premises_id, there.kind, there.name, there.typed_amount, there.typed_unit)
        sent = (scope.premises.pk, kind, name.strip(), amount.strip(), amount_unit)
        if kept != sent or there.lot.begun_at != received_at:
            raise Conflict("This ingredient was already sent with other content; start a new entry.")
        return there
    wrong = _wrong(kind, name, received_at, expires_on, now)
    supplier = None
    if supplier_id is not None:
        supplier = Supplier.objects.filter(premises=scope.premises, pk=supplier_id).first()
        if supplier is None:
            wrong["supplier"] = "There is no such supplier at this dairy; choose one from the list."
    quantity, amount_si = _amount(amount, amount_unit, wrong)
    numbers = _numbers(strength, strength_unit, bulk_density, wrong)
    revision = revision_in_force(scope.premises, received_at)
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    if revision is None:
        raise ActionError("No approved plan was in force then; have the plan approved before recording ingredients.")
    lot = lots.lot_open(
        scope=scope,
        lot_id=lot_id,
        kind=Lot.Kind.INGREDIENT,
        code=_next_code(scope.premises, received_at),
        revision=revision,
        begun_at=received_at,
        at=now,
    )
    row = IngredientLot.objects.create(
        lot=lot,
        kind=kind,
        name=name.strip(),
        supplier=supplier,
        supplier_lot=supplier_lot.strip(),
        expires_on=expires_on,
        quantity=quantity,
        amount_si=amount_si,
        typed_amount=amount.strip(),
        typed_unit=amount_unit,
        strength=numbers["strength"],
        strength_unit=strength_unit if numbers["strength"] is not None else "",
        bulk_density_g_per_ml=numbers["bulk_density"],
        note=note.strip(),
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="ingredient.received",
        subject=f"ingredient:{row.pk}",
        body=sealing.ingredient_body(row),
        actor=scope.actor,
        at=now,
    )
    return row


@transaction.atomic
def stock_change(
    *,
    scope: Scope,
    change_id: UUID,
    lot_id: UUID,
    left: str,
    left_unit: str,
    reason: str,
    now: datetime | None = None,
) -> StockChange:
    """The lot was counted or weighed: left is what is there now, as typed; the difference is kept with its reason.

    Raises ActionError without a reason, and where nothing differs.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = StockChange.objects.filter(pk=change_id).first()
    if there is not None:
        if (there.lot_id, there.typed_text, there.reason) != (lot_id, left.strip(), reason.strip()):
            raise Conflict("This count was already sent with other content; start a new entry.")
        return there
    row = IngredientLot.objects.select_related("lot").filter(lot__premises=scope.premises, pk=lot_id).first()
    if row is None:
        raise ActionError("There is no such ingredient at this dairy.", field="lot")
    try:
        read = read_typed(row.quantity, left, left_unit)
    except InputError as error:
        raise ActionError(str(error), field="left") from error
    if not reason.strip():
        raise ActionError("Say why the stock differs: counted, spilled, thrown away.", field="reason")
    difference = read.value_si - stock.left_si(row)
    if math.isclose(difference, 0.0, abs_tol=stock.ROUNDING[row.quantity]):
        raise ActionError("That is what should be left already; nothing needs changing.", field="left")
    change = StockChange.objects.create(
        id=change_id,
        lot=row.lot,
        change_si=difference,
        typed_text=left.strip(),
        typed_unit=left_unit,
        reason=reason.strip(),
        changed_at=now,
        changed_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="ingredient.stock",
        subject=f"stock:{change.id}",
        body=sealing.stock_body(change),
        actor=scope.actor,
        at=now,
    )
    return change


def _wrong(kind: str, name: str, received_at: datetime, expires_on: date | None, now: datetime) -> dict[str, str]:
    wrong: dict[str, str] = {}
    if kind not in IngredientLot.Kind.values:
        wrong["kind"] = "Choose what kind of ingredient it is."
    if not name.strip():
        wrong["name"] = "Give its name as it stands on the label."
    if received_at > now + CLOCK_TOLERANCE:
        wrong["received_at"] = "That time is in the future; correct the time."
    if expires_on is not None and not received_at.date() - LONGEST_KEPT < expires_on < now.date() + LONGEST_KEPT:
        wrong["expires_on"] = "That is not a date that a label shows; read it again."
    return wrong


def _numbers(strength: str, strength_unit: str, bulk_density: str, wrong: dict[str, str]) -> dict[str, float | None]:
    numbers = {
        "strength": _positive(strength, "strength", "Type the strength that the label shows, as a number.", wrong),
        "bulk_density": _positive(
            bulk_density, "bulk_density", "Weigh a levelled 5 mL spoon: its grams divided by 5.", wrong
        ),
    }
    if numbers["strength"] is not None and strength_unit not in IngredientLot.StrengthUnit.values:
        wrong["strength_unit"] = "Say in which unit the label gives the strength."
    return numbers


def _amount(amount: str, unit: str, wrong: dict[str, str]) -> tuple[str, float]:
    try:
        quantity = quantity_of_unit(unit)
        value = read_typed(quantity, amount, unit).value_si
    except ActionError as error:
        wrong.update(error.fields)
        return "", 0.0
    except InputError as error:
        wrong["amount"] = str(error)
        return quantity, 0.0
    if value <= 0:
        wrong["amount"] = "Type how much came in, more than nothing."
    return quantity, value


def _positive(text: str, field: str, remedy: str, wrong: dict[str, str]) -> float | None:
    if not text.strip():
        return None
    try:
        number = float(text.strip().replace(",", "."))
    except ValueError:
        number = math.nan
    if not (math.isfinite(number) and 0 < number <= 1e6):
        wrong[field] = f"“{text.strip()}” cannot be used. {remedy}"
        return None
    return number


def _next_code(premises: Premises, received_at: datetime) -> str:
    """I<day>-<count>, unique because the premises' row is locked."""
    stem = f"I{received_at.astimezone(premises.zone):%y%m%d}-"
    count = Lot.objects.for_premises(premises).filter(code__startswith=stem).count()
    return f"{stem}{count + 1}"
