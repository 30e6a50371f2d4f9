"""Who worked here in the period, in which role, and how much of what the pack shows is theirs."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from haccp.checks.models import Record
from haccp.premises.models import Membership
from haccp.reports.gather.scope import PackScope, in_groups


@dataclass(frozen=True, slots=True)
class PersonLine:
    name: str
    role: str
    since: datetime
    left_at: datetime | None
    records: int


def person_lines(scope: PackScope) -> tuple[PersonLine, ...]:
    """By name; of a part of the records only those who entered any."""
    counts: Counter[UUID] = Counter()
    for group in in_groups(scope.record_ids):
        counts.update(Record.objects.filter(id__in=group).values_list("recorded_by", flat=True))
    period = scope.period
    here = Membership.objects.filter(premises=period.premises_id, since__lt=period.end).filter(
        Q(left_at__isnull=True) | Q(left_at__gte=period.start)
    )
    return tuple(
        PersonLine(one.user.name, one.get_role_display(), one.since, one.left_at, counts[one.user_id])
        for one in here.select_related("user").order_by("user__name", "since", "id")
        if scope.choice.is_whole or counts[one.user_id]
    )
