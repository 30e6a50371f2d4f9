"""Reads about samples: what is awaited, what came back, how it goes over time."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from batches.laboratory.models import Sample, SampleTest, TestResult, newest
from haccp.lots.models import Lot
from haccp.premises.models import Premises
from haccp.science.ruling import Ruling
from haccp.science.units import QUANTITIES


def name_of(kind: str, parameter: str) -> str:
    """The organism, or the quantity in words."""
    if kind != SampleTest.Kind.QUANTITY or parameter not in QUANTITIES:
        return parameter
    name = QUANTITIES[parameter].name
    return name if parameter == "ph" else name.capitalize()


class Standing(StrEnum):
    """How a test stands by its newest result."""

    AWAITED = "awaited"
    UNPROVEN = "unproven"
    FAILED = "failed"
    GOOD = "good"
    KEPT = "kept"  # no criterion judges it


@dataclass(frozen=True, slots=True)
class Line:
    """One test of a sample with what it stands on. result: the newest, None while it is awaited."""

    sample: Sample
    test: SampleTest
    result: TestResult | None
    earlier: tuple[TestResult, ...] = ()

    @property
    def standing(self) -> Standing:
        if self.result is None:
            return Standing.AWAITED
        if not self.result.ruling:
            return Standing.KEPT
        ruling = Ruling(self.result.ruling)
        if ruling.is_satisfied:
            return Standing.GOOD
        return Standing.FAILED if ruling is Ruling.BREACHED else Standing.UNPROVEN

    @property
    def name(self) -> str:
        return name_of(self.test.kind, self.test.parameter)

    @property
    def words(self) -> str:
        """How it stands, for a person."""
        asked = f"{self.name} (sample {self.sample.code}, {self.sample.laboratory})"
        if self.result is None:
            return f"{asked}: the result is awaited."
        return f"{asked}: {self.result.reason or ', '.join(self.result.values)}"


def samples_of(premises: Premises) -> QuerySet[Sample]:
    """Newest first, each with its tests and their results."""
    results = TestResult.objects.select_related("deviation", "recorded_by", "test").order_by("recorded_at", "pk")
    return (
        Sample.objects.for_premises(premises)
        .select_related("lot__product", "place", "verifies", "recorded_by")
        .prefetch_related(Prefetch("tests__results", queryset=results))
        .order_by("-taken_at", "-recorded_at")
    )


def lines_of(sample: Sample) -> list[Line]:
    """The tests of a sample; no query where it comes from samples_of."""
    found = []
    for test in sample.tests.all():
        results = list(test.results.all())
        last = newest(results)
        found.append(Line(sample, test, last, tuple(one for one in results if one is not last)))
    return found


def lines_of_lots(lots: Iterable[Lot]) -> Mapping[UUID, list[Line]]:
    """Lot -> every test of its samples, in a constant number of queries."""
    found: dict[UUID, list[Line]] = defaultdict(list)
    lots = list(lots)
    if not lots:
        return found
    samples = samples_of(lots[0].premises).filter(lot__in=[lot.pk for lot in lots]).order_by("taken_at", "code")
    for sample in samples:
        assert sample.lot_id is not None
        found[sample.lot_id] += lines_of(sample)
    return found


def awaited_of(lots: Iterable[Lot]) -> list[Line]:
    """Tests of these lots that do not yet let them go: no result, an incomplete one, or one that failed.

    Line.standing tells which; in a constant number of queries. A failed one is also a deviation that holds the lot.
    """
    waiting = (Standing.AWAITED, Standing.UNPROVEN, Standing.FAILED)
    return [line for of_lot in lines_of_lots(lots).values() for line in of_lot if line.standing in waiting]


def open_samples(premises: Premises) -> QuerySet[Sample]:
    """Those of which a result is still to come."""
    return samples_of(premises).filter(tests__results__isnull=True).distinct()


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """low, high: of the units of one sample; high None where one is “more than the plate can show”."""

    at: datetime
    sample: Sample
    test: SampleTest
    result: TestResult


def trend_of(premises: Premises, parameter: str, *, most: int = 400) -> list[TrendPoint]:
    """The newest results of one parameter, oldest first. One query and one for the tests."""
    found = (
        TestResult.objects.filter(test__sample__premises=premises, test__parameter=parameter, replaced_by__isnull=True)
        .select_related("test__sample__lot__product", "test__sample__place")
        .order_by("-test__sample__taken_at")[:most]
    )
    points = [TrendPoint(one.test.sample.taken_at, one.test.sample, one.test, one) for one in found]
    return points[::-1]


def parameters_of(premises: Premises) -> list[tuple[str, str]]:
    """(parameter, its name) of everything that came back, for the choice of a trend."""
    tests = SampleTest.objects.filter(sample__premises=premises, results__isnull=False)
    found = tests.order_by("parameter", "kind").values_list("parameter", "kind").distinct()
    return [(parameter, name_of(kind, parameter)) for parameter, kind in found]


def laboratories_of(premises: Premises) -> list[str]:
    """Where samples were sent before, for the list that a person picks from."""
    return list(
        Sample.objects.for_premises(premises).order_by("laboratory").values_list("laboratory", flat=True).distinct()
    )
