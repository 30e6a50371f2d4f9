"""The published microbiological criteria that concern a cheese here, and those that a person sets for themselves."""

from dataclasses import dataclass
from datetime import date

from batches.laboratory.models import SampleTest
from haccp.lots.models import Lot
from haccp.plan.library.entries import Value
from haccp.plan.library.floors import FAMILIES
from haccp.plan.library_store import document_titles, values
from haccp.plan.models import Product
from haccp.premises.models import Premises


@dataclass(frozen=True, slots=True)
class Criterion:
    """One published plan of samples. words: the plan in words; source: document and clause."""

    key: str
    title: str
    organism: str
    n: int
    c: int
    m: float | None
    largest: float | None
    unit: str
    absent_in: str
    stage: str
    condition: str
    source: str

    @property
    def kind(self) -> str:
        return SampleTest.Kind.ABSENCE if self.absent_in else SampleTest.Kind.COUNT

    @property
    def words(self) -> str:
        return plan_words(self.n, self.c, self.m, self.largest, self.unit, self.absent_in)


def plan_words(n: int, c: int, m: float | None, largest: float | None, unit: str, absent_in: str) -> str:
    """ "n = 5, c = 2, m = 100, M = 1000 cfu/g", or "not detected in 25 g, n = 5"."""
    if absent_in:
        return f"n = {n}, not detected in {absent_in}"
    if m is None:
        return f"n = {n}, no limit"
    top = "" if largest is None or largest == m else f", M = {_plain(largest)}"
    return f"n = {n}, c = {c}, m = {_plain(m)}{top} {unit}"


def _plain(value: float) -> str:
    text = f"{value:,.10g}"
    return text.replace(",", "\u00a0" if value >= 10_000 else "")


def criteria_for(premises: Premises, lot: Lot | None, on: date) -> list[Criterion]:
    """Those in force on a day for the cheese of a batch; for anything else every one of the jurisdiction. Two queries.

    Empty where no library is loaded: a person then types the plan.
    """
    product = lot.product if lot is not None else None
    titles = document_titles()
    return [
        _criterion(value, titles)
        for value in values("microbiology", premises.jurisdiction)
        if value.sampling is not None
        and value.is_in_force(on)
        and not value.superseded_by
        and _concerns(value, product)
    ]


def _concerns(value: Value, product: Product | None) -> bool:
    if product is None:
        return True
    name = product.family.strip().lower().replace(" ", "_").replace("-", "_")
    of_family = not value.families or name in value.families or name not in FAMILIES
    return of_family and value.concerns(product.species, product.treatment)


def _criterion(value: Value, titles: dict[str, str]) -> Criterion:
    plan = value.sampling
    assert plan is not None
    known = "" if value.known == "read" else f" ({value.known.in_words})"
    return Criterion(
        key=value.id,
        title=value.title,
        organism=plan.organism,
        n=plan.n,
        c=plan.c,
        m=plan.m,
        largest=plan.largest,
        unit=plan.unit,
        absent_in=plan.absent_in,
        stage=plan.stage,
        condition=value.condition,
        source=f"{titles.get(value.document, value.document)}, {value.clause}{known}",
    )
