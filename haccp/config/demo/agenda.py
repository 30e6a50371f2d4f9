"""What happens when: acts in order of time up to a moment, with the sweep between them as the schedule would run it."""

import heapq
from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import count
from uuid import UUID

from django.db.models import Min

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck
from haccp.premises.models import Premises

Act = Callable[[datetime], None]
NOTICED_AFTER = timedelta(seconds=35)  # the sweep runs once a minute


class Agenda:
    """Runs acts up to and including `until`; later ones are forgotten: they have not happened yet.

    whenever_due: told of each check that has fallen due since, to decide who does it and when.
    """

    def __init__(self, premises: Premises, until: datetime, whenever_due: Callable[[DueCheck], None]) -> None:
        self.premises = premises
        self.until = until
        self._whenever_due = whenever_due
        self._acts: list[tuple[datetime, int, Act]] = []
        self._order = count()
        self._seen: set[UUID] = set()

    def add(self, at: datetime, act: Act) -> None:
        if at <= self.until:
            heapq.heappush(self._acts, (at, next(self._order), act))

    def run(self) -> None:
        while self._acts:
            at, _, act = heapq.heappop(self._acts)
            self._flag_missed(at)
            act(at)
            self._tell_of_new()
        self._flag_missed(self.until)
        sweep(self.until)

    def sweep(self, at: datetime) -> None:
        """An act: plans what falls due."""
        sweep(at)

    def _flag_missed(self, at: datetime) -> None:
        """Flags each missed check within a minute of its grace, as the running schedule does."""
        while (ended := DueCheck.objects.past_grace(at).aggregate(first=Min("grace_ends_at"))["first"]) is not None:
            sweep(min(ended + NOTICED_AFTER, max(at, ended)))
            self._tell_of_new()

    def _tell_of_new(self) -> None:
        unsettled = DueCheck.objects.for_premises(self.premises).unsettled()
        fresh = set(unsettled.values_list("pk", flat=True)) - self._seen
        if not fresh:
            return
        self._seen |= fresh
        found = unsettled.filter(pk__in=fresh).select_related("check_due", "lot__product")
        for due in found:
            self._whenever_due(due)


def sweep(at: datetime) -> None:
    """A sweep that fails stops the load: a demo must not begin with an error."""
    result = checks.sweep(now=at)
    if result.errors:
        raise RuntimeError("; ".join(result.errors))
