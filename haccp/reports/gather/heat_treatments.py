"""Heat treatments with their recorder traces, one after the other: a season's traces never stand in memory at once."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from haccp.checks import trace_store
from haccp.checks.models import Record, RulingRow
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.science.evaluators import holding
from haccp.science.trace import Trace

TRACES_PER_QUERY = 20


@dataclass(frozen=True, slots=True)
class Flaw:
    start_s: float
    end_s: float
    kind: str
    sentence: str


@dataclass(frozen=True, slots=True, eq=False)
class HeatTreatment:
    """record_id: of the record that the trace belongs to.

    limit_c is None where no limit of holding judged the record. run_s: the stretch that the ruling speaks of.
    """

    record_id: UUID
    ref: str
    about: str
    product: str
    observed_at: datetime
    filename: str
    instrument: str
    by: str
    trace: Trace
    roles: dict[str, str]
    limit: str
    limit_c: float | None
    air_space_limit_c: float | None
    run_s: tuple[float, float] | None
    flaws: tuple[Flaw, ...]
    ruling: str
    reason: str
    deviation: str


def heat_treatments(scope: PackScope, evidence: Evidence) -> Iterator[HeatTreatment]:
    """Of the last version of each record, oldest first; a constant number of queries for each twenty."""
    for group in in_groups(_with_trace(scope), TRACES_PER_QUERY):
        rows = (
            Record.objects.filter(id__in=group)
            .select_related("lot__product", "place", "instrument", "recorded_by", "trace")
            .defer("trace__raw_deflated")
            .prefetch_related("rulings__limit", "rulings__deviation")
        )
        found = {row.id: row for row in rows}
        yield from (_treatment(found[one], evidence) for one in group)


def heat_titles(scope: PackScope) -> tuple[tuple[UUID, str, datetime], ...]:
    """(record, code of its lot or empty, observed) of each, in the same order."""
    found: dict[UUID, tuple[UUID, str, datetime]] = {}
    for group in in_groups(_with_trace(scope)):
        rows = Record.objects.filter(id__in=group).values_list("id", "lot__code", "observed_at")
        found |= {row[0]: (row[0], row[1] or "", row[2]) for row in rows}
    return tuple(found[one] for one in _with_trace(scope))


def _with_trace(scope: PackScope) -> list[Any]:
    found = []
    for group in in_groups(scope.current_ids):
        traced = Record.objects.filter(id__in=group, trace__isnull=False).order_by("observed_at", "id")
        found += list(traced.values_list("observed_at", "id"))
    return [record_id for _, record_id in sorted(found)]


def _treatment(record: Record, evidence: Evidence) -> HeatTreatment:
    assert record.trace is not None
    ruling = next((row for row in record.rulings.all() if row.limit.evaluator == holding.EVALUATOR.name), None)
    limit = ruling.limit if ruling else None
    facts: dict[str, Any] = ruling.facts if ruling else {}
    above = limit.parameters.get("air_space_above_c") if limit else None
    low = limit.low if limit else None
    about = record.lot.code if record.lot else record.place.name if record.place else "the dairy"
    return HeatTreatment(
        record_id=record.id,
        ref=evidence.ref(f"record:{record.id}"),
        about=about,
        product=record.lot.product.name if record.lot and record.lot.product else "",
        observed_at=record.observed_at,
        filename=record.trace.filename,
        instrument=record.instrument.name if record.instrument else "",
        by=record.recorded_by.name,
        trace=trace_store.load(record.trace),
        roles=dict(record.trace_roles or record.trace.roles),
        limit=limit.statement if limit else "",
        limit_c=low,
        air_space_limit_c=low + above if low is not None and above is not None else None,
        run_s=(facts["run_start_s"], facts["run_end_s"]) if "run_start_s" in facts else None,
        flaws=tuple(Flaw(f["start_s"], f["end_s"], f["kind"], f["sentence"]) for f in facts.get("flaws", ())),
        ruling=ruling.ruling if ruling else "",
        reason=ruling.reason if ruling else "",
        deviation=_deviation(ruling),
    )


def _deviation(ruling: RulingRow | None) -> str:
    deviation = getattr(ruling, "deviation", None)
    return deviation.reference if deviation else ""
