"""The places of the premises, as a plan names them."""

import dataclasses

from django.db.models import Q
from django.utils import timezone

from haccp.plan.document import PlaceNamed, PlanDocument
from haccp.plan.models import Check, PlanRevision
from haccp.premises.models import Place, Premises
from haccp.premises.queries import places_of
from haccp.premises.uses import register_uses_of_place


def places_named(premises: Premises) -> list[PlaceNamed]:
    """The places in use, by name."""
    return [
        PlaceNamed(name=place.name, kind=place.kind, walking_order=place.walking_order)
        for place in places_of(premises).order_by("name")
    ]


def with_places_of(document: PlanDocument, premises: Premises) -> PlanDocument:
    """The document with every place in use, and those retired that its checks name still."""
    here = {place.name: place for place in places_named(premises)}
    named = {place.name: place for place in document.places}
    return dataclasses.replace(document, places=tuple(sorted((named | here).values(), key=lambda place: place.name)))


def uses_of(place: Place) -> list[str]:
    """The checks there of the revision in force and of those that will be."""
    now = timezone.now()
    revisions = PlanRevision.objects.filter(premises=place.premises_id, approval__isnull=False)
    in_force = revisions.in_force(now).first()
    concerned = revisions.filter(Q(pk=in_force.pk if in_force else None) | Q(effective_from__gt=now))
    found = Check.objects.filter(place=place, revision__in=concerned).select_related("revision").order_by("name")
    return [f"the check “{check.name}” of plan revision {check.revision.number}" for check in found]


def register() -> None:
    register_uses_of_place("plan", uses_of)
