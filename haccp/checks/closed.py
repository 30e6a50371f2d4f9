"""In which local days a check is not due because the dairy is closed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from haccp.checks.models import ClosedPeriod
from haccp.plan.models import Check
from haccp.premises.models import Premises

Without = ClosedPeriod.Without
# A dairy without milk makes no cheese either.
RESTS_IN: dict[str, tuple[str, ...]] = {
    Check.Rests.NEVER: (),
    Check.Rests.WITHOUT_MILK: (Without.MILK,),
    Check.Rests.WITHOUT_MAKING: (Without.MILK, Without.MAKING),
}


@dataclass(frozen=True, slots=True)
class Calendar:
    """Closed days by what is missing: "milk" or "making" -> (first, last), both inclusive."""

    periods: Sequence[tuple[str, date, date]]

    def for_check(self, check: Check) -> list[tuple[date, date]]:
        """What science.schedule.slots takes as closed."""
        return [(first, last) for without, first, last in self.periods if without in RESTS_IN[check.rests]]


def calendar_of(premises: Premises) -> Calendar:
    """One query."""
    rows = ClosedPeriod.objects.filter(premises=premises).select_related("reopening")
    return Calendar([(row.without, row.first, effective_last(row)) for row in rows if not _never_began(row)])


def effective_last(period: ClosedPeriod) -> date:
    reopening = getattr(period, "reopening", None)
    return period.last if reopening is None else reopening.on - timedelta(days=1)


def _never_began(period: ClosedPeriod) -> bool:
    return effective_last(period) < period.first


def periods_listed(premises: Premises) -> list[ClosedPeriod]:
    return list(
        ClosedPeriod.objects.filter(premises=premises)
        .select_related("said_by", "reopening__said_by")
        .order_by("-first", "-said_at")
    )


def period_on(premises: Premises, day: date) -> ClosedPeriod | None:
    """The closed period that a day lies in."""
    rows = ClosedPeriod.objects.filter(premises=premises, first__lte=day, last__gte=day).select_related("reopening")
    return next((row for row in rows if effective_last(row) >= day), None)
