"""Everything recorded about a batch and the lots it was made of, read once for the gate."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Prefetch
from django.utils import timezone

from haccp.calibration.models import Doubt
from haccp.calibration.queries import standing_doubts
from haccp.checks.models import DueCheck, Record, RulingRow
from haccp.deviations.models import CorrectiveStep, Deviation
from haccp.lots.models import Hold, Lot
from haccp.lots.queries import revision_ids_of
from haccp.plan.models import Check
from haccp.premises.models import Premises

DEVIATION_CAUSE = "deviation:"


@dataclass(frozen=True, slots=True)
class Facts:
    """lots: the batch first. chain: every version of a record -> its latest. revisions: lot -> where it stands.
    doubts: record -> the doubt about its instrument that nobody has disposed of yet."""

    premises: Premises
    lots: tuple[Lot, ...]
    at: datetime
    holds: tuple[Hold, ...]
    deviations: tuple[Deviation, ...]
    records: tuple[Record, ...]
    due: tuple[DueCheck, ...]
    checks: tuple[Check, ...]
    chain: dict[UUID, UUID]
    revisions: dict[UUID, UUID]
    doubts: Mapping[UUID, Doubt]

    @property
    def batch(self) -> Lot:
        return self.lots[0]

    def about(self, lot: Lot | None) -> str:
        return "" if lot is None or lot.id == self.batch.id else f" of {lot.code}"

    def doubt_of(self, record_id: UUID, limit_id: UUID) -> str:
        """Why a limit that was met is unproven now: its instrument was found out later. "" where it stands."""
        return doubt_words(self.doubts.get(record_id), limit_id)

    def when(self, moment: datetime) -> str:
        local = timezone.localtime(moment, self.premises.zone)
        return f"{local.day} {local:%b} at {local:%H:%M}"

    def day(self, moment: datetime) -> date:
        return self.premises.local_date(moment)


def gather(premises: Premises, lots: Sequence[Lot], at: datetime) -> Facts:
    """A constant number of queries, however much there is. lots must be of these premises."""
    revisions = revision_ids_of(lots)
    versions = list(Record.objects.filter(lot__in=lots).values_list("id", "amends_id"))
    chain = _latest_versions(versions)
    return Facts(
        premises=premises,
        lots=tuple(lots),
        at=at,
        holds=tuple(Hold.objects.standing().filter(lot__in=lots).select_related("lot").order_by("placed_at")),
        deviations=tuple(
            Deviation.objects.for_premises(premises)
            .filter(implicated__lot__in=lots)
            .distinct()
            .select_related("closure", "control_point", "ruling", "missed")
            .prefetch_related(
                Prefetch("steps", CorrectiveStep.objects.order_by("recorded_at", "id")),
                "implicated",
                "missed__due__check_due__measures__limits",
                "missed_again__missed__due__check_due__measures__limits",
            )
            .order_by("opened_at")
        ),
        records=tuple(
            Record.objects.filter(lot__in=lots)
            .current()
            .select_related("check_done__control_point", "lot")
            .prefetch_related(Prefetch("rulings", RulingRow.objects.select_related("limit__control_point")))
            .order_by("observed_at")
        ),
        due=tuple(
            DueCheck.objects.filter(lot__in=lots)
            .select_related("check_due", "lot", "missed", "missed__reason")
            .order_by("due_at")
        ),
        checks=tuple(
            Check.objects.filter(revision__in=set(revisions.values()), control_point__kind="ccp")
            .select_related("control_point")
            .prefetch_related("products", "measures__limits__products")
            .order_by("control_point__code", "name")
        ),
        chain=chain,
        revisions=revisions,
        doubts=standing_doubts(chain),
    )


def doubt_words(doubt: Doubt | None, limit_id: UUID | None = None) -> str:
    """limit_id: only what a doubt says of this limit. "" for none."""
    if doubt is None or (limit_id is not None and all(row.limit_id != limit_id for row in doubt.rulings.all())):
        return ""
    return f"{doubt.reason} It is unproven until {doubt.deviation.reference} is closed."


def cause_of(hold: Hold) -> UUID | None:
    """The deviation that placed it; None where it was placed otherwise."""
    return UUID(hold.cause.removeprefix(DEVIATION_CAUSE)) if hold.cause.startswith(DEVIATION_CAUSE) else None


def _latest_versions(versions: Sequence[tuple[UUID, UUID | None]]) -> dict[UUID, UUID]:
    """Every version of a record -> the version that nobody amended."""
    amended_by = {amends: record for record, amends in versions if amends is not None}
    latest: dict[UUID, UUID] = {}
    for record, _ in versions:
        last = record
        while last in amended_by:
            last = amended_by[last]
        latest[record] = last
    return latest
