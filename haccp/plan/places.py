"""The places of the premises, as a plan names them."""

import dataclasses

from haccp.plan.document import PlaceNamed, PlanDocument
from haccp.premises.models import Place, Premises


def with_places_of(document: PlanDocument, premises: Premises) -> PlanDocument:
    """The document with every place of the premises, not only those that its checks name already."""
    places = tuple(
        PlaceNamed(name=place.name, kind=place.kind, walking_order=place.walking_order)
        for place in Place.objects.filter(premises=premises).order_by("name")
    )
    return dataclasses.replace(document, places=places)
