"""The GS1 numbers that labels carry: of a product, and of the premises."""

from uuid import UUID

from django.db import transaction

from batches.stock.models import PartyNumber, TradeNumber
from haccp.plan.models import Product
from haccp.premises.errors import ActionError
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.gs1 import read_gln, read_gtin


@transaction.atomic
def trade_number_set(*, scope: Scope, product_id: UUID, gtin: str) -> TradeNumber | None:
    """An empty gtin takes the number off. Raises ActionError for a wrong check digit, or one of another product."""
    scope.require(Right.MANAGE)
    product = Product.objects.filter(premises=scope.premises, pk=product_id).first()
    if product is None:
        raise ActionError("Choose the cheese from the list.", field="product")
    if not gtin.strip():
        TradeNumber.objects.filter(product=product).delete()
        return None
    try:
        read = read_gtin(gtin)
    except InputError as error:
        raise ActionError(str(error), field="gtin") from error
    taken = TradeNumber.objects.filter(product__premises=scope.premises, gtin=read).exclude(product=product).first()
    if taken is not None:
        raise ActionError(f"{taken.product.name} already has this number.", field="gtin")
    number, _ = TradeNumber.objects.update_or_create(product=product, defaults={"gtin": read})
    return number


@transaction.atomic
def party_number_set(*, scope: Scope, gln: str, company_prefix: str) -> PartyNumber:
    """Raises ActionError for a wrong check digit, or a prefix that the GLN does not begin with."""
    scope.require(Right.MANAGE)
    try:
        read = read_gln(gln)
    except InputError as error:
        raise ActionError(str(error), field="gln") from error
    prefix = company_prefix.strip()
    if not (prefix.isdigit() and 4 <= len(prefix) <= 12 and read.startswith(prefix)):
        raise ActionError(
            "The company prefix is the first 4 to 12 digits of your GLN, as your GS1 certificate states it.",
            field="company_prefix",
        )
    number, _ = PartyNumber.objects.update_or_create(
        premises=scope.premises, defaults={"gln": read, "company_prefix": prefix}
    )
    return number
