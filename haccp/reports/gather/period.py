"""Whose pack it is, and which local days it shows."""

from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from haccp.checks.queries import day_bounds
from haccp.premises.models import Premises, User
from haccp.reports.gather.reader_units import ReaderUnits
from haccp.reports.models import VisitPack


@dataclass(frozen=True, slots=True)
class Period:
    """first_day, last_day: local days, both shown. start, end: their bounds, end excluded.

    site: the address under which the service was reached, such as "https://dairy.example", or empty.
    """

    pack_id: UUID | None
    premises_id: UUID
    log_id: UUID
    premises: str
    producer: str
    address: str
    approval_number: str
    jurisdiction: str
    zone: ZoneInfo
    first_day: date
    last_day: date
    start: datetime
    end: datetime
    asked_by: str
    asked_by_id: UUID
    asked_at: datetime
    site: str = ""
    units: ReaderUnits = field(default_factory=ReaderUnits)

    def holds(self, moment: datetime) -> bool:
        return self.start <= moment < self.end


def period_of(pack: VisitPack) -> Period:
    return period_for(
        pack.premises,
        pack.period_from,
        pack.period_to,
        asked_by=pack.requested_by,
        asked_at=pack.requested_at,
        site=pack.site,
        pack_id=pack.id,
    )


def period_for(
    premises: Premises,
    first_day: date,
    last_day: date,
    *,
    asked_by: User,
    asked_at: datetime,
    site: str,
    pack_id: UUID | None = None,
) -> Period:
    return Period(
        pack_id=pack_id,
        premises_id=premises.id,
        log_id=premises.log_id,
        premises=premises.name,
        producer=premises.producer.name,
        address=premises.address,
        approval_number=premises.approval_number,
        jurisdiction=premises.jurisdiction,
        zone=premises.zone,
        first_day=first_day,
        last_day=last_day,
        start=day_bounds(premises, first_day)[0],
        end=day_bounds(premises, last_day)[1],
        asked_by=asked_by.name,
        asked_by_id=asked_by.id,
        asked_at=asked_at,
        site=site,
        units=ReaderUnits.of(asked_by),
    )
