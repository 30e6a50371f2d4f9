"""The release gate: may this batch leave, why (not), and when at the earliest? Computed anew at each look."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import chain

from batches.release import (
    contributors,
    intake_points,
    judged,
    label_facts,
    settled,
    signatures,
    surroundings,
    time_and_tests,
)
from batches.release.facts import gather
from batches.release.points import Matter, Point, Standing
from haccp.ledger.canonical import sha256_of
from haccp.lots.age import age_in_days
from haccp.lots.models import Lot
from haccp.lots.queries import ancestors_of
from haccp.premises.scope import Scope

_ORDER = {standing: number for number, standing in enumerate(Standing)}
_MATTERS = {matter: number for number, matter in enumerate(Matter)}


@dataclass(frozen=True, slots=True)
class Gate:
    """points: what is outstanding, then what is unproven, then what is met; each part in the order of Matter.

    content: plain data of all points, which a release signs; content_sha256 names exactly that.
    """

    lot: Lot
    at: datetime
    age_days: int
    points: tuple[Point, ...]
    content: dict[str, object] = field(repr=False)
    content_sha256: str

    @property
    def outstanding(self) -> tuple[Point, ...]:
        return tuple(point for point in self.points if point.standing is Standing.OUTSTANDING)

    @property
    def unproven(self) -> tuple[Point, ...]:
        return tuple(point for point in self.points if point.standing is Standing.UNPROVEN)

    @property
    def met(self) -> tuple[Point, ...]:
        return tuple(point for point in self.points if point.is_met)

    @property
    def in_the_way(self) -> tuple[Point, ...]:
        """What is unproven is never treated as met."""
        return (*self.outstanding, *self.unproven)

    @property
    def is_held(self) -> bool:
        return any(point.matter is Matter.HOLD for point in self.outstanding)

    @property
    def is_open(self) -> bool:
        return not self.in_the_way

    @property
    def not_before(self) -> date | None:
        """The earliest day on which all that time decides can be met; None where nothing waits for time."""
        return max((point.earliest for point in self.in_the_way if point.earliest), default=None)

    @property
    def waits_for_people(self) -> bool:
        """Whether anything in the way goes only when somebody acts."""
        return any(point.earliest is None for point in self.in_the_way)


def gate_of(scope: Scope, lot: Lot, at: datetime) -> Gate:
    """Reads in a constant number of queries, however much there is; lot must be a batch of these premises."""
    premises = scope.premises
    into = Lot.objects.for_premises(premises).filter(pk__in=ancestors_of([lot.pk])).order_by("code")
    lots = (lot, *into.select_related("product"))
    points = sorted(
        chain(_recorded(scope, lots, at), contributors.collect(scope, lots, at)),
        key=lambda point: (_ORDER[point.standing], _MATTERS[point.matter]),
    )
    content: dict[str, object] = {
        "batch": lot.code,
        "product": lot.product.name if lot.product else "",
        "points": [{"standing": one.standing, "matter": one.matter, "words": one.words} for one in points],
    }
    return Gate(lot, at, age_in_days(premises, lot, at), tuple(points), content, sha256_of(content))


def _recorded(scope: Scope, lots: Sequence[Lot], at: datetime) -> list[Point]:
    """What this service itself records of every batch."""
    facts = gather(scope.premises, lots, at)
    return [
        *settled.holds(facts),
        *settled.ends(facts),
        *settled.deviations(facts),
        *judged.rulings(facts),
        *judged.checks(facts),
        *judged.never_due(facts),
        *time_and_tests.ageing(facts),
        *time_and_tests.laboratory(facts),
        *intake_points.intake(facts),
        *surroundings.surroundings(facts),
        *signatures.day_books(facts),
        *label_facts.label_facts(facts),
    ]
