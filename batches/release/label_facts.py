"""What the label must say: the plan's description of the cheese, and the allergens of what went into it."""

from collections.abc import Iterable

from batches.release.facts import Facts
from batches.release.points import Link, Matter, Point, met, outstanding
from haccp.plan.models import ProductDescription

MILK = "milk"  # Regulation (EU) 1169/2011 Annex II no. 7; 21 U.S.C. 321(qq)


def label_facts(facts: Facts) -> Iterable[Point]:
    batch = facts.batch
    link = Link("plan:plan", "Open the plan")
    described = ProductDescription.objects.filter(product=batch.product_id, revision=facts.revisions[batch.pk]).first()
    name = batch.product.name if batch.product else batch.code
    if described is None:
        words = f"The plan that this batch stands under does not describe {name}: label and allergens are not known."
        yield outstanding(Matter.LABEL, words, link)
        return
    lacking = _lacking(described)
    if lacking:
        words = f"The plan's description of {name} lacks {' and '.join(lacking)}, which its label must say."
        yield outstanding(Matter.LABEL, words, link)
        return
    allergens = ", ".join(described.allergens)
    keeps = f"keeps {described.shelf_life_days} days; " if described.shelf_life_days else ""
    yield met(Matter.LABEL, f"Label facts are described: allergens {allergens}; {keeps}{described.labelling}", link)


def _lacking(described: ProductDescription) -> list[str]:
    allergens = {str(one).strip().lower() for one in described.allergens}
    return [
        *([] if any(MILK in one for one in allergens) else ["milk as an allergen"]),
        *([] if described.labelling.strip() else ["what the label says"]),
    ]
