"""What a plan is examined against beside itself: the law of the place, the day, the instruments, what was signed."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from haccp.plan.findings.floors import LegalFloors, PublishedFloors
from haccp.plan.findings.superseded import Superseded


@dataclass(frozen=True, slots=True)
class InstrumentOwned:
    """expanded_uncertainty: U (k = 2) in the unit of what it measures. unfit: why it cannot be relied on today."""

    kind: str
    name: str
    expanded_uncertainty: float
    unfit: str = ""


@dataclass(frozen=True, slots=True)
class Circumstances:
    """confirmed_flows: SHA-256 of the flows that were confirmed on site. review_due_on: None while none is due.

    uncovered: (key of a check, sentence) for critical checks that nobody does in the next days.
    superseded: replaced texts by the words that cite them. replaced_entries: id of a library value that was replaced ->
    what took its place, or "". places_retired: names of places that are out of use.
    """

    jurisdiction: str
    today: dt.date
    instruments: tuple[InstrumentOwned, ...] = ()
    confirmed_flows: frozenset[str] = frozenset()
    review_due_on: dt.date | None = None
    review_reasons: tuple[str, ...] = ()
    uncovered: tuple[tuple[str, str], ...] = ()
    floors: LegalFloors = field(default_factory=PublishedFloors)
    superseded: tuple[Superseded, ...] = ()
    replaced_entries: Mapping[str, str] = field(default_factory=dict)
    places_retired: frozenset[str] = frozenset()
