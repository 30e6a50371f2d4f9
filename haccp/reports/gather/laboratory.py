"""Samples with what was asked of them, by which plan, and what the laboratory answered."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Prefetch

from batches.laboratory.models import Sample, SampleTest, TestResult
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.reports.gather.verifying import samples_in


@dataclass(frozen=True, slots=True)
class ResultLine:
    """plan: what is asked, such as "n 5, c 2, m 100, M 1000 CFU/g". replaced: a later result took its place."""

    ref: str
    parameter: str
    plan: str
    source: str
    values: str
    ruling: str
    reason: str
    report: str
    deviation: str
    deviation_id: UUID | None
    replaced: bool


@dataclass(frozen=True, slots=True)
class SampleLine:
    ref: str
    code: str
    of: str
    spot: str
    taken_at: datetime
    laboratory: str
    verifies: str
    note: str
    by: str
    results: tuple[ResultLine, ...]


def sample_lines(scope: PackScope, evidence: Evidence) -> Iterator[SampleLine]:
    """Oldest first, a few hundred at a time; a constant number of queries for each."""
    ids = list(samples_in(scope).order_by("taken_at", "id").values_list("id", flat=True))
    for group in in_groups(ids):
        results = Prefetch("results", queryset=TestResult.objects.select_related("deviation").order_by("recorded_at"))
        rows = (
            Sample.objects.filter(id__in=group)
            .select_related("lot", "place", "verifies", "recorded_by")
            .prefetch_related(Prefetch("tests", queryset=SampleTest.objects.prefetch_related(results)))
        )
        found = {row.id: row for row in rows}
        yield from (_sample(found[one], evidence) for one in group)


def _sample(sample: Sample, evidence: Evidence) -> SampleLine:
    return SampleLine(
        ref=evidence.ref(f"sample:{sample.id}"),
        code=sample.code,
        of=sample.of,
        spot=sample.spot,
        taken_at=sample.taken_at,
        laboratory=sample.laboratory,
        verifies=sample.verifies.code,
        note=sample.note,
        by=sample.recorded_by.name,
        results=tuple(line for test in sample.tests.all() for line in _results(test, evidence)),
    )


def _results(test: SampleTest, evidence: Evidence) -> Iterator[ResultLine]:
    results = list(test.results.all())
    plan = _plan(test)
    if not results:
        yield ResultLine("", test.parameter, plan, test.source, "", "", "no result yet", "", "", None, replaced=False)
    replaced = {one.replaces_id for one in results}
    for one in results:
        because = f"Replaces an earlier result: {one.replace_reason} " if one.replaces_id else ""
        yield ResultLine(
            ref=evidence.ref(f"sample_result:{one.id}"),
            parameter=test.parameter,
            plan=plan,
            source=test.source,
            values=f"{', '.join(map(str, one.values))} {one.unit}".strip(),
            ruling=one.ruling,
            reason=f"{because}{one.reason}",
            report=one.report_number,
            deviation=one.deviation.reference if one.deviation else "",
            deviation_id=one.deviation_id,
            replaced=one.id in replaced,
        )


def _plan(test: SampleTest) -> str:
    if test.kind == SampleTest.Kind.ABSENCE:
        return f"n {test.n}, absent in {test.absent_in}"
    if test.kind == SampleTest.Kind.QUANTITY or test.m is None:
        return f"n {test.n}, no criterion"
    largest = f", M {test.largest:g}" if test.largest is not None else ""
    return f"n {test.n}, c {test.c}, m {test.m:g}{largest} {test.unit}".strip()
