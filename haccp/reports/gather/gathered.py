"""All that a document of records shows, read at once; the long tables and the traces follow while it is drawn."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.reports.gather.acidity_curves import AcidityCurve, acidity_curves
from haccp.reports.gather.arrangement_entries import ARRANGEMENTS
from haccp.reports.gather.choice import Choice
from haccp.reports.gather.counts import Counts, counts_of
from haccp.reports.gather.days import Day, days_of
from haccp.reports.gather.deviation_sheets import DeviationSheet, deviation_sheets
from haccp.reports.gather.doubt_entries import DOUBTS
from haccp.reports.gather.evidence import Evidence, evidence_of
from haccp.reports.gather.heat_treatments import heat_titles
from haccp.reports.gather.hygiene_entries import CLEANINGS, SWABS
from haccp.reports.gather.index import Amended, amended_records, batch_names
from haccp.reports.gather.instruments import InstrumentLine, instrument_lines
from haccp.reports.gather.journal import Source, journal_count
from haccp.reports.gather.people import PersonLine, person_lines
from haccp.reports.gather.period import Period
from haccp.reports.gather.plan_sheets import RevisionSheet, revision_sheets
from haccp.reports.gather.receiving_entries import RECEIVING
from haccp.reports.gather.ripening_entries import CARE, ROOMS
from haccp.reports.gather.room_climate import RoomClimate, room_climates
from haccp.reports.gather.scope import PackScope, scope_of
from haccp.reports.gather.signatures import SignatureLine, signature_lines
from haccp.reports.gather.trade import TRADE
from haccp.reports.gather.training_entries import TRAININGS
from haccp.reports.gather.verifying import calibrations_in, samples_in

# Key of a section -> what it tells.
JOURNAL_SOURCES: dict[str, tuple[Source, ...]] = {
    "trade": TRADE,
    "receiving": RECEIVING,
    "care": CARE,
    "rooms": ROOMS,
    "swabs": SWABS,
    "cleanings": CLEANINGS,
    "doubts": DOUBTS,
    "trainings": TRAININGS,
    "arrangements": ARRANGEMENTS,
}


@dataclass(frozen=True, slots=True)
class Gathered:
    """heat_titles: (record, code of its lot or empty, observed) of each heat treatment, in order.

    journals: key of a section of entries told in one way -> how many. batch_names: (id, code, product) by code.
    """

    scope: PackScope
    evidence: Evidence
    counts: Counts
    days: tuple[Day, ...]
    revisions: tuple[RevisionSheet, ...]
    curves: tuple[AcidityCurve, ...]
    rooms: tuple[RoomClimate, ...]
    deviations: tuple[DeviationSheet, ...]
    instruments: tuple[InstrumentLine, ...]
    people: tuple[PersonLine, ...]
    signatures: tuple[SignatureLine, ...]
    heat_titles: tuple[tuple[UUID, str, datetime], ...]
    journals: dict[str, int]
    batch_names: tuple[tuple[UUID, str, str], ...]
    amended: tuple[Amended, ...]

    @property
    def deviation_ids(self) -> frozenset[UUID]:
        return frozenset(one.id for one in self.deviations)

    def contents(self) -> dict[str, int]:
        """section -> number of rows or pictures it shows, for the list of packs."""
        return {
            "records": len(self.scope.record_ids),
            "critical control points": sum(len(point.record_ids) for point in self.scope.critical),
            "cleaning": sum(len(point.record_ids) for point in self.scope.cleaning),
            "other prerequisites": sum(len(point.record_ids) for point in self.scope.other_prerequisites),
            "amendments": self.counts.amendments,
            "heat treatments": len(self.heat_titles),
            "acidity curves": len(self.curves),
            "room charts": len(self.rooms),
            "batches": len(self.scope.batch_ids),
            "milk and ingredient lots": len(self.scope.milk_ids),
            "releases, dispatches and sales": self.journals["trade"],
            "milk and ingredients found, accepted, counted": self.journals["receiving"],
            "care and weights": self.journals["care"],
            "readings of rooms": self.journals["rooms"],
            "swabs": self.journals["swabs"],
            "cleaning methods used": self.journals["cleanings"],
            "training": sum(len(point.record_ids) for point in self.scope.training),
            "trainings given": self.journals["trainings"],
            "laboratory samples": samples_in(self.scope).count(),
            "calibrations": calibrations_in(self.scope).count(),
            "records in doubt": self.journals["doubts"],
            "absences and closed periods": self.journals["arrangements"],
            "missed checks": len(self.scope.missed_ids),
            "deviations": len(self.deviations),
            "days": len(self.days),
            "signatures": len(self.signatures),
            "ledger entries": self.evidence.entry_count,
        }


def gather(period: Period, choice: Choice | None = None, *, made_at: datetime) -> Gathered:
    """Reads all that the document shows; ids first, so that every section speaks of the same records."""
    scope = scope_of(period, choice)
    evidence = evidence_of(scope)
    days = days_of(period, made_at)
    if scope.days is not None:
        days = tuple(day for day in days if day.day in scope.days)
    return Gathered(
        scope=scope,
        evidence=evidence,
        counts=counts_of(scope, days),
        days=days,
        revisions=revision_sheets(scope),
        curves=acidity_curves(scope),
        rooms=room_climates(scope),
        deviations=tuple(deviation_sheets(scope, evidence)),
        instruments=instrument_lines(scope),
        people=person_lines(scope, evidence),
        signatures=signature_lines(scope, evidence),
        heat_titles=heat_titles(scope),
        journals={key: journal_count(sources, scope) for key, sources in JOURNAL_SOURCES.items()},
        batch_names=batch_names(scope),
        amended=amended_records(scope, evidence),
    )
