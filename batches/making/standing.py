"""What stands in the way of a batch, by what is recorded: the answer to "may I sell this, and why not?".

A read, never a decision: it lists what is open about the batch and about the milk it was made of.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from django.db.models import Prefetch
from django.utils import timezone

from haccp.checks.models import DueCheck, Record, RulingRow
from haccp.checks.wording import RULING_WORDS
from haccp.deviations.models import CorrectiveStep, Deviation
from haccp.lots.age import age_in_days
from haccp.lots.models import Hold, Lot
from haccp.lots.queries import ancestors_of, revision_ids_of
from haccp.plan.models import Check, CriticalLimit
from haccp.premises.models import Premises
from haccp.science.ruling import Ruling

DEVIATION_CAUSE = "deviation:"
SUBJECT_OF_KIND = {Lot.Kind.MILK: Check.Subject.MILK, Lot.Kind.BATCH: Check.Subject.BATCH}


class Matter(StrEnum):
    """What kind of thing stands open, in the order in which it is told."""

    HOLD = "on hold"
    DEVIATION = "deviation open"
    RULING = "limit not met"
    MISSED = "check missed"
    UNDECIDED = "not yet decided"
    DUE = "check to be done"
    NEVER_DUE = "limit never judged"


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One thing in the way. sentence says it; at most one id says where it is looked into."""

    matter: Matter
    sentence: str
    deviation_id: UUID | None = None
    record_id: UUID | None = None
    missed_id: UUID | None = None
    due_id: UUID | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """lot as it stands at a moment. obstacles: in the order of Matter, then of time."""

    lot: Lot
    at: datetime
    age_days: int
    obstacles: tuple[Obstacle, ...]

    @property
    def is_held(self) -> bool:
        return any(one.matter is Matter.HOLD for one in self.obstacles)

    @property
    def is_clear(self) -> bool:
        """Nothing recorded stands in the way. It is not a release: a person decides that."""
        return not self.obstacles


@dataclass(frozen=True, slots=True)
class _Facts:
    """Everything recorded about the batch and the lots it was made of."""

    premises: Premises
    lot: Lot
    lots: tuple[Lot, ...]
    at: datetime
    holds: tuple[Hold, ...]
    deviations: tuple[Deviation, ...]
    records: tuple[Record, ...]
    due: tuple[DueCheck, ...]
    checks: tuple[Check, ...]
    chain: dict[UUID, UUID]  # amended record -> its latest version
    revisions: dict[UUID, UUID]  # lot -> the revision that it stands under

    def about(self, lot: Lot | None) -> str:
        return "" if lot is None or lot.id == self.lot.id else f" of {lot.code}"


def batch_standing(premises: Premises, lot: Lot, at: datetime) -> Standing:
    """Reads in a constant number of queries, however much there is; lot must be of these premises."""
    facts = _gather(premises, lot, at)
    return Standing(
        lot=lot,
        at=at,
        age_days=age_in_days(premises, lot, at),
        obstacles=(
            *_holds(facts),
            *_deviations(facts),
            *_rulings(facts),
            *_missed(facts),
            *_undecided(facts),
            *_still_due(facts),
            *_never_due(facts),
        ),
    )


