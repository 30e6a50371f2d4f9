"""Missed checks that nobody has given a reason for, those of one kind together.

After weeks in which nobody opened the site there are hundreds of them, and few kinds.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import CharField, Count, Max, Min, Q
from django.db.models.functions import Cast

from haccp.checks.models import DueCheck, MissedCheck
from haccp.lots.models import Lot
from haccp.plan.models import Check
from haccp.premises.models import Premises


@dataclass(frozen=True, slots=True)
class Unanswered:
    """Missed checks of one kind: the same check of whichever revision, of one lot where it is about one.

    key: "check|lot". first_due, last_due: aware. only: the missed check, where there is one alone."""

    check: Check
    lot: Lot | None
    count: int
    first_due: datetime
    last_due: datetime
    only: UUID | None

    @property
    def key(self) -> str:
        return f"{self.check.key}|{self.lot.pk if self.lot else ''}"

    @property
    def about(self) -> str:
        """Of what, or where."""
        if self.lot is not None:
            return self.lot.code
        return self.check.place.name if self.check.place else ""


def unanswered(premises: Premises) -> list[Unanswered]:
    """The critical ones first, then the oldest. Three queries, and they read what is unanswered alone."""
    # PostgreSQL 15 has no smallest of ids.
    rows = (
        DueCheck.objects.for_premises(premises)
        .filter(reason_wanted=True)
        .order_by()
        .values_list("check_due", "lot")
        .annotate(count=Count("pk"), first=Min("due_at"), last=Max("due_at"), one=Min(Cast("missed__pk", CharField())))
    )
    found = list(rows)
    checks = Check.objects.select_related("control_point", "place").in_bulk({row[0] for row in found})
    lots = Lot.objects.in_bulk({row[1] for row in found if row[1]})
    kinds: dict[tuple[str, UUID | None], Unanswered] = {}
    for check_id, lot_id, count, first, last, one in found:
        check = checks[check_id]
        there = kinds.get((check.key, lot_id))
        if there is not None:
            count, first, last = count + there.count, min(first, there.first_due), max(last, there.last_due)
        only = UUID(one) if count == 1 else None
        kinds[check.key, lot_id] = Unanswered(check, lots[lot_id] if lot_id else None, count, first, last, only)
    return sorted(kinds.values(), key=lambda one: (not one.check.control_point.is_critical, one.first_due, one.key))


def missed_of_kind(premises: Premises, key: str) -> list[MissedCheck]:
    """Those of one kind that nobody has answered, oldest first; none for a key that is nothing here."""
    check_key, _, lot_key = key.partition("|")
    try:
        check_id, lot_id = UUID(check_key), UUID(lot_key) if lot_key else None
    except ValueError:
        return []
    wanted = MissedCheck.objects.filter(due__premises=premises, due__reason_wanted=True, due__lot=lot_id)
    of_check = Q(due__check_due=check_id) | Q(due__check_due__origin=check_id)
    return list(wanted.filter(of_check).select_related("due__check_due__place", "due__lot").order_by("missed_at", "pk"))


def ids_of_kinds(premises: Premises, keys: Collection[str], until: datetime) -> set[UUID]:
    """Of these kinds, the missed checks that were flagged by a moment: what a page of that moment has shown."""
    return {one.pk for key in keys for one in missed_of_kind(premises, key) if one.flagged_at <= until}
