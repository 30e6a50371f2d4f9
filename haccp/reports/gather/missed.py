"""Checks that nobody did, and why."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.checks.models import MissedCheck
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope, in_groups


@dataclass(frozen=True, slots=True)
class MissedLine:
    ref: str
    due_at: datetime
    check: str
    control_point: str
    about: str
    reason: str
    given_by: str
    given_at: datetime | None
    deviation: str
    deviation_id: UUID | None


def missed_lines(scope: PackScope, evidence: Evidence) -> Iterator[MissedLine]:
    """Oldest first, five hundred at a time, one query each."""
    for group in in_groups(scope.missed_ids):
        rows = MissedCheck.objects.filter(id__in=group).select_related(
            "due__check_due__control_point", "due__check_due__place", "due__lot", "reason__given_by", "deviation"
        )
        found = {row.id: row for row in rows}
        yield from (_line(found[one], evidence) for one in group)


def _line(missed: MissedCheck, evidence: Evidence) -> MissedLine:
    due, check = missed.due, missed.due.check_due
    reason, deviation = getattr(missed, "reason", None), getattr(missed, "deviation", None)
    return MissedLine(
        ref=evidence.ref(f"missed:{missed.id}"),
        due_at=due.due_at,
        check=check.name,
        control_point=check.control_point.code,
        about=due.lot.code if due.lot else check.place.name if check.place else "the dairy",
        reason=reason.text if reason else "",
        given_by=reason.given_by.name if reason else "",
        given_at=reason.given_at if reason else None,
        deviation=deviation.reference if deviation else "",
        deviation_id=deviation.id if deviation else None,
    )
