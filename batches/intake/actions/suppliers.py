"""Who milk and ingredients come from: kept as they change, since lots keep the name that they came under."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.intake.models import Supplier
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def supplier_add(
    *,
    scope: Scope,
    supplier_id: UUID,
    name: str,
    kind: str,
    contact: str = "",
    approval: str = "",
    now: datetime | None = None,
) -> Supplier:
    """The same supplier_id sent again gives the supplier already there. Raises ActionError with a sentence per field,
    Conflict for a name that is taken."""
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = Supplier.objects.filter(pk=supplier_id).first()
    if there is not None:
        if (there.premises_id, there.name, there.kind) != (scope.premises.pk, name.strip(), kind):
            raise Conflict("This supplier was already sent with other content; start a new entry.")
        return there
    _refuse_unusable(scope, name, kind, None)
    return Supplier.objects.create(
        id=supplier_id,
        premises=scope.premises,
        name=name.strip(),
        kind=kind,
        contact=contact.strip(),
        approval=approval.strip(),
        added_at=now or timezone.now(),
    )


@transaction.atomic
def supplier_change(*, scope: Scope, supplier_id: UUID, name: str, kind: str, contact: str, approval: str) -> Supplier:
    """Lots already recorded keep the name that they came under. Raises ActionError and Conflict as supplier_add."""
    scope.require(Right.RECORD)
    supplier = _found(scope, supplier_id)
    _refuse_unusable(scope, name, kind, supplier)
    supplier.name, supplier.kind = name.strip(), kind
    supplier.contact, supplier.approval = contact.strip(), approval.strip()
    supplier.save(update_fields=["name", "kind", "contact", "approval"])
    return supplier


@transaction.atomic
def supplier_retire(*, scope: Scope, supplier_id: UUID, now: datetime | None = None) -> None:
    """No longer offered; what came from it stays as it is. Twice is once."""
    scope.require(Right.RECORD)
    supplier = _found(scope, supplier_id)
    Supplier.objects.filter(pk=supplier.pk, retired_at__isnull=True).update(retired_at=now or timezone.now())


def _found(scope: Scope, supplier_id: UUID) -> Supplier:
    supplier = Supplier.objects.filter(premises=scope.premises, pk=supplier_id).first()
    if supplier is None:
        raise ActionError("There is no such supplier at this dairy; choose one from the list.", field="supplier")
    return supplier


def _refuse_unusable(scope: Scope, name: str, kind: str, own: Supplier | None) -> None:
    wrong: dict[str, str] = {}
    if not name.strip():
        wrong["name"] = "Give the supplier's name as it stands on the delivery note."
    elif len(name.strip()) > 120:
        wrong["name"] = "Give the name in at most 120 characters."
    if kind not in Supplier.Kind.values:
        wrong["kind"] = "Choose what they supply."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    others = Supplier.objects.filter(premises=scope.premises, name__iexact=name.strip())
    if own is not None:
        others = others.exclude(pk=own.pk)
    if others.exists():
        raise Conflict("There is already a supplier of this name here.", field="name")
