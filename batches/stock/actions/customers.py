"""Customers: added, changed, retired. One who was ever sold to stays, so that a recall can reach them."""

from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.stock.models import Customer
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.gs1 import read_gln

FIELDS = ("name", "contact", "phone", "email", "address", "gln", "is_ours")


@transaction.atomic
def customer_add(
    *,
    scope: Scope,
    customer_id: UUID,
    name: str,
    contact: str = "",
    phone: str = "",
    email: str = "",
    address: str = "",
    gln: str = "",
    is_ours: bool = False,
) -> Customer:
    """Raises ActionError without a way to reach them: a recall needs one."""
    scope.require(Right.RECORD)
    there = Customer.objects.filter(pk=customer_id).first()
    if there is not None:
        if there.premises_id != scope.premises.pk or there.name != name.strip():
            raise Conflict("This customer was already sent with other content; start a new entry.")
        return there
    typed = _checked(
        scope, None, name=name, contact=contact, phone=phone, email=email, address=address, gln=gln, is_ours=is_ours
    )
    return Customer.objects.create(id=customer_id, premises=scope.premises, **typed)


@transaction.atomic
def customer_change(*, scope: Scope, customer_id: UUID, **typed: str | bool) -> Customer:
    """New details of a customer; what was dispatched before stays with the same customer."""
    scope.require(Right.RECORD)
    customer = Customer.objects.select_for_update().filter(premises=scope.premises, pk=customer_id).first()
    if customer is None:
        raise ActionError("There is no such customer at this dairy.")
    kept = {key: getattr(customer, key) for key in FIELDS}
    for key, value in _checked(scope, customer, **(kept | typed)).items():
        setattr(customer, key, value)
    customer.save()
    return customer


@transaction.atomic
def customer_retire(*, scope: Scope, customer_id: UUID) -> None:
    """No longer offered for a dispatch; still listed and reached in a recall."""
    scope.require(Right.RECORD)
    if not Customer.objects.filter(premises=scope.premises, pk=customer_id).exists():
        raise ActionError("There is no such customer at this dairy.")
    Customer.objects.filter(pk=customer_id, retired_at__isnull=True).update(retired_at=timezone.now())


def _checked(scope: Scope, customer: Customer | None, **typed: str | bool) -> dict[str, str | bool]:
    clean = {key: value.strip() if isinstance(value, str) else value for key, value in typed.items()}
    wrong: dict[str, str] = {}
    if not clean["name"]:
        wrong["name"] = "Give the customer's name."
    others = Customer.objects.filter(premises=scope.premises, name=clean["name"])
    if (others.exclude(pk=customer.pk) if customer else others).exists():
        wrong["name"] = f"There is already a customer called {clean['name']}."
    if not clean["phone"] and not clean["email"]:
        wrong["phone"] = "Give a telephone number or an e-mail address: a recall must reach them."
    try:
        clean["gln"] = read_gln(str(clean["gln"])) if clean["gln"] else ""
    except InputError as error:
        wrong["gln"] = str(error)
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    return clean
