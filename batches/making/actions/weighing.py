"""The cheese of a make is weighed."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.making import sealing
from batches.making.models import Make, MakeYield
from batches.making.whey import IN_THE_VAT
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.making.yields import yield_of
from haccp.science.units import read_typed

CLOCK_TOLERANCE = timedelta(minutes=2)
SHARES = {"fat": "fat", "protein": "protein", "casein": "casein", "moisture": "moisture"}


@transaction.atomic
def yield_record(
    *,
    scope: Scope,
    yield_id: UUID,
    make_id: UUID,
    cheese: str,
    cheese_unit: str,
    weighed_at: datetime,
    fat: str = "",
    protein: str = "",
    casein: str = "",
    moisture: str = "",
    note: str = "",
    now: datetime | None = None,
) -> MakeYield:
    """cheese: all of it, as typed. fat, protein, casein of the milk and moisture of the cheese in per cent as typed, ""
    where not known. Raises ActionError with a sentence per field: also for more cheese than there was milk."""
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = MakeYield.objects.filter(pk=yield_id).first()
    if there is not None:
        if (there.make_id, there.typed_text, there.typed_unit) != (make_id, cheese.strip(), cheese_unit):
            raise Conflict("This weight was already sent with other content; start a new entry.")
        return there
    make = Make.objects.select_related("lot").filter(lot__premises=scope.premises, pk=make_id).first()
    if make is None:
        raise ActionError("There is no such batch at this dairy.", field="make")
    wrong: dict[str, str] = {}
    if weighed_at > now + CLOCK_TOLERANCE:
        wrong["weighed_at"] = "That time is in the future; correct the time."
    elif weighed_at < make.lot.begun_at:
        wrong["weighed_at"] = f"That is before {make.lot.code} began; correct the time."
    cheese_kg = 0.0
    try:
        cheese_kg = read_typed("mass", cheese, cheese_unit).value_si
        milk_l = sum(make.lot.links_in.filter(parent__kind__in=IN_THE_VAT, unit="L").values_list("amount", flat=True))
        yield_of(cheese_kg, milk_l)
    except InputError as error:
        wrong["cheese"] = str(error)
    shares: dict[str, float | None] = {}
    for name, text in (("fat", fat), ("protein", protein), ("casein", casein), ("moisture", moisture)):
        try:
            shares[name] = read_typed(SHARES[name], text, "%").value_si if text.strip() else None
        except InputError as error:
            wrong[name] = str(error)
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    row = MakeYield.objects.create(
        id=yield_id,
        make=make,
        cheese_kg=cheese_kg,
        typed_text=cheese.strip(),
        typed_unit=cheese_unit,
        weighed_at=weighed_at,
        fat_percent=shares["fat"],
        protein_percent=shares["protein"],
        casein_percent=shares["casein"],
        moisture_percent=shares["moisture"],
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="make.yield",
        subject=f"yield:{row.id}",
        body=sealing.yield_body(row),
        actor=scope.actor,
        at=now,
    )
    return row
