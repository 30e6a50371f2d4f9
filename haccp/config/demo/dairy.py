"""The demo dairy as the acts of its history know it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID, uuid5

from haccp.checks import actions as checks
from haccp.checks.models import DueCheck
from haccp.config.demo.people import Staff
from haccp.config.demo.places import Instruments, Places
from haccp.config.demo.plan import Products
from haccp.premises.models import Premises
from haccp.premises.scope import Scope


@dataclass(frozen=True, slots=True)
class Dairy:
    """today: the local day on which the demo is loaded."""

    staff: Staff
    places: Places
    instruments: Instruments
    products: Products
    today: date

    @property
    def premises(self) -> Premises:
        return self.staff.premises

    def new_id(self, *of: object) -> UUID:
        """What a person's device would have made up; here named, so that an act knows what it made earlier."""
        return uuid5(self.premises.id, "|".join(map(str, of)))

    def record(
        self,
        scope: Scope,
        due: DueCheck,
        values: Mapping[str, str],
        *,
        observed_at: datetime,
        now: datetime,
        trace_id: UUID | None = None,
        note: str = "",
    ) -> checks.Saved:
        """Answers a due check. values: label of the measure -> what was typed."""
        check = due.check_due
        kind = check.instrument_kind
        return checks.record_save(
            scope=scope,
            record_id=self.new_id("record", due.id),
            check_id=check.id,
            entries=entries(due, values),
            observed_at=observed_at,
            due_id=due.id,
            lot_id=due.lot_id,
            instrument_id=self.instruments.of_kind(kind).id if kind else None,
            trace_id=trace_id,
            note=note,
            now=now,
        )


def entries(due: DueCheck, values: Mapping[str, str]) -> dict[UUID, checks.EntryTyped]:
    """Each measure of the check that values names, with the unit that is offered first."""
    return {
        measure.id: checks.EntryTyped(values[measure.label], measure.unit)
        for measure in due.check_due.measures.all()
        if measure.label in values
    }
