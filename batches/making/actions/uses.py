"""An ingredient goes into a make: its stock falls, and the batch is linked to its lot."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.intake import stock
from batches.intake.actions import exception_open
from batches.intake.models import IngredientLot
from batches.intake.standing import standing_of
from batches.making import sealing
from batches.making.models import Dose, IngredientUse, Make, ProcedureStage
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.queries import standing_holds
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import read_typed

CLOCK_TOLERANCE = timedelta(minutes=2)


@dataclass(frozen=True, slots=True)
class UseTyped:
    """use_id: made by the client. amount as typed, in unit. field: where a sentence about it is shown."""

    use_id: UUID
    lot_id: UUID
    amount: str
    unit: str
    dose_id: UUID | None = None
    field: str = "amount"


@transaction.atomic
def ingredient_use(
    *,
    scope: Scope,
    make_id: UUID,
    use: UseTyped,
    used_at: datetime,
    stage_id: UUID | None = None,
    exception: str = "",
    now: datetime | None = None,
) -> IngredientUse:
    """Adds a use. exception: why a lot that may not be used (expired, refused, not accepted) goes in all the same; that
    opens a deviation. The same use_id sent again gives the use already there.

    Raises ActionError for more than is left, a lot on hold, a time before the make or in the future, and a lot that
    may not be used and no exception.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    make = Make.objects.select_related("lot", "lot__premises").filter(lot__premises=scope.premises, pk=make_id).first()
    if make is None:
        raise ActionError("There is no such batch at this dairy.", field="make")
    stage = None
    if stage_id is not None:
        stage = ProcedureStage.objects.filter(procedure=make.procedure_id, pk=stage_id).first()
        if stage is None:
            raise ActionError("This batch's procedure has no such stage.", field="stage")
    now = now or timezone.now()
    [row] = write_uses(scope=scope, make=make, stage=stage, uses=[use], used_at=used_at, exception=exception, now=now)
    return row


def write_uses(
    *,
    scope: Scope,
    make: Make,
    stage: ProcedureStage | None,
    uses: Sequence[UseTyped],
    used_at: datetime,
    exception: str,
    now: datetime,
) -> list[IngredientUse]:
    """Inside the transaction of the caller, which has locked the premises. All that cannot be is said at once."""
    there = {
        row.pk: row for row in IngredientUse.objects.select_related("link").filter(pk__in=[u.use_id for u in uses])
    }
    wrong: dict[str, str] = {}
    if used_at > now + CLOCK_TOLERANCE:
        wrong["at"] = "That time is in the future; correct the time."
    elif used_at < make.lot.begun_at:
        wrong["at"] = f"That is before {make.lot.code} began; correct the time."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    rows = []
    for use in uses:
        if use.use_id in there:
            _refuse_other_content(there[use.use_id], use, make)
            rows.append(there[use.use_id])
            continue
        try:
            rows.append(_write(scope, make, stage, use, used_at, exception.strip(), now))
        except InputError as error:
            wrong[use.field] = str(error)
        except ActionError as error:
            wrong |= {("exception" if key == "exception" else use.field): text for key, text in error.fields.items()}
    if wrong:
        first = next(iter(wrong.values()))
        raise ActionError(first if len(wrong) == 1 else f"{len(wrong)} entries need correcting.", fields=wrong)
    return rows


def _write(
    scope: Scope,
    make: Make,
    stage: ProcedureStage | None,
    use: UseTyped,
    used_at: datetime,
    exception: str,
    now: datetime,
) -> IngredientUse:
    row = (
        IngredientLot.objects.select_related("lot", "lot__premises")
        .filter(lot__premises=scope.premises, pk=use.lot_id)
        .first()
    )
    if row is None:
        raise ActionError("There is no such ingredient at this dairy; choose one from the list.", field="lot")
    read = read_typed(row.quantity, use.amount, use.unit)
    if read.value_si <= 0:
        raise ActionError("Type how much went in, more than nothing.", field="amount")
    left = stock.left_si(row)
    if read.value_si > left + stock.ROUNDING[row.quantity]:
        raise ActionError(
            f"Only {stock.show_amount(row.quantity, max(left, 0.0))} of {row.lot.code} is left; "
            "take another lot too, or correct its stock.",
            field="amount",
        )
    holds = standing_holds(row.lot)
    if holds:
        raise ActionError(f"{row.lot.code} is on hold and cannot be used: {holds[0].reason}", field="lot")
    against = standing_of(row.lot, used_at).why_not(heated=False)
    if against and not exception:
        raise ActionError(
            f"{row.name} ({row.lot.code}) may not be used: {', '.join(against)}. Take another lot, or say why it is "
            "used all the same, which opens a deviation.",
            field="exception",
        )
    dose = None
    if use.dose_id is not None:
        dose = Dose.objects.filter(stage__procedure=make.procedure_id, pk=use.dose_id).first()
    link = lots.link_add(
        scope=scope,
        parent=row.lot,
        child=make.lot,
        amount=read.value_si,
        unit=stock.SI_UNIT[row.quantity],
        at=now,
    )
    made = IngredientUse.objects.create(
        id=use.use_id,
        make=make,
        link=link,
        stage=stage,
        dose=dose,
        typed_text=use.amount.strip(),
        typed_unit=use.unit,
        used_at=used_at,
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="make.ingredient",
        subject=f"use:{made.id}",
        body=sealing.use_body(made),
        actor=scope.actor,
        at=now,
    )
    if against:
        exception_open(
            scope=scope,
            deviation_id=uuid5(use.use_id, "exception"),
            used={row.lot: ", ".join(against)},
            reason=exception,
            occurred_at=used_at,
            now=now,
        )
    return made


def _refuse_other_content(there: IngredientUse, use: UseTyped, make: Make) -> None:
    kept = (there.make_id, there.link.parent_id, there.typed_text, there.typed_unit)
    if kept != (make.pk, use.lot_id, use.amount.strip(), use.unit):
        raise Conflict("This use was already sent with other content; start a new entry.")