def _gather(premises: Premises, lot: Lot, at: datetime) -> _Facts:
    lots = (lot, *Lot.objects.for_premises(premises).filter(pk__in=ancestors_of([lot.id])).order_by("code"))
    revisions = revision_ids_of(lots)
    versions = list(Record.objects.filter(lot__in=lots).values_list("id", "amends_id"))
    return _Facts(
        premises=premises,
        lot=lot,
        lots=lots,
        at=at,
        holds=tuple(Hold.objects.standing().filter(lot__in=lots).select_related("lot").order_by("placed_at")),
        deviations=tuple(
            Deviation.objects.for_premises(premises)
            .filter(implicated__lot__in=lots)
            .distinct()
            .select_related("closure", "control_point", "ruling", "missed")
            .prefetch_related(Prefetch("steps", CorrectiveStep.objects.order_by("recorded_at", "id")), "implicated")
            .order_by("opened_at")
        ),
        records=tuple(
            Record.objects.filter(lot__in=lots)
            .current()
            .select_related("check_done__control_point", "lot")
            .prefetch_related(Prefetch("rulings", RulingRow.objects.select_related("limit")))
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
        chain=_latest_versions(versions),
        revisions=revisions,
    )


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


def _holds(facts: _Facts) -> Iterable[Obstacle]:
    for hold in facts.holds:
        yield Obstacle(Matter.HOLD, f"On hold{facts.about(hold.lot)}: {hold.reason}", deviation_id=_cause_of(hold))


def _cause_of(hold: Hold) -> UUID | None:
    return UUID(hold.cause.removeprefix(DEVIATION_CAUSE)) if hold.cause.startswith(DEVIATION_CAUSE) else None


def _deviations(facts: _Facts) -> Iterable[Obstacle]:
    """Open ones, save those that a hold already tells of."""
    told = {_cause_of(hold) for hold in facts.holds}
    for one in facts.deviations:
        if not hasattr(one, "closure") and one.id not in told:
            yield Obstacle(Matter.DEVIATION, f"{one.reference} is open: {one.summary}", deviation_id=one.id)


def _rulings(facts: _Facts) -> Iterable[Obstacle]:
    """Breached or unproven, and no deviation that covers it is open (told above) or closed with a disposition."""
    covered = {(facts.chain.get(one.ruling.record_id), one.ruling.limit_id) for one in facts.deviations if one.ruling}
    for record in facts.records:
        for ruling in record.rulings.all():
            if Ruling(ruling.ruling).opens_deviation and (record.id, ruling.limit_id) not in covered:
                yield Obstacle(
                    Matter.RULING,
                    f"{record.check_done.name}{facts.about(record.lot)} was {RULING_WORDS[ruling.ruling].word} "
                    f"and nothing was decided about it: {ruling.reason}",
                    record_id=record.id,
                )


def _missed(facts: _Facts) -> Iterable[Obstacle]:
    for due in facts.due:
        missed = getattr(due, "missed", None)
        if missed is not None and not hasattr(missed, "reason"):
            yield Obstacle(
                Matter.MISSED,
                f"{due.check_due.name}{facts.about(due.lot)}, due {_when(facts, due.due_at)}, was missed "
                "and nobody has said why.",
                missed_id=missed.id,
            )


def _undecided(facts: _Facts) -> Iterable[Obstacle]:
    """A limit whose last word is that its moment has not come."""
    last: dict[tuple[UUID | None, UUID], tuple[Record, RulingRow]] = {}
    for record in facts.records:
        for ruling in record.rulings.all():
            last[record.lot_id, ruling.limit_id] = (record, ruling)
    for record, ruling in last.values():
        if ruling.ruling == Ruling.AWAITED:
            yield Obstacle(
                Matter.UNDECIDED,
                f"{ruling.limit.statement}{facts.about(record.lot)}: {ruling.reason}",
                record_id=record.id,
            )


def _still_due(facts: _Facts) -> Iterable[Obstacle]:
    for due in facts.due:
        if due.settled_at is not None:
            continue
        opens = "" if due.opens_at <= facts.at else f" It can be done from {_when(facts, due.opens_at)}."
        yield Obstacle(
            Matter.DUE,
            f"{due.check_due.name}{facts.about(due.lot)}, due {_when(facts, due.due_at)}, is still to be done.{opens}",
            due_id=due.id,
        )


def _never_due(facts: _Facts) -> Iterable[Obstacle]:
    """A critical limit that nothing has judged and nothing will: what makes its check due was never recorded."""
    # By the keys that copies of a plan keep: a lot that was moved was judged by its earlier revision until then.
    judged = {(record.lot_id, ruling.limit.key) for record in facts.records for ruling in record.rulings.all()}
    fell_due = {(due.lot_id, due.check_due.key) for due in facts.due}
    watched: dict[tuple[Lot, CriticalLimit], list[Check]] = defaultdict(list)
    for lot in facts.lots:
        for check in facts.checks:
            if check.revision_id == facts.revisions[lot.id] and _concerns(check, lot):
                for limit in _limits_for(check, lot):
                    watched[lot, limit].append(check)
    for (lot, limit), checks in watched.items():
        if (lot.id, limit.key) in judged or any((lot.id, check.key) in fell_due for check in checks):
            continue
        yield Obstacle(
            Matter.NEVER_DUE,
            f"{limit.statement} ({checks[0].control_point.code}){facts.about(lot)}: no record judges this limit. "
            f"{_waits_for(checks[0])}",
        )


def _concerns(check: Check, lot: Lot) -> bool:
    products = {product.id for product in check.products.all()}
    return check.subject == SUBJECT_OF_KIND.get(Lot.Kind(lot.kind)) and (
        not products or lot.product_id is None or lot.product_id in products
    )


def _limits_for(check: Check, lot: Lot) -> list[CriticalLimit]:
    found = {limit for measure in check.measures.all() for limit in measure.limits.all()}
    for limit in list(found):
        products = {product.id for product in limit.products.all()}
        if products and lot.product_id is not None and lot.product_id not in products:
            found.discard(limit)
    return sorted(found, key=lambda limit: limit.statement)


def _waits_for(check: Check) -> str:
    event = check.cadence.get("event")
    if event is None:
        return f"Do “{check.name}” as an extra check."
    return f"“{check.name}” falls due once “{str(event).replace('_', ' ')}” is recorded."


def _when(facts: _Facts, moment: datetime) -> str:
    local = timezone.localtime(moment, facts.premises.zone)
    return f"{local.day} {local:%b} at {local:%H:%M}"
