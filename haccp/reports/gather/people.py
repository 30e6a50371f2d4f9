"""Who worked here in the period, in which role, and how much of what the pack shows is theirs."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.checks.models import Record
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.reports.gather.verifying import members_in


@dataclass(frozen=True, slots=True)
class PersonLine:
    """ref: the entry that gave the role."""

    ref: str
    name: str
    role: str
    since: datetime
    left_at: datetime | None
    records: int


def person_lines(scope: PackScope, evidence: Evidence) -> tuple[PersonLine, ...]:
    """By name; of a part of the records only those who entered any."""
    counts: Counter[UUID] = Counter()
    for group in in_groups(scope.record_ids):
        counts.update(Record.objects.filter(id__in=group).values_list("recorded_by", flat=True))
    return tuple(
        PersonLine(
            evidence.ref(f"membership:{one.pk}"),
            one.user.name,
            one.get_role_display(),
            one.since,
            one.left_at,
            counts[one.user_id],
        )
        for one in members_in(scope).select_related("user").order_by("user__name", "since", "id")
        if scope.choice.is_whole or counts[one.user_id]
    )
