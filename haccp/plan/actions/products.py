"""Products by their identity."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.plan.models import MilkSpecies, MilkTreatment, Product
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def product_add(
    *,
    scope: Scope,
    name: str,
    code: str,
    species: str,
    treatment: str,
    family: str = "",
    at: datetime | None = None,
) -> Product:
    """A cheese that the dairy makes. Raises ActionError for values that are no choice, Conflict for a name or code
    in use."""
    scope.require(Right.EDIT_PLAN)
    for field, value, longest in (("name", name, 120), ("code", code, 8), ("family", family, 60)):
        if (field != "family" and not value.strip()) or len(value) > longest:
            raise ActionError(f"Give a {field} of 1 to {longest} characters.", field=field)
    if species not in MilkSpecies.values:
        raise ActionError(f"Choose the milk: {', '.join(MilkSpecies.values)}.", field="species")
    if treatment not in MilkTreatment.values:
        raise ActionError(f"Choose the treatment: {', '.join(MilkTreatment.values)}.", field="treatment")
    here = Product.objects.filter(premises=scope.premises)
    if here.filter(name=name).exists():
        raise Conflict(f"There is already a product named {name}.", field="name")
    if here.filter(code=code).exists():
        raise Conflict(f"There is already a product with the code {code}; choose another.", field="code")
    return Product.objects.create(
        premises=scope.premises,
        name=name,
        code=code,
        species=species,
        treatment=treatment,
        family=family,
        added_at=at or timezone.now(),
    )


@transaction.atomic
def product_retire(*, scope: Scope, product_id: UUID, at: datetime) -> Product:
    """The cheese is no longer made: no make of it can be started, and no plan has to describe it.

    Batches that were begun stay as they are. Raises ActionError where the dairy has no such cheese or it is retired.
    """
    product = _here(scope, product_id)
    if product.retired_at is not None:
        raise ActionError(f"{product} is not made any more as it is.")
    product.retired_at = at
    product.save(update_fields=["retired_at"])
    return product


@transaction.atomic
def product_restore(*, scope: Scope, product_id: UUID) -> Product:
    """The cheese is made again. Raises ActionError where the dairy has no such cheese or it is made already."""
    product = _here(scope, product_id)
    if product.retired_at is None:
        raise ActionError(f"{product} is being made as it is.")
    product.retired_at = None
    product.save(update_fields=["retired_at"])
    return product


def _here(scope: Scope, product_id: UUID) -> Product:
    scope.require(Right.EDIT_PLAN)
    product = Product.objects.select_for_update().filter(premises=scope.premises, pk=product_id).first()
    if product is None:
        raise ActionError("There is no such cheese at this dairy.")
    return product
