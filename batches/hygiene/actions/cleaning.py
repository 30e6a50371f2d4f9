"""A cleaning that was done: its check's record, the method and the lots of the chemicals."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.hygiene.actions.sealed import seal
from batches.hygiene.models import ChemicalLot, Cleaning, CleaningLot, Method
from batches.hygiene.queries import check_in_force
from haccp.checks.actions import EntryTyped, Saved, record_save
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def cleaning_record(
    *,
    scope: Scope,
    record_id: UUID,
    method_id: UUID,
    entries: Mapping[UUID, EntryTyped],
    observed_at: datetime,
    lot_ids: Sequence[UUID] = (),
    check_id: UUID | None = None,
    due_id: UUID | None = None,
    instrument_id: UUID | None = None,
    note: str = "",
    device_at: datetime | None = None,
    now: datetime | None = None,
) -> Saved:
    """Saves the record of the method's check, with the method and the lot of each chemical used.

    check_id: the check as it is due, which may be of an earlier revision; the one in force without it. Raises
    ActionError for a chemical of the method without its lot, a lot past its date, and as record_save.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    method = Method.objects.select_related("place").filter(place__premises=scope.premises, id=method_id).first()
    if method is None:
        raise ActionError("There is no such method at this dairy.", field="method")
    check = check_in_force(scope.premises, method, observed_at) if check_id is None else None
    if check_id is None and check is None:
        raise ActionError("The plan in force then has no check for this method; correct the method.", field="method")
    lots = _lots(scope, method, lot_ids, observed_at)
    saved = record_save(
        scope=scope,
        record_id=record_id,
        check_id=check_id or check.id,  # type: ignore[union-attr]
        entries=entries,
        observed_at=observed_at,
        due_id=due_id,
        instrument_id=instrument_id,
        note=note,
        device_at=device_at,
        now=now,
    )
    if not saved.created:
        kept = Cleaning.objects.filter(record=saved.record).first()
        if kept is None or kept.method_id != method.id or {one.id for one in kept.lots.all()} != set(lot_ids):
            raise Conflict("This record was already sent with other content; open it and amend it instead.")
        return saved
    cleaning = Cleaning.objects.create(record=saved.record, method=method)
    CleaningLot.objects.bulk_create(CleaningLot(cleaning=cleaning, lot=lot) for lot in lots)
    seal(scope, cleaning, now)
    return saved


def _lots(scope: Scope, method: Method, lot_ids: Sequence[UUID], at: datetime) -> list[ChemicalLot]:
    lots = list(
        ChemicalLot.objects.filter(chemical__premises=scope.premises, id__in=lot_ids).select_related("chemical")
    )
    if len(lots) != len(set(lot_ids)):
        raise ActionError("Choose the lots from the list.", field="lots")
    day = scope.premises.local_date(at)
    wrong: dict[str, str] = {}
    for lot in lots:
        if lot.expires_on is not None and lot.expires_on < day:
            wrong[f"lot-{lot.chemical_id}"] = (
                f"{lot} ran out on {lot.expires_on.isoformat()}: clean again with a lot that is in date."
            )
    there = {lot.chemical_id for lot in lots}
    for chemical in method.chemicals.all():
        if chemical.id not in there:
            wrong[f"lot-{chemical.id}"] = f"Say from which lot the {chemical.name} was."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    return lots
