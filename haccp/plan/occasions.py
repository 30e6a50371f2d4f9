"""What calls for a review of the plan by itself: each room that knows of such registers how it is found.

Found anew from what is stored, so that nobody has to remember it, and the same whenever it is asked.
"""

from collections.abc import Callable, Sequence
from datetime import date, datetime

from haccp.plan.library_store import replaced_between
from haccp.plan.models import Borrowed, PlanRevision, Product, ReviewOccasion
from haccp.plan.reviewing import Occasion
from haccp.premises.models import Place, Premises

# The dairy, the day since when, and the moment until when -> what happened between.
FindOccasions = Callable[[Premises, date, datetime], Sequence[Occasion]]

_EQUIPMENT = (
    Place.Kind.EQUIPMENT,
    Place.Kind.VAT,
    Place.Kind.MILK_STORE,
    Place.Kind.RIPENING_ROOM,
    Place.Kind.COLD_STORE,
    Place.Kind.BRINE_TANK,
)
_registered: list[FindOccasions] = []


def register(find: FindOccasions) -> None:
    """Called from an AppConfig.ready(); calling twice with the same function changes nothing."""
    if find not in _registered:
        _registered.append(find)


def occasions_since(revision: PlanRevision, since: date, until: datetime) -> list[Occasion]:
    """What people recorded, new cheeses and equipment, replaced sources, and what other rooms found."""
    premises = revision.premises
    found = [
        Occasion(
            premises.local_date(one.occurred_at),
            f"{one.get_kind_display()}: {one.description}",
            premises.local_date(one.recorded_at),
        )
        for one in ReviewOccasion.objects.filter(premises=premises, occurred_at__lte=until)
    ]
    found += _added(premises, until)
    found += _replaced(revision, since, until)
    for find in _registered:
        found += find(premises, since, until)
    return found


def _added(premises: Premises, until: datetime) -> list[Occasion]:
    cheeses = Product.objects.filter(premises=premises, added_at__lte=until).values_list("added_at", "name")
    places = Place.objects.filter(premises=premises, added_at__lte=until, kind__in=_EQUIPMENT)
    return [
        Occasion(premises.local_date(moment), f"{words}: {name}")
        for words, rows in (
            ("new product", cheeses),
            ("new equipment", places.values_list("added_at", "name")),
        )
        for moment, name in rows
        if moment is not None
    ]


def _replaced(revision: PlanRevision, since: date, until: datetime) -> list[Occasion]:
    """Sources of borrowed values that the library says were replaced meanwhile."""
    entries = set(Borrowed.objects.filter(revision=revision).exclude(entry="").values_list("entry", flat=True))
    last = revision.premises.local_date(until)
    return [
        Occasion(max(on, since), f"changed law or published limit: {title}")
        for on, title in replaced_between(sorted(entries), since, last)
    ]
