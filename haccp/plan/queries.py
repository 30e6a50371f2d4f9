"""Reads of the plan."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from haccp.plan.models import Check, ControlPoint, Hazard, PlanRevision, ProcessStep, Product
from haccp.premises.models import Premises


@dataclass(frozen=True, slots=True)
class PlanInWords:
    """One revision as a person reads it; the page and the PDF draw the same."""

    revision: PlanRevision
    products: tuple[Product, ...]
    steps: tuple[ProcessStep, ...]
    hazards: tuple[Hazard, ...]
    control_points: tuple[ControlPoint, ...]

    @property
    def critical(self) -> tuple[ControlPoint, ...]:
        return tuple(point for point in self.control_points if point.is_critical)

    @property
    def prerequisites(self) -> tuple[ControlPoint, ...]:
        return tuple(point for point in self.control_points if not point.is_critical)


def revision_in_force(premises: Premises, at: datetime) -> PlanRevision | None:
    return PlanRevision.objects.for_premises(premises).in_force(at).select_related("approval", "drafted_by").first()


def in_words(revision: PlanRevision) -> PlanInWords:
    """In a constant number of queries."""
    return PlanInWords(
        revision=revision,
        products=tuple(Product.objects.filter(premises=revision.premises_id, retired_at__isnull=True)),
        steps=tuple(revision.steps.prefetch_related("products")),
        hazards=tuple(revision.hazards.select_related("step").prefetch_related("control_points")),
        control_points=tuple(
            revision.control_points.select_related("step").prefetch_related(
                "hazards", "limits__products", "checks__measures__limits", "checks__products", "checks__place"
            )
        ),
    )


def checks_of(revision: PlanRevision) -> list[Check]:
    return list(
        revision.checks.select_related("control_point", "place").prefetch_related("measures__limits", "products")
    )


def revisions_approved(premises: Premises) -> QuerySet[PlanRevision]:
    """Newest first, with their approval signatures."""
    found = PlanRevision.objects.for_premises(premises).approved().select_related("approval", "drafted_by")
    return found.order_by("-number")
