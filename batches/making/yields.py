"""What a make gave, beside what its milk's fat and casein predict."""

from dataclasses import dataclass

from django.db.models import Sum

from batches.intake.models import MilkFinding
from batches.making.models import Make, MakeYield
from batches.making.whey import IN_THE_VAT
from haccp.lots.models import Lot, LotLink
from haccp.plan.models import MilkSpecies
from haccp.science.errors import InputError
from haccp.science.making.yields import (
    MILK_DENSITY_KG_PER_L,
    PredictedYield,
    Yield,
    casein_from_protein,
    van_slyke,
    yield_of,
)

DENSITY_OF = {MilkSpecies.EWE: "sheep"}


@dataclass(frozen=True, slots=True)
class YieldFound:
    """predicted: None with the reason in `missing` until fat, casein or protein, and moisture are known."""

    row: MakeYield
    milk_l: float
    found: Yield
    predicted: PredictedYield | None
    missing: str
    casein_is_estimated: bool

    @property
    def difference_percent(self) -> float | None:
        """How far the yield is from the prediction, of the prediction."""
        return None if self.predicted is None else (self.found.percent / self.predicted.percent - 1) * 100


def yield_found(make: Make) -> YieldFound | None:
    """By the last weight of the make; None before it."""
    row = make.yields.select_related("recorded_by").order_by("weighed_at", "recorded_at").last()
    if row is None:
        return None
    milk_l = make.lot.links_in.filter(parent__kind__in=IN_THE_VAT, unit="L").aggregate(all=Sum("amount"))["all"] or 0.0
    assert make.lot.product is not None
    species = make.lot.product.species
    density = MILK_DENSITY_KG_PER_L[DENSITY_OF.get(MilkSpecies(species), species)]
    casein = row.casein_percent
    estimated = casein is None and row.protein_percent is not None
    if estimated and row.protein_percent is not None:
        casein = casein_from_protein(row.protein_percent)
    predicted, missing = None, ""
    if row.fat_percent is None or casein is None or row.moisture_percent is None:
        missing = "Fat and casein (or protein) of the milk and the moisture of the cheese are needed for a prediction."
    else:
        try:
            predicted = van_slyke(row.fat_percent, casein, row.moisture_percent)
        except InputError as error:
            missing = str(error)
    found = yield_of(row.cheese_kg, milk_l, density_kg_per_l=density)
    return YieldFound(row, milk_l, found, predicted, missing, estimated)


def milk_composition(make: Make) -> dict[str, float]:
    """Fat, protein, casein of the milk in the vat, weighted by volume; only what is known of every lot."""
    links = list(LotLink.objects.filter(child=make.pk, parent__kind=Lot.Kind.MILK).values_list("parent_id", "amount"))
    last: dict[tuple[object, str], float] = {}
    found = MilkFinding.objects.filter(
        lot__in=[lot_id for lot_id, _ in links], kind__in=("fat", "protein", "casein"), value_si__isnull=False
    )
    for one in found.order_by("observed_at", "recorded_at"):
        last[one.lot_id, one.kind] = float(one.value_si or 0.0)
    litres = sum(amount for _, amount in links)
    known = {}
    for kind in ("fat", "protein", "casein"):
        if links and all((lot_id, kind) in last for lot_id, _ in links):
            known[kind] = sum(last[lot_id, kind] * amount for lot_id, amount in links) / litres
    return known
