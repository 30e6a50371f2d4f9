"""Whether a lot may be used: what was decided, and what speaks against it, by what is recorded."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from batches.intake.models import Acceptance, IngredientLot, MilkFinding
from haccp.checks.models import DueCheck
from haccp.deviations.models import CorrectiveStep, ImplicatedLot
from haccp.lots.models import Hold, Lot
from haccp.premises.models import Premises

Disposition = CorrectiveStep.Disposition
NEVER = (Disposition.DESTROY, Disposition.ANIMAL_FEED)


@dataclass(frozen=True, slots=True)
class LotStanding:
    """decision: the last one. problems: sentences that speak against its use. to_do: acceptance checks not done yet.
    only_heated: a disposition allows it for heat treatment alone. is_held: a hold stands on it."""

    lot: Lot
    decision: Acceptance | None
    problems: tuple[str, ...]
    to_do: tuple[str, ...]
    only_heated: bool
    is_held: bool

    @property
    def state(self) -> str:
        """ "accepted", "refused" or "undecided"."""
        return self.decision.decision if self.decision else "undecided"

    @property
    def is_usable(self) -> bool:
        return self.state == Acceptance.Decision.ACCEPTED and not self.problems and not self.is_held

    def why_not(self, *, heated: bool) -> tuple[str, ...]:
        """What stands against using it in a make, empty when nothing does. heated: its milk is pasteurised there."""
        found = list(self.problems)
        if self.only_heated and not heated:
            found.append("it was cleared for heat treatment only")
        if self.decision is None:
            found.insert(0, "nobody has accepted it yet")
        elif self.state == Acceptance.Decision.REFUSED:
            found.insert(0, f"it was refused: {self.decision.reason}")
        return tuple(found)


def standing_of(lot: Lot, at: datetime) -> LotStanding:
    return standings(lot.premises, [lot], at)[lot.pk]


def standings(premises: Premises, lots: Sequence[Lot], at: datetime) -> dict[UUID, LotStanding]:
    """In a constant number of queries. lots: milk or ingredient lots of these premises."""
    decisions: dict[UUID, Acceptance] = {}
    for one in Acceptance.objects.filter(lot__in=lots).select_related("decided_by").order_by("decided_at"):
        decisions[one.lot_id] = one
    problems: dict[UUID, list[str]] = defaultdict(list)
    for lot_id, sentence in (*_findings(lots), *_expired(premises, lots, at)):
        problems[lot_id].append(sentence)
    only_heated = set()
    for lot_id, sentence, heated in _deviations(lots):
        if sentence:
            problems[lot_id].append(sentence)
        if heated:
            only_heated.add(lot_id)
    to_do: dict[UUID, list[str]] = defaultdict(list)
    for lot_id, sentence in _checks(lots, at):
        to_do[lot_id].append(sentence)
    held = set(Hold.objects.standing().filter(lot__in=lots).values_list("lot_id", flat=True))
    return {
        lot.pk: LotStanding(
            lot,
            decisions.get(lot.pk),
            tuple(problems[lot.pk]),
            tuple(to_do[lot.pk]),
            lot.pk in only_heated,
            lot.pk in held,
        )
        for lot in lots
    }


def _findings(lots: Sequence[Lot]) -> Iterable[tuple[UUID, str]]:
    """The last answer of each kind counts: a second residue test may clear the first."""
    last: dict[tuple[UUID, str], MilkFinding] = {}
    for one in MilkFinding.objects.filter(lot__in=lots).exclude(answer="").order_by("observed_at", "recorded_at"):
        last[one.lot_id, one.kind] = one
    for one in last.values():
        if one.answer == MilkFinding.Answer.POSITIVE:
            yield one.lot_id, "its residue test was positive"
        if one.answer == MilkFinding.Answer.OFF:
            yield one.lot_id, f"its smell or look was not as it should be{f' ({one.note})' if one.note else ''}"


def _expired(premises: Premises, lots: Sequence[Lot], at: datetime) -> Iterable[tuple[UUID, str]]:
    today = premises.local_date(at)
    expired = IngredientLot.objects.filter(lot__in=lots, expires_on__lt=today)
    for lot_id, last_day in expired.values_list("lot_id", "expires_on"):
        yield lot_id, f"it expired on {last_day:%-d %b %Y}"


def _deviations(lots: Sequence[Lot]) -> Iterable[tuple[UUID, str, bool]]:
    """Lot, a sentence ("" for none), and whether heat treatment alone was allowed."""
    implicated = ImplicatedLot.objects.filter(lot__in=lots).select_related("deviation", "deviation__closure")
    steps = CorrectiveStep.objects.filter(kind="disposition", lot__in=lots).order_by("recorded_at", "id")
    last = {(step.deviation_id, step.lot_id): step for step in steps}
    for one in implicated.order_by("deviation__opened_at"):
        deviation, step = one.deviation, last.get((one.deviation_id, one.lot_id))
        if not hasattr(deviation, "closure"):
            yield one.lot_id, f"{deviation.reference} about it is open: {deviation.summary}", False
        elif step is not None and step.disposition in NEVER:
            yield one.lot_id, f"{deviation.reference} decided: {step.get_disposition_display()}", False
        elif step is not None and step.disposition == Disposition.HEAT_TREATMENT:
            yield one.lot_id, "", True


def _checks(lots: Sequence[Lot], at: datetime) -> Iterable[tuple[UUID, str]]:
    due = DueCheck.objects.filter(lot__in=lots, opens_at__lte=at, records__isnull=True).select_related(
        "check_due", "missed"
    )
    for one in due.order_by("due_at"):
        assert one.lot_id is not None
        was = "was missed" if hasattr(one, "missed") else "is still to be done"
        yield one.lot_id, f"{one.check_due.name} {was}"
