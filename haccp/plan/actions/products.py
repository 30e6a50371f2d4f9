"""Products by their identity."""

from datetime import datetime

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
