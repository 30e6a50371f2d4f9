"""Rolling means of the periodic results, by supplier, species and what was counted, as the jurisdiction has them."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from django.utils.safestring import SafeString

from batches.intake.count_picture import count_picture
from batches.intake.models import MilkCount, Supplier
from haccp.plan.models import MilkSpecies, MilkTreatment, Product
from haccp.premises.models import Premises
from haccp.science.milk.count_rules import WITHOUT_RULE, CountRule, judge_periodic, rule_for
from haccp.science.milk.counts import CountResult
from haccp.science.ruling import Verdict

SHOWN = 12  # results beside each mean, newest first
DRAWN = 60
NOTHING_ON_FILE = (
    "No rule for this count of this milk is on file for this jurisdiction; the results stand for themselves."
)


@dataclass(frozen=True, slots=True)
class RollingMean:
    """criterion, verdict: None where no regulation of this jurisdiction on file judges this milk; without_rule says so
    in words. svg: the results over time, empty where there are too few."""

    supplier: Supplier
    species: str
    quantity: str
    results: tuple[MilkCount, ...]
    criterion: CountRule | None
    verdict: Verdict | None
    svg: SafeString
    without_rule: str

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
    rule = rule_for(
        one.quantity,
        one.species,
        for_raw_product=one.species in raw,
        jurisdiction=premises.jurisdiction,
    )
    results = [CountResult(count.sampled_on, count.value) for count in counts]
    verdict = judge_periodic(rule, results, as_of=today) if rule is not None else None
    words = f"{one.supplier.name}: {one.get_quantity_display()}"
    return RollingMean(
        supplier=one.supplier,
        species=one.species,
        quantity=one.quantity,
        results=tuple(reversed(counts[-SHOWN:])),
        criterion=rule,
        verdict=verdict,
        svg=count_picture(premises, words, counts[-DRAWN:], rule),
        without_rule="" if rule is not None else WITHOUT_RULE.get(premises.jurisdiction, NOTHING_ON_FILE),
    )
