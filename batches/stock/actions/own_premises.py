"""Another premises of the producer as the one that pieces are sent to."""

from uuid import UUID

from batches.stock.models import Customer
from haccp.premises.errors import ActionError
from haccp.premises.models import Membership, Premises
from haccp.premises.queries import own_premises_of
from haccp.premises.scope import Scope


def find_receiver(
    scope: Scope, customer_id: UUID | None, own_premises_id: UUID | None
) -> tuple[Customer, Premises | None]:
    """The customer to send to; with the premises where it is another of the producer's. The premises' row is locked.

    A customer that stands for such a premises sends to it too, so that nothing is left to arrive by a second way.
    """
    if (customer_id is None) == (own_premises_id is None):
        words = "Choose the customer, or another premises of yours: one of the two."
        raise ActionError(words, field="customer")
    if own_premises_id is not None:
        receiver = own_premises_of(scope.premises).filter(pk=own_premises_id).first()
        if receiver is None:
            raise ActionError("Choose one of your own other premises from the list.", field="own_premises")
        return _customer_for(scope, receiver), receiver
    known = Customer.objects.filter(premises=scope.premises, retired_at__isnull=True)
    customer = known.filter(pk=customer_id).first() if customer_id else None
    if customer is None:
        raise ActionError("Choose the customer from the list.", field="customer")
    return customer, customer.own_premises


def _customer_for(scope: Scope, receiver: Premises) -> Customer:
    """The customer that stands for the premises; made when first sent to, so that a recall calls it like any other."""
    there = Customer.objects.filter(premises=scope.premises, own_premises=receiver).first()
    if there is not None:
        return there
    same = Customer.objects.filter(premises=scope.premises, name=receiver.name).first()
    if same is not None and same.is_ours:
        same.own_premises = receiver
        same.save(update_fields=["own_premises"])
        return same
    owner = (
        Membership.objects.filter(premises=receiver, role=Membership.Role.OWNER, left_at__isnull=True)
        .select_related("user")
        .order_by("since")
        .first()
    )
    if owner is None:
        raise ActionError("Nobody is owner there any more, so that a recall could reach nobody.", field="own_premises")
    return Customer.objects.create(
        premises=scope.premises,
        name=receiver.name if same is None else f"{receiver.name} (our own)",
        contact=owner.user.name[:120],
        email=owner.user.email,
        address=receiver.address,
        is_ours=True,
        own_premises=receiver,
    )
