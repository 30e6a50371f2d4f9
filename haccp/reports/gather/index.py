"""What an index names: batches by their codes, and records that were amended."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.checks.models import Record
from haccp.lots.models import Lot
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope, in_groups


@dataclass(frozen=True, slots=True)
class Amended:
    """record_id, ref: of the original. changes: refs of its amendments, in their order."""

    record_id: UUID
    ref: str
    changes: tuple[str, ...]
    point: str
    observed_at: datetime


def batch_names(scope: PackScope) -> tuple[tuple[UUID, str, str], ...]:
    """(id, code, product) by code."""
    found: list[tuple[UUID, str, str]] = []
    for group in in_groups(scope.batch_ids):
        found += Lot.objects.filter(id__in=group).values_list("id", "code", "product__name")
    return tuple(sorted(((one, code, name or "") for one, code, name in found), key=lambda row: row[1]))


def amended_records(scope: PackScope, evidence: Evidence) -> tuple[Amended, ...]:
    """In the order of the tables."""
    chains = [(point, chain) for point in scope.points for chain in point.chains if len(chain) > 1]
    observed: dict[UUID, datetime] = {}
    for group in in_groups([chain[0] for _, chain in chains]):
        observed |= dict(Record.objects.filter(id__in=group).values_list("id", "observed_at"))
    return tuple(
        Amended(
            record_id=chain[0],
            ref=evidence.ref(f"record:{chain[0]}"),
            changes=tuple(evidence.ref(f"record:{one}") for one in chain[1:]),
            point=point.title,
            observed_at=observed[chain[0]],
        )
        for point, chain in chains
    )
