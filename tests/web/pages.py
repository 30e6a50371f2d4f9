"""People who look at pages: the dairy's own, and a stranger of another dairy."""

from django.test import Client

from haccp.premises import actions as premises
from haccp.premises.scope import Scope
from tests.dairy import Dairy, open_dairy


def signed_in(scope: Scope) -> Client:
    client = Client()
    client.force_login(scope.user)
    return client


def stranger() -> Client:
    """The owner of another dairy."""
    return signed_in(open_dairy(name="Other Farm").owner)


def reader(dairy: Dairy) -> Client:
    """A consultant of the dairy: reads everything, writes nothing."""
    added = premises.person_add(
        scope=dairy.owner, name="Connie Consultant", email="connie@weir.example", password="long enough to be good",
        role="consultant",
    )  # fmt: skip
    return signed_in(Scope(added))
