"""Reads of the plan."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from haccp.plan.consequences import uncovered_at
from haccp.plan.differences import Difference, differences
from haccp.plan.document import PlanDocument
from haccp.plan.findings import Circumstances, Finding, InstrumentOwned, examine
from haccp.plan.library_store import published_law
from haccp.plan.models import (
    Check,
    ControlPoint,
    FlowConfirmation,
    Hazard,
    PlanReview,
    PlanRevision,
    ProcessStep,
    Product,
)
from haccp.plan.occasions import occasions_since
from haccp.plan.reviewing import ReviewDue, review_due
from haccp.plan.rows import read_plan
from haccp.premises.models import Instrument, Place, Premises


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
        steps=tuple(revision.steps.prefetch_related("products", "materials", "links_out")),
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


def drafts_of(premises: Premises) -> QuerySet[PlanRevision]:
    """Revisions that are not approved yet, newest first, discarded ones too."""
    found = PlanRevision.objects.for_premises(premises).filter(approval__isnull=True)
    return found.select_related("drafted_by").order_by("-number")


def findings_of(revision: PlanRevision, at: datetime) -> list[Finding]:
    """The revision examined as it stands, in a constant number of queries."""
    document = read_plan(revision)
    return examine(document, circumstances_of(revision, document, at))


def circumstances_of(revision: PlanRevision, document: PlanDocument, at: datetime) -> Circumstances:
    """What the plan is examined against: the dairy's law, instruments, signed confirmations and review."""
    premises = revision.premises
    today = premises.local_date(at)
    review = review_due_of(premises, at)
    instruments = Instrument.objects.filter(premises=premises, retired_at__isnull=True)
    borrowed = sorted({mark.entry for mark in document.borrowed if mark.entry})
    law = published_law(jurisdiction=premises.jurisdiction, on=today, borrowed=borrowed)
    return Circumstances(
        jurisdiction=premises.jurisdiction,
        today=today,
        instruments=tuple(
            InstrumentOwned(one.kind, one.name, one.expanded_uncertainty, one.unfit_on(today) or "")
            for one in instruments
        ),
        confirmed_flows=frozenset(
            FlowConfirmation.objects.filter(revision__premises=premises).values_list("flow_sha256", flat=True)
        ),
        review_due_on=review.on if review else None,
        review_reasons=review.reasons if review else (),
        uncovered=uncovered_at(premises, at),
        floors=law.floors,
        superseded=law.superseded,
        replaced_entries=law.replaced,
        places_retired=frozenset(
            Place.objects.filter(premises=premises, retired_at__isnull=False).values_list("name", flat=True)
        ),
    )


def review_due_of(premises: Premises, at: datetime) -> ReviewDue | None:
    """When the plan in force is to be reviewed next; None where none is in force."""
    revision = revision_in_force(premises, at)
    if revision is None or revision.effective_from is None:
        return None
    reviews = PlanReview.objects.filter(revision__premises=premises, reviewed_at__lte=at)
    reviewed_on = [premises.local_date(moment) for moment in reviews.values_list("reviewed_at", flat=True)]
    in_force_since = premises.local_date(revision.effective_from)
    return review_due(
        in_force_since=in_force_since,
        reviewed_on=reviewed_on,
        every_months=revision.review_every_months,
        occasions=occasions_since(revision, max([in_force_since, *reviewed_on]), at),
    )


def differences_between(old: PlanRevision, new: PlanRevision) -> list[Difference]:
    """What the newer revision changes, in plain words."""
    return differences(read_plan(old), read_plan(new))
