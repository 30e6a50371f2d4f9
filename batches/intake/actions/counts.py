"""A laboratory's result of the periodic tests of raw milk."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.intake import sealing
from batches.intake.models import MilkCount, Supplier
from haccp.ledger import actions as ledger
from haccp.plan.models import MilkSpecies
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import Typed, read_typed


@transaction.atomic
def count_record(
    *,
    scope: Scope,
    count_id: UUID,
    supplier_id: UUID,
    species: str,
    quantity: str,
    sampled_on: date,
    text: str,
    unit: str = "",
    laboratory: str = "",
    corrects_id: UUID | None = None,
    note: str = "",
    now: datetime | None = None,
) -> MilkCount:
    """Adds a result. text: as the laboratory wrote it, also “< 10”, which counts as 10. corrects_id: the result that
    was wrong; it is shown and counts no more. Raises ActionError with a sentence per field, Conflict."""
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = MilkCount.objects.filter(pk=count_id).first()
    if there is not None:
        kept = (there.premises_id, there.supplier_id, there.quantity, there.sampled_on, there.typed_text)
        if kept != (scope.premises.pk, supplier_id, quantity, sampled_on, text.strip()):
            raise Conflict("This result was already sent with other content; start a new entry.")
        return there
    wrong: dict[str, str] = {}
    supplier = Supplier.objects.filter(premises=scope.premises, pk=supplier_id).first()
    if supplier is None:
        wrong["supplier"] = "Choose whose milk it was from the list."
    if species not in MilkSpecies.values:
        wrong["species"] = "Choose the animals the milk came from."
    if sampled_on > scope.premises.local_date(now):
        wrong["sampled_on"] = "That day is in the future; give the day of the sample."
    read = _read(quantity, text, unit, wrong)
    corrected = _corrected(scope, corrects_id, note, wrong)
    if wrong or supplier is None or read is None:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    row = MilkCount.objects.create(
        id=count_id,
        premises=scope.premises,
        supplier=supplier,
        species=species,
        quantity=quantity,
        sampled_on=sampled_on,
        value=read.value_si,
        is_below=text.strip().startswith("<"),
        typed_text=text.strip(),
        typed_unit=read.unit,
        laboratory=laboratory.strip(),
        corrects=corrected,
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="milk.counted",
        subject=f"count:{row.id}",
        body=sealing.count_body(row),
        actor=scope.actor,
        at=now,
    )
    return row


def _read(quantity: str, text: str, unit: str, wrong: dict[str, str]) -> Typed | None:
    if quantity not in MilkCount.Quantity.values:
        wrong["quantity"] = "Choose what was counted."
        return None
    try:
        read = read_typed(quantity, text.strip().removeprefix("<").strip(), unit)
    except InputError as error:
        wrong["text"] = str(error)
        return None
    if read.value_si <= 0:
        wrong["text"] = "Give the laboratory's lowest countable number where it found nothing, such as “< 10”."
    return read


def _corrected(scope: Scope, corrects_id: UUID | None, note: str, wrong: dict[str, str]) -> MilkCount | None:
    if corrects_id is None:
        return None
    row = MilkCount.objects.filter(premises=scope.premises, pk=corrects_id).first()
    if row is None:
        wrong["corrects"] = "There is no such result at this dairy."
    elif hasattr(row, "corrected_by"):
        raise Conflict("This result was corrected meanwhile; open its correction and correct that.")
    if not note.strip():
        wrong["note"] = "Say what was wrong with the result; both stay on file."
    return row
