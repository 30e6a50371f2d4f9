"""Which rules a batch ages by: the law of the jurisdiction for its milk, and what its own plan states."""

from collections.abc import Iterable, Mapping
from datetime import date
from uuid import UUID

from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot
from haccp.lots.queries import revision_ids_of
from haccp.plan.findings.floors import AgeingFloor, PublishedFloors
from haccp.plan.library.floors import LibraryFloors
from haccp.plan.library_store import ageing_law
from haccp.plan.models import PlanRevision, ProductDescription
from haccp.premises.models import Premises
from haccp.science.ageing import AgeingRule


def ageing_rules(premises: Premises, lots: Iterable[Lot], on: date) -> Mapping[UUID, tuple[AgeingRule, ...]]:
    """Batch -> every rule that it has to meet; none where neither law nor plan names a number of days.

    on: the day whose law is asked. In a constant number of queries.
    """
    lots = list(lots)
    law = ageing_law(on)
    stated = _stated(lots)
    return {
        lot.pk: (*(_by_law(premises, floor) for floor in _floors(premises, lot, law)), *stated.get(lot.pk, ()))
        for lot in lots
    }


def _floors(premises: Premises, lot: Lot, law: LibraryFloors | None) -> Iterable[AgeingFloor]:
    product = lot.product
    if product is None:
        return ()
    if law is not None:
        return law.every_ageing(
            jurisdiction=premises.jurisdiction,
            treatment=product.treatment,
            species=product.species,
            family=product.family,
        )
    published = PublishedFloors().ageing(
        jurisdiction=premises.jurisdiction, treatment=product.treatment, species=product.species
    )
    return () if published is None else (published,)


def _by_law(premises: Premises, floor: AgeingFloor) -> AgeingRule:
    return AgeingRule(
        days=float(floor.days),
        start_event=EventKind.MAKE_STARTED,
        jurisdiction=premises.jurisdiction,
        clause=floor.clause,
        lowest_c=floor.temperature_c,
    )


def _stated(lots: list[Lot]) -> dict[UUID, tuple[AgeingRule, ...]]:
    """What the revision that each lot stands under says of its product."""
    revision_of = revision_ids_of(lots)
    descriptions = ProductDescription.objects.filter(
        revision__in=set(revision_of.values()), ageing_days__gt=0
    ).select_related("revision")
    by_product = {(one.revision_id, one.product_id): one for one in descriptions}
    found: dict[UUID, tuple[AgeingRule, ...]] = {}
    for lot in lots:
        one = by_product.get((revision_of[lot.pk], lot.product_id)) if lot.product_id else None
        if one is not None and one.ageing_days:
            found[lot.pk] = (_by_plan(one.revision, one.ageing_days, one.ageing_temperature_c),)
    return found


def _by_plan(revision: PlanRevision, days: int, lowest_c: float | None) -> AgeingRule:
    return AgeingRule(
        days=float(days),
        start_event=EventKind.MAKE_STARTED,
        jurisdiction="",
        clause=f"the dairy's own plan, {revision}",
        lowest_c=lowest_c,
    )
