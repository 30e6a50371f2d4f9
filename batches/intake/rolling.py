"""Rolling means of the periodic results, by supplier, species and what was counted, as the jurisdiction has them."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from batches.intake.models import MilkCount, Supplier
from haccp.plan.models import MilkSpecies, MilkTreatment, Product
from haccp.premises.models import Premises
from haccp.science.milk.counts import CountCriterion, CountResult, criterion, judge_counts
from haccp.science.ruling import Verdict

SHOWN = 12  # results beside each mean, newest first


@dataclass(frozen=True, slots=True)
class RollingMean:
    """criterion, verdict: None where no regulation of this jurisdiction on file defines a mean for this milk."""

    supplier: Supplier
    species: str
    quantity: str
    results: tuple[MilkCount, ...]
    criterion: CountCriterion | None
    verdict: Verdict | None

    @property
    def species_words(self) -> str:
        return str(MilkSpecies(self.species).label)

    @property
    def quantity_words(self) -> str:
        return str(MilkCount.Quantity(self.quantity).label)


def rolling_means(premises: Premises, today: date, *, supplier: Supplier | None = None) -> tuple[RollingMean, ...]:
    """In a constant number of queries, however many results there are. Corrected results do not count."""
    found = MilkCount.objects.filter(premises=premises, corrected_by__isnull=True).select_related("supplier")
    if supplier is not None:
        found = found.filter(supplier=supplier)
    groups: dict[tuple[str, str, str], list[MilkCount]] = defaultdict(list)
    for count in found.order_by("sampled_on", "recorded_at"):
        groups[count.supplier.name, count.species, count.quantity].append(count)
    raw = set(
        Product.objects.filter(premises=premises, treatment=MilkTreatment.RAW, retired_at__isnull=True).values_list(
            "species", flat=True
        )
    )
    return tuple(_mean(premises, counts, raw, today) for _, counts in sorted(groups.items()))


def _mean(premises: Premises, counts: list[MilkCount], raw: set[str], today: date) -> RollingMean:
    one = counts[0]
    rule = criterion(
        one.quantity,
        "cow" if one.species == MilkSpecies.COW else "other",
        for_raw_product=one.species in raw,
        jurisdiction=premises.jurisdiction,
    )
    results = [CountResult(count.sampled_on, count.value) for count in counts]
    verdict = judge_counts(rule, results, as_of=today) if rule is not None else None
    return RollingMean(one.supplier, one.species, one.quantity, tuple(reversed(counts[-SHOWN:])), rule, verdict)
