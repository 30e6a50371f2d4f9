"""How a place is cleaned, with which chemicals."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.hygiene.actions.sealed import seal
from batches.hygiene.models import Chemical, ChemicalLot, Method, MethodChemical, MethodStep
from batches.hygiene.queries import cleaning_checks
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@dataclass(frozen=True, slots=True)
class StepTyped:
    kind: str
    text: str


@transaction.atomic
def chemical_add(
    *, scope: Scope, chemical_id: UUID, name: str, purpose: str, active: str = "", now: datetime | None = None
) -> Chemical:
    """Raises ActionError without a name or purpose, Conflict when the name is taken."""
    scope.require(Right.MANAGE)
    if not name.strip():
        raise ActionError("Give the chemical the name on its label.", field="name")
    if purpose not in Chemical.Purpose.values:
        raise ActionError("Choose what it is for.", field="purpose")
    there = Chemical.objects.filter(id=chemical_id, premises=scope.premises).first()
    if there is not None:
        return there
    if Chemical.objects.filter(premises=scope.premises, name=name.strip()).exists():
        raise Conflict(f"There is already a chemical named {name.strip()}.", field="name")
    row = Chemical.objects.create(
        id=chemical_id, premises=scope.premises, name=name.strip(), active=active.strip(), purpose=purpose
    )
    seal(scope, row, now or timezone.now())
    return row


@transaction.atomic
def chemical_lot_add(
    *,
    scope: Scope,
    lot_id: UUID,
    chemical_id: UUID,
    code: str,
    expires_on: date | None = None,
    now: datetime | None = None,
) -> ChemicalLot:
    """A can or drum that was opened. Raises ActionError without a code, Conflict when it is known already."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    there = ChemicalLot.objects.filter(id=lot_id, chemical__premises=scope.premises).first()
    if there is not None:
        return there
    chemical = Chemical.objects.filter(premises=scope.premises, id=chemical_id).first()
    if chemical is None:
        raise ActionError("Choose the chemical from the list.", field="chemical")
    if not code.strip():
        raise ActionError("Type the lot's code as it stands on the can.", field="code")
    if chemical.lots.filter(code=code.strip()).exists():
        raise Conflict(f"This lot of {chemical.name} is known already; choose it from the list.", field="code")
    row = ChemicalLot.objects.create(
        id=lot_id,
        chemical=chemical,
        code=code.strip(),
        expires_on=expires_on,
        recorded_at=now,
        recorded_by=scope.user,
    )
    seal(scope, row, now)
    return row


@transaction.atomic
def method_set(
    *,
    scope: Scope,
    method_id: UUID,
    place_id: UUID,
    name: str,
    check_key: UUID,
    steps: Sequence[StepTyped],
    chemical_ids: Sequence[UUID] = (),
    before_use: bool = True,
    keeps_clean_s: int | None = None,
    replaces_id: UUID | None = None,
    now: datetime | None = None,
) -> Method:
    """How a place is cleaned, and with which check of the plan that is entered.

    replaces_id: the method that this one takes the place of; cleanings done by it stay as they were.
    Raises ActionError for a check that is not of this place in the plan in force, no steps, or unknown chemicals.
    """
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = Method.objects.filter(id=method_id, place__premises=premises).first()
    if there is not None:
        return there
    place = Place.objects.filter(premises=premises, id=place_id).first()
    if place is None:
        raise ActionError("Choose the place from the list.", field="place")
    if not name.strip():
        raise ActionError("Give the method a name, such as “daily wash”.", field="name")
    if check_key not in {UUID(check.key) for check in cleaning_checks(premises, place, now)}:
        raise ActionError(f"Choose a check of {place.name} in the plan in force.", field="check_key")
    kept = [step for step in steps if step.text.strip()]
    if not kept or any(step.kind not in MethodStep.Kind.values for step in kept):
        raise ActionError("Write the steps, one a line.", field="steps")
    chemicals = list(Chemical.objects.filter(premises=premises, id__in=chemical_ids))
    if len(chemicals) != len(set(chemical_ids)):
        raise ActionError("Choose the chemicals from the list.", field="chemicals")
    row = Method.objects.create(
        id=method_id,
        place=place,
        name=name.strip(),
        check_key=check_key,
        before_use=before_use,
        keeps_clean_s=keeps_clean_s,
        replaces=_replaced(premises, replaces_id),
        recorded_at=now,
        recorded_by=scope.user,
    )
    _details(row, kept, chemicals)
    seal(scope, row, now)
    return row


@transaction.atomic
def method_end(*, scope: Scope, method_id: UUID, replaces_id: UUID, now: datetime | None = None) -> Method:
    """Cleaning by a method is no longer asked for. What was done by it stays."""
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    old = _replaced(premises, replaces_id)
    if old is None:
        raise ActionError("There is no such method at this dairy.")
    row = Method.objects.create(
        id=method_id,
        place=old.place,
        name=old.name,
        check_key=old.check_key,
        before_use=False,
        replaces=old,
        ends_cleaning_by=True,
        recorded_at=now,
        recorded_by=scope.user,
    )
    seal(scope, row, now)
    return row


def _replaced(premises: Premises, method_id: UUID | None) -> Method | None:
    if method_id is None:
        return None
    old = Method.objects.select_related("place").filter(place__premises=premises, id=method_id).first()
    if old is None:
        raise ActionError("There is no such method at this dairy.")
    if hasattr(old, "replaced_by"):
        raise Conflict("This method was changed meanwhile; open its latest version.")
    return old


def _details(method: Method, steps: Sequence[StepTyped], chemicals: Sequence[Chemical]) -> None:
    MethodStep.objects.bulk_create(
        MethodStep(method=method, position=position, kind=step.kind, text=step.text.strip())
        for position, step in enumerate(steps)
    )
    MethodChemical.objects.bulk_create(MethodChemical(method=method, chemical=one) for one in chemicals)
